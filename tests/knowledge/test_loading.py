"""Every kind of mistake in a rules folder is told: what, where, and what to do, all in one run.

Each mistake is made in a small rules folder that is whole otherwise, so that a problem told
besides the one expected is a follow-on that would mislead.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest

from fitcheck.knowledge.load import load_anew
from fitcheck.source import BadInput, Problem
from tests.knowledge.small import changed, written


class Mistake(NamedTuple):
    """A piece of a file replaced by a wrong one, and what must be told of it."""

    path: str
    old: str
    new: str
    what: str
    marked: str
    mend: str


ASKED = "questions.yaml"
RULE, WEAK = "fits/springs/coil_bind.yaml", "fits/springs/weak_spring.yaml"
HEIGHTS, WORK = "derived/heights.yaml", "operations/springs.yaml"
SPRING, CAM, SHIM = "classes/spring.yaml", "classes/cam.yaml", "classes/shim.yaml"
MATES, BENCH = "mates/springs.yaml", "measuring/bench.yaml"
REQUIRES = "open_height - spring.solid_height >= least"
OPEN = "spring.installed_height - shim.thickness - cam.lobe_lift"
SHARE = "spring.solid_height / open_height"
VALUES = "{flat: 200 lbf/in, roller: 300 lbf/in}"
UNITS_MEND = "check the units on both sides"
RANGE_MEND = "give the derived quantity a plausible range"


def _requires(text: str, what: str, marked: str, mend: str) -> Mistake:
    return Mistake(RULE, REQUIRES, text, what, marked, mend)


def _share(text: str, what: str, marked: str, mend: str) -> Mistake:
    return Mistake(HEIGHTS, SHARE, text, what, marked, mend)


def _unknown(path: str, old: str, new: str, what: str, mend: str) -> Mistake:
    return Mistake(
        path, old, new, f"'{new.rpartition(' ')[2]}' is no {what}", new.rpartition(" ")[2], mend
    )


MISTAKES = {
    # Names in expressions.
    "unknown class": _requires(
        "open_height - sprnig.solid_height >= least",
        "there is no part class 'sprnig'",
        "sprnig.solid_height",
        "did you mean 'spring'?",
    ),
    "unknown attribute": _requires(
        "open_height - spring.solid_hight >= least",
        "the class 'spring' has no attribute 'solid_hight'",
        "spring.solid_hight",
        "did you mean 'solid_height'?",
    ),
    "unknown derived quantity": _requires(
        "open_hieght - spring.solid_height >= least",
        "'open_hieght' is not known",
        "open_hieght",
        "did you mean 'open_height'?",
    ),
    "unknown limit": _requires(
        "open_height - spring.solid_height >= leasst",
        "'leasst' is not known",
        "leasst",
        "did you mean 'least'?",
    ),
    "unknown option": _requires(
        f"{REQUIRES} and spring.shape == 'conicl'",
        "'conicl' is no option of spring.shape",
        "'conicl'",
        "did you mean 'conical'?",
    ),
    "unknown function": _requires(
        "open_height - mim(spring.solid_height, open_height) >= least",
        "there is no function or calculation 'mim'",
        "mim",
        "did you mean 'min'?",
    ),
    "free text in a rule": _requires(
        f"{REQUIRES} and spring.note == least",
        "'spring.note' is free text",
        "spring.note",
        "a rule can't read it",
    ),
    # Types and dimensions.
    "mixed dimensions": _requires(
        "open_height - spring.rate >= least",
        "'-': length and rate do not go together",
        "open_height - spring.rate",
        UNITS_MEND,
    ),
    "mixed dimensions compared": _requires(
        f"{REQUIRES} and spring.rate >= least",
        "'>=': rate and length do not go together",
        "spring.rate >= least",
        UNITS_MEND,
    ),
    "bare number in a rule": _requires(
        "open_height - spring.solid_height - 0.1 >= least",
        "a bare number in a rule",
        "0.1",
        "name it as a limit, with its source",
    ),
    "choice as a condition": _requires(
        f"{REQUIRES} and cam.lobe_type",
        "a choice (lobe) where a condition is wanted",
        "cam.lobe_type",
        "compare it with something",
    ),
    "choice in a set of others": _requires(
        f"{REQUIRES} and spring.shape in cam.for_lobes",
        "a choice (spring.shape) can't be in a set of options (lobe)",
        "cam.for_lobes",
        "write: a.choice in ('one', 'other'), or a set of these options",
    ),
    "beyond the language": _requires(
        f'"{REQUIRES} or (lambda x: x)"',
        "this is not part of the expression language",
        "lambda x: x",
        "use + - * / **, comparisons, and or not, if else, named functions",
    ),
    "no expression at all": _requires(
        "open_height - spring.solid_height >= ",
        "not an expression: invalid syntax",
        "=",
        "write it as in: (a.length - b.length) >= least",
    ),
    "derived quantity of another kind": Mistake(
        HEIGHTS,
        "quantity: number",
        "quantity: force",
        "this is number, and force is wanted",
        SHARE,
        "",
    ),
    "effect of another dimension": Mistake(
        WORK,
        "spring.installed_height + amount",
        "spring.rate + amount",
        "'+': rate and length do not go together",
        "spring.rate + amount",
        UNITS_MEND,
    ),
    "amount of another dimension": Mistake(
        RULE,
        "amount: shortfall",
        "amount: spring.rate",
        "this is rate, and length is wanted",
        "spring.rate",
        "",
    ),
    "tolerance of another dimension": Mistake(
        WORK,
        "range: 0.005..0.100 in,",
        "range: 0.005..0.100 in, tolerance: 1 lbf,",
        "'lbf' is a unit of force, and length is wanted here",
        "lbf",
        "write a number and one of: in, mm, thou, cm, m, ft, um",
    ),
    # Ranges.
    "divisor that can be zero": _share(
        "spring.solid_height / (open_height - spring.solid_height)",
        "the divisor can be zero within its plausible range",
        "open_height - spring.solid_height",
        RANGE_MEND + " that excludes zero",
    ),
    "root of what can be negative": _share(
        "sqrt(open_height - spring.solid_height) / sqrt(open_height)",
        "the root of what can be negative within its plausible range",
        "open_height - spring.solid_height",
        RANGE_MEND,
    ),
    "calculation outside its range": _share(
        "valve_curtain_area(spring.solid_height, open_height) / open_height ** 2",
        "'lift' of valve_curtain_area can leave the range in which it holds, 0..40 mm",
        "valve_curtain_area(spring.solid_height, open_height)",
        RANGE_MEND + " inside it",
    ),
    "calculation short of a value": _share(
        "valve_curtain_area(spring.solid_height)",
        "'valve_curtain_area' takes 2 values: valve_diameter, lift",
        "valve_curtain_area(spring.solid_height)",
        "",
    ),
    "exponent too large": _share(
        "open_height ** 9", "an exponent is a whole number from 1 to 6", "9", ""
    ),
    # Circles.
    "derived from itself": Mistake(
        HEIGHTS,
        OPEN,
        "open_height - shim.thickness",
        "'open_height' is derived from itself: open_height -> open_height",
        "open_height",
        "break the circle",
    ),
    "derived in a circle": Mistake(
        HEIGHTS,
        OPEN,
        "spring.installed_height * solidity",
        "'open_height' is derived from itself: open_height -> solidity -> open_height",
        "open_height",
        "break the circle",
    ),
    "operations in a circle": Mistake(
        WORK,
        "  hours: 0.10 h",
        "  after: [fit_shim]\n  hours: 0.10 h",
        "operations wait for each other: cut_seat -> fit_shim -> cut_seat",
        "cut_seat",
        "break the circle",
    ),
    "operation after itself": Mistake(
        WORK,
        "after: [cut_seat]",
        "after: [fit_shim]",
        "operations wait for each other: fit_shim -> fit_shim",
        "fit_shim",
        "break the circle",
    ),
    # Limits.
    "unused limit": Mistake(
        RULE,
        "limits:\n",
        "limits:\n  most: {value: 1 in, source: practice}\n",
        "the limit 'most' is not used",
        "most",
        "use it in requires or applies, or leave it out",
    ),
    "limit without a source": Mistake(
        RULE,
        "source: practice, ",
        "",
        "the limit 'least' names no source",
        "least",
        "add source:, or same_as: rule.limit",
    ),
    "limit of a rule that is not there": Mistake(
        RULE,
        "{value: 0.060 in, source: practice, ",
        "{same_as: coil_bound.least, ",
        "'coil_bound.least' is no limit of a rule",
        "coil_bound.least",
        "one of: weak_spring.least",
    ),
    "limit without a value": Mistake(
        RULE,
        "value: 0.060 in, ",
        "",
        "the limit 'least' needs a value, or 'by' with 'values'",
        "least",
        "give either of the two",
    ),
    "limit with a value and by": Mistake(
        RULE,
        "value: 0.060 in",
        "value: 0.060 in, by: cam.lobe_type",
        "the limit 'least' needs a value, or 'by' with 'values'",
        "least",
        "give either of the two",
    ),
    "limit in an unknown unit": Mistake(
        RULE,
        "0.060 in",
        "0.060 inn",
        "the unit 'inn' is not known",
        "inn",
        "write it as in 0.060 in or 85 lbf",
    ),
    "missing option in a limit": Mistake(
        WEAK,
        VALUES,
        "{flat: 200 lbf/in}",
        "the limit 'least' has no value for roller",
        "least",
        "list every option",
    ),
    "limit that mixes kinds": Mistake(
        WEAK,
        VALUES,
        "{flat: 200 lbf/in, roller: 300 lbf}",
        "the limit 'least' mixes rate and force",
        "least",
        "give every option a value of one kind",
    ),
    "limit by a quantity": _unknown(
        WEAK, "by: cam.lobe_type", "by: cam.lobe_lift", "choice", "did you mean 'cam.lobe_type'?"
    ),
    "limit by an unknown choice": _unknown(
        WEAK, "by: cam.lobe_type", "by: cam.lobetype", "choice", "did you mean 'cam.lobe_type'?"
    ),
    # Names of other things.
    "unknown source": _unknown(
        RULE,
        "0.060 in, source: practice",
        "0.060 in, source: practise",
        "source in sources.yaml",
        "did you mean 'practice'?",
    )._replace(new="0.060 in, source: practise"),
    "unknown source of a derived quantity": _unknown(
        HEIGHTS,
        "quantity: number\n  source: geometry",
        "quantity: number\n  source: geometrie",
        "source in sources.yaml",
        "did you mean 'geometry'?",
    ),
    "caution for no use of an engine": Mistake(
        "cautions.yaml",
        "source: practice}",
        "uses: [flying], source: practice}",
        "'flying' is no use of an engine",
        "flying",
        "no name is known here",
    ),
    "caution for no option": Mistake(
        "cautions.yaml",
        "source: practice}",
        "where: {cam.lobe_type: [rollar]}, source: practice}",
        "'rollar' is no option",
        "rollar",
        "did you mean 'roller'?",
    ),
    "unknown kind of source": Mistake(
        "sources.yaml",
        "kind: practice",
        "kind: practise",
        "'practise' is no kind of source",
        "practise",
        "did you mean 'practice'?",
    ),
    "unknown caution": Mistake(
        RULE,
        "[compressed_spring]",
        "[compresed_spring]",
        "'compresed_spring' is no caution",
        "compresed_spring",
        "did you mean 'compressed_spring'?",
    ),
    "unknown caution of an operation": Mistake(
        WORK,
        "[compressed_spring]",
        "[compresed_spring]",
        "'compresed_spring' is no caution",
        "compresed_spring",
        "did you mean 'compressed_spring'?",
    ),
    "unknown caution of a procedure": Mistake(
        BENCH,
        "[compressed_spring]",
        "[compresed_spring]",
        "'compresed_spring' is no caution",
        "compresed_spring",
        "did you mean 'compressed_spring'?",
    ),
    "unknown procedure": _unknown(
        SPRING,
        "measure: height_micrometer",
        "measure: height_mike",
        "procedure in measuring/",
        "did you mean 'height_micrometer'?",
    ),
    "a procedure of another kind": Mistake(
        SPRING,
        "claim: +-5 %, measure: card",
        "claim: +-5 %, measure: height_micrometer",
        "'height_micrometer' reads to 0.001 in, which is no rate",
        "height_micrometer",
        "name a procedure that reads it",
    ),
    "unknown operation": Mistake(
        RULE,
        "do: cut_seat",
        "do: cut_set",
        "'cut_set' is no operation",
        "cut_set",
        "did you mean 'cut_seat'?",
    ),
    "unknown operation before another": Mistake(
        WORK,
        "after: [cut_seat]",
        "after: [cut_seats]",
        "'cut_seats' is no operation",
        "cut_seats",
        "did you mean 'cut_seat'?",
    ),
    "unknown part to replace": Mistake(
        WEAK,
        "replace: spring",
        "replace: sprung",
        "'sprung' is no part class",
        "sprung",
        "did you mean 'spring'?",
    ),
    "unknown part worked on": _unknown(
        WORK, "on: shim", "on: shims", "part class", "did you mean 'shim'?"
    ),
    "unknown attribute undone": Mistake(
        WORK,
        "undoes: [spring.installed_height]",
        "undoes: [spring.height]",
        "'spring.height' is no attribute",
        "spring.height",
        "did you mean 'spring.solid_height'?",
    ),
    "unknown list of options": Mistake(
        SPRING,
        "choice: [straight, conical]",
        "choice: lobes",
        "'lobes' is no list in choices.yaml",
        "lobes",
        "did you mean 'lobe'?",
    ),
    "unknown kind of quantity": Mistake(
        HEIGHTS,
        "quantity: number",
        "quantity: nmber",
        "'nmber' is no kind of quantity",
        "nmber",
        "did you mean 'number'?",
    ),
    "unknown rule covered": Mistake(
        RULE,
        "cautions: [compressed_spring]",
        "covers: [week_spring]",
        "'week_spring' is no rule",
        "week_spring",
        "did you mean 'weak_spring'?",
    ),
    "unknown severity": _unknown(
        RULE, "severity: stop", "severity: sto", "severity", "did you mean 'stop'?"
    ),
    "unknown level": Mistake(
        SPRING,
        "each: valve",
        "each: valv",
        "'valv' is no level (engine, bank, cylinder or valve)",
        "valv",
        "did you mean 'valve'?",
    ),
    "unknown class at an interface": Mistake(
        MATES,
        "[spring, cam]",
        "[spring, camm]",
        "'camm' is no part class",
        "camm",
        "did you mean 'cam'?",
    ),
    "unknown attribute at an interface": Mistake(
        MATES,
        "cam.lobe_lift]",
        "cam.lift]",
        "'cam.lift' is no attribute",
        "cam.lift",
        "did you mean 'cam.lobe_lift'?",
    ),
    "interface with itself": Mistake(
        MATES,
        "[spring, cam]",
        "[spring, spring]",
        "an interface is between two classes",
        "spring_and_cam",
        "give two different ones",
    ),
    "attribute of a third class at an interface": Mistake(
        MATES,
        "[shim, spring]",
        "[shim, cam]",
        "'spring' is not one of the two classes that meet here",
        "shim_and_spring",
        "leave its attributes out",
    ),
    # Fixes and messages.
    "fix that does and replaces": Mistake(
        WEAK,
        "{replace: spring,",
        "{do: fit_shim, replace: spring,",
        "a fix either does an operation or replaces a part",
        "spring",
        "give one of 'do' and 'replace'",
    ),
    "amount for an operation without one": Mistake(
        RULE,
        "do: cut_seat",
        "do: fit_shim",
        "'fit_shim' takes no amount",
        "shortfall",
        "leave it out",
    ),
    "unknown placeholder in a message": Mistake(
        RULE,
        "Of {open_height}",
        "Of {open_hight}",
        "'open_hight' is not known",
        "open_hight",
        "did you mean 'open_height'?",
    ),
    "unknown placeholder in a fix": Mistake(
        RULE,
        "{shortfall} less",
        "{shorfall} less",
        "'shorfall' is not known",
        "shorfall",
        "did you mean 'shortfall'?",
    ),
    "condition in a message": Mistake(
        RULE,
        "Of {open_height}",
        "Of {open_height >= least}",
        "a condition can't be shown",
        "open_height >= least",
        "name a figure or a choice",
    ),
    "empty placeholder": Mistake(
        RULE,
        "Of {open_height}",
        "Of {}",
        "a {} with no name in it",
        "Of {} the coils take {spring.solid_height}.",
        "write {name}",
    ),
    "open brace": Mistake(
        RULE,
        "Of {open_height}",
        "Of {open_height",
        "a { without its }",
        "Of {open_height the coils take {spring.solid_height}.",
        "write {name}",
    ),
    "stray brace": Mistake(
        RULE,
        "Of {open_height}",
        "Of open_height}",
        "a } without its {",
        "Of open_height} the coils take {spring.solid_height}.",
        "write {name}",
    ),
    # Keys.
    "unknown key": Mistake(
        RULE,
        "cautions: [compressed_spring]",
        "caution: [compressed_spring]",
        "the key 'caution' is not known here",
        "caution",
        "did you mean 'cautions'?",
    ),
    "unknown key of a limit": Mistake(
        RULE,
        "why: racing",
        "wy: racing",
        "the key 'wy' is not known here",
        "wy",
        "did you mean 'why'?",
    ),
    "unknown kind of example": Mistake(
        RULE,
        "  straddles:",
        "  stradles:",
        "the key 'stradles' is not known here",
        "stradles",
        "did you mean 'straddles'?",
    ),
    "missing key": Mistake(
        RULE,
        "why: A spring that goes solid stops the valve dead.\n",
        "",
        "the key 'why' is missing",
        "t",
        "add 'why:' here",
    ),
    "missing key spelt otherwise inside": Mistake(
        HEIGHTS,
        f"  is: {SHARE}\n",
        "",
        "'solidity' says neither or both of what it is and by which ways it is known",
        "solidity",
        "give 'is', or 'ways' with what contradicts",
    ),
    "range of a derived figure that it does not name": Mistake(
        HEIGHTS,
        f"  is: {SHARE}\n",
        f"  is: {SHARE} * known\n  with: {{known: 0.9..1.1, other: 0..1}}\n",
        "the range 'other' is not used",
        "other",
        "leave it out",
    ),
    "list for a text": Mistake(
        RULE, "severity: stop", "severity: [stop]", "plain text is wanted here", "[", ""
    ),
    "text for a list": Mistake(
        RULE,
        "cautions: [compressed_spring]",
        "cautions: compressed_spring",
        "a list is wanted here",
        "compressed_spring",
        "",
    ),
    "spread of nothing": Mistake(
        SHIM,
        "absent: 0 in}",
        "absent: 0 in, spread_of: cam.lobe_type}",
        "'shim.thickness' can't be the spread of 'cam.lobe_type'",
        "thickness",
        "name an attribute of the same kind; the spread is one of the engine, or one of the valves "
        "of a side with each: valve",
    ),
    "remembers another kind": Mistake(
        SHIM,
        "absent: 0 in}",
        "absent: 0 in, remembers: spring.rate}",
        "'shim.thickness' can't remember 'spring.rate'",
        "thickness",
        "name a figure of another part, of the same kind and for the same places",
    ),
    "text for keys": Mistake(
        SHIM,
        "{title: thickness, quantity: length, plausible: 0.000..0.250 in, absent: 0 in}",
        "thick",
        "keys with values are wanted here",
        "thick",
        "",
    ),
    "duplicate key": Mistake(
        RULE,
        "severity: stop",
        "severity: stop\nseverity: stop",
        "'severity' is given twice; first in line 3",
        "severity",
        "keep one of them",
    ),
    "anchor": Mistake(
        RULE,
        "severity: stop",
        "severity: &a stop",
        "anchors are not read",
        "&a stop",
        "leave out &a",
    ),
    "tab": Mistake(
        RULE, "limits:\n", "\tlimits:\n", "a tab can't stand here", " ", "indent with spaces"
    ),
    # Attributes.
    "attribute of two kinds": Mistake(
        SPRING,
        "choice: [straight, conical]",
        "choice: [straight, conical], flag: is straight",
        "'spring.shape' has 2 kinds",
        "shape",
        "give just one of: quantity, choice, some_of, flag, text",
    ),
    "attribute without a plausible range": Mistake(
        SPRING,
        "    plausible: 1.000..2.600 in\n",
        "",
        "'spring.installed_height' has no plausible range",
        "installed_height",
        "add plausible: low..high unit",
    ),
    "plausible range backwards": Mistake(
        SPRING,
        "1.000..2.600 in",
        "2.600..1.000 in",
        "the range runs backwards",
        "2.600..1.000 in",
        "write the smaller figure first",
    ),
    "plausible range without width": Mistake(
        SPRING,
        "1.000..2.600 in",
        "1.000 in",
        "the plausible range has no width",
        "1.000 in",
        "write low..high",
    ),
    "plausible range of another kind": Mistake(
        SPRING,
        "1.000..2.600 in",
        "1.000..2.600 lbf",
        "'lbf' is a unit of force, and length is wanted here",
        "lbf",
        "write a number and one of: in, mm, thou, cm, m, ft, um",
    ),
    "claim without plus-minus": Mistake(
        SPRING,
        "claim: +-0.020 in",
        "claim: 0.020 in",
        "a tolerance starts with +-",
        "0.020 in",
        "as in +-0.010 in or +-3 %",
    ),
    "options that are not different": Mistake(
        SPRING,
        "[straight, conical]",
        "[straight, straight]",
        "the options of 'spring.shape' are not two or more different ones",
        "shape",
        "",
    ),
    "absent value of a part that can't be absent": Mistake(
        SPRING,
        "claim: +-0.020 in",
        "claim: +-0.020 in\n    absent: 0 in",
        "only a part that an engine may do without can be absent",
        "0 in",
        "set 'optional: yes' on the class, or leave 'absent' out",
    ),
    "absent value of another kind": Mistake(
        SHIM,
        "absent: 0 in",
        "absent: 0 lbf",
        "'lbf' is a unit of force, and length is wanted here",
        "lbf",
        "write a number and one of: in, mm, thou, cm, m, ft, um",
    ),
    "optional neither yes nor no": Mistake(
        SHIM,
        'optional: "yes"\nattributes:\n  thickness: {title: thickness, quantity: length, '
        "plausible: 0.000..0.250 in, absent: 0 in}",
        "optional: maybe\nattributes:\n  thickness: "
        "{title: thickness, quantity: length, plausible: 0.000..0.250 in}",
        "'maybe' is no yes or no",
        "maybe",
        "one of: no, yes",
    ),
    "list of options without words": Mistake(
        "choices.yaml",
        "{flat: flat lobe, roller: roller lobe}",
        "[flat, roller]",
        "a list of options is written option: words shown",
        "lobe",
        "write as in: flat: flat tappet",
    ),
    # Questions of the whole.
    "question with an unknown family": Mistake(
        ASKED,
        "[springs]",
        "[springs, spirngs]",
        "'spirngs' is no family of rules",
        "spirngs",
        "did you mean 'springs'?",
    ),
    "question with an unknown rule": Mistake(
        ASKED,
        "[springs]",
        "[springs], rules: [coil_bnd]",
        "'coil_bnd' is no rule",
        "coil_bnd",
        "did you mean 'coil_bind'?",
    ),
    "rule answered by something else": Mistake(
        RULE,
        "severity: stop",
        "severity: stop\nanswered_by: luck",
        "'luck' is no way to answer a rule",
        "luck",
        "one of: look, work",
    ),
    # Figures.
    "hours without a unit": Mistake(
        WORK, "0.05 h", "0.05", "'0.05' has no unit", "0.05", "write a number and one of: h, min, s"
    ),
    "step without a unit": Mistake(
        WORK,
        "step: 0.005 in",
        "step: 0.005",
        "'0.005' has no unit",
        "0.005",
        "write a number and one of: in, mm, thou, cm, m, ft, um",
    ),
    "minutes that are no number": Mistake(
        BENCH, "minutes: 3", "minutes: three", "'three' is no whole number", "three", ""
    ),
    "resolution that is no quantity": Mistake(
        BENCH,
        "0.001 in",
        "fine",
        "'fine' does not start with a number",
        "fine",
        "write it as in 0.060 in or 85 lbf",
    ),
}


def _problems(root: Path) -> list[Problem]:
    with pytest.raises(BadInput) as told:
        load_anew(root)
    return told.value.problems


def _marked(problem: Problem) -> str:
    """The piece of the file that the carets stand under."""
    assert problem.place is not None
    line, carets = problem.place.caret().split("\n")
    return line[carets.index("^") : len(carets)]


def test_the_small_rules_are_whole(tmp_path):
    knowledge = load_anew(written(tmp_path))
    assert list(knowledge.rules) == ["coil_bind", "weak_spring"]


@pytest.mark.parametrize("mistake", MISTAKES.values(), ids=MISTAKES)
def test_a_mistake_is_told_once_with_place_and_mend(mistake, tmp_path):
    root = written(tmp_path, changed(mistake.path, mistake.old, mistake.new))
    (problem,) = _problems(root)
    assert (problem.what, _marked(problem)) == (mistake.what, mistake.marked)
    assert problem.mend == mistake.mend
    line = problem.place.source.line(problem.place.line)
    where = f"{root / mistake.path}:{problem.place.line}:{problem.place.column}: "
    assert str(problem).startswith(where + mistake.what)
    assert line in (root / mistake.path).read_text(encoding="utf-8").splitlines()


def test_every_rule_answers_exactly_one_question(tmp_path):
    asked = "springs: {title: do the springs suit the lift?, short: springs, rules: [%s]}\n"
    (left,) = _problems(written(tmp_path / "left", {ASKED: asked % "coil_bind"}))
    assert left.what == "the rule 'weak_spring' answers no question"
    assert left.mend == "name it, or its family 'springs', in questions.yaml"
    assert left.place.source.name.endswith("weak_spring.yaml")
    twice = asked % "coil_bind, weak_spring, coil_bind"
    (problem,) = _problems(written(tmp_path / "twice", {ASKED: twice}))
    assert problem.what.startswith("'coil_bind' stands already at ")
    assert _marked(problem) == "coil_bind"


def test_mistakes_in_many_files_are_told_in_one_run(tmp_path):
    made = [
        MISTAKES[name]
        for name in (
            "unknown caution",
            "missing option in a limit",
            "derived quantity of another kind",
            "unknown part worked on",
            "claim without plus-minus",
            "unknown class at an interface",
            "minutes that are no number",
            "absent value of another kind",
            "unknown kind of source",
        )
    ]
    changes: dict[str, str] = {}
    for mistake in made:
        changes |= changed(mistake.path, mistake.old, mistake.new)
    told = [problem.what for problem in _problems(written(tmp_path, changes))]
    assert sorted(told) == sorted(mistake.what for mistake in made)


def test_mistakes_in_one_rule_are_told_in_one_run(tmp_path):
    changes = changed(RULE, "value: 0.060 in", "value: 0.060 inn")
    for old, new in (
        ("severity: stop", "severity: halt"),
        ("do: cut_seat", "do: cut_set"),
        ("Of {open_height}", "Of {open_hight}"),
        ("- spring.solid_height >=", "- spring.solid_hight >="),
    ):
        assert changes[RULE].count(old) == 1
        changes[RULE] = changes[RULE].replace(old, new)
    assert {problem.what for problem in _problems(written(tmp_path, changes))} == {
        "the unit 'inn' is not known",
        "'halt' is no severity",
        "'cut_set' is no operation",
        "'open_hight' is not known",
        "the class 'spring' has no attribute 'solid_hight'",
    }


def test_an_unreadable_file_is_told_and_not_what_it_would_define(tmp_path):
    root = written(tmp_path)
    for name in (SPRING, "sources.yaml", HEIGHTS, WORK):
        path = root / name
        path.write_text(path.read_text(encoding="utf-8") + "a: [b\n", encoding="utf-8")
    assert [problem.what.partition(":")[0] for problem in _problems(root)] == [
        "not readable as YAML"
    ] * 4


def test_a_list_for_a_file_is_told(tmp_path):
    (problem,) = _problems(written(tmp_path, {SHIM: "- title: shim\n"}))
    assert problem.what == "keys with values are wanted in this file"


def test_duplicate_ids_over_files(tmp_path):
    root = written(
        tmp_path,
        {
            "derived/more.yaml": "solidity: {title: again, is: spring.solid_height, "
            "quantity: length, source: geometry}\n",
            "operations/more.yaml": "fit_shim: {title: again, does: It., sort: [fits], on: shim, each: valve, "
            "hours: 1 h, source: practice}\n",
            "measuring/more.yaml": "card: {title: again, tool: eye, setup: desk, steps: [Look.], "
            "resolution: none, minutes: 1, source: practice}\n",
            "mates/more.yaml": "shim_and_spring: {title: again, between: [shim, spring], "
            "through: [shim.thickness], free: it is}\n",
        },
    )
    for copy, original in (("fits/heads/coil_bind.yaml", RULE), ("classes/more/cam.yaml", CAM)):
        (root / copy).parent.mkdir()
        (root / copy).write_text((root / original).read_text(encoding="utf-8"), encoding="utf-8")
    told = {(problem.what.split()[0], problem.place.source.name) for problem in _problems(root)}
    assert told == {
        ("'solidity'", str(root / "derived/more.yaml")),
        ("'fit_shim'", str(root / WORK)),
        ("'card'", str(root / "measuring/more.yaml")),
        ("'shim_and_spring'", str(root / MATES)),
        ("'coil_bind'", str(root / RULE)),
        ("'cam'", str(root / "classes/more/cam.yaml")),
    }
    assert all(" stands already at " in problem.what for problem in _problems(root))


def test_wrong_folders_and_files(tmp_path):
    root = written(
        tmp_path,
        {
            "drived/more.yaml": "",
            "cautons.yaml": "",
            "derived/old.yml": "",
            "fits/stray.yaml": "",
            ".editor/state.yaml": "",
            "derived/.heights.yaml.swp": "",
        },
    )
    (root / RULE).rename(root / "fits" / "coil_bind.yaml")
    (root / "fits/stray.yaml").unlink()
    told = {problem.what: problem.mend for problem in _problems(root)}
    assert told == {
        "the folder drived/ is not known under rules": "did you mean 'derived'?",
        "the file cautons.yaml is not known under rules": "did you mean 'cautions.yaml'?",
        "old.yml is not read": "name it .yaml",
        "a rule's file stands in a folder named by its family": "move it to fits/<family>/<rule>.yaml",
    }


def test_a_missing_folder_and_a_missing_file(tmp_path):
    (problem,) = _problems(tmp_path / "nowhere")
    assert problem.what == f"there is no folder {tmp_path / 'nowhere'}"
    root = written(tmp_path)
    (root / "choices.yaml").unlink()
    assert _problems(root)[0].what == "the file can't be read: no such file or directory"


def test_a_rule_without_limits_names_a_source(tmp_path):
    text = (
        "title: t\nsubject: s\nseverity: stop\nrequires: spring.shape == 'straight'\n"
        "message: m\nwhy: w\nfixes: []\nexamples: {}\n"
    )
    (problem,) = _problems(written(tmp_path, {"fits/springs/shape.yaml": text}))
    assert problem.what == "'shape' names no source"
    assert problem.mend == "add source: to the rule or its limits"
    load_anew(written(tmp_path, {"fits/springs/shape.yaml": text + "source: geometry\n"}))

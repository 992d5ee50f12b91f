"""Files to start from: what there is to say, line by line, for whoever holds a page or a tape.

Nothing in them is a figure of any part. A line behind a # waits for its figure; what stays behind
the # counts as wide as such parts come.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from textwrap import wrap

from fitcheck.knowledge import Knowledge
from fitcheck.model import Attribute, PartClass
from fitcheck.quantity import System
from fitcheck.report.parts import value_words, written
from fitcheck.report.phrases import capital
from fitcheck.report.schema import comment
from fitcheck.source import frozen

WIDTH = 100
BLANK = "____"
# Where somebody looks, in the order of looking; parts that stand in none come last.
PLACES = {
    "THE ENGINE AND ITS JOB": ("engine", "fuel", "oil"),
    "THE CAM CARD AND WHAT FOLLOWS THE LOBES": ("cam", "lifter", "timing_set", "drive_gear"),
    "THE SELLER'S PAGE OF THE HEAD": ("head", "valve", "guide", "seat", "seal"),
    "THE SELLER'S PAGE OF THE SPRINGS": ("spring", "retainer", "locks"),
    "ROCKERS AND PUSHRODS": ("rocker", "rocker_mount", "pushrod"),
    "BLOCK AND BOTTOM END": ("block", "crankshaft", "rod", "piston", "head_gasket"),
}
# A figure on which less hangs is left to `fitcheck parts`.
LEAST_WEIGHT = 6
MOST_USUAL = 5
_GRAVITY = {"stop": 10, "serious": 3, "advice": 1}
MOST_FIGURES = 14
MOST_OF_PAPER = 5
_PAPERS = ("from_paper", "cam_card")
# What every page tells, whatever hangs on it.
_ALWAYS = (
    "head.chamber_volume",
    "head.sold_for_lift",
    "head.sold_for_followers",
    "spring.coil_bind_height",
    "cam.lobe_separation",
)
_LAID_OUT = ("engine.cylinders", "engine.banks", "engine.layout")
SELLER = "seller's page"
_TOLD_BY = {"engine": "me", "fuel": "me", "cam": "cam card", "lifter": "cam card"}


@frozen
class Asked:
    """What a build is started with; `given` are values by the attributes' names in full."""

    title: str
    cylinders: int
    layout: str
    given: Mapping[str, str]


def build_starter(asked: Asked, knowledge: Knowledge, system: System) -> str:
    """A build file to fill in; it can be checked as it stands."""
    return "\n".join(_Build(asked, knowledge, system).lines()) + "\n"


class _Build:
    def __init__(self, asked: Asked, knowledge: Knowledge, system: System) -> None:
        self.asked = asked
        self.knowledge = knowledge
        self.system: System = system

    def lines(self) -> Iterator[str]:
        yield comment("build")
        yield from _note(
            "Take the # away from each line you can fill, and put the figure in the place of "
            f"{BLANK}. What stays behind a # counts as wide as its note says. What you measured "
            "yourself goes beneath measured: {by: me, when: 2026-03-09, with: caliper, ...} beside "
            "claimed:. Where intake and exhaust differ write {intake: ..., exhaust: ...}. "
            "'fitcheck parts' lists all that can be said."
        )
        yield f"build: {_quoted(self.asked.title)}"
        yield f'cylinders: "{self.asked.cylinders}"'
        yield from self.banks()
        yield "parts:"
        named = {slot for slots in PLACES.values() for slot in slots}
        given = {name.partition(".")[0] for name in self.asked.given}
        rest = tuple(slot for slot in self.knowledge.classes if slot in given - named)
        for heading, slots in {**PLACES, "OTHER PARTS": rest}.items():
            some = [
                self.knowledge.classes[slot] for slot in slots if slot in self.knowledge.classes
            ]
            if some:
                yield ""
                yield f"  # {heading}"
            for part_class in some:
                yield from self.part(part_class)
        others = [
            slot for slot in self.knowledge.classes if slot not in named and slot not in given
        ]
        yield ""
        yield from _note(
            f"Other parts, to be listed where there is something to say of them, or as none: "
            f"{', '.join(others)}.",
            2,
        )

    def banks(self) -> Iterator[str]:
        if self.asked.layout == "inline" or self.asked.cylinders < 2:
            return
        numbers = [f'"{number}"' for number in range(1, self.asked.cylinders + 1)]
        yield f"banks: {{left: [{', '.join(numbers[::2])}], right: [{', '.join(numbers[1::2])}]}}"
        yield "# ^ as your engine counts its cylinders"

    def part(self, part_class: PartClass) -> Iterator[str]:
        slot = part_class.id
        said = {
            name: value
            for name, value in self.asked.given.items()
            if name.partition(".")[0] == slot
        }
        if slot == "engine" and self.asked.layout:
            said = {"engine.layout": self.asked.layout, **said}
        # A part that may be left out is listed only where it is there.
        hidden = part_class.optional and not said
        mark = "# " if hidden else ""
        yield ""
        about = " (leave it out, or write none, where there is none)" if part_class.optional else ""
        yield from _note(f"{capital(part_class.title)}: {part_class.about}{about}", 2)
        yield f"  {mark}{slot}:"
        yield f"  {mark}  claimed:"
        yield f"  {mark}    by: {_TOLD_BY.get(slot, SELLER)}"
        for name, value in said.items():
            yield f"      {name.partition('.')[2]}: {_value(value)}"
        for attribute in self.chosen(part_class):
            if attribute.name not in said:
                yield from self.figure(attribute)

    def chosen(self, part_class: PartClass) -> list[Attribute]:
        """The figures that most is asked of, and what papers alone tell."""
        asked = {
            attribute: self.weight(attribute)
            for attribute in written(part_class)
            if attribute.name not in _LAID_OUT and self.weight(attribute)
        }
        ranked = sorted(asked, key=lambda attribute: -asked[attribute])
        always = [one for one in ranked if one.name in _ALWAYS]
        first = [one for one in ranked if asked[one] >= LEAST_WEIGHT and one not in always]
        first = first[:MOST_FIGURES] + always
        papers = [one for one in ranked if one not in first and one.measure in _PAPERS]
        return (first + papers[:MOST_OF_PAPER]) or ranked[:MOST_OF_PAPER]

    def weight(self, attribute: Attribute) -> int:
        """What hangs on a figure: the questions that read it, the gravest most, and the other
        figures of which it tells what is usual."""
        questions = self.knowledge.readers.get(attribute.name, ())
        usual = self.knowledge.usual_of([attribute.name]) - {attribute.name}
        return sum(_GRAVITY[rule.severity] for rule in questions) + min(len(usual), MOST_USUAL)

    def figure(self, attribute: Attribute) -> Iterator[str]:
        """A line to fill, its note behind it or, where that is long, above it."""
        kind = attribute.kind
        unit = "" if kind is None else (kind.inch if self.system == "inch" else kind.metric)[0]
        line = f"      # {attribute.name.partition('.')[2]}: {BLANK} {unit}".rstrip()
        value = value_words(attribute, self.system)
        if kind is not None:
            value = f"not told, {value.rpartition('within ')[2]}"
        about = f" ({attribute.about})" if attribute.about else ""
        note = f"{attribute.title}{about}: {value}"
        if len(line) + len(note) + 4 <= WIDTH:
            yield f"{line}  # {note}"
        else:
            yield from _note(capital(note), 6)
            yield line


def _note(text: str, indent: int = 0) -> Iterator[str]:
    start = f"{' ' * indent}# "
    yield from wrap(text, WIDTH, initial_indent=start, subsequent_indent=start)


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _value(text: str) -> str:
    """A value as it was given: a list or places stay as they are."""
    return text if text[:1] in "[{" else _quoted(text)


def prices_starter(knowledge: Knowledge) -> str:
    """A price file to fill in."""
    lines = [
        comment("prices"),
        *_note(
            "What is not priced is said to have no price. Operations without one go by the hour."
        ),
        "prices: Prices of my shop",
        f"# hour: {BLANK} EUR",
        "operations: {}",
        *_note(
            "In the place of {}, one line for each operation that has a price of its own a place:"
        ),
    ]
    for name, operation in knowledge.operations.items():
        lines.append(f"#  {name}: {BLANK} EUR  # {operation.file.title}, {operation.file.hours}")
    lines += [
        "parts: []",
        *_note("In the place of [], parts on offer (price for all places, or those of one side):"),
        "#  - fits: spring",
        f"#    price: {BLANK} EUR",
        "#    keeps: [installed_height]  # found on the head, not on the part",
        "#    part: {name: what it is, claimed: {by: shop, rate: ____ lbf/in}}",
    ]
    return "\n".join(lines) + "\n"


def house_starter(knowledge: Knowledge) -> str:
    """A house file to fill in."""
    rule = next(
        rule
        for rule in knowledge.rules.values()
        if (rule.severity, rule.each) == ("stop", "valve")
        and any(limit.by is None for limit in rule.limits.values())
    )
    limit = next(limit for limit in rule.limits.values() if limit.by is None)
    value = limit.entries[""].text
    lines = [
        comment("house"),
        *_note(
            "Limits and waivers of a shop, each with who decides and why; every report says so. "
            "'fitcheck rules' lists the rules, 'fitcheck rule RULE' the limits of one."
        ),
        "house: My shop",
        "limits: {}",
        *_note("In the place of {}, for example, with a figure of your own:"),
        f"#  {rule.id}.{limit.name}: {{value: {value}, reason: why, name: who, until: 2027-12-31}}",
        "waivers: []",
        *_note("In the place of [], clashes that you accept:"),
        f"#  - {{rule: {rule.id}, at: 3 exhaust, reason: why, name: who, until: 2027-12-31}}",
    ]
    return "\n".join(lines) + "\n"


def routes_starter(knowledge: Knowledge) -> str:
    """A routes file to fill in."""
    return "\n".join(
        [
            comment("routes"),
            *_note("Each way's build and price file stand beside this one; two ways at least."),
            "routes: Ways to a head",
            "ways:",
            "  - way: rework what I have",
            "    build: build.yaml",
            "    prices: prices.yaml",
            f"    # bought: {{taking it apart: {BLANK} h}}",
            "  - way: start from bare castings",
            "    build: build.yaml  # another build file, with the castings in it",
            "    prices: prices.yaml",
            f"    # bought: {{bare castings: {BLANK} EUR, finishing them: {BLANK} h}}",
            "",
        ]
    )


def pile_starter(knowledge: Knowledge) -> str:
    """A pile file to fill in."""
    return "\n".join(
        [
            comment("pile"),
            *_note(
                "One entry for each lot of pieces alike: its part, how many, and what is known of "
                "it, as in a build file; 'fitcheck parts PART' tells what there is to say."
            ),
            "pile: What lies on the bench",
            "parts:",
            "  - spring:",
            "      name: springs from the first box",
            f'      # pieces: "{BLANK}"',
            f"      # price: {BLANK} EUR",
            '      # unidentified: "yes"  # where nobody knows which part it is',
            "      measured:",
            "        by: me",
            f"        # outside_diameter: {BLANK} in",
            f"        # installed_height: {BLANK} in",
            "",
        ]
    )


def columns_starter(knowledge: Knowledge) -> str:
    """A file that says what a list's columns are, to fill in."""
    lines = [
        comment("columns"),
        *_note("Left, the header of a column in your list; right, what it is and its unit."),
        "classes: spring",
        "# item: Part no",
        "# price: Net",
        "# currency: EUR",
        '# thousands: ","',
        "columns:",
        "  Rate: rate lbf/in",
    ]
    for attribute in written(knowledge.classes["spring"]):
        name = attribute.name.partition(".")[2]
        unit = attribute.kind.inch[0] if attribute.kind else ""
        if name != "rate":
            lines.append(f"  # {capital(attribute.title)}: {name} {unit}".rstrip())
    return "\n".join(lines) + "\n"


STARTERS: dict[str, Callable[[Knowledge], str]] = {
    "prices": prices_starter,
    "house": house_starter,
    "routes": routes_starter,
    "pile": pile_starter,
    "columns": columns_starter,
}

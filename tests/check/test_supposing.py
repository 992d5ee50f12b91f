"""What if: changes on the command line, and two checks side by side."""

from __future__ import annotations

import json
from pathlib import Path
from random import Random

import pytest

from fitcheck.check import BuildCheck, Verdict, check_build, read_build, recheck
from fitcheck.check.comparing import changes
from fitcheck.check.supposing import suppose_all
from fitcheck.cli import main
from fitcheck.quantity import Interval, show
from fitcheck.source import BadInput
from tests.plan.long import LONG

DEMOS = sorted((Path(__file__).parents[2] / "catalog_demo").glob("*/build.yaml"))
WHERE = {
    "engine": [""],
    "bank": [""],
    "cylinder": ["", "@cylinder 2"],
    "valve": ["", "@exhaust", "@3 intake"],
}
BUILD = """build: b
cylinders: '2'
parts:
  spring:
    claimed: {coil_bind_height: 1.150 in}
    measured: {installed_height: 1.700 in}
  cam: {measured: {lobe_lift: 0.300 in}}
  lifter: {measured: {type: hydraulic_flat}}
  rocker: {measured: {ratio: "1.500"}}
"""


def said(check: BuildCheck) -> dict:
    """What a check says at each place, with its figures."""
    return {
        (finding.rule.id, position): (
            finding.verdict,
            [(demand.actual, demand.wanted) for demand in finding.demands],
        )
        for finding in check.all_findings
        for position in finding.positions
    }


def told_of(found: dict) -> dict:
    """The same without the margins of what nobody measured, which say nothing."""
    unknown = Verdict.UNMEASURED
    return {key: (one[0], [] if one[0] is unknown else one[1]) for key, one in found.items()}


def drawn_changes(knowledge, random: Random, others: list[Path]) -> list[str]:
    """Some changes: values here and there, a part left out, a part of another build."""
    some = []
    for _ in range(random.randrange(1, 4)):
        attribute = random.choice(list(knowledge.attributes.values()))
        own = attribute.name.partition(".")[2]
        if attribute.text or own in ("present", "comes_with_head", "cylinders", "side", ""):
            continue
        if attribute.kind is None:
            value = random.choice(attribute.options)
            value = f"[{value}]" if attribute.several else value
        elif attribute.kind.name == "count":
            value = str(
                random.randint(int(attribute.plausible.lower), int(attribute.plausible.upper))
            )
        else:
            share = random.randrange(300, 700)
            middle = attribute.plausible.lower + attribute.plausible.width * share / 1000
            value = show(Interval.point(middle), attribute.kind)
        some.append(f"{attribute.name}{random.choice(WHERE[attribute.each])}={value}")
    slot = random.choice(["shim", "seal", "locator", "lash_cap", "thrust_control"])
    some += random.choice([[], [f"{slot}=none"], [f"rocker={random.choice(others)}"]])
    return some


@pytest.mark.parametrize(
    "path",
    [pytest.param(DEMOS[0], marks=LONG), DEMOS[1]],
    ids=lambda path: path.parent.name,
)
def test_a_recheck_after_changes_says_what_a_full_check_says(knowledge, path):
    build = read_build(path, knowledge)
    before = check_build(build, knowledge)
    random = Random(path.parent.name)
    turned = 0
    for _ in range(12):
        some = drawn_changes(knowledge, random, DEMOS)
        supposed = suppose_all(build, some, knowledge)
        full = check_build(supposed.build, knowledge)
        again = recheck(before, supposed.build, supposed.changed)
        assert said(again) == said(full), some
        assert again.silent == full.silent, some
        turned += said(full) != said(before)
    assert turned > 3


def test_a_value_holds_over_what_the_file_says_and_as_the_file_would_say_it(knowledge):
    build = read_build("b.yaml", knowledge, BUILD)
    rule = knowledge.rules["coil_bind"]
    some = ["spring.coil_bind_height@2 exhaust=1.250 in", 'rocker.ratio@2 exhaust="1.500"']
    # Quotes of a shell that were typed twice say nothing.
    (ratio,) = suppose_all(build, some[1:], knowledge).build.parts["rocker"][0].statements[-1:]
    assert ratio.value.text == "1.500"
    supposed = suppose_all(build, [some[0], "lifter.type=hydraulic_roller"], knowledge).build
    text = BUILD.replace(
        "measured: {installed", "measured: {coil_bind_height: {2 exhaust: 1.250 in}, installed"
    )
    text = text.replace("hydraulic_flat", "hydraulic_roller")
    written = read_build("b.yaml", knowledge, text)
    mine, theirs = (said(check_build(one, knowledge, [rule])) for one in (supposed, written))
    assert mine == theirs
    assert {verdict.value for verdict, _ in mine.values()} == {"fits", "conflict"}
    assert said(check_build(build, knowledge, [rule])) != mine


def test_the_last_of_two_changes_holds(knowledge):
    build = read_build("b.yaml", knowledge, BUILD)
    rule = knowledge.rules["coil_bind"]
    twice = ["spring.coil_bind_height=1.600 in", "spring.coil_bind_height=1.000 in"]
    for some, verdict in ((twice, "fits"), (twice[::-1], "conflict")):
        found = check_build(suppose_all(build, some, knowledge).build, knowledge, [rule])
        assert {finding.verdict.value for finding in found.all_findings} == {verdict}


def test_a_part_of_another_build_and_a_part_left_out(knowledge, tmp_path):
    other = tmp_path / "other.yaml"
    other.write_text(BUILD.replace("1.150 in", "1.600 in"), encoding="utf-8")
    build = read_build("b.yaml", knowledge, BUILD)
    supposed = suppose_all(build, [f"spring={other}", "shim=none", "locator=none"], knowledge)
    assert {"shim", "locator"} <= supposed.build.absent
    found = check_build(supposed.build, knowledge, [knowledge.rules["coil_bind"]])
    assert len(found.conflicts) == 1
    assert "shim.thickness" in supposed.changed and "spring.coil_bind_height" in supposed.changed


@pytest.mark.parametrize("change, what", [
    ("spring.installed_height", "sets nothing"),
    ("=1 in", "sets nothing"),
    ("sprnig.rate=300 lbf/in", "no part class 'sprnig'"),
    ("spring.hight=1.7 in", "no attribute 'hight'"),
    ("spring.rate=300 in", "a unit of length"),
    ("spring.installed_height=0.19 in", "outside"),
    ("spring.rate@exhuast=300 lbf/in", "names no position"),
    ("spring.rate@9 exhaust=300 lbf/in", "no position"),
    ("cam.lobe_type@exhaust=roller", "one figure for each"),
    ("cam.lobe_type=rolling", "no option"),
    ("spring=nowhere.yaml", "nowhere.yaml"),
    ("spring.present=yes", "no attribute 'present'"),
])  # fmt: skip
def test_what_cannot_be_supposed_is_named(knowledge, change, what):
    build = read_build("b.yaml", knowledge, BUILD)
    with pytest.raises(BadInput) as refused:
        suppose_all(build, [change, "cam.lobe_lift=0.2 lb"], knowledge)
    told = [str(problem) for problem in refused.value.problems]
    assert any(change in one and what in one for one in told), told
    assert any("cam.lobe_lift=0.2" in one for one in told), "every wrong change is told"


# Side by side.


def test_changes_are_just_what_differs_at_each_place(knowledge):
    random = Random(5)
    builds = [read_build(path, knowledge) for path in DEMOS]
    for build in builds:
        before = check_build(build, knowledge)
        after = check_build(
            suppose_all(build, drawn_changes(knowledge, random, DEMOS), knowledge).build, knowledge
        )
        one, other = told_of(said(before)), told_of(said(after))
        expected = {key for key in one.keys() | other.keys() if one.get(key) != other.get(key)}
        found = changes(before, after)
        told = [(change.rule.id, place) for change in found for place in change.positions]
        assert len(told) == len(set(told)) and set(told) == expected
        for change in found:
            for place in change.positions:
                key = change.rule.id, place
                for finding, all_said in ((change.before, one), (change.after, other)):
                    assert (finding.verdict if finding else None) == all_said.get(key, (None,))[0]
                assert change.turned == (one.get(key, (0,))[0] != other.get(key, (0,))[0])
        turned = [change.turned for change in found]
        assert turned == sorted(turned, reverse=True)
    assert changes(before, before) == []


def test_commands(knowledge, tmp_path, capsys):
    path = tmp_path / "b.yaml"
    path.write_text(BUILD, encoding="utf-8")
    worse = "spring.coil_bind_height=1.600 in"
    assert main(["compare", str(path), "--set", worse]) == 1
    text = capsys.readouterr().out
    assert "CLASHES THAT CAME" in text and "coil_bind" in text
    assert path.read_text(encoding="utf-8") == BUILD
    other = tmp_path / "other.yaml"
    other.write_text(BUILD.replace("1.150 in", "1.600 in"), encoding="utf-8")
    assert main(["compare", str(other), str(path), "--json"]) == 3
    data = json.loads(capsys.readouterr().out)
    change = next(one for one in data["changes"] if one["rule"] == "coil_bind")
    assert change["first"]["verdict"] == "conflict" and change["second"]["verdict"] == "fits"
    assert main(["compare", str(path), str(path)]) == 3
    assert "Nothing differs." in capsys.readouterr().out
    assert main(["check", str(path), "--set", worse]) == 1
    assert "coil_bind" in capsys.readouterr().out
    assert main(["compare", str(path)]) == 2
    assert main(["compare", str(path), "--set", "shim"]) == 2
    assert "nothing was done" in capsys.readouterr().err


@pytest.mark.parametrize(("stroke", "load"), [("3.48 in", "180 lbf"), ("88.4 mm", "180 N")])
def test_a_bare_figure_is_in_the_units_of_the_build(knowledge, stroke, load):
    text = f"build: a\ncylinders: 8\nparts: {{crankshaft: {{claimed: {{stroke: {stroke}}}}}}}\n"
    build = read_build("a.yaml", knowledge, text)
    supposed = suppose_all(build, ["spring.load_1=180"], knowledge).build
    (said,) = [s for s in supposed.statements() if s.attribute.name == "spring.load_1"]
    assert said.value.text == load

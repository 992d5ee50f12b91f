"""How far: every range held against checks just inside its ends, just outside, and in between.

The checks are full ones of the build with that one value supposed; they share nothing with the
way the ranges are found.
"""

from __future__ import annotations

import json
from itertools import pairwise
from random import Random
from types import SimpleNamespace

import pytest

from fitcheck.check import Verdict, check_build, read_build
from fitcheck.check.checking import CLAIMS
from fitcheck.cli import main
from fitcheck.language import FITS, SILENT
from fitcheck.model import EngineBuild, Selector
from fitcheck.plan.howfar import HowFar, how_far, suppose, table
from fitcheck.plan.pieces import Pieces
from fitcheck.plan.steps import steps_of
from fitcheck.quantity import Interval, show
from tests.builds import random_build
from tests.plan.long import LONG

CASES_A_SEED = 30
# Its every answer takes thousands of times as long as another's.
SLOW = "valve_near_piston"


def judging(knowledge, attribute):
    """The rules that can end a range of the attribute."""
    return [
        rule
        for rule in knowledge.readers.get(attribute.name, ())
        if rule.severity != "advice" and rule.family != CLAIMS and rule.ways is None
    ]


def random_case(knowledge, random: Random):
    """A figure and a random build of the parts that its rules read."""
    while True:
        attribute = random.choice(list(knowledge.attributes.values()))
        rules = judging(knowledge, attribute)
        own = attribute.name.partition(".")[2]
        if not rules or attribute.text or attribute.several or SLOW in {rule.id for rule in rules}:
            continue
        if own in ("present", "comes_with_head", "cylinders", ""):
            continue
        slots = {slot for rule in rules for slot in rule.slots}
        some = SimpleNamespace(classes={n: c for n, c in knowledge.classes.items() if n in slots})
        known = random.choice([0.5, 0.8, 1.0])
        return attribute, random_build(some, random, known, "random")


class Asked:
    """Full checks of a build at values of one attribute, without what no value settles."""

    def __init__(self, knowledge, build: EngineBuild, found: HowFar, selector: Selector) -> None:
        self.knowledge, self.build, self.found, self.selector = knowledge, build, found, selector
        self.rules = judging(knowledge, found.attribute)
        self.hopeless = _places(found.hopeless)
        self.open = _places(found.open)

    def at(self, step: int) -> dict:
        """What is said at each place that reads the attribute there."""
        value = suppose(self.found.attribute, self.found.values[step], self.selector)
        check = check_build(self.build.supposing([value]), self.knowledge, self.rules)
        assert not check.failures
        return {
            (finding.rule.id, place): finding.verdict
            for finding in (*check.findings, *check.beneath)
            for place in finding.positions
            if self.selector.covers(place)
        }

    def conflicting(self, step: int) -> set:
        """Where something conflicts that does not at every value."""
        said = self.at(step)
        return {key for key in said if said[key] is Verdict.CONFLICT} - self.hopeless

    def not_fitting(self, step: int) -> set:
        """Where something does not fit that can be settled by some value."""
        said = self.at(step)
        return {key for key in said if said[key] is not Verdict.FITS} - self.hopeless - self.open


def _places(binders) -> set:
    return {(binder.rule.id, place) for binder in binders for place in binder.positions}


@pytest.mark.parametrize("seed", [0, 1, *(pytest.param(seed, marks=LONG) for seed in range(2, 6))])
def test_ranges_end_where_the_checks_turn(knowledge, seed):
    random = Random(seed)
    ends = 0
    for _ in range(CASES_A_SEED):
        attribute, build = random_case(knowledge, random)
        selector = (
            Selector(side="exhaust")
            if attribute.each == "valve" and random.random() < 0.3
            else Selector()
        )
        found = how_far(build, knowledge, attribute, selector)
        asked = Asked(knowledge, build, found, selector)
        for stretches, against in (
            (found.possible, asked.conflicting),
            (found.certain, asked.not_fitting),
        ):
            inside = set()
            for one in stretches:
                inside |= set(range(one.first, one.last + 1))
                for step in (one.first, one.last, random.randint(one.first, one.last)):
                    assert not against(step), (attribute.name, step)
                for step, binders in ((one.first - 1, one.below), (one.last + 1, one.above)):
                    assert bool(binders) == (0 <= step < len(found.values))
                    if binders:
                        assert _places(binders) == against(step), attribute.name
                        ends += 1
            for step in random.sample(range(len(found.values)), min(3, len(found.values))):
                assert (step in inside) == (not against(step)), (attribute.name, step)
    assert ends > 20


@LONG
def test_what_leaves_nothing_is_named_and_no_more_than_that(knowledge):
    random, seen = Random(1), 0
    for _ in range(400):
        attribute, build = random_case(knowledge, random)
        if attribute.kind is None or attribute.kind.name not in ("length", "force"):
            continue
        found = how_far(build, knowledge, attribute)
        assert bool(found.contradicting) == (not found.possible)
        if found.possible:
            continue
        asked = Asked(knowledge, build, found, Selector())
        named = _places(found.contradicting)
        steps = sorted(random.sample(range(len(found.values)), min(40, len(found.values))))
        said = [asked.conflicting(step) for step in steps]
        assert all(conflicts & named for conflicts in said)
        for binder in found.contradicting:
            rest = named - _places([binder])
            steps = random.sample(range(len(found.values)), len(found.values))
            left = any(not asked.conflicting(step) & rest for step in steps)
            assert left, "without one of them some value is left"
        seen += 1
        if seen == 2:
            return
    assert seen


def test_where_practice_disagrees_certain_lies_within_possible_from_both_sides(knowledge):
    """An installed height may be off either way, by 0.010 in as some say, 0.025 in as others."""
    rule = knowledge.rules["installed_height_off"]
    text = """build: b
cylinders: '1'
parts: {spring: {measured: {wanted_height: 1.700 in}}}
"""
    build = read_build("b.yaml", knowledge, text)
    attribute = knowledge.attributes["spring.installed_height"]
    found = how_far(build, knowledge.with_rules({rule.id: rule}), attribute)
    (possible,), (certain,) = found.possible, found.certain
    assert 0 < possible.first < certain.first <= certain.last < possible.last
    only = knowledge.with_rules({rule.id: rule})
    codes = []
    for value in found.values:
        check = check_build(build.supposing([suppose(attribute, value)]), only)
        codes.append(check.findings[0].verdict)
    assert [i for i, code in enumerate(codes) if code is not Verdict.CONFLICT] == list(
        range(possible.first, possible.last + 1)
    )
    assert [i for i, code in enumerate(codes) if code is Verdict.FITS] == list(
        range(certain.first, certain.last + 1)
    )


@LONG
@pytest.mark.parametrize("seed", range(4))
def test_each_proved_piece_is_so_at_every_value(knowledge, seed):
    """What a range proves at once is what each of its values gives."""
    random = Random(seed)
    for _ in range(12):
        attribute, build = random_case(knowledge, random)
        if attribute.kind is None:
            continue
        rule = random.choice(judging(knowledge, attribute))
        only = knowledge.with_rules({rule.id: rule})
        found = how_far(build, only, attribute)
        asked = Asked(only, build, found, Selector())
        steps = random.sample(range(len(found.values)), min(25, len(found.values)))
        good = {i for one in found.certain for i in range(one.first, one.last + 1)}
        if not found.hopeless and not found.open:
            assert all((step in good) == (not asked.not_fitting(step)) for step in steps)


def test_a_range_is_proved_without_asking_every_value(knowledge):
    rule = knowledge.rules["coil_bind"]
    attribute = knowledge.attributes["spring.coil_bind_height"]
    build = read_build(
        "b.yaml",
        knowledge,
        """build: b
cylinders: '1'
parts:
  spring: {measured: {installed_height: 1.700 in}}
  cam: {measured: {lobe_lift: 0.300 in}}
  lifter: {measured: {type: hydraulic_flat}}
  rocker: {measured: {ratio: "1.50"}}
""",
    )
    values = steps_of(attribute, "inch")
    asked: set[int] = set()
    (finding,) = check_build(build, knowledge, [rule]).all_findings
    pieces = Pieces(rule, finding.facts, attribute.name, knowledge)

    def code(step: int) -> int:
        asked.add(step)
        found = check_build(build.supposing([suppose(attribute, values[step])]), knowledge, [rule])
        verdict = found.all_findings[0].verdict
        return FITS if verdict is Verdict.FITS else 1 if verdict is Verdict.CONFLICT else 2

    runs = pieces.runs(values, code)
    assert runs[0][0] == 0 and runs[-1][1] == len(values) - 1
    assert all(a[1] + 1 == b[0] for a, b in pairwise(runs))
    assert runs[0][2] == FITS and SILENT not in {found for _, _, found in runs}
    assert len(asked) < len(values) / 5


# The table, and the command.


def test_a_table_is_how_far_at_each_value_of_the_other(knowledge):
    build = read_build(
        "b.yaml",
        knowledge,
        """build: b
cylinders: '1'
parts:
  spring: {measured: {installed_height: 1.700 in}}
  cam: {}
  lifter: {measured: {type: hydraulic_flat}}
  rocker: {measured: {ratio: "1.50"}}
""",
    )
    only = knowledge.with_rules({"coil_bind": knowledge.rules["coil_bind"]})
    first = knowledge.attributes["spring.coil_bind_height"]
    second = knowledge.attributes["cam.lobe_lift"]
    found = table(build, only, first, second, rows=5)
    assert len(found.rows) == 5
    tops = []
    for text, far in found.rows:
        value = next(
            v for v in steps_of(second, "inch") if show(Interval.point(v), second.kind) == text
        )
        alone = how_far(build.supposing([suppose(second, value)]), only, first)
        assert (far.possible, far.certain) == (alone.possible, alone.certain)
        tops.append(far.possible[-1].last)
    assert tops == sorted(tops, reverse=True) and tops[0] > tops[-1]  # more lift, less room


@LONG
def test_command(tmp_path, capsys):
    path = tmp_path / "b.yaml"
    path.write_text(
        """build: b
cylinders: '2'
parts:
  guide: {claimed: {material: phosphor_bronze}}
  valve: {measured: {stem_diameter: 0.3410 in}}
""",
        encoding="utf-8",
    )
    assert main(["reach", str(path), "guide.bore", "--at", "exhaust"]) in (0, 3)
    text = capsys.readouterr().out
    assert "all exhausts" in text and "stem_tight_in_bronze" in text and "0.34" in text
    assert main(["reach", str(path), "guide.bore", "--json"]) in (0, 3)
    data = json.loads(capsys.readouterr().out)
    assert data["attribute"] == "guide.bore" and data["possible"][0]["lower"]
    assert main(["reach", str(path), "guide.bore", "valve.stem_diameter"]) == 0
    assert "valve: stem diameter" in capsys.readouterr().out
    for wrong in (
        ["guide.boer"],
        ["guide.bore", "--at", "exhuast"],
        ["guide.bore", "guide.bore"],
        ["block.bore", "--at", "exhaust"],
        ["guide.present"],
    ):
        assert main(["reach", str(path), *wrong]) == 2
        assert "nothing was done" in capsys.readouterr().err

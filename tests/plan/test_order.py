"""Order notes: a part within the ranges fits its neighbours, one past any bound does not."""

from __future__ import annotations

import json
from dataclasses import replace
from io import StringIO
from pathlib import Path
from random import Random

import pytest
from rich.console import Console

from fitcheck.check import Verdict, check_build, read_build
from fitcheck.cli import main
from fitcheck.language import compile_intervals, walk
from fitcheck.language.tree import Apply
from fitcheck.model import EngineBuild, Part, Selector
from fitcheck.plan.at_place import measured_with
from fitcheck.plan.howfar import how_far, suppose
from fitcheck.plan.order import Order, order
from fitcheck.report.order import write_order
from tests.builds import random_build
from tests.plan.long import LONG
from tests.plan.test_howfar import SLOW, judging

DEMOS = Path(__file__).parents[2] / "catalog_demo"
# A bronze guide and locks that were made for two different valves.
CONTRARY = """build: b
cylinders: '1'
parts:
  guide: {measured: {bore: 0.3290 in, material: phosphor_bronze}}
  locks: {measured: {stem_diameter: 0.3110..0.3120 in}}
  seal: {measured: {type: positive}}
  valve: {}
"""


def without_slow(knowledge):
    return knowledge.with_rules({id_: one for id_, one in knowledge.rules.items() if id_ != SLOW})


def checked_with(build: EngineBuild, knowledge, statements, rules):
    return check_build(build.supposing(statements), knowledge, rules).findings


@pytest.mark.parametrize("seed", [0, *(pytest.param(seed, marks=LONG) for seed in (1, 2))])
def test_a_part_inside_fits_and_one_past_any_bound_does_not(knowledge, seed):
    random, quick = Random(seed), without_slow(knowledge)
    slots = [slot for slot in quick.classes if slot not in ("engine", "block", "head", "cam")]
    bounds = fitting = 0
    for _ in range(5):
        slot = random.choice(slots)
        build = random_build(quick, random, 0.9, f"order {seed}")
        note = order(build, quick, slot)
        assert note.build.parts[slot] == (Part(slot, "", "", ()),)
        able = [one for one in note.envelopes if one.far.certain]
        whole = []
        for one in able:
            value = one.far.values[inside(one.far, random)]
            whole.append(suppose(one.far.attribute, value, where(one)))
        for one in able:
            settled = places(one.far.hopeless) | places(one.far.open)
            rules = judging(quick, one.far.attribute)
            for finding in checked_with(note.build, quick, whole, rules):
                here = [
                    place
                    for place in finding.positions
                    if where(one).covers(place) and (finding.rule.id, place) not in settled
                ]
                if here and not contradicts(finding):
                    assert finding.verdict is Verdict.FITS, (
                        one.far.attribute.name,
                        finding.rule.id,
                    )
                    fitting += 1
        for envelope in note.envelopes:
            far = envelope.far
            for one in far.possible:
                for at, binders in ((one.first - 1, one.below), (one.last + 1, one.above)):
                    for binder in binders:
                        value = suppose(far.attribute, far.values[at], where(envelope))
                        found = checked_with(note.build, quick, [value], [binder.rule])
                        clashing = {
                            place
                            for finding in found
                            for place in finding.positions
                            if finding.verdict is Verdict.CONFLICT
                        }
                        assert set(binder.positions) <= clashing
                        bounds += 1
    assert bounds and fitting


def inside(far, random: Random) -> int:
    one = random.choice(far.certain)
    return random.randint(one.first, one.last)


def where(envelope) -> Selector:
    """The selector that the envelope was found for."""
    sides = {place.side for place in envelope.far.positions}
    return Selector(side=sides.pop()) if len(sides) == 1 and None not in sides else Selector()


def places(binders) -> set:
    return {(binder.rule.id, place) for binder in binders for place in binder.positions}


def contradicts(finding) -> bool:
    """Whether figures of the part drawn apart from each other say two things of one."""
    twofold = [
        node
        for root in finding.rule.roots
        for node in walk(root)
        if isinstance(node, Apply) and node.op == "agree"
    ]
    lowering = finding.knowledge.lowering
    ways = [lowering.interval(way) for node in twofold for way in node.args]
    if not ways:
        return False
    compiled = compile_intervals(ways, "fast")
    ends = compiled.function([finding.facts[name].end(end) for name, end in compiled.inputs])
    return any(ends[i] > ends[i + 3] or ends[i + 2] > ends[i + 1] for i in range(0, len(ends), 4))


@LONG
def test_neighbours_that_contradict_each_other_are_named_and_no_others(knowledge):
    build = read_build("b.yaml", knowledge, CONTRARY)
    note = order(build, knowledge, "valve")
    assert not note.possible
    stems = [one for one in note.envelopes if not one.far.possible]
    assert {one.far.attribute.name for one in stems} == {"valve.stem_diameter"}
    assert [set(one.contradicting) for one in stems] == [{"guide", "locks"}] * len(stems)
    # Without either of them there is a valve that goes; without the seal there is none.
    for slot, left in (("guide", True), ("locks", True), ("seal", False)):
        fewer = replace(build, parts={n: p for n, p in build.parts.items() if n != slot})
        assert order(fewer, knowledge, "valve").possible is left


def test_what_is_in_the_slot_counts_for_nothing(knowledge):
    build = read_build("b.yaml", knowledge, CONTRARY)
    filled = CONTRARY.replace("valve: {}", "valve: {measured: {stem_diameter: 0.3110 in}}")
    other = read_build("b.yaml", knowledge, filled)
    assert told(order(build, knowledge, "valve")) == told(order(other, knowledge, "valve"))


def told(note: Order) -> list:
    return [
        (one.far.attribute.name, one.far.possible, one.far.certain, one.contradicting)
        for one in note.envelopes
    ]


@LONG
def test_an_envelope_is_how_far_with_the_slot_emptied(knowledge):
    quick = without_slow(knowledge)
    build = read_build(DEMOS / "hill_climb_four" / "build.yaml", quick)
    note = order(build, quick, "retainer")
    assert len(note.envelopes) > 3
    for one in note.envelopes:
        alone = how_far(note.build, quick, one.far.attribute, where(one))
        assert (one.far.possible, one.far.certain) == (alone.possible, alone.certain)
        assert one.bounded or one.narrower


def test_an_empty_slot_and_a_part_left_out_can_be_ordered(knowledge):
    quick = without_slow(knowledge)
    build = read_build(
        "b.yaml", quick, CONTRARY.replace("seal: {measured: {type: positive}}", "seal: none")
    )
    note = order(build, quick, "seal")
    assert "seal" in note.build.parts and "seal" not in note.build.absent
    assert note.joint or note.envelopes


@LONG
def test_each_bound_is_safe_at_every_place_and_the_next_value_is_not(knowledge):
    """At the bound the rules that set it fit wherever the part goes; one step on they do not."""
    build = read_build(DEMOS / "work_truck" / "build.yaml", knowledge)
    note = order(build, knowledge, "spring")
    assert {one.attribute.name.partition(".")[2] for one in note.asked} >= {
        "seat_load", "open_load", "coil_bind_height", "rated_lift", "greatest_speed", "wanted_height"
    }  # fmt: skip
    for one in note.asked:
        for bound, step in ((one.least, -1), (one.most, 1)):
            for binder in bound.binders if bound else ():
                for at, fits in ((bound.at, True), (bound.at + step, False)):
                    value = suppose(one.attribute, one.far.values[at])
                    found = checked_with(note.build, knowledge, [value], [binder.rule])
                    verdicts = {finding.verdict for finding in found}
                    assert (verdicts == {Verdict.FITS}) is fits, (one.attribute.name, at)


@LONG
def test_the_note_reads_as_a_machinist_asks(knowledge):
    """The truck's figures: 1.720 in by the bench; lifters for 380 lbf, a grinder's limit of 400."""
    build = read_build(DEMOS / "work_truck" / "build.yaml", knowledge)
    note, told = order(build, knowledge, "spring"), StringIO()
    write_order(note, knowledge, Console(file=told, width=400), "inch")
    text = told.getvalue()
    assert "installed height 1.717..1.723 in, spring height at full lift 1.173..1.197 in" in text
    assert "- Seat load: 120 lbf to 160 lbf" in text
    assert "- Open load: 300 lbf to 380 lbf" in text  # rules/fits/spring_load: a hydraulic roller
    # The exhausts' lowest height at full lift less the 0.060 in that the strictest practice wants.
    assert "- Coil-bind height: 1.113 in or less" in text
    assert "- Greatest engine speed: 5000 rpm or more" in text
    # What only the plausible range of figures not told would give is no bound.
    assert "Inside diameter" not in text and "Outside diameter" not in text
    assert "pushrod: wall thickness" in text and "not told)" not in text


def test_what_a_new_retainer_may_shift_is_named(knowledge):
    """An installed height is measured with retainer and locks in place: others may shift it."""
    build = read_build(DEMOS / "work_truck" / "build.yaml", knowledge)
    assert measured_with(build, knowledge, ["spring"]) == {}
    told = measured_with(build, knowledge, ["spring", "retainer", "locks", "cam"])
    assert told == {"spring.installed_height": ["locks", "retainer"]}


def test_command(tmp_path, capsys):
    path = tmp_path / "b.yaml"
    path.write_text(CONTRARY, encoding="utf-8")
    assert main(["order", str(path), "valve"]) == 1
    text = " ".join(capsys.readouterr().out.split())
    assert "Stem diameter" in text and "NOTHING FITS" in text
    assert "contradict each other: " in text and "valve guide" in text and "valve locks" in text
    assert main(["order", str(path), "seal", "--json"]) == 3  # possible, not sure
    data = json.loads(capsys.readouterr().out)
    assert data["slot"] == "seal" and isinstance(data["figures"], list)
    assert main(["order", str(path), "guide"]) == 3
    text = capsys.readouterr().out
    assert "Wanted: valve guide" in text and "bound no figure" in text
    assert main(["order", str(path), "gudie"]) == 2

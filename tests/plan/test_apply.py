"""Works applied to a build: predicted figures, figures undone, errors."""

from __future__ import annotations

from fractions import Fraction
from math import pi

import pytest

from fitcheck.check import check_build, read_build, recheck
from fitcheck.cli.demo import demo_folder
from fitcheck.model import Evidence, Position
from fitcheck.plan.apply import apply
from fitcheck.plan.work import Work, order_of
from fitcheck.source import BadInput

INCH = Fraction(254, 10)


@pytest.fixture(scope="module")
def truck(knowledge):
    return read_build(demo_folder() / "work_truck" / "build.yaml", knowledge)


@pytest.fixture(scope="module")
def boat(knowledge):
    return read_build(demo_folder() / "service_boat" / "build.yaml", knowledge)


def works(knowledge, build, **amounts):
    return [
        Work(
            knowledge.operations[name],
            tuple(build.layout.positions(knowledge.operations[name].each)),
            None if amount is None else INCH * Fraction(amount),
        )
        for name, amount in amounts.items()
    ]


def figure(applied, name, cylinder=1, side="exhaust"):
    return applied.run.at(name, Position(applied.build.layout.bank_of(cylinder), cylinder, side))


def test_measured_becomes_predicted(knowledge, truck):
    """1.720 in measured to 0.005 in (step of the height micrometer), 0.040 cut to half of 0.005."""
    applied = apply(truck, knowledge, works(knowledge, truck, cut_spring_seat="0.040"))
    height = figure(applied, "spring.installed_height")
    assert height.evidence is Evidence.PREDICTED
    before = applied.before(0, "spring.installed_height", Position(None, 1, "exhaust")).interval
    assert height.interval.lower == before.lower + INCH * Fraction("0.0375")
    assert height.interval.upper == before.upper + INCH * Fraction("0.0425")


def test_two_valves_add_up_in_their_chamber(knowledge, truck):
    """Geometry: a valve sunk by h adds the cylinder of its head's area, pi/4 d^2 h, and no less."""
    applied = apply(truck, knowledge, works(knowledge, truck, sink_valve="0.010"))
    volume = figure(applied, "head.chamber_volume")
    before = applied.before(0, "head.chamber_volume", Position(None, 1, "exhaust"))
    added = sum(pi / 4 * (d * 25.4) ** 2 * 0.010 * 25.4 for d in (1.940, 1.560))
    assert float(volume.interval.middle - before.interval.middle) == pytest.approx(added, rel=0.02)


def test_a_cut_of_both_heads_reaches_every_chamber_once(knowledge, boat):
    applied = apply(boat, knowledge, works(knowledge, boat, mill_deck="0.010"))
    for bank, was in (("left", "0.010"), ("right", "0.034")):
        removed = applied.run.at("head.deck_removed", Position(bank))
        assert removed.interval.middle == pytest.approx(INCH * (Fraction(was) + Fraction("0.010")))
    for cylinder in (1, 2, 3, 4):
        fact = figure(applied, "head.chamber_volume", cylinder)
        assert fact.evidence is Evidence.PREDICTED


def test_what_is_undone_is_not_known_any_more(knowledge, truck):
    applied = apply(truck, knowledge, works(knowledge, truck, change_drive_gear=None))
    gear = applied.run.at("drive_gear.material", Position())
    assert not gear.given
    check = check_build(applied.build, knowledge)
    verdicts = {f.rule.id: f.verdict.value for f in check.findings}
    assert verdicts["iron_gear_on_steel_core"] == "unmeasured"


def test_recheck_of_what_changed_is_a_whole_check(knowledge, truck):
    check = check_build(truck, knowledge)
    applied = apply(
        truck,
        knowledge,
        works(knowledge, truck, cut_spring_seat="0.040", sink_valve="0.010", hone_guide="0.0010"),
    )
    whole = check_build(applied.build, knowledge)
    part = recheck(check, applied.build, applied.changed)

    def told(check):
        return {(f.rule.id, p, f.verdict) for f in check.all_findings for p in f.positions}

    assert told(part) == told(whole)


def test_the_spread_follows_its_figures(knowledge, boat):
    """61.2 and 61.6 cc brought up by 4.0 and 3.5 cc: the spread of those known shrinks."""
    operation = knowledge.operations["equalise_chambers"]
    at = {p.cylinder: p for p in boat.layout.positions("cylinder")}
    done = [Work(operation, (at[2],), Fraction(4000)), Work(operation, (at[4],), Fraction(3500))]
    applied = apply(boat, knowledge, done)
    before = check_build(boat, knowledge)
    after = check_build(applied.build, knowledge)
    assert "chambers_differ" in {f.rule.id for f in before.conflicts}
    assert "chambers_differ" not in {f.rule.id for f in after.conflicts}


@pytest.mark.parametrize(
    ("amounts", "told"),
    [
        ({"cut_spring_seat": "0.041"}, "off the step of 'cut_spring_seat'"),
        ({"cut_spring_seat": "0.200"}, "outside the range of 'cut_spring_seat'"),
        ({"cut_spring_seat": None}, "needs an amount"),
        ({"change_drive_gear": "0.010"}, "takes no amount"),
        ({"hone_guide": "0.0001", "remove_shims": "0.100"}, "would bring shim.thickness to"),
    ],
)
def test_bad_amounts_are_refused(knowledge, truck, amounts, told):
    with pytest.raises(BadInput) as error:
        apply(truck, knowledge, works(knowledge, truck, **amounts))
    assert told in str(error.value)
    assert all(problem.mend for problem in error.value.problems)
    assert len(set(error.value.problems)) == len(error.value.problems) <= len(amounts)


def test_order_keeps_to_what_comes_before(knowledge):
    order = order_of(knowledge)
    assert len(order) == len(knowledge.operations)
    for operation in knowledge.operations.values():
        for earlier in operation.file.after:
            assert order[str(earlier)] < order[operation.id]


@pytest.mark.parametrize(
    ("work", "moved"),
    [
        (
            {"fit_longer_valve": "0.100"},
            {
                "spring.installed_height",
                "retainer.gap_to_seal",
                "head.stem_tip_height",
                "pushrod.wanted_length",
                "rocker.contact_offset",
            },
        ),
        (
            {"mill_deck": "0.020"},
            {
                "head.chamber_volume",
                "head.valve_recess",
                "piston.axial_gap",
                "piston.quench",
                "intake_manifold.fits_bolts",
                "pushrod.wanted_length",
                "lifter.preload",
            },
        ),
    ],
)
def test_side_effects_are_counted(knowledge, truck, work, moved):
    """Common practice, no source: what is set or measured anew after a longer valve, or milling."""
    applied = apply(truck, knowledge, works(knowledge, truck, **work))
    assert moved <= applied.changed

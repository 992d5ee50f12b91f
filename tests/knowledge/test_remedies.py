"""Each remedy of each rule, carried out on the rule's own clashes, has to make the clash go.

Work is done by the plan's own application of its effects, by the amount that the finding asks for.
A part is taken out, with all that was found of it where it meets others: another one has to leave
the question at least open. What does neither stands below with the reason.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from fitcheck.check import RuleFinding, Verdict, check_build, mends
from fitcheck.check.proofs.examples import build_of, examples_of
from fitcheck.knowledge import Fix, Knowledge, Rule
from fitcheck.model import EngineBuild, Part
from fitcheck.plan.apply import apply
from fitcheck.plan.work import Work, amount_of, most_steps, steps_for
from fitcheck.source import BadInput
from tests.knowledge.test_rules import RULES

MEASURES = "it measures, or is done before measuring: what is found decides"
EACH_ITS_OWN = "it is done at one place more than at another"
ASSEMBLY = "the figure was found in the assembly, and another part makes it another one"
LEAVES = "it leaves as it is what can't be undone, and puts right what that has moved"
BOTH = "another part goes with it"
REASONS: dict[tuple[str, str], str] = {
    ("chamber_of_another_size", "measure_chamber_volume"): MEASURES,
    ("chambers_differ", "measure_chamber_volume"): MEASURES,
    ("clearance_not_measured", "degree_cam"): MEASURES,
    ("deck_clearances_differ", "deck_block"): EACH_ITS_OWN,
    ("deck_cut_far", "fit_thicker_gasket"): LEAVES,
    ("deck_cut_far", "mill_intake_face"): LEAVES,
    ("deck_cut_far", "try_pushrod_length"): LEAVES,
    ("installed_heights_differ", "shim_spring"): EACH_ITS_OWN,
    ("intake_face_not_cut_to_match", "intake_gasket"): LEAVES,
    ("lash_cap_bears_on_locks", "locks"): ASSEMBLY,
    ("lobe_strikes_rods", "rod"): ASSEMBLY,
    ("lobe_worn", "degree_cam"): MEASURES,
    ("locks_pull_deep", "locks"): ASSEMBLY,
    ("locks_stand_proud", "locks"): ASSEMBLY,
    ("manifold_on_end_rails", "intake_gasket"): ASSEMBLY,
    ("oil_passages_differ", "head_gasket"): ASSEMBLY,
    ("power_beyond_reach", "crankshaft"): "the displacement is stated anew with another stroke",
    ("rails_on_lash_cap", "valve"): BOTH,
    ("rocker_beside_tip", "guideplate"): ASSEMBLY,
    ("seat_loads_differ", "shim_spring"): EACH_ITS_OWN,
    ("seats_nearly_touch", "valve"): BOTH,
    ("tip_ground_through_its_hard_layer", "fit_lash_cap"): LEAVES,
    ("tip_ground_through_its_hard_layer", "try_pushrod_length"): LEAVES,
    ("torque_beyond_reach", "crankshaft"): "the displacement is stated anew with another stroke",
    ("valve_sunk", "valve"): ASSEMBLY,
    ("valve_tip_too_low", "valve"): ASSEMBLY,
    ("valve_touches_bore", "valve"): ASSEMBLY,
    ("valves_of_mixed_length", "grind_valve_tip"): EACH_ITS_OWN,
    ("valves_touch_each_other", "cam"): ASSEMBLY,
}


def test_each_remedy_mends(knowledge: Knowledge) -> None:
    idle = {
        (rule.id, fix.operation or fix.replace)
        for rule in map(knowledge.rules.__getitem__, RULES)
        if rule.family not in ("claims", "contradictions")  # what was said is not mended by work
        for fix in rule.fixes
        if not any(_mends(fix, *case, knowledge) for case in _clashes(rule, knowledge))
    }
    assert sorted(idle - REASONS.keys()) == []
    assert sorted(REASONS.keys() - idle) == []


def _clashes(rule: Rule, knowledge: Knowledge) -> Iterator[tuple[EngineBuild, RuleFinding]]:
    for example in examples_of(rule):
        if example.expected == "conflict":
            build, side = build_of(rule, example, knowledge, [])
            for finding in check_build(build, knowledge, [rule]).all_findings:
                if finding.verdict is Verdict.CONFLICT and side in (
                    None,
                    finding.positions[0].side,
                ):
                    yield build, finding


def _mends(fix: Fix, build: EngineBuild, clash: RuleFinding, knowledge: Knowledge) -> bool:
    mend = next((mend for mend in mends(clash) if mend.fix is fix), None)
    if mend is None:  # not offered here
        return False
    if mend.operation is None:
        return _gone(_without(fix.replace, build, knowledge), clash, knowledge)
    operation = mend.operation
    at = tuple(build.layout.positions(operation.each))
    amounts: list[Fraction | None] = [None]
    if operation.amount is not None and mend.amount is not None:
        steps = min(most_steps(operation), steps_for(operation, mend.amount.upper))
        amounts = [amount_of(operation, steps)]
    elif operation.amount is not None:  # the amount is left to whoever does it
        amounts = [amount_of(operation, 1), amount_of(operation, most_steps(operation))]
    for amount in amounts:
        try:
            after = apply(build, knowledge, [Work(operation, at, amount)]).build
        except BadInput:  # more than there is
            continue
        if _gone(after, clash, knowledge):
            return True
    return False


def _gone(build: EngineBuild, clash: RuleFinding, knowledge: Knowledge) -> bool:
    found = check_build(build, knowledge, [clash.rule]).all_findings
    return not any(
        finding.verdict is Verdict.CONFLICT
        and not set(clash.positions).isdisjoint(finding.positions)
        for finding in found
    )


def _without(slot: str, build: EngineBuild, knowledge: Knowledge) -> EngineBuild:
    """The build with another part in a slot, of which nothing is known yet."""
    meeting = {
        str(name)
        for mate in knowledge.mates.values()
        if slot in map(str, mate.file.between)
        for name in mate.file.through
    }
    parts = {
        name: tuple(
            replace(
                part,
                statements=tuple(s for s in part.statements if s.attribute.name not in meeting),
            )
            for part in here
        )
        for name, here in build.parts.items()
    }
    return replace(
        build, parts={**parts, slot: (Part(slot, "", "", ()),)}, absent=build.absent - {slot}
    )

"""What work brings with it, what it can't be done on, and how far past the edge it goes."""

from __future__ import annotations

import shutil

import pytest

from fitcheck.check import check_build
from fitcheck.check.supposing import suppose_all
from fitcheck.knowledge import default_rules
from fitcheck.knowledge.load import load_anew
from fitcheck.plan.stages import Stages, remedies
from fitcheck.plan.work import step_of
from fitcheck.source import BadInput
from tests.plan.long import LONG


@LONG
def test_a_seat_is_cut_after_its_guide_or_insert_is_new(demos):
    """TM 9-4940-549-14&P, reconditioning: seats are ground after guides are replaced, from them."""
    plan = demos.plan("service_boat").plan
    at: dict[str, set] = {}
    for work in plan.works:
        if work.operation is not None:
            at.setdefault(work.operation.id, set()).update(work.positions)
    assert at["line_guide"]
    assert at["replace_insert"]
    assert at["cut_seat"] >= at["line_guide"] | at["replace_insert"]
    order = [work.operation.id for work in plan.works if work.operation is not None]
    assert max(order.index("line_guide"), order.index("replace_insert")) < order.index("cut_seat")


def offered(check, prices):
    asked = [check.knowledge.rules[one.rule.id] for one in check.conflicts]
    return Stages(check, prices, "price", remedies(check.knowledge, asked))


def test_what_has_to_follow_is_not_bought_for_itself(demos):
    """It stands with the work that asks for it, at its places, by its least amount, and no other."""
    stages = offered(demos.check("service_boat"), demos.prices("service_boat"))
    by_operation = {}
    for stage in stages.list:
        if stage.operation is not None:
            by_operation.setdefault(stage.operation.id, []).append(stage)
    leaders = [*by_operation["line_guide"], *by_operation["replace_insert"]]
    leaders += by_operation.get("replace_guide", []) + by_operation.get("ream_guide", [])
    cuts = by_operation["cut_seat"]
    assert sorted(map(str, (one.positions for one in cuts))) == sorted(
        map(str, (one.positions for one in leaders))
    )
    assert {stages.most(one.number) for one in cuts} == {1}

    def may_be(*chosen):
        return all(clause.holds({one.number: 1 for one in chosen}) for clause in stages.clauses)

    assert not any(map(may_be, [*cuts, *leaders]))
    for leader in leaders:
        allowed = [one for one in cuts if may_be(leader, one)]
        assert [one.positions for one in allowed] == [leader.positions]


@pytest.mark.parametrize(("shims", "there"), [((), False), (["shim.thickness=0.030 in"], True)])
def test_shims_that_nobody_saw_are_not_taken_out(demos, shims, there):
    short = ["spring.installed_height=1.600 in", *shims]
    build = suppose_all(demos.check("work_truck").build, short, demos.knowledge).build
    check = check_build(build, demos.knowledge)
    asked = {fix.operation for one in check.conflicts for fix in one.rule.fixes}
    assert "remove_shims" in asked
    stages = offered(check, demos.prices("work_truck")).list
    found = {one.operation.id for one in stages if one.operation is not None}
    assert ("remove_shims" in found) is there


def test_work_is_done_off_the_edge_of_what_is_allowed(demos):
    """Twice what the hone holds past the least that mends it, for it costs the same.

    The stems of 0.3420 want 0.0015 in at least; the hone holds 0.0002.
    """
    outcome = demos.plan("work_truck")
    planner, plan = outcome.planner, outcome.plan
    (hone,) = [w for w in plan.works if w.operation and w.operation.id == "hone_guide"]
    number = next(
        stage.number
        for stage in planner.stages.list
        if stage.operation is hone.operation and stage.positions == hone.positions
    )
    point = {}
    for work in plan.works:
        (stage,) = (
            one
            for one in planner.stages.list
            if (one.operation, one.positions, one.swap)
            == (work.operation, work.positions, work.swap)
        )
        steps = 1
        if work.amount is not None:
            first = planner.stages.work(stage.number, 1).amount
            steps += int((work.amount - first) / step_of(work.operation))
        point[stage.number] = steps
    allows = outcome.questions.allows
    assert allows(point)
    held = int(hone.operation.amount.tolerance / step_of(hone.operation))
    for other in (-2 * held, 2 * held):
        assert allows(point | {number: point[number] + other})
    assert not allows(point | {number: point[number] - 2 * held - 1})


def test_what_follows_comes_after_at_the_same_places(tmp_path):
    folder = tmp_path / "rules"
    shutil.copytree(default_rules(), folder)
    file = folder / "operations" / "guides.yaml"
    file.write_text(file.read_text().replace("then: [cut_seat]", "then: [mill_deck]"))
    with pytest.raises(BadInput) as told:
        load_anew(folder)
    assert "'mill_deck' is to follow 'replace_guide'" in str(told.value)

"""What goes with work and mends nothing: the order of a job as overhaul manuals give it.

TM 5-1940-322-24 takes a head off, takes it apart, washes, inspects, mends, assembles and fits it;
TM 9-4940-549-14&P tests for cracks before it mends. What each calls for is common practice.
"""

from __future__ import annotations

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.plan.asked import read_works
from fitcheck.plan.going_with import going_with, rank_in_job
from fitcheck.plan.work import Swap, Work, order_of

ENGINE = """
build: one four (invented)
cylinders: "4"
parts:
  head: {{claimed: {{by: owner, is_new: "{new}"}}}}
  lifter: {{claimed: {{by: owner, type: {followers}}}}}
  cam: {{claimed: {{by: owner, is_new: "{new_lobes}"}}}}
"""


def job(knowledge, *works, new="no", followers="solid_flat", new_lobes="no"):
    text = ENGINE.format(new=new, followers=followers, new_lobes=new_lobes)
    check = check_build(read_build("build.yaml", knowledge, text), knowledge)
    done = read_works(works, check.build.layout, knowledge)
    return {one.operation.id: one.positions for one in going_with(done, check)}


def test_a_used_head_is_tested_before_a_seat_is_paid_for(knowledge):
    found = list(job(knowledge, "cut_seat@1 exhaust=0.010 in"))
    wanted = ["take_heads_off", "take_head_apart", "wash_and_inspect", "crack_test"]
    assert found[:5] == [*wanted, "pressure_test"]
    rest = [name for name in found[5:] if name in ("final_wash", "assemble_head", "fit_heads")]
    assert rest == ["final_wash", "assemble_head", "fit_heads"]
    assert found[-1] == "first_start"


def test_a_new_head_on_the_bench_is_not_taken_off_nor_tested(knowledge):
    found = job(knowledge, "cut_seat@1 exhaust=0.010 in", new="yes")
    assert not {"take_heads_off", "wash_and_inspect", "crack_test", "pressure_test"} & set(found)
    assert {"take_head_apart", "assemble_head", "fit_heads"} <= set(found)


def test_locks_are_changed_with_the_head_in_its_place(knowledge):
    found = job(knowledge, "fit_offset_locks_up=0.050 in")
    assert set(found) & {"take_heads_off", "fit_heads", "final_wash"} == set()
    assert "assemble_head" in found


@pytest.mark.parametrize(
    ("followers", "set_", "not_set"),
    [
        ("solid_roller", "set_lash", "set_preload"),
        ("hydraulic_flat", "set_preload", "set_lash"),
    ],
)
def test_lash_or_preload_by_the_followers(knowledge, followers, set_, not_set):
    found = job(knowledge, "mill_deck=0.010 in", followers=followers)
    assert set_ in found and not_set not in found
    assert "try_pushrod_length" in found


def test_they_are_set_whenever_the_rockers_were_off(knowledge):
    """To change locks the rockers come off: nothing that it undoes says so."""
    found = job(knowledge, "fit_offset_locks_up=0.050 in", followers="hydraulic_roller")
    assert list(found)[-1] == "set_preload"


def test_what_is_tried_on_is_tried_before_the_last_assembly(knowledge):
    """Checking springs are no springs to run on, and oil is primed through followers that are set."""
    found = list(job(knowledge, "mill_deck=0.010 in"))
    order = ["final_wash", "measure_piston_to_valve", "try_pushrod_length", "assemble_head"]
    order += ["fit_heads", "set_lash", "prime_oil", "first_start"]
    assert [name for name in found if name in order] == order


@pytest.mark.parametrize(
    ("followers", "new_lobes", "run_in"),
    [("solid_flat", "yes", True), ("solid_flat", "no", False), ("solid_roller", "yes", False)],
)
def test_new_flat_lobes_alone_are_run_in(knowledge, followers, new_lobes, run_in):
    found = job(knowledge, "mill_deck=0.010 in", followers=followers, new_lobes=new_lobes)
    assert ("run_in_cam" in found) is run_in


def test_only_where_the_work_is(knowledge):
    found = job(knowledge, "hone_guide@2 exhaust=0.0010 in")
    assert [str(one) for one in found["clean_guides"]] == ["cylinder 2 exhaust"]
    assert "repair_crack" not in found and "straighten_head" not in found


def test_pushrods_are_bought_by_the_length_that_was_found(knowledge):
    """Other parts are bought once the old ones are found sound, before anything is cut to suit."""
    order = order_of(knowledge)

    def rank(slot):
        swap = Swap(slot, "", "new (invented)", "", ())
        return rank_in_job(Work(None, (), None, swap), knowledge, order)

    assert order["try_pushrod_length"] < rank("pushrod") < order["assemble_head"]
    assert order["pressure_test"] < rank("spring") == rank("piston") < order["line_guide"]

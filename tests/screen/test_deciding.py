"""A seller's list decides: most springs fit or do not, and the check of each says the same.

The springs are invented, as a seller's page lists them (common practice, no source): two loads at
their heights, the rate between, the solid height, diameters, the greatest lift. Each has true
figures besides, within what such pages are good for, with which the check is asked.
"""

from __future__ import annotations

import io
import os
from dataclasses import replace
from random import Random

import pytest
from rich.console import Console

from fitcheck.check import Verdict, check_build, read_build
from fitcheck.check.likely import Likely
from fitcheck.check.room import room_of
from fitcheck.check.values import ValueReader
from fitcheck.cli.demo import demo_folder
from fitcheck.model import Evidence
from fitcheck.plan.at_place import known_of_place
from fitcheck.plan.prices import NO_PRICES
from fitcheck.report.screen import write_screen
from fitcheck.screen.deciding import Standing
from fitcheck.screen.importing import import_list
from fitcheck.screen.opening import Frame, Opening
from fitcheck.screen.ranking import best
from fitcheck.screen.screening import screen
from fitcheck.screen.store import Catalog, PartReader
from tests.plan.long import LONG
from tests.screen.candidates import columns_for

pytestmark = pytest.mark.in_ci
# The truck and the four, and all thirty springs, are tried in CI.
WHOLE = "FITCHECK_CANDIDATES" in os.environ
SPRINGS = 30 if WHOLE else 8
# The height at the place, in inches, and how many of the springs that a buyer of such a head would
# look through are double.
# Then the seat loads, in pounds.
DEMOS = {
    "work_truck": (1.720, 0.1, (85, 150)),
    "service_boat": (1.780, 0.1, (85, 150)),
    "hill_climb_four": (1.614, 0.9, (120, 180)),
}
# Where what leaves springs open is a figure that nobody gave; the four's lie at the edge of a limit.
WAITING = ("work_truck", "service_boat")
HEADERS = (
    "class,item,springs,damper,load_1 [lbf],load_1_height [in],load_2 [lbf],load_2_height [in],"
    "rate [lbf/in],coil_bind_height [in],outside_diameter [in],top_inside_diameter [in],"
    "rated_lift [in],price [EUR]"
)


def springs(height: float, share: float, loads: tuple[int, int], seed: int):
    """A page of springs made for about a height, and the true figures of each."""
    random = Random(seed)
    lines, truths = [HEADERS], {}
    for number in range(SPRINGS):
        double = random.random() < share
        at = height + random.choice([-0.060, -0.020, -0.005, 0.0, 0.0, 0.005, 0.030])
        seat = random.randrange(*loads, 5)
        rate = random.randrange(380, 460, 5) if double else random.randrange(240, 340, 5)
        lift = random.choice([0.450, 0.500, 0.550, 0.600, 0.650])
        bind = at - lift - random.choice([0.050, 0.060, 0.080])
        opened = round(at - lift, 3)
        load = round(seat + rate * lift)
        outside = random.choice([1.235, 1.250, 1.255, 1.260])
        told = {
            "springs": "double" if double else "single",
            "damper": "no" if double else "yes",
            "load_1": f"{seat} lbf",
            "load_1_height": f"{at:.3f} in",
            "load_2": f"{load} lbf",
            "load_2_height": f"{opened:.3f} in",
            "rate": f"{rate} lbf/in",
            "coil_bind_height": f"{bind:.3f} in",
            "outside_diameter": f"{outside:.3f} in",
            "top_inside_diameter": f"{random.choice([0.925, 0.965, 0.970, 0.975]):.3f} in",
            "rated_lift": f"{lift:.3f} in",
        }
        cells = [text.split()[0] for text in told.values()]
        lines.append(
            ",".join(["spring", f"S{number}", *cells, f"{random.randrange(300, 1500) / 100}"])
        )
        near = random.uniform
        stronger = near(-0.03, 0.03)  # both loads and the rate of one box of wire go together
        truths[f"S{number}"] = told | {
            "load_1": f"{seat * (1 + stronger):.1f} +-1 lbf",
            "load_2": f"{load * (1 + stronger):.1f} +-1 lbf",
            "rate": f"{rate * (1 + stronger):.1f} +-3 lbf/in",
            "coil_bind_height": f"{bind + near(-0.008, 0.008):.4f} +-0.002 in",
            "outside_diameter": f"{outside + near(-0.004, 0.004):.4f} +-0.002 in",
        }
    return "\n".join(lines) + "\n", truths


LEAST = 0.8


@LONG
@pytest.mark.parametrize("demo", DEMOS if WHOLE else ["service_boat"])
def test_a_list_of_springs_is_decided_as_a_check_of_each_decides(knowledge, tmp_path, demo):
    build = read_build(demo_folder() / demo / "build.yaml", knowledge)
    text, truths = springs(*DEMOS[demo], 7)
    (tmp_path / "spring.csv").write_text(text)
    opening = Opening("spring", keep=known_of_place(build, knowledge, "spring"))
    reader = PartReader(knowledge, "spring")
    with Catalog(knowledge) as catalog:
        import_list(catalog, tmp_path / "spring.csv")
        found = screen(catalog, build, opening)
        told = best(found, "price", SPRINGS)
        standings = {o.item: Standing.OUT for o in found.offers(list(range(SPRINGS)))}
        standings |= {one.offer.item: one.decided.standing for one in told.ranked}
        decided = [one for one in standings.values() if one is not Standing.MAY]
        asked = io.StringIO()
        write_screen(found, told, [], NO_PRICES, Console(file=asked, width=100), "inch")
    assert len(standings) == SPRINGS and told.complete
    assert len(decided) >= LEAST * SPRINGS
    if len(decided) < SPRINGS and demo in WAITING:
        assert "THOSE THAT MAY FIT WAIT FOR" in asked.getvalue()
    for one in told.ranked:
        if one.decided.tightest is not None:
            finding, demand = one.decided.tightest
            assert one.decided.room == room_of(demand) == min(map(room_of, finding.demands))
        # What a check calls disputed is told beside a spring, remarks too.
        disputed = {f.rule.id for f in [*one.decided.disputed, *one.decided.disputed_remarks]}
        assert one.decided.check.disputed <= disputed | {f.rule.id for f in one.decided.remarks}
        assert (
            bool(one.decided.disagreed) is bool(disputed) or one.decided.standing > Standing.LIKELY
        )
    rules = {rule.id: rule for rule in found.rules if rule.severity != "advice"}
    for item, standing in standings.items():
        part = reader.part(item, "", int(Evidence.MEASURED), truths[item])
        check = check_build(opening.fitted(found.frame.build, part), knowledge, rules.values())
        clash = any(
            one.verdict is Verdict.CONFLICT
            or (one.verdict.undecided and check.likelihoods.standing(one) is Likely.CLASHES)
            for one in check.findings
        )
        if standing is not Standing.MAY:
            assert clash is (standing > Standing.MAY), (item, standing)


def test_a_head_remembers_the_springs_it_came_with(knowledge):
    """Its seats are cut for them (common practice, no source): wider ones likely need more room."""
    truck = read_build(demo_folder() / "work_truck/build.yaml", knowledge)
    rule = knowledge.rules["spring_too_wide_for_seat"]
    reader = PartReader(knowledge, "spring")

    def stands(frame, wide):
        part = reader.part("", "", int(Evidence.MEASURED), {"outside_diameter": wide})
        check = check_build(frame.openings["spring"].fitted(frame.build, part), knowledge, [rule])
        (finding,) = check.findings
        return check.likelihoods.standing(finding)

    own = Frame(truck, knowledge, [Opening("spring")])
    assert [stands(own, f"{wide} +-0.002 in") for wide in ("1.250", "1.290", "1.437")] == [
        Likely.FITS,
        Likely.OPEN,
        Likely.CLASHES,
    ]
    # Another head came with other springs, and loose ones tell nothing of a head.
    other = Frame(truck, knowledge, [Opening("head"), Opening("spring")])
    loose = replace(truck.parts["spring"][0], holder="")
    without = replace(truck, parts={**truck.parts, "spring": (loose,)})
    for frame in (other, Frame(without, knowledge, [Opening("spring")])):
        assert stands(frame, "1.250 +-0.002 in") is Likely.OPEN


def test_work_still_to_be_done_rules_no_part_out(knowledge):
    """Lash is set to the card of the camshaft that is fitted, whatever it is now."""
    four = read_build(demo_folder() / "hill_climb_four/build.yaml", knowledge)
    with Catalog(knowledge) as catalog:
        (item,) = rows = [{"item": "own lash", "source": "", "row": 1, "evidence": 2}]
        for own, text in (("lash", "0.010 in"), ("lash_type", "solid"), ("lash_state", "hot")):
            attribute = knowledge.attributes[f"cam.{own}"]
            item |= columns_for(own, attribute, text, Evidence.CLAIMED, ValueReader(knowledge, []))
        catalog.add("cam", rows)
        found = screen(catalog, four, Opening("cam"))
    told = {one.rule.id for one in found.counts}
    assert "coil_bind" in told and not {"lash_great", "lash_small"} & told

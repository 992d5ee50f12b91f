"""Threads against the tables of ISO 898-1, and engagement by hand."""

import pytest

from fitcheck.calculations.thread import bolt_grip, tensile_stress_area, thread_engagement
from tests.calculations.printed import agrees


@pytest.mark.parametrize(
    "diameter,pitch,printed",
    [
        (3, 0.5, "5.03"),
        (4, 0.7, "8.78"),
        (5, 0.8, "14.2"),
        (6, 1, "20.1"),
        (7, 1, "28.9"),
        (8, 1.25, "36.6"),
        (10, 1.5, "58.0"),
        (12, 1.75, "84.3"),
        (14, 2, "115"),
        (16, 2, "157"),
        (18, 2.5, "192"),
        (20, 2.5, "245"),
        (22, 2.5, "303"),
        (24, 3, "353"),
    ],
)
def test_stress_areas_of_iso_898(diameter, pitch, printed):
    # EN ISO 898-1, nominal stress area of coarse threads (table read on a fastener supplier's page)
    assert agrees(tensile_stress_area(diameter, pitch), printed)


@pytest.mark.parametrize(
    "diameter,threads,printed", [("0.375", 16, 0.0775), ("0.4375", 14, 0.1063), ("0.5", 13, 0.1419)]
)
def test_unified_threads_come_out_close(diameter, threads, printed):
    # Unified coarse stress areas, ASME B1.1 (from memory), have a slightly smaller root
    area = tensile_stress_area(float(diameter) * 25.4, 25.4 / threads) / 25.4**2
    assert printed < area < 1.02 * printed


def test_engagement_by_hand():
    # 115 mm under the head through 90 mm of head, 3 mm washer, 1 mm gasket: 21 mm enter the block,
    # 3 mm of them the counterbore
    grip = bolt_grip(90, 3, 1)
    assert grip == 94
    assert thread_engagement(115, grip, 3, 40) == 18
    # a hole threaded to 20 mm carries no more than 17
    assert thread_engagement(140, grip, 3, 20) == 17
    # a bolt that does not reach carries nothing
    assert thread_engagement(96, grip, 3, 20) == 0

"""A figure that was said twice: told where both can't be so, whichever of the two is used."""

from __future__ import annotations

import pytest

from fitcheck.check import read_build
from fitcheck.check.repeated import said_twice
from fitcheck.check.supposing import suppose_all

BUILD = 'build: two figures (invented)\ncylinders: "4"\nparts:\n  spring:\n{}'


@pytest.mark.parametrize(
    ("blocks", "apart"),
    [
        # Claimed lengths hold to 0.020 in: 1.130..1.170 and 1.040..1.080 do not meet.
        pytest.param(
            "    claimed:\n      - {by: seller, coil_bind_height: 1.150 in}\n"
            "      - {by: seller, coil_bind_height: 1.060 in}\n",
            True,
            id="claims that do not meet",
        ),
        pytest.param(
            "    claimed:\n      - {by: seller, coil_bind_height: 1.150 in}\n"
            "      - {by: card, coil_bind_height: 1.145 in}\n",
            False,
            id="claims that may both be so",
        ),
        pytest.param(
            "    measured:\n      - {by: me, when: 2026-03-01, coil_bind_height: 1.150 in}\n"
            "      - {by: me, when: 2026-03-08, coil_bind_height: 1.060 in}\n",
            False,
            id="measured again a week later",
        ),
        pytest.param(
            "    measured:\n      - {by: me, when: 2026-03-01, coil_bind_height: 1.150 in}\n"
            "      - {by: shop, when: 2026-03-01, coil_bind_height: 1.060 in}\n",
            True,
            id="two readings of one day",
        ),
        pytest.param(
            "    measured:\n      - {by: me, when: 2026-03-08, coil_bind_height: 1.150 in}\n"
            "      - {by: me, when: 2026-03-01, coil_bind_height: 1.060 in}\n",
            False,
            id="the later day written first",
        ),
        pytest.param(
            "    assumed: {coil_bind_height: 1.100 in}\n"
            "    claimed:\n      - {by: seller, shape: conical}\n      - {by: card, shape: straight}\n",
            True,
            id="what is only assumed hides nothing",
        ),
        pytest.param(
            "    claimed: {by: seller, coil_bind_height: 1.150 in}\n"
            "    measured: {by: me, coil_bind_height: 1.060 in}\n",
            False,
            id="a reading against a claim is told by the audit",
        ),
        pytest.param(
            "    claimed:\n      - {by: seller, shape: conical}\n      - {by: card, shape: straight}\n",
            True,
            id="two shapes",
        ),
    ],
)
def test_two_figures_that_cannot_both_be_so(knowledge, blocks, apart):
    build = read_build("build.yaml", knowledge, BUILD.format(blocks))
    assert bool(said_twice(build)) is apart


def test_what_is_supposed_contradicts_nothing(knowledge):
    said = "    measured: {by: me, coil_bind_height: 1.150 in}\n"
    build = read_build("build.yaml", knowledge, BUILD.format(said))
    assert (
        said_twice(suppose_all(build, ["spring.coil_bind_height=1.060 in"], knowledge).build) == []
    )

"""The compiled rules against the same twenty rules as a programmer wrote them by hand.

Random builds, half of them with figures in steps as typed, which meet limits exactly. The
benchmark of verdicts asks general-purpose engines the same; here no engine needs to be installed.
"""

from random import Random

import pytest

from tests.benchmarks.lowered import Lowered
from tests.benchmarks.random_figures import COARSE, FINE, random_build
from tests.benchmarks.verdicts import check_agreement


@pytest.mark.parametrize("step", [FINE, COARSE], ids=["fine", "as typed"])
def test_verdicts_are_those_written_by_hand(knowledge, step):
    chance = Random(20)
    check_agreement(
        Lowered(knowledge), [], [random_build(chance, knowledge, step) for _ in range(200)]
    )

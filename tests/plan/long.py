"""Plans that take too long for every run: CI asks for them, and whoever changes the planner."""

import os

import pytest

LONG = pytest.mark.skipif(
    "FITCHECK_PLANS" not in os.environ, reason="takes long; FITCHECK_PLANS=1 runs it"
)

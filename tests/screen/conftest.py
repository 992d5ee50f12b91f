"""The builds that candidates are tried in."""

from __future__ import annotations

import pytest

from fitcheck.check import read_build
from fitcheck.cli.demo import demo_folder


@pytest.fixture(scope="session")
def boat(knowledge):
    return read_build(demo_folder() / "service_boat/build.yaml", knowledge)

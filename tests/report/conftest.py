"""What tests of several kinds of page share."""

from __future__ import annotations

import pytest


@pytest.fixture(scope="session")
def little(knowledge):
    """The knowledge with one rule."""
    return knowledge.with_rules({"coil_bind": knowledge.rules["coil_bind"]})

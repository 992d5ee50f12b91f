"""What all tests share: a cache of their own, and the project's knowledge, loaded once."""

import os

import pytest

from fitcheck.knowledge import Knowledge, default_rules
from fitcheck.knowledge.cache import OFF
from fitcheck.knowledge.load import load_anew


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """What waits for a variable of the environment is marked for the run that sets them all."""
    for item in items:
        reasons = [mark.kwargs.get("reason", "") for mark in item.iter_markers("skipif")]
        if any("FITCHECK_" in reason for reason in reasons):
            item.add_marker("in_ci")


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory):
    """The user's own cache is never touched, by the tests or by the commands they start."""
    base = tmp_path_factory.getbasetemp()
    # Workers side by side keep what they read in one place: who comes second reads it there.
    cache = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "cache"
    cache.mkdir(exist_ok=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(cache))
        patch.delenv(OFF, raising=False)
        # Commands that tests start are compiled once for all, whatever the shell says.
        patch.setenv("PYTHONPYCACHEPREFIX", str(cache / "compiled"))
        patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
        yield


@pytest.fixture(scope="session")
def knowledge(own_cache) -> Knowledge:
    """The rules of the project, with the places of everything in them."""
    return load_anew(default_rules())

"""What every room shares: cases that repeat on every machine, and roofs and fronts."""

from collections.abc import Callable, Iterator

import pytest
from hypothesis import settings

from tests.roofs import Front, Roof

settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=60)
settings.load_profile("repeatable")


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Builds of scenes that tests keep are kept for that run alone, not in the user's own cache."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        patch.setenv("HINGELINE_DEFAULTS", "none")  # nor what a developer has as defaults
        yield


@pytest.fixture
def roof() -> Callable[..., Roof]:
    """Build a roof."""
    return Roof


@pytest.fixture
def front() -> Callable[..., Front]:
    """Build a front."""
    return Front

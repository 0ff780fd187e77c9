"""What every room shares: cases that repeat on every machine, and roofs and fronts."""

from collections.abc import Callable

import pytest
from hypothesis import settings

from tests.roofs import Front, Roof

settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=60)
settings.load_profile("repeatable")


@pytest.fixture
def roof() -> Callable[..., Roof]:
    """Build a roof."""
    return Roof


@pytest.fixture
def front() -> Callable[..., Front]:
    """Build a front."""
    return Front

"""Roofs and fronts for the tests of this room."""

from collections.abc import Callable

import pytest

from tests.roofs import Front, Roof


@pytest.fixture
def roof() -> Callable[..., Roof]:
    """Build a roof."""
    return Roof


@pytest.fixture
def front() -> Callable[..., Front]:
    """Build a front."""
    return Front

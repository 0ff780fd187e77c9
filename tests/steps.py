"""Parts of compiled loops, called from tests: they have no door to Python of their own."""

from collections.abc import Callable
from functools import cache
from typing import Any

from numba import njit

__all__ = ["opened"]


@cache
def opened(step: Any) -> Callable[..., Any]:
    """The same compiled step with a door to Python."""
    made: Callable[..., Any] = njit(error_model="numpy")(step.py_func)
    return made

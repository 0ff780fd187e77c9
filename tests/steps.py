"""Parts of compiled loops, called from tests: they have no door to Python of their own."""

from collections.abc import Callable
from functools import cache
from typing import Any

from numba import njit

from render.compiled import kept_in
from render.kept import kept_safely

__all__ = ["opened"]


@cache
def opened(step: Any) -> Callable[..., Any]:
    """The same compiled step with a door to Python, kept beside the loops it is linked into."""
    room = step.py_func.__module__.split(".")[1]
    with kept_safely(kept_in("trace" if room == "world" else room)):
        made: Callable[..., Any] = njit(error_model="numpy", cache=True)(step.py_func)
    return made

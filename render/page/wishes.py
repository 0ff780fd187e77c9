"""What the page may ask for: read once, at the door, with the limits that hold here."""

import json
import math
import re
from typing import Any

from starlette.requests import Request

from render.errors import InputError
from render.jobs.preview import Look

__all__ = ["read_look", "read_number", "read_view", "read_wish"]

_MOST_PIXELS = 4_000_000
_LEAST_PIXELS = 10_000
_AGAIN = "load the page again"


async def read_wish(request: Request) -> dict[str, Any]:
    """Read the body of a request as an object.

    Raises
    ------
    InputError
        If it is not one.
    """
    try:
        wish = json.loads(await request.body())
    except (ValueError, RecursionError):
        raise InputError(f"the page sent something that is no JSON: {_AGAIN}") from None
    if not isinstance(wish, dict):
        raise InputError(f"the page sent something that is no object: {_AGAIN}")
    return wish


def read_view(wish: dict[str, Any]) -> str:
    """Read the name of the tab that asks; tabs do not push each other's pictures away."""
    view = wish.get("view")
    if not (isinstance(view, str) and re.fullmatch(r"[\w-]{1,40}", view)):
        raise InputError(f"the page did not say which view asks: {_AGAIN}")
    return view


def read_look(wish: dict[str, Any]) -> Look:
    """Read how large, how fine and with what the picture is wanted."""
    return Look(
        pixels=int(read_number(wish, "pixels", _LEAST_PIXELS, _MOST_PIXELS)),
        fine=wish.get("fine") is True,
        before=wish.get("before") is True,
        whole=wish.get("whole") is True,
        band=wish.get("band") is True,
    )


def read_number(wish: dict[str, Any], name: str, low: float, high: float) -> float:
    """Read a number between two limits."""
    value = wish.get(name)
    if (
        isinstance(value, bool)
        or not isinstance(value, int | float)
        or not (math.isfinite(value) and low <= value <= high)
    ):
        raise InputError(f'"{name}" must be a number from {low:g} to {high:g}: {_AGAIN}')
    return float(value)

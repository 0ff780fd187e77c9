"""What the page may ask for: read once, at the door, with the limits that hold here."""

import json
import math
import re
from dataclasses import replace
from typing import Any, get_args

from starlette.requests import Request

from render.decimals import pointed, pointed_places
from render.errors import InputError, SettingError
from render.live.preview import Look, Showing
from render.load.lens import limits_of
from render.load.named import not_in_a_picture
from render.optics.lens import FocusDistance
from render.page.asks import JUDGING, read_answers
from render.page.desk import Desk
from render.shot.declaring import read_wishes
from render.shot.shot import Shot, shot_keys
from render.shot.things import ThingName
from render.shot.wishes import JudgeWishes
from render.units import in_feet

__all__ = [
    "as_judge_wishes",
    "judge_wishes",
    "read_float",
    "read_list",
    "read_look",
    "read_number",
    "read_pair",
    "read_pairs",
    "read_points",
    "read_texts",
    "read_times",
    "read_typed",
    "read_view",
    "read_wish",
]

_MOST_PIXELS = 4_000_000
_LEAST_PIXELS = 10_000
_MOST_POINTS, _MOST_CLICKS = 3, 40
_MOST_TEXTS, _LONGEST_TEXT = 40, 200
_MOST_MOMENTS, _LONGEST_FILM_S = 800, 36_000.0
#: Rings of lengths on site.
_LENGTHS = frozenset({"focus", "height", "distance"})
#: Rings of one number with its side.
_SIDED = frozenset({"tilt", "swing", "rise", "shift", "pitch"})
#: JSON has no infinity: the sky is as far as this.
_VERY_FAR_M = 1e9
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


def read_list(wish: dict[str, Any], name: str) -> list[Any]:
    """Read a short list of anything; none is an empty one.

    Raises
    ------
    InputError
        If it is no list, or a long one.
    """
    found = wish.get(name) or []
    if not isinstance(found, list) or len(found) > _MOST_TEXTS:
        raise InputError(f"the page sent no list of {name}: {_AGAIN}")
    return found


def read_view(wish: dict[str, Any]) -> str:
    """Read the name of the tab that asks; tabs do not push each other's pictures away."""
    view = wish.get("view")
    if not (isinstance(view, str) and re.fullmatch(r"[\w-]{1,40}", view)):
        raise InputError(f"the page did not say which view asks: {_AGAIN}")
    return view


def read_look(wish: dict[str, Any]) -> Look:
    """Read how large, how fine and with what the picture is wanted."""
    showing = wish.get("showing", "photograph")
    if showing not in get_args(Showing):
        raise InputError(f"there is nothing of that kind to show: {_AGAIN}")
    return Look(
        pixels=int(read_number(wish, "pixels", _LEAST_PIXELS, _MOST_PIXELS)),
        showing=showing,
        fine=wish.get("fine") is True,
        band=wish.get("band") is True,
        passing=wish.get("passing") is True,
    )


def read_times(wish: dict[str, Any]) -> list[float]:
    """Read how long a film is and how far apart its moments are, s; returns their times."""
    length_s = read_number(wish, "seconds", 0, _LONGEST_FILM_S)
    step_s = read_number(wish, "step", 0.01, _LONGEST_FILM_S)
    count = int(length_s / step_s + 1e-6) + 1
    if count > _MOST_MOMENTS:
        raise InputError(f"the page asked for {count} moments at once: {_AGAIN}")
    return [number * step_s for number in range(count)]


def read_points(
    wish: dict[str, Any], name: str = "points", *, least: int = 1
) -> list[tuple[float, float]]:
    """Read some places in the picture, as shares of it; with `least` 0 they may be left out."""
    points = wish.get(name, None if least else [])
    if not (
        isinstance(points, list)
        and least <= len(points) <= (_MOST_POINTS if least else _MOST_CLICKS)
        and all(isinstance(point, list) and len(point) == 2 for point in points)
    ):
        raise InputError(f"the page did not say which points: {_AGAIN}")
    pairs = [{"x": point[0], "y": point[1]} for point in points]
    return [(read_number(pair, "x", 0, 1), read_number(pair, "y", 0, 1)) for pair in pairs]


def read_texts(wish: dict[str, Any], name: str) -> list[str]:
    """Read a list of texts, as they would be written on the command line."""
    texts = wish.get(name, [])
    if not (
        isinstance(texts, list)
        and len(texts) <= _MOST_TEXTS
        and all(isinstance(text, str) and len(text) < _LONGEST_TEXT for text in texts)
    ):
        raise InputError(f'"{name}" must be a list of texts: {_AGAIN}')
    return texts


def read_pair(wish: dict[str, Any], name: str) -> tuple[str, str]:
    """Read one pair of texts, as `read_pairs`."""
    return next(iter(read_pairs({name: [wish.get(name)]}, name)))


def read_pairs(wish: dict[str, Any], name: str) -> list[tuple[str, str]]:
    """Read a list of pairs of texts: a kind, and words."""
    pairs = wish.get(name, [])
    if not (
        isinstance(pairs, list)
        and len(pairs) <= _MOST_TEXTS
        and all(isinstance(pair, list) and len(pair) == 2 for pair in pairs)
        and all(isinstance(text, str) and len(text) < _LONGEST_TEXT for p in pairs for text in p)
    ):
        raise InputError(f'"{name}" must be a list of pairs of texts: {_AGAIN}')
    return [(kind, text) for kind, text in pairs]


def read_typed(wish: dict[str, Any], shot: Shot) -> tuple[dict[str, Any], ThingName | None]:
    """Read what a person typed at a ring: ``words`` for the shot, and the ``value`` it turns to.

    A length without a unit is in the one that lengths are told in here; a focus that is no distance
    has no value. A thing that is named comes with it: whether it is there is the scene's to say.

    Raises
    ------
    InputError, SettingError
        If no ring is called so, or the shot or its lens would not take it; a picture knows no
        names.
    """
    name, text = read_pair(wish, "typed")
    key = shot_keys().get(name)
    if key is None or key.many or key.names_file is not None:
        raise InputError(f'"{name}" is not known here: {_AGAIN}')
    words = text.strip()
    if name in _LENGTHS:
        words = _with_unit(words)
    elif name == "f":
        words = pointed(re.sub(r"(?i)^f\s*/?\s*", "", words))
    elif name == "lens":
        words = pointed(re.sub(r"(?i)\s*mm$", "", words))
    elif name in _SIDED:
        words = pointed(words)
    value = key.read(words)
    if name == "lens":
        limits_of(replace(shot, lens=replace(shot.lens, focal_mm=value)))
    thing = value if isinstance(value, ThingName) else None
    if thing is not None and shot.picture:
        raise not_in_a_picture(thing, "--focus")
    if isinstance(value, FocusDistance):
        value = min(value.depth_m, _VERY_FAR_M)
    return {"words": words, "value": value if isinstance(value, int | float) else None}, thing


def _with_unit(text: str) -> str:
    """A length with its unit.

    >>> [_with_unit(text) for text in ("58 1/2", "147,5", "6 ft", "5'4", "50%,60%", "∞")]
    ['58 1/2 m', '147.5 m', '6 ft', "5'4", '50%,60%', 'infinity']
    """
    if text == "∞":
        return "infinity"
    if not re.search(r"\d", text) or re.search(r"[^\W\d_]|['’′\"”″%]", text):
        return text
    return pointed_places(f"{text} {'ft' if in_feet() else 'm'}")


def judge_wishes(wish: dict[str, Any], desk: Desk) -> dict[str, str]:
    """Read what is asked of the judgement."""
    answers = read_answers(JUDGING, wish.get("judging") or {}, desk)
    if ".toml" in answers.get("lenses", "").lower():  # no file of this machine by its name
        raise SettingError(
            "“Lenses to choose from”: write focal lengths or lenses that come along, as in 24, 45, "
            "long 90"
        )
    return answers


def as_judge_wishes(answers: dict[str, str]) -> JudgeWishes:
    """The answers as the judgement reads them.

    Raises
    ------
    SettingError
        If one cannot be read.
    """
    return read_wishes(JudgeWishes, answers, "{name}")


def read_float(text: str, name: str) -> float:
    """Read a number that a person wrote.

    Raises
    ------
    SettingError
        If it is none.
    """
    plain = pointed(text)
    try:
        value = float(plain)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise SettingError(f'{name}: "{text}" is no number: write one such as 2 or 0.5')
    return value


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

"""Kinds of things: the words a scene file may use for each, and the maker of its shape."""

import math
import reprlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.limits import CORNERS
from render.words import choices
from render.world.mesh import Mesh
from render.world.things.feet import Foot

__all__ = [
    "KINDS",
    "Gait",
    "Kind",
    "Maker",
    "Part",
    "Word",
    "kind",
    "number",
    "outline",
    "pick",
    "vector",
    "yes",
]

#: No number of a thing means more: metres, degrees, pieces.
_MOST = 1e6

Maker = Callable[["Values", np.random.Generator], Mesh]
Feet = Callable[["Values"], tuple[Foot, ...]]
Sways = Callable[["Values", float], NDArray[np.float64]]


class Values(dict[str, Any]):
    """Checked values of one thing, read as attributes: ``v.height_m``."""

    def __getattr__(self, name: str) -> Any:
        try:
            return self[name]
        except KeyError:
            raise AttributeError(name) from None


@dataclass(frozen=True, slots=True)
class Word:
    """One key that a kind understands.

    Attributes
    ----------
    start : object
        Value where the file says nothing.
    line : str
        What it means.
    allowed : str
        The allowed values in words.
    check : callable
        Returns the value in the type the maker wants, or None if it is not allowed.
    """

    start: Any
    line: str
    allowed: str
    check: Callable[[Any], Any]


@dataclass(frozen=True, slots=True)
class Gait:
    """How a thing's shape changes as it walks on, the same again after every two steps.

    Attributes
    ----------
    values : callable
        Of a thing's values and the share of two steps that is done, 0 to 1: its values then;
        None for one that waits on its way.
    length_m : callable
        Way of two steps, by its values.
    """

    values: Callable[[Values, float | None], Values]
    length_m: Callable[[Values], float]


def _at_rest(_values: Values, _rng: np.random.Generator, _time_s: float) -> NDArray[np.float64]:
    """One of it, in the thing's own frame."""
    return np.eye(4)[None]


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a thing that moves by itself: a wheel that turns, a beam that rocks, a flag.

    Attributes
    ----------
    make : callable
        Its shape, by the thing's values, its random numbers and the share of a period done.
    at : callable
        Where every one of it is in the thing's frame, shape (n, 4, 4), by the thing's values, its
        random numbers (the same at every moment) and the time.
    period_s, shapes : float, int
        In how many shapes a period is shown; 1 is one shape for all times.
    under_way : bool
        Only there while the thing itself goes along a path.
    """

    make: Callable[[Values, np.random.Generator, float], Mesh]
    at: Callable[[Values, np.random.Generator, float], NDArray[np.float64]] = _at_rest
    period_s: float = 1.0
    shapes: int = 1
    under_way: bool = False


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of thing.

    Attributes
    ----------
    name, line : str
    make : callable
    words : mapping
        Keys and what they allow.
    stuff : mapping
        Slots of the shape and the material each has from the start; also keys in the file.
    variants : int
        How many different shapes copies are drawn from.
    solid : bool
        Whether a camera cannot be inside it.
    draped : bool
        Whether it follows uneven ground.
    gait : Gait or None
        How it walks, if it moves on legs.
    feet : callable or None
        Where it stands, by its values; None if it is in nobody's way.
    parts : tuple of Part
        What moves by itself; `make` makes the rest.
    sways : callable or None
        How the whole of it moves in place, as a boat at its moorings: a matrix in its frame, by
        its values and the time; none at time 0.
    follows : bool
        Whether it lies along the slope of the ground that it goes on.
    pooled : bool
        Whether rows of copies draw from the same shapes, whatever the seed of each: a town of
        rows would be too large.
    """

    name: str
    line: str
    make: Maker
    words: Mapping[str, Word]
    stuff: Mapping[str, str]
    variants: int = 1
    solid: bool = False
    draped: bool = False
    gait: "Gait | None" = None
    feet: Feet | None = None
    parts: tuple[Part, ...] = ()
    sways: Sways | None = None
    follows: bool = False
    pooled: bool = False

    def read(self, table: Mapping[str, Any]) -> Values:
        """Check the keys that are this kind's own.

        Raises
        ------
        InputError
            Naming the key, what was found and what is allowed.
        """
        values = Values({name: word.start for name, word in self.words.items()})
        for name, found in table.items():
            if name not in self.words:
                allowed = choices([*self.words, *self.stuff], name)
                raise InputError(f'"{name}" is not a key of a {self.name}: {allowed}')
            word = self.words[name]
            value = word.check(found)
            if value is None:
                raise InputError(f"{name} = {reprlib.repr(found)}: {word.allowed}")
            values[name] = value
        return values

    def __reduce__(self) -> tuple[Callable[[str], "Kind"], tuple[str]]:
        """Between processes a kind goes by its name: its checks are functions of this one."""
        return _named, (self.name,)


KINDS: dict[str, Kind] = {}


def _named(name: str) -> Kind:
    """The kind of that name, in a process that may not have loaded any."""
    from render.world.things import load_kinds

    load_kinds()
    return KINDS[name]


def kind(
    name: str,
    line: str,
    *,
    variants: int = 1,
    solid: bool = False,
    draped: bool = False,
    stuff: Mapping[str, str] | None = None,
    gait: Gait | None = None,
    feet: Feet | None = None,
    parts: tuple[Part, ...] = (),
    sways: Sways | None = None,
    follows: bool = False,
    pooled: bool = False,
    **words: Word,
) -> Callable[[Maker], Maker]:
    """Register the maker below as a kind of thing."""

    def register(make: Maker) -> Maker:
        if name in KINDS:
            raise ValueError(f'two kinds of things are called "{name}"')
        KINDS[name] = Kind(
            name, line, make, words, stuff or {}, variants, solid, draped, gait, feet, parts, sways,
            follows, pooled,
        )  # fmt: skip
        return make

    return register


def number(start: float, line: str, low: float = 0.0, high: float = math.inf) -> Word:
    """A number between low and high."""

    def check(found: Any) -> float | None:
        fits = isinstance(found, int | float) and not isinstance(found, bool)
        return float(found) if fits and low <= found <= min(high, _MOST) else None

    span = f"a number from {low:g} to {high:g}" if high < math.inf else f"a number from {low:g}"
    return Word(start, line, span, check)


def vector(start: tuple[float, ...], line: str, low: float = 0.0) -> Word:
    """As many numbers as `start` has, each at least `low`."""
    size = len(start)

    def check(found: Any) -> tuple[float, ...] | None:
        if not (isinstance(found, list | tuple) and len(found) == size):
            return None
        if not all(isinstance(x, int | float) and low <= x <= _MOST for x in found):
            return None
        return tuple(float(x) for x in found)

    return Word(start, line, f"{size} numbers of at least {low:g}, such as {list(start)}", check)


def pick(start: str, line: str, *choices: str) -> Word:
    """One of some words."""
    return Word(
        start,
        line,
        f"one of {', '.join(choices)}",
        lambda found: found if found in choices else None,
    )


def yes(start: bool, line: str) -> Word:
    """True or false."""
    return Word(
        start, line, "true or false", lambda found: found if isinstance(found, bool) else None
    )


def outline(line: str, least: int = 3, dims: int = 2, start: Any = ()) -> Word:
    """Points of an outline or a path."""

    def check(found: Any) -> Any:
        if isinstance(found, list):
            CORNERS.check(len(found), f"an outline has {len(found):,} corners", "simplify it")
        try:
            points = np.asarray(found, float)
        except (TypeError, ValueError, OverflowError):
            return None
        fits = points.ndim == 2 and points.shape[1] == dims and len(points) >= least
        if not (fits and np.all(np.abs(points) <= _MOST)):
            return None
        return tuple(map(tuple, points.tolist()))

    allowed = f"at least {least} points of {dims} numbers, such as [[0, 0], [8, 0], [8, 5]]"
    return Word(start, line, allowed, check)

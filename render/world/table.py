"""Tables of a scene file: typed access; errors name file, table, key and what is allowed."""

import math
import reprlib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from render.errors import InputError
from render.limits import CORNERS
from render.words import choices

__all__ = ["Table"]


class Table:
    """One table of a TOML file, remembering where it stands and which keys were asked for.

    Parameters
    ----------
    where : str
        File, and table in it, as errors name it.
    """

    def __init__(self, where: str, values: Mapping[str, Any]) -> None:
        self.where = where
        self._values = values
        self._known: set[str] = set()

    def error(self, key: str, allowed: str) -> InputError:
        """The error for one key: where it stands, what was found, what is allowed."""
        found = f" = {reprlib.repr(self._values[key])}" if key in self._values else ""
        return InputError(f"{self.where}, {key}{found}: {allowed}")

    def keys_found(self) -> list[str]:
        """Keys that the file has here."""
        return list(self._values)

    def raw(self, key: str, start: Any = None) -> Any:
        """The value as it is."""
        self._known.add(key)
        return self._values.get(key, start)

    def number(
        self, key: str, start: float, low: float = -math.inf, high: float = math.inf
    ) -> float:
        """A number from low to high."""
        value = self.raw(key, start)
        fits = isinstance(value, int | float) and not isinstance(value, bool)
        if not (fits and _finite(value) and low <= value <= high):
            span = (
                ""
                if low == -math.inf
                else f" from {low:g}" + (f" to {high:g}" if high < math.inf else "")
            )
            raise self.error(key, f"give a number{span}")
        return float(value)

    def text(self, key: str, start: str) -> str:
        """Text in quotes."""
        value = self.raw(key, start)
        if not isinstance(value, str):
            raise self.error(key, "give text in quotes")
        return value

    def flag(self, key: str, start: bool) -> bool:
        """True or false."""
        value = self.raw(key, start)
        if not isinstance(value, bool):
            raise self.error(key, "give true or false")
        return value

    def numbers(
        self, key: str, size: int | None = None, start: Sequence[float] = ()
    ) -> tuple[float, ...]:
        """A list of numbers, `size` of them."""
        value = self.raw(key, list(start))
        if not _numbers(value) or (size is not None and key in self._values and len(value) != size):
            raise self.error(
                key, f"give a list of {size or 'some'} numbers, such as {[1.5, -4, 0][: size or 3]}"
            )
        return tuple(float(x) for x in value)

    def points(self, key: str) -> tuple[Any, ...]:
        """A list of numbers, or a list of points."""
        value = self.raw(key, [])
        if isinstance(value, list):
            many = len(value)
            CORNERS.check(many, f"{self.where}, {key} has {many:,} corners", "simplify it")
        if _numbers(value):
            return tuple(float(x) for x in value)
        alike = isinstance(value, list) and all(_numbers(p) for p in value)
        if alike and len({len(p) for p in value}) <= 1:
            return tuple(tuple(float(x) for x in p) for p in value)
        raise self.error(key, "give numbers, [1, 2], or points, [[0, 0], [8, 0]]")

    def table(self, key: str) -> "Table":
        """The table of that name, empty where the file has none."""
        value = self.raw(key, {})
        if not isinstance(value, dict):
            raise self.error(key, f"write it as a table, [{key}]")
        return Table(f"{self.where}, [{key}]", value)

    def tables(self, key: str) -> list["Table"]:
        """The list of tables of that name."""
        value = self.raw(key, [])
        if not (isinstance(value, list) and all(isinstance(v, dict) for v in value)):
            raise self.error(key, f"write each as a table, [[{key}]]")
        return [
            Table(f"{self.where}, [[{key}]] {_called(v, i)}", v) for i, v in enumerate(value, 1)
        ]

    def finish(self, allowed: Sequence[str] = ()) -> None:
        """Refuse keys that nobody asked for."""
        known = [*allowed, *sorted(self._known - set(allowed))]
        for key in self._values:
            if key not in known:
                raise self.error(key, f"no such key here; known: {choices(known, key)}")

    def rest(self) -> Iterator[tuple[str, Any]]:
        """Keys that nobody asked for, with their values."""
        return ((k, v) for k, v in self._values.items() if k not in self._known)


def _numbers(value: Any) -> bool:
    return isinstance(value, list | tuple) and all(
        isinstance(x, int | float) and not isinstance(x, bool) and _finite(x) for x in value
    )


def _finite(value: float) -> bool:
    """Whether a number is one that a scene can mean; whole numbers of TOML have no end."""
    return abs(value) < 1e15


def _called(value: Mapping[str, Any], number: int) -> str:
    return (
        f'"{value["name"]}"'
        if value.get("name")
        else f"number {number} ({value.get('kind', 'no kind')})"
    )

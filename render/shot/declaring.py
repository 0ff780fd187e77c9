"""How one value is declared: its option, its help, how its words are read, and where it lies."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from typing import Any, TypeGuard, TypeVar

from render.decimals import pointed, pointed_places
from render.errors import SettingError
from render.typed import parse_place

__all__ = [
    "Key",
    "PictureSpot",
    "Words",
    "any_number",
    "flag",
    "keys_of",
    "number",
    "one_of",
    "read_spot",
    "read_value",
    "read_wishes",
    "shot_key",
    "whole",
]

#: A value as it was written: one text, or several.
Words = str | tuple[str, ...]

Wishes = TypeVar("Wishes")

#: Two shares, where per cent signs tell which comma parts them.


@dataclass(frozen=True, slots=True)
class PictureSpot:
    """A place in the picture as handed in: pixels from the left and top, or shares of its size."""

    x: float
    y: float
    x_is_share: bool
    y_is_share: bool

    @property
    def words(self) -> str:
        """As it is written: "50%,62%" or "812,640"."""
        x = f"{100 * self.x:.4g}%" if self.x_is_share else f"{self.x:g}"
        y = f"{100 * self.y:.4g}%" if self.y_is_share else f"{self.y:g}"
        return f"{x},{y}"

    @property
    def is_beside(self) -> bool:
        """Whether it lies beside the picture, of whatever size that is: nothing is seen there."""
        sides = (self.x, self.x_is_share), (self.y, self.y_is_share)
        return any(value < 0 or (share and value > 1) for value, share in sides)

    def at(self, width_px: int, height_px: int) -> tuple[float, float]:
        """Where it lies in a picture of that size, px."""
        x = self.x * width_px if self.x_is_share else self.x
        return x, self.y * height_px if self.y_is_share else self.y


@dataclass(frozen=True, slots=True)
class Key:
    """One declared value: its name in a file, its option, how it is read, and where it lies.

    A value's name in a file is its option without the dashes in front.
    """

    table: str
    attribute: str
    option: str
    help: str
    shown: str
    many: bool
    names_file: str | None
    usual: Any
    read: Callable[[str], Any]

    @property
    def name(self) -> str:
        """What it is called in a shot file and on the page."""
        return self.option.removeprefix("--")

    def is_file(self, words: Words) -> TypeGuard[str]:
        """Whether what was written is the name of a file; some also name what comes along."""
        return (
            isinstance(words, str)
            and self.names_file is not None
            and words.lower().endswith(self.names_file)
        )

    @property
    def is_flag(self) -> bool:
        """Whether its option stands alone, without a value."""
        return self.read is flag


def shot_key(
    option: str,
    text: str,
    read: Callable[[str], Any] = str,
    *,
    shown: str = "TEXT",
    many: bool = False,
    usual: Any = None,
    names_file: str | None = None,
) -> Any:
    """Declare one value: its option, its help and how it is read.

    Parameters
    ----------
    shown : str
        What stands for the value in the help.
    many : bool
        It may be given several times.
    usual : object
        What it is where nothing is said.
    names_file : str or None
        It may name a file, taken from the shot file's own folder: what such a name ends with.
    """
    about = {"option": option, "help": text, "read": read, "shown": shown}
    about |= {"many": many, "names_file": names_file}
    return field(default=() if many else usual, metadata=about)


def keys_of(kind: type, table: str = "") -> dict[str, Key]:
    """Every value that a class declares with `shot_key`, by its name, in order."""
    keys = (
        Key(table=table, attribute=each.name, usual=each.default, **each.metadata)
        for each in fields(kind)
        if each.metadata
    )
    return {key.name: key for key in keys}


def read_value(key: Key, text: Words, where: str) -> Any:
    """Read one value from its words.

    Parameters
    ----------
    where : str
        Begins an error's sentence; ``{name}`` is filled in.

    Raises
    ------
    SettingError
        If it cannot be read.
    """
    try:
        return tuple(map(key.read, text)) if isinstance(text, tuple) else key.read(text)
    except SettingError as error:
        raise SettingError(f"{where.format(name=key.name)}: {error}") from None


def read_wishes(kind: type[Wishes], given: Mapping[str, Words], where: str) -> Wishes:
    """Make a class that is declared with `shot_key` from words by name; errors as `read_value`."""
    keys = keys_of(kind)
    return kind(
        **{
            keys[name].attribute: read_value(keys[name], text, where)
            for name, text in given.items()
        }
    )


def any_number(example: str) -> Callable[[str], float]:
    """Reader of a number; who uses it says within which bounds it makes sense."""

    def read(text: str) -> float:
        plain = pointed(text)
        try:
            return float(plain)
        except ValueError:
            raise SettingError(f'"{text}": write a number, such as {example}') from None

    return read


def number(low: float, high: float, example: str) -> Callable[[str], float]:
    """Reader of a number within bounds; `example` ends the sentence when it is refused."""

    def read(text: str) -> float:
        plain = pointed(text)
        try:
            value = float(plain)
        except ValueError:
            value = float("nan")
        if not low <= value <= high:
            raise SettingError(
                f'"{text}": write a number from {low:g} to {high:g}, such as {example}'
            )
        return value

    return read


def one_of(*allowed: str) -> Callable[[str], str]:
    """Reader of one word out of several."""

    def read(text: str) -> str:
        if text not in allowed:
            raise SettingError(f'"{text}": write one of {", ".join(allowed)}')
        return text

    return read


def whole(low: int, high: int) -> Callable[[str], int]:
    """Reader of a whole number within bounds."""

    def read(text: str) -> int:
        if not text.strip().isdecimal() or not low <= int(text) <= high:
            raise SettingError(f'"{text}": write a whole number from {low} to {high}')
        return int(text)

    return read


def flag(text: str) -> bool:
    """Read true or false."""
    if text.lower() not in ("true", "false"):
        raise SettingError(f'"{text}": write true or false')
    return text.lower() == "true"


def read_spot(text: str) -> PictureSpot:
    """Read a spot in the picture: "50%,62%" or "812,640" px; shares with decimal commas too.

    Raises
    ------
    SettingError
        If it is not two places parted by a comma.

    Examples
    --------
    >>> read_spot("50,5%,62,25%") == read_spot("50.5%,62.25%")
    True
    """
    parts = pointed_places(text).split(",")
    if len(parts) != 2:
        more = "; decimals with a point" if len(parts) > 2 else ""
        raise SettingError(
            f'"{text}" is no spot: write it as "50%,62%" or, in pixels, "812,640"{more}'
        )
    (x, x_share), (y, y_share) = parse_place(parts[0]), parse_place(parts[1])
    return PictureSpot(x, y, x_share, y_share)

"""How one value of a shot is declared: its option, its help, and how its words are read."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from render.errors import SettingError
from render.words import parse_place

__all__ = ["PictureSpot", "flag", "number", "one_of", "read_spot", "shot_key", "whole"]


@dataclass(frozen=True, slots=True)
class PictureSpot:
    """A place in the picture as handed in: pixels from the left and top, or shares of its size."""

    x: float
    y: float
    x_is_share: bool
    y_is_share: bool

    def at(self, width_px: int, height_px: int) -> tuple[float, float]:
        """Where it lies in a picture of that size, px."""
        x = self.x * width_px if self.x_is_share else self.x
        return x, self.y * height_px if self.y_is_share else self.y


def shot_key(
    option: str,
    text: str,
    read: Callable[[str], Any] = str,
    *,
    shown: str = "TEXT",
    many: bool = False,
) -> Any:
    """Declare one value of a shot: its option, its help and how it is read."""
    about = {"option": option, "help": text, "read": read, "shown": shown, "many": many}
    return field(default=() if many else None, metadata=about)


def number(low: float, high: float, example: str) -> Callable[[str], float]:
    """Reader of a number within bounds; `example` ends the sentence when it is refused."""

    def read(text: str) -> float:
        try:
            value = float(text)
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
    """Read a spot in the picture: "50%,62%" or "812,640" px.

    Raises
    ------
    SettingError
        If it is not two places parted by a comma.
    """
    parts = text.split(",")
    if len(parts) != 2:
        raise SettingError(f'"{text}" is no spot: write it as "50%,62%" or, in pixels, "812,640"')
    (x, x_share), (y, y_share) = parse_place(parts[0]), parse_place(parts[1])
    return PictureSpot(x, y, x_share, y_share)

"""What should be sharp or soft, in a person's words."""

import re
from dataclasses import dataclass

from render.decimals import pointed_places
from render.errors import SettingError
from render.typed import length_m, parse_place

__all__ = ["KINDS", "Wish", "length_or_0", "parse_wish", "read_spot"]

#: How each kind of wish is written.
KINDS = {
    "point": "'50%,62%', '812,640', '10%,20%,40%,60%' (an area), or '12 m, 1.5 m, left 2 m' "
    "(ahead, above the ground, to the side)",
    "row": "'A to B', each a point",
    "ground": "'4 m to 60 m', or two spots '50%,90% to 50%,45%'",
    "wall": "'4 m to 12 m' (at the left and at the right edge of the view) or the spots of two "
    "feet '10%,80% to 90%,60%', and if need be ', 3 m high'",
    "face": "'1.2 m' or a spot '45%,40%', or with ', back 20' (degrees, the "
    "forehead farther; or forward) or ', left 15' (its left side in the picture farther; or right)",
}


@dataclass(frozen=True, slots=True)
class Wish:
    """One thing that should be sharp, or soft, as it was written.

    Attributes
    ----------
    kind : str
        One of `KINDS`.
    text : str
        What was written, without the name.
    name : str
        What it is called in the answer.
    """

    kind: str
    text: str
    name: str

    @property
    def parts(self) -> list[str]:
        """What stands between its commas, in small letters."""
        return [part.strip() for part in self.text.lower().split(",")]

    @property
    def is_area(self) -> bool:
        """Whether it is a rectangle of the picture."""
        parts = self.parts
        return self.kind == "point" and len(parts) == 4 and length_m(parts[0]) is None


def parse_wish(kind: str, text: str) -> Wish:
    """Read the name off a wish: "door=50%,62%" is called door.

    Raises
    ------
    SettingError
        If nothing is written, the name is empty, or there is no such kind.
    """
    if kind not in KINDS:
        raise SettingError(f'"{kind}" is no kind of wish: one of {", ".join(KINDS)}')
    name, found, rest = text.partition("=")
    words = pointed_places((rest if found else text).strip())
    if not words:
        raise SettingError(f'{kind} "{text}": write {KINDS[kind]}')
    if found and not name.strip():
        raise SettingError(f'{kind} "{text}" has no name before its =: write one, or no =')
    plain = words if kind == "point" else f"{kind} {words}"
    return Wish(kind, words, name.strip() if found else plain)


def length_or_0(text: str) -> float | None:
    """A length with its unit; 0 is 0 in any."""
    return 0.0 if re.fullmatch(r"0+(\.0*)?", text) else length_m(text)


def read_spot(text: str) -> tuple[tuple[float, bool], tuple[float, bool]] | None:
    """Read a spot of the picture, as `parse_place` its two sides; None where it is none."""
    parts = text.split(",")
    if len(parts) != 2 or any(length_m(part) is not None for part in parts):
        return None
    try:
        return parse_place(parts[0]), parse_place(parts[1])
    except SettingError:
        return None

"""The contact strip: moments of a film side by side, each with its time and its setting."""

from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image

from render.sheets.compare import Cell, compare_sheet
from render.sheets.drawing.canvas import Drawing

__all__ = ["StripMoment", "contact_strip"]


@dataclass(frozen=True, slots=True, eq=False)
class StripMoment:
    """One moment of a film: its picture, sRGB-coded, its time and the lens' setting in words."""

    picture: Image.Image
    time: str
    setting: str


def contact_strip(moments: Sequence[StripMoment], *, title: str, moves: bool) -> Drawing:
    """Lay moments out in one row.

    Parameters
    ----------
    moves : bool
        Whether the lens moves: then every moment says its own setting.
    """
    cells = [
        Cell(each.picture, each.time, "", each.setting if moves else "", "") for each in moments
    ]
    held = "" if moves else moments[0].setting
    return compare_sheet(cells, title=title, subtitle=held, columns=len(cells))

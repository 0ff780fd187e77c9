"""Contact strips and sheets: moments of a film, or the pictures of a day, with a few words each."""

from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image

from render.sheets.compare import Cell, compare_sheet
from render.sheets.drawing.canvas import Drawing

__all__ = ["StripMoment", "contact_sheets", "contact_strip"]


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
        Whether lens or camera move: then every moment says its own setting.
    """
    cells = [
        Cell(each.picture, each.time, "", each.setting if moves else "", "") for each in moments
    ]
    held = "" if moves else moments[0].setting
    return compare_sheet(cells, title=title, subtitle=held, columns=len(cells))


def contact_sheets(
    cells: Sequence[Cell], *, title: str, notes: Sequence[str] = (), most: int
) -> list[Drawing]:
    """Lay many pictures out on as many sheets as they need.

    Parameters
    ----------
    cells : sequence of Cell
        In reading order.
    notes : sequence of str
        At the foot of the last sheet.
    most : int
        Pictures on a sheet.
    """
    count = -(-len(cells) // most)
    sheets = []
    for page in range(count):
        shown = cells[page * most : (page + 1) * most]
        first = page * most + 1
        words = f"{first} to {first + len(shown) - 1} of {len(cells)}" if count > 1 else ""
        foot = notes if page == count - 1 else ()
        columns = min(4, len(shown)) if count == 1 else 4
        sheets.append(
            compare_sheet(shown, title=title, subtitle=words, notes=foot, columns=columns)
        )
    return sheets

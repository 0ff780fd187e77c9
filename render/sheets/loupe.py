"""The loupe: small parts of the picture as a magnified live view would show them.

A part is a tenth of the frame, at the pixels of the planned sensor. Where the picture has
fewer pixels than the sensor, each is shown as the block it is: nothing is made up.
"""

import math
from dataclasses import dataclass

from PIL import Image

from render.optics.camera import Window
from render.sheets.compare import Cell
from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.raster import paint
from render.sheets.drawing.style import PAPER, TELLTALE, Colour
from render.sheets.overlay import Marks
from render.words import length_words

__all__ = ["MAGNIFICATION", "LoupeSpot", "loupe_cell", "loupe_marks", "loupe_window"]

MAGNIFICATION = 10
_DARK: Colour = (0x10, 0x12, 0x14)


@dataclass(frozen=True, slots=True)
class LoupeSpot:
    """One place to look at closely.

    Attributes
    ----------
    name : str
        "focus spot", "far edge of the band".
    x_px, y_px : float
        In the planned frame, in pixels of the picture.
    depth_m : float
    blur_px, coc_px : float
        Blur diameter and circle of confusion there, in pixels of the planned sensor.
    """

    name: str
    x_px: float
    y_px: float
    depth_m: float
    blur_px: float
    coc_px: float

    @property
    def multiple(self) -> float:
        """Blur in circles of confusion."""
        return self.blur_px / self.coc_px


def loupe_window(spot: LoupeSpot, width_px: int, height_px: int) -> Window:
    """Return the tenth of a frame around a spot, moved inside where the spot is near its edge."""
    width, height = (max(1, math.ceil(side / MAGNIFICATION)) for side in (width_px, height_px))
    left = min(max(0, round(spot.x_px - width / 2)), width_px - width)
    top = min(max(0, round(spot.y_px - height / 2)), height_px - height)
    return Window(left, top, width, height)


def loupe_cell(
    spot: LoupeSpot,
    number: int,
    part: Image.Image,
    window: Window,
    frame_px: tuple[int, int],
    sensor_px: int,
) -> Cell:
    """Show one part at sensor pixels, with the circle of confusion and the blur drawn to scale.

    Parameters
    ----------
    part : PIL.Image.Image
        The photograph inside `window`, in pixels of the picture.
    window : Window
        In pixels of the picture's frame.
    frame_px : (width, height)
        Of that frame.
    sensor_px : int
        Pixels of the planned sensor along the frame's width.
    """
    scale = sensor_px / frame_px[0]
    size = (max(1, round(part.width * scale)), max(1, round(part.height * scale)))
    how = Image.Resampling.NEAREST if scale >= 1 else Image.Resampling.BOX
    drawing = Drawing(*size)
    drawing.picture(part.resize(size, how), 0, 0, *size)
    x, y = (spot.x_px - window.left) * scale, (spot.y_px - window.top) * scale
    for diameter, colour, dash in (
        (spot.blur_px, TELLTALE, (4.0, 3.0)),
        (spot.coc_px, PAPER, None),
    ):
        radius = max(diameter / 2, 0.75)
        drawing.ring(x, y, radius + 0.75, colour=_DARK, width=3.0)
        drawing.ring(x, y, radius + 0.75, colour=colour, width=1.25, dash=dash)
    drawing.label(x + 10, y - 16, f"{number}", 13, weight="semibold")
    return Cell(
        picture=paint(drawing),
        setting=f"{number}  {spot.name[:1].upper()}{spot.name[1:]}",
        scale=length_words(spot.depth_m),
        figures=f"{100 * spot.x_px / frame_px[0]:.0f} %, {100 * spot.y_px / frame_px[1]:.0f} % · "
        f"blur {_short(spot.blur_px)} px = {_short(spot.multiple)} c",
        verdict=_verdict(spot),
    )


def loupe_marks(spots: list[LoupeSpot], scale: float) -> Marks:
    """Rings that show on the whole frame, drawn at `scale`, where the spots are."""
    return Marks(telltales=tuple((spot.x_px * scale, spot.y_px * scale) for spot in spots))


def _verdict(spot: LoupeSpot) -> str:
    """On the edge of the band, within a tenth of c, it is neither sharp nor soft."""
    if abs(spot.multiple - 1) <= 0.1:
        return "just about to go soft"
    return "sharp" if spot.multiple < 1 else "soft"


def _short(value: float) -> str:
    if value < 0.005:
        return "0"
    return f"{value:.2g}" if value < 10 else f"{value:.0f}"

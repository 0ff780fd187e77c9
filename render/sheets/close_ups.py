"""Two close-ups of a picture and where they lie in it."""

from dataclasses import dataclass

from PIL import Image

from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.style import PAPER, Colour

__all__ = ["CloseUps", "Place", "draw_frames"]

#: Left, top, width and height, shares of a picture's width and height.
Place = tuple[float, float, float, float]

_CASING: Colour = (0x10, 0x12, 0x14)


@dataclass(frozen=True, slots=True, eq=False)
class CloseUps:
    """Two small parts of a picture, pixel for pixel.

    Attributes
    ----------
    first, second : PIL.Image.Image
    places : (Place, Place)
        Where these lie in the picture.
    planned : (str, str)
        "sharp" or "soft": how each is planned.
    """

    first: Image.Image
    second: Image.Image
    places: tuple[Place, Place]
    planned: tuple[str, str] = ("sharp", "soft")


def draw_frames(
    drawing: Drawing,
    places: tuple[Place, Place],
    picture: tuple[float, float, float, float],
    line: float,
) -> None:
    """Outline where close-ups lie: white, with a dark edge, so that they show on anything.

    Parameters
    ----------
    picture : (x, y, width, height)
        Where the picture lies in the drawing.
    line : float
        Width of the white line.
    """
    x, y, width, height = picture
    for left, top, wide, high in places:
        first, last = x + left * width, x + (left + wide) * width
        upper, lower = y + top * height, y + (top + high) * height
        around = [(first, upper), (last, upper), (last, lower), (first, lower), (first, upper)]
        drawing.path(around, colour=_CASING, width=2 * line)
        drawing.path(around, colour=PAPER, width=line)

"""Frames lie where close-ups were cut out."""

from PIL import Image

from render.sheets.close_ups import CloseUps, draw_frames
from render.sheets.compare import Cell, close_up_px, compare_sheet
from render.sheets.drawing.canvas import Drawing, Path, Picture

PLACES = ((0.1, 0.2, 0.3, 0.4), (0.5, 0.5, 0.3, 0.4))


def test_frames_are_drawn_where_the_places_are() -> None:
    """By shares of the picture, wherever that lies; white on dark, so that they show anywhere."""
    drawing = Drawing(300, 300)
    draw_frames(drawing, PLACES, (100, 50, 200, 100), 1.0)
    white = [item for item in drawing.items if isinstance(item, Path)][1::2]

    assert white[0].runs[0][0] == (120, 70)
    assert white[1].runs[0][2] == (260, 140)
    assert all(path.colour == (255, 255, 255) for path in white)


def test_a_strip_stands_under_its_picture_at_its_own_pixels() -> None:
    """Two close-ups side by side, as wide as the picture, not scaled."""
    size = close_up_px((300, 200))
    close = CloseUps(Image.new("RGB", size), Image.new("RGB", size), PLACES)
    cell = Cell(Image.new("RGB", (300, 200)), "f/4", "1:100", "band", "reads", close=close)
    sheet = compare_sheet([cell], title="T", subtitle="S")
    picture, left, right = (item for item in sheet.items if isinstance(item, Picture))

    assert (left.width, left.height) == (right.width, right.height) == size
    assert left.x == picture.x
    assert right.x + right.width == picture.x + picture.width
    assert left.y == right.y > picture.y + picture.height

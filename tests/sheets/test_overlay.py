"""Overlays draw the blur field where it is, with words, units and line styles."""

import itertools

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError
from render.optics.blur import BlurField, blur_field
from render.optics.camera import Camera, Sensor, Vantage
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.sheets.drawing.canvas import Drawing, Path
from render.sheets.drawing.raster import paint
from render.sheets.drawing.style import BAND, PAPER, TELLTALE
from render.sheets.overlay import (
    Marks,
    band_overlay,
    blur_map,
    draw_marks,
    near_outlines,
    triptych,
)

COC_MM = 0.03


def _field(width: int = 600, height: int = 400, tilt_deg: float = -6.0) -> BlurField:
    """A wall at 20 m behind a tilted lens: blur grows up and down from the middle row."""
    lens = focus_lens(
        LensSetting(focal_mm=45, f_number=2.8, tilt_deg=tilt_deg, focus=FocusDistance(20.0))
    )
    depth = np.full((height, width), 20.0, np.float32)
    return blur_field(lens, Camera.from_lens(width, height, 45.0, Sensor()), depth)


def _grey(field: BlurField) -> Image.Image:
    return Image.new("RGB", (field.camera.width_px, field.camera.height_px), (120, 120, 120))


def _words(drawing: Drawing) -> str:
    return " | ".join(item.text for item in drawing.texts())


def test_contours_lie_where_blur_is_a_multiple_of_c() -> None:
    """On a wall, the 1c lines are level and lie where the field itself passes 1c."""
    field = _field()
    drawing = blur_map(_grey(field), field, COC_MM)
    lines = [p for p in drawing.items if isinstance(p, Path) and p.colour == PAPER]
    rows = np.arange(400) + 0.5
    multiple = 2 * field.lens.aperture_radius_mm / COC_MM * field.defocus[:, 300]
    drawn = sorted(float(np.mean([y for _, y in line.runs[0]])) for line in lines)
    true = sorted(
        float(np.interp(level, np.sort(multiple), rows[np.argsort(multiple)]))
        for level in (-8, -4, -2, -1, 1, 2, 4, 8)
        if multiple.min() < level < multiple.max()
    )

    assert len(true) >= 6
    np.testing.assert_allclose(drawn, true, atol=1.0)


def test_nearer_is_solid_and_farther_is_dashed() -> None:
    """Lens up: above the middle the sharp plane lies nearer, so the wall is farther: dashed."""
    field = _field()
    drawing = blur_map(_grey(field), field, COC_MM)
    lines = [p for p in drawing.items if isinstance(p, Path) and p.colour == PAPER]

    assert field.defocus[0, 0] < 0 < field.defocus[-1, 0]
    for line in lines:
        assert (line.dash is not None) == (line.runs[0][0][1] < 200)


def test_the_legend_gives_px_and_percent() -> None:
    """The legend names c, its multiples, px and % of the picture's height, and both lines."""
    field = _field()
    words = _words(blur_map(_grey(field), field, COC_MM))
    coc_px = COC_MM * field.px_per_mm

    assert f"c = circle of confusion, {coc_px:.2g} px" in words
    assert all(f"{level}c" in words for level in (1, 2, 4, 8, 16, 32))
    assert f"{100 * 4 * coc_px / 400:.2g} %" in words
    assert "nearer than the plane of sharp focus" in words
    assert "farther" in words


@pytest.mark.parametrize("size", [(600, 400), (300, 900), (1600, 300), (320, 240)])
def test_no_word_leaves_the_picture(size: tuple[int, int]) -> None:
    """Landscape, portrait, very wide and small pictures all keep their words inside."""
    field = _field(*size)
    marks = Marks(telltales=((0, 0), size), focus=size, vantage=Vantage(12, 5), thirds=True)
    for drawing in (
        blur_map(_grey(field), field, COC_MM),
        band_overlay(_grey(field), field, COC_MM, marks),
    ):
        for item in drawing.texts():
            assert item.x >= 0
            assert item.x + item.width <= drawing.width
            assert item.y <= drawing.height


def test_numbers_of_spots_that_pile_up_are_spread_with_lines() -> None:
    """Four spots a pixel apart: rings shrink, every number is legible."""
    drawing = Drawing(200, 130)
    spots = tuple((100.0 + k, 60.0) for k in range(4))
    draw_marks(drawing, Camera(200, 130, 200.0), Marks(telltales=spots), 9.0)
    letters = drawing.texts()

    assert [item.text for item in letters] == ["1", "2", "3", "4"]
    for a, b in itertools.combinations(letters, 2):
        assert max(abs(a.x - b.x) - a.width - 7.2, abs(a.y - b.y) - 13.5) > -1e-6


def test_band_edges_enclose_the_sharp_rows() -> None:
    """The green edges lie on the first and last row whose blur is under c."""
    field = _field()
    drawing = band_overlay(_grey(field), field, COC_MM)
    sharp = np.flatnonzero(
        np.abs(2 * field.lens.aperture_radius_mm * field.defocus[:, 300]) <= COC_MM
    )
    edges = [p for p in drawing.items if isinstance(p, Path) and p.colour == BAND][-1]
    rows = sorted(float(np.mean([y for _, y in run])) for run in edges.runs)

    assert rows == pytest.approx([sharp[0], sharp[-1] + 1], abs=1.0)
    assert "sharp band" in _words(drawing)


def test_a_picture_without_a_sharp_band_says_so() -> None:
    """Focus far nearer than everything: no band is drawn and a sentence stands there."""
    lens = focus_lens(LensSetting(focal_mm=90, f_number=2.8, focus=FocusDistance(1.0)))
    field = blur_field(lens, Camera(200, 150, 400.0), np.full((150, 200), 50, np.float32))

    assert "nothing in the picture is sharp" in _words(band_overlay(_grey(field), field, COC_MM))


def test_marks_are_numbered_and_dashed() -> None:
    """Telltales carry a number and a dashed orange ring; the horizon and focus are named."""
    field = _field()
    marks = Marks(((100, 100), (500, 300)), (300, 200), Vantage(12.0, 5.0), True)
    drawing = band_overlay(_grey(field), field, COC_MM, marks)
    rings = [p for p in drawing.items if isinstance(p, Path) and p.colour == TELLTALE]
    words = [item.text for item in drawing.texts()]

    assert len(rings) == 2
    assert all(ring.dash is not None for ring in rings)
    assert {"1", "2", "horizon", "focus here"} <= set(words)


def test_the_horizon_is_where_the_pitch_puts_it() -> None:
    """Looking down by p, the horizon lies f tan(p) above the middle."""
    field = _field()
    drawing = band_overlay(_grey(field), field, COC_MM, Marks(vantage=Vantage(12.0, 5.0)))
    level = [p for p in drawing.items if isinstance(p, Path) and len(p.runs[0]) == 2]
    y = level[-1].runs[0][0][1]

    assert y == pytest.approx(200 - field.camera.focal_px * np.tan(np.radians(5.0)))


def test_the_triptych_keeps_the_pixels_of_before_and_after() -> None:
    """Three panels, named, and the two pictures appear unscaled."""
    field = _field(300, 200)
    before, after = Image.new("RGB", (300, 200), (10, 200, 10)), Image.new("RGB", (300, 200), "red")
    drawing = triptych(before, field, after, COC_MM, setting="f/2.8 · lens up 6°")
    pixels = np.asarray(paint(drawing)).reshape(-1, 3)
    words = _words(drawing)

    assert all(name in words for name in ("Before", "Blur map", "After", "f/2.8 · lens up 6°"))
    assert np.count_nonzero((pixels == (10, 200, 10)).all(axis=1)) == 300 * 200
    assert np.count_nonzero((pixels == (255, 0, 0)).all(axis=1)) == 300 * 200


def test_sizes_that_differ_are_refused() -> None:
    """A picture and a field of different sizes end in a sentence with both sizes."""
    with pytest.raises(InputError, match=r"100 x 100 px.*600 x 400"):
        blur_map(Image.new("RGB", (100, 100)), _field(), COC_MM)


def test_what_is_near_is_outlined_in_shares_of_the_picture() -> None:
    """A box keeps its corners, also at the border; nothing near has no outline."""
    region = np.zeros((300, 600), bool)
    region[150:, 120:240] = True

    lines = near_outlines(region)

    (line,) = (np.asarray(points) for points in lines)
    np.testing.assert_allclose(line.min(axis=0), (0.2, 0.5), atol=0.004)
    np.testing.assert_allclose(line.max(axis=0), (0.4, 1.0), atol=0.004)
    assert near_outlines(np.zeros((9, 9), bool)) == ()
    assert near_outlines(None) == ()

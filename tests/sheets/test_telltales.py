"""Telltales outlined on the picture."""

import dataclasses

import numpy as np
import pytest
from PIL import Image

from render.judge.verdict import judge
from render.optics.camera import Camera, Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.scene.scene import Scene
from render.sheets.drawing.canvas import Area
from render.sheets.drawing.raster import paint
from render.sheets.drawing.style import HAIRLINE, INK, TELLTALE
from render.sheets.telltales import telltale_overlay, telltale_sheet


def _verdict(tower: bool):
    """Ground 20 m below a camera pitched by 20 degrees, with an upright block at the left."""
    camera = Camera(150, 100, 375.0)
    pitch = np.radians(20.0)
    x, y = np.meshgrid(*camera.grid())
    inverse = (np.sin(pitch) + y * np.cos(pitch)) / 20.0
    wall = (np.cos(pitch) - y * np.sin(pitch)) / (20.0 / np.tan(pitch))
    block = tower & (x > -0.15) & (x < -0.05) & (y < 0)
    depth = (1 / np.where(block, wall, inverse)).astype(np.float32)
    scene = Scene(np.ones((100, 150, 3), np.float32), depth, camera, vantage=Vantage(20, 20))
    focus = FocusSpot(0.0, 0.0, 20.0 / np.sin(pitch))
    return judge(scene, LensSetting(focal_mm=90, f_number=2.8, focus=focus, tilt_deg=-8))


def test_the_outline_runs_along_the_thing():
    """Outline pixels lie on the block's border, and nowhere at the right."""
    verdict = _verdict(tower=True)
    painted = np.asarray(paint(telltale_overlay(Image.new("RGB", (300, 200), (9, 9, 9)), verdict)))
    marked = np.argwhere(np.all(painted == TELLTALE, axis=-1))

    assert len(marked) > 50
    assert abs(marked[:, 1].min() - 2 * verdict.telltales[0].box.left) <= 4
    assert marked[:, 1].max() < 160


def test_each_telltale_has_its_number_and_both_blurs():
    """The label says how soft it is, and how soft a model's would be."""
    verdict = _verdict(tower=True)
    texts = [t.text for t in telltale_overlay(Image.new("RGB", (300, 200)), verdict).texts()]

    assert len(texts) == len(verdict.telltales)
    assert texts[-1].startswith("1  ")
    assert "a model's" in texts[-1]


def test_bare_ground_cannot_show_telltales_and_says_so():
    """Where only the ground is known, nothing was looked at that could betray the trick."""
    verdict = dataclasses.replace(_verdict(tower=False), bare_ground=True)
    drawing = telltale_overlay(Image.new("RGB", (900, 600)), verdict)

    assert [t.text for t in drawing.texts()] == [
        "level ground alone is known: telltales of what stands on it cannot be seen"
    ]
    assert (drawing.width, drawing.height) == (900, 600)


def test_a_scene_with_things_and_no_telltale_says_so():
    """Things that blur as a model's would: none was found."""
    verdict = dataclasses.replace(_verdict(tower=False), bare_ground=False)
    drawing = telltale_overlay(Image.new("RGB", (900, 600)), verdict)

    assert [t.text for t in drawing.texts()] == ["no telltale found"]


def test_the_sheet_says_as_the_command_does_that_it_stands_on_a_guess():
    """The same words before the verdict; none where nothing was guessed."""
    verdict, picture = _verdict(tower=True), Image.new("RGB", (900, 600))
    said, plain = (
        " ".join(t.text for t in telltale_sheet(picture, verdict, guessed=guessed).texts())
        for guessed in (True, False)
    )

    assert "If the guess is right: " in said
    assert "guess" not in plain


@pytest.mark.parametrize("size", [(900, 600), (300, 200), (240, 500)])
def test_the_five_parts_stand_below_as_bars_as_long_as_their_marks(size):
    """Wide or narrow: each part's name and mark inside the sheet, its bar in proportion."""
    verdict = _verdict(tower=True)
    drawing = telltale_sheet(Image.new("RGB", size), verdict)
    words = " ".join(t.text for t in drawing.texts())

    for name, mark in zip(
        ("nearness", "agreement", "visibility", "viewpoint", "picture"),
        verdict.marks.as_tuple(),
        strict=True,
    ):
        assert name in words
        assert f"{mark:.2f}" in words
    assert all(t.x >= 0 and t.x + t.width <= size[0] for t in drawing.texts())
    assert all(t.y <= drawing.height for t in drawing.texts())
    boxes = [item for item in drawing.items if isinstance(item, Area) and item.colour == HAIRLINE]
    bars = [
        item
        for item in drawing.items
        if isinstance(item, Area)
        and item.colour in (INK, TELLTALE)
        and item.points[0][1] >= size[1]
    ]
    assert len(boxes) == len(bars) == 5
    for box, bar, mark in zip(boxes, bars, verdict.marks.as_tuple(), strict=True):
        length = (bar.points[1][0] - bar.points[0][0]) / (box.points[1][0] - box.points[0][0])
        assert length == pytest.approx(max(mark, 0.01), abs=1e-6)

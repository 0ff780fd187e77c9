"""Telltales outlined on the picture."""

import numpy as np
from PIL import Image

from render.judge.verdict import judge
from render.optics.camera import Camera, Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.scene.scene import Scene
from render.sheets.raster import paint
from render.sheets.style import TELLTALE
from render.sheets.telltales import telltale_overlay


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


def test_a_picture_without_telltales_says_so():
    """Bare ground: one label."""
    drawing = telltale_overlay(Image.new("RGB", (300, 200)), _verdict(tower=False))

    assert [t.text for t in drawing.texts()] == ["no telltale found"]
    assert (drawing.width, drawing.height) == (300, 200)

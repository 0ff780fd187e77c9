"""The exact lens on a demo scene."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError, OutputError
from render.files.shots import Shot, merged
from render.jobs.exact import exact
from render.jobs.progress import silent
from render.jobs.render import render

YARD = """
line = "A bare yard."

[vantage]
stand_m = [0, -20]
height_m = 12
look_at_m = [0, 0, 0]
focal_mm = 60

[setting]
f_number = 2.8
tilt = "up 6"

[ground]
material = "asphalt"
"""


@pytest.fixture
def yard(tmp_path: Path) -> Shot:
    """A bare yard, 96 px wide."""
    (tmp_path / "yard.toml").write_text(YARD, encoding="utf-8")
    return merged(Shot(scene=str(tmp_path / "yard.toml")), {"width": "96"}, "{name}")


def test_it_is_the_photograph_that_render_makes(yard: Shot, tmp_path: Path) -> None:
    """The same frame in the same light, whichever way the blur is worked out."""
    exact(yard, tmp_path / "exact.png", samples=32, progress=silent)
    render(yard, tmp_path / "rendered.png", progress=silent)
    with Image.open(tmp_path / "exact.png") as one, Image.open(tmp_path / "rendered.png") as other:
        traced, made = (np.asarray(image.convert("RGB"), float) for image in (one, other))

    assert traced.shape == made.shape
    assert abs(traced.mean() - made.mean()) < 3
    assert np.sqrt(((traced - made) ** 2).mean()) < 8


def test_it_needs_a_scene_and_overwrites_nothing(yard: Shot, tmp_path: Path) -> None:
    """One sentence, and no file."""
    with pytest.raises(InputError, match="only a demo scene"):
        exact(Shot(picture="roof.jpg"), tmp_path / "a.png", progress=silent)
    (tmp_path / "there.png").write_bytes(b"mine")
    with pytest.raises(OutputError):
        exact(yard, tmp_path / "there.png", progress=silent)

    assert (tmp_path / "there.png").read_bytes() == b"mine"
    assert not (tmp_path / "a.png").exists()

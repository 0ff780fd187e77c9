"""Demo scenes prepared for a lens setting, like a photo."""

from pathlib import Path

import numpy as np
import pytest

from render.errors import InputError, SettingError
from render.files.shots import Shot, merged
from render.jobs.prepare import Prepared, prepare
from render.jobs.progress import silent
from render.optics.lens import FocusSpot

SCENE = """
line = "A box on a lawn."
[vantage]
stand_m = [0, -20]
height_m = 8
look_at_m = [0, 0, 0]
focal_mm = 50
[setting]
f_number = 4
tilt = "up 6"
focus_on = "crate"
[[things]]
kind = "box"
name = "crate"
at_m = [0, 0]
size_m = [2, 2, 2]
"""


@pytest.fixture
def lawn(tmp_path: Path) -> str:
    """A scene file of one box."""
    path = tmp_path / "lawn.toml"
    path.write_text(SCENE)
    return str(path)


def _prepared(scene: str, **options: str) -> Prepared:
    given = {"width": "90"} | {name.replace("_", "-"): text for name, text in options.items()}
    return prepare(merged(Shot(scene=scene), given, "{name}"), silent)


def test_what_is_not_said_follows_the_scene(lawn: str) -> None:
    """Vantage, lens, tilt and focus are the scene's own, and that is noted."""
    made = _prepared(lawn)

    setting = made.setting
    assert (setting.focal_mm, setting.f_number, setting.tilt_deg) == (50, 4, -6)
    assert made.scene.vantage is not None
    assert made.scene.vantage.height_m == 8
    assert isinstance(setting.focus, FocusSpot)
    assert setting.focus.depth_m == pytest.approx(np.hypot(20, 8), rel=0.1)
    assert any("crate" in note for note in made.notes)


def test_the_frame_has_a_margin_and_what_lies_behind(lawn: str) -> None:
    """The engine is given what a photo cannot give."""
    made = _prepared(lawn)

    assert made.scene.frame.width == 90
    assert made.scene.depth_m.shape[1] > 90
    assert made.scene.behind is not None
    assert np.isfinite(made.scene.behind.depth_m).any()


def test_a_higher_vantage_looks_steeper_at_the_same_thing(lawn: str) -> None:
    """The camera keeps looking at the scene's subject."""
    low, high = _prepared(lawn), _prepared(lawn, height="16 m")

    assert low.scene.vantage is not None
    assert high.scene.vantage is not None
    assert high.scene.vantage.pitch_deg == pytest.approx(np.degrees(np.arctan2(16, 20)), abs=0.1)
    assert high.scene.vantage.pitch_deg > low.scene.vantage.pitch_deg + 10


@pytest.mark.parametrize(
    ("options", "error", "sentence"),
    [
        ({"horizon": "10%"}, SettingError, "takes --pitch"),
        ({"distance": "0", "height": "1", "focus": "9 m"}, SettingError, "inside the crate"),
        ({"focus": "500,500"}, SettingError, "outside the picture"),
    ],
)
def test_what_cannot_be_is_said(
    lawn: str, options: dict[str, str], error: type[Exception], sentence: str
) -> None:
    """One sentence each."""
    with pytest.raises(error, match=sentence):
        _prepared(lawn, **options)


def test_an_unknown_scene_is_answered_with_the_known(tmp_path: Path) -> None:
    """By name."""
    with pytest.raises(InputError, match="market"):
        _prepared("atlantis")

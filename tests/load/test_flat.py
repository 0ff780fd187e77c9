"""A scouting panorama, planned on like a photo."""

import math
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import SettingError
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.shot.shot import Shot, merged
from tests.files.formats.metadata.test_panoramas import packet


@pytest.fixture
def roundabout(tmp_path: Path) -> Path:
    """A closed panorama of 1440 x 720 px: grey ground, blue sky, a red post at heading 90."""
    codes = np.zeros((720, 1440, 3), np.uint8)
    codes[:360] = (80, 120, 200)
    codes[360:] = (110, 110, 110)
    codes[330:420, 1078:1083] = (220, 20, 20)
    path = tmp_path / "round.jpg"
    said = packet(ProjectionType="equirectangular", PoseHeadingDegrees=0)
    Image.fromarray(codes).save(path, quality=95, xmp=said)
    return path


def _prepared(path: Path, **given: str) -> Prepared:
    return prepare(merged(Shot(picture=str(path)), {"height": "12", **given}, "{name}"), silent)


def test_any_planned_lens_fits_in_a_panorama(roundabout: Path) -> None:
    """A 90 mm lens and a 20 mm lens, both with shift; the ground comes with the level pitch."""
    for lens in ("90", "20"):
        made = _prepared(roundabout, lens=lens, rise="up 8", focus="50%,75%")
        frame = made.scene.frame

        seen = 2 * math.atan(frame.width / (2 * made.scene.camera.focal_px))
        assert seen == pytest.approx(2 * math.atan(18 / float(lens)), rel=0.02)
        assert made.scene.vantage is not None
        assert made.scene.vantage.pitch_deg == 0


def test_a_low_panorama_shows_as_much_as_it_holds(tmp_path: Path) -> None:
    """One that ends 20 degrees below the horizon: the view is as wide as fits, for any lens."""
    path = tmp_path / "low.jpg"
    said = packet(
        ProjectionType="equirectangular",
        FullPanoWidthPixels=1440,
        FullPanoHeightPixels=720,
        CroppedAreaImageWidthPixels=1440,
        CroppedAreaImageHeightPixels=160,
        CroppedAreaLeftPixels=0,
        CroppedAreaTopPixels=280,
    )
    Image.fromarray(np.full((160, 1440, 3), 90, np.uint8)).save(path, quality=95, xmp=said)

    whole, long = (_prepared(path, focus="50%,80%", **lens) for lens in ({}, {"lens": "90"}))
    assert whole.scene.camera == long.scene.camera
    camera = whole.scene.camera
    assert 12 < math.degrees(math.atan(camera.height_px / 2 / camera.focal_px)) <= 20
    with pytest.raises(SettingError, match="not all in the panorama"):
        _prepared(path, lens="20", focus="50%,80%")


def test_heading_and_pitch_turn_the_view(roundabout: Path) -> None:
    """The post at compass 90 stands in the middle of the view that heads there."""
    made = _prepared(roundabout, heading="90", pitch="down 4", lens="60", focus="30 m")

    picture = made.scene.picture
    red = picture[..., 0] - picture[..., 2]
    columns = np.flatnonzero(red.max(axis=0) > 0.3)
    assert abs(columns.mean() + 0.5 - picture.shape[1] / 2) < 1.5
    horizon = np.flatnonzero(picture[:, 5, 2] - picture[:, 5, 0] > 0.1).max() + 1
    camera = made.scene.camera
    assert horizon == pytest.approx(
        camera.centre_y_px - camera.focal_px * math.tan(math.radians(4)), abs=1.5
    )
    assert any("heading 90°" in note and "places count in this view" in note for note in made.notes)


def test_places_do_not_move_with_a_longer_lens(roundabout: Path) -> None:
    """A spot names the same thing through 45 and through 90 mm."""
    short, long = (_prepared(roundabout, lens=lens, focus="60%,70%") for lens in ("45", "90"))

    assert short.setting.focus == long.setting.focus


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"horizon": "30%"}, "a panorama, whose horizon is known"),
        ({"roll": "2"}, "a panorama, whose horizon is known"),
        ({"lens": "9", "focus": "30 m"}, "wider than the 120°"),
        ({"view": "150"}, "wider than the 120°"),
    ],
)
def test_what_a_panorama_cannot_be_asked_is_refused(
    roundabout: Path, given: dict[str, str], sentence: str
) -> None:
    """With what to say in its place."""
    with pytest.raises(SettingError, match=sentence):
        _prepared(roundabout, **given)

"""Moments of a film that nobody has made yet."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.engine.photograph import photograph
from render.errors import SettingError
from render.jobs.filming.moments import nine_moments
from render.load.prepare import prepare
from render.load.progress import silent
from render.shot.keyframes import key_frame
from render.shot.shot import Shot, merged, shot_keys

GIVEN = {"view": "44", "height": "11", "pitch": "down 19", "tilt": "up 8", "focus": "50%,58%"}


@pytest.fixture
def shot(tmp_path: Path) -> Shot:
    """A plain seen from 11 m."""
    pixels = np.random.default_rng(4).integers(30, 220, (20, 30, 3), dtype=np.uint8)
    Image.fromarray(pixels).resize((120, 80), Image.Resampling.BICUBIC).save(tmp_path / "p.png")
    return merged(Shot(picture=str(tmp_path / "p.png")), GIVEN, "{name}")


def test_the_last_of_nine_is_the_last_key_frame(shot: Shot) -> None:
    """From the straight lens to the shot as it stands, evenly over the film."""
    keys = shot_keys()
    frames = (key_frame("0 s", {"tilt": "0"}, keys), key_frame("4 s", {"tilt": "up 8"}, keys))
    found = list(nine_moments(replace(shot, key_frames=frames), None, silent))
    prepared = prepare(shot, silent)

    assert [at_s for at_s, _ in found] == pytest.approx(np.linspace(0, 4, 9), abs=0.021)
    want = photograph(prepared.scene, prepared.setting).light
    np.testing.assert_allclose(found[-1][1], want, atol=1e-6)
    assert np.abs(found[0][1] - want).max() > 0.01


def test_a_key_at_the_clips_end_is_its_last_frame(shot: Shot) -> None:
    """A client's last picture is the setting that the film comes to rest at."""
    keys = shot_keys()
    frames = (key_frame("0 s", {"tilt": "0"}, keys), key_frame("4 s", {"tilt": "up 8"}, keys))
    *_, (at_s, last) = nine_moments(replace(shot, key_frames=frames, film_s=4.0), None, silent)
    prepared = prepare(shot, silent)

    assert at_s == pytest.approx(3.96)
    want = photograph(prepared.scene, prepared.setting).light
    np.testing.assert_allclose(last, want, atol=1e-6)


def test_nothing_that_moves_makes_no_moments(shot: Shot) -> None:
    """A still without key frames is no film."""
    with pytest.raises(SettingError, match="does not move"):
        next(nine_moments(shot, None, silent))

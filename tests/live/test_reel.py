"""Footage that stays open, scrubbed."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError
from render.live.places import Places
from render.load.prepare import prepare
from render.load.progress import silent
from render.shot.shot import Shot, merged
from tests.clips import street, write_clip

GIVEN = {"view": "60", "height": "12", "pitch": "down 20"}


def _shot(source: Path, time: str = "0") -> Shot:
    return merged(Shot(picture=str(source)), {**GIVEN, "time": time}, "{name}")


@pytest.mark.parametrize("time", ["0", "0.12", "0.04", "0.28"])
def test_a_scrubbed_frame_is_the_one_that_commands_take(tmp_path: Path, time: str) -> None:
    """Forwards and backwards: its own light, the first one's depth, the same plan."""
    places, clip = Places(), write_clip(tmp_path / "a.mp4", street(8))
    places.full(_shot(clip, "0.2"))
    held, taken = places.full(_shot(clip, time)), prepare(_shot(clip, time), silent)

    np.testing.assert_array_equal(held.scene.picture, taken.scene.picture)
    np.testing.assert_array_equal(held.scene.depth_m, taken.scene.depth_m)
    assert (held.setting, held.sensor, held.notes) == (taken.setting, taken.sensor, taken.notes)
    small = places.planned(_shot(clip, time), 1500)
    assert small.scene.picture.shape[0] < 64
    mean = held.scene.picture.mean(axis=(0, 1))
    np.testing.assert_allclose(small.scene.picture.mean(axis=(0, 1)), mean, rtol=2e-3)


def test_stills_are_scrubbed_like_a_clip(tmp_path: Path) -> None:
    """Those of one pattern; what is said of them is their count and 25 a second."""
    frames = street(6)
    for number, frame in enumerate(frames):
        Image.fromarray(frame).save(tmp_path / f"s{number:02d}.png")
    places, shot = Places(), _shot(tmp_path / "s%02d.png", "0.2")
    light = places.full(shot).scene.picture

    assert places.reel(shot) == {"seconds": 0.24, "frames": 6, "rate": 25.0}
    encoding = places.opened(shot)[1].encoding
    np.testing.assert_allclose(light, encoding.light(frames[5]), atol=1e-6)


def test_after_a_damaged_frame_the_others_are_seen(tmp_path: Path) -> None:
    """What cannot be decoded is said once; scrubbing on shows what is whole."""
    clip = write_clip(tmp_path / "a.avi", street(40, 320, 240), codec="mjpeg", pixels="yuvj420p")
    content = bytearray(clip.read_bytes())
    middle = len(content) // 2
    content[middle : middle + len(content) // 20] = bytes(len(content) // 20)
    clip.write_bytes(content)
    places, refused, seen = Places(), 0, 0
    for number in range(40):
        try:
            places.full(_shot(clip, str(number / 25)))
            seen += 1
        except InputError as error:
            assert "\n" not in str(error)  # noqa: PT017 (said in one line, whichever frame it is)
            refused += 1

    assert refused > 0
    assert seen > 20

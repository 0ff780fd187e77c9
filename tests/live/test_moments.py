"""Where the lens is between key frames, in words."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import SettingError
from render.live.preview import Look, Preview
from render.shot.keyframes import key_frame
from render.shot.shot import Shot, merged, shot_keys

GIVEN = {"view": "60", "height": "12", "pitch": "down 20", "f": "4", "focus": "50%,60%"}


@pytest.fixture
def shot(tmp_path: Path) -> Shot:
    """A plain picture from a roof."""
    path = tmp_path / "roof.png"
    Image.fromarray(np.full((80, 120, 3), 128, np.uint8)).save(path)
    return merged(Shot(picture=str(path)), GIVEN, "{name}")


def _moving(shot: Shot, *frames: tuple[str, dict[str, str]]) -> Shot:
    keys = shot_keys()
    return replace(shot, key_frames=tuple(key_frame(at, given, keys) for at, given in frames))


def test_words_between_key_frames_set_the_lens(shot: Shot) -> None:
    """Tilt and stops lie between theirs, a spot that stays is the spot, what no key names is not
    told, and every moment can be looked at as a shot of its own.
    """
    spot = {"focus": "40%,70%"}
    film = _moving(
        shot, ("0 s", {"tilt": "0", "f": "2", **spot}), ("2 s", {"tilt": "up 8", **spot})
    )
    preview = Preview()
    first, half, last, after = preview.moments(film, [0.0, 1.0, 2.0, 3.0])

    assert first == {"tilt": "0", "f": "2", "focus": "40%,70%"}
    assert half["tilt"] == "up 4"
    assert [float(part[:-1]) for part in half["focus"].split(",")] == pytest.approx([40, 70], abs=1)
    assert last == {"tilt": "up 8", "f": "2", "focus": "40%,70%"}
    assert after["tilt"] == "up 8"
    assert "swing" not in half
    seen = preview.look(merged(film, dict(half), "{name}"), Look(10_000)).told
    assert seen["tilt"] == -4
    assert preview.moments(shot, [0.0, 1.0]) == [{}, {}]


def test_a_focus_on_its_way_is_the_extension_it_is(shot: Shot) -> None:
    """Between two spots the plane of sharp focus lies between theirs, and the words keep it."""
    film = _moving(shot, ("0 s", {"focus": "50%,95%"}), ("2 s", {"focus": "50%,45%"}))
    preview = Preview()
    found = preview.moments(film, [0.0, 1.0, 2.0])
    away = [
        preview.look(merged(film, dict(each), "{name}"), Look(10_000)).told["axis_m"]
        for each in found
    ]

    assert away[0] < away[1] < away[2]


def test_a_key_frame_that_no_lens_follows_says_when(shot: Shot) -> None:
    """The moment and what is wrong there."""
    film = _moving(shot, ("0 s", {"tilt": "0"}), ("1.5 s", {"focus": "130%,10%"}))
    with pytest.raises(SettingError, match=r"at 1\.5 s: the focus spot"):
        Preview().moments(film, [0.0])

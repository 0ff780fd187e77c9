"""Key frames in words."""

import pytest

from render.errors import SettingError
from render.shot.keyframes import KeyFrame, key_frame, read_key_frame
from render.shot.shot import shot_keys


def test_a_moment_and_its_values() -> None:
    """As the command line has it."""
    said = KeyFrame(2.5, (("tilt", "up 8"), ("focus", "50%,60%"), ("f", "2.8")))

    assert read_key_frame("2.5 s: tilt=up 8; focus=50%,60%; f=2.8", shot_keys()) == said
    assert read_key_frame("2.5 s: tilt=up 8, focus=50%,60%, f=2.8", shot_keys()) == said


@pytest.mark.parametrize(
    "text",
    ["tilt=up 8", "4 s:", "4 s: tilt", "4 s: lens=90", "soon: tilt=up 8", "4 s: tilt=8 sideways"],
)
def test_what_cannot_be_read_is_refused(text: str) -> None:
    """No moment, no value, something that cannot move, a direction that is none."""
    with pytest.raises(SettingError, match=r"^--key"):
        read_key_frame(text, shot_keys())


def test_an_empty_key_frame_says_what_can_move() -> None:
    """The sentence lists it."""
    with pytest.raises(SettingError, match="tilt, swing, f, focus, height"):
        key_frame("1 s", {}, shot_keys())

"""Where a camera stands, and what of that is only guessed."""

import pytest

from render.errors import SettingError
from render.shot.shot import Shot, merged


def test_what_is_given_anew_is_no_guess_any_more() -> None:
    """In whatever words; a guess that is left stays one, and nothing else is called so."""
    words = {"height": "10 m", "horizon": "25%", "guessed": ("height", "horizon")}
    shot = merged(Shot("a.jpg"), words, "{name}")

    assert merged(shot, {"tilt": "up 8"}, "{name}").vantage.guessed == ("height", "horizon")
    level = merged(shot, {"pitch": "down 12"}, "{name}")
    assert dict(level.written)["guessed"] == ("height",)
    assert "guessed" not in dict(merged(level, {"height": "12"}, "{name}").written)
    with pytest.raises(SettingError, match="only height, pitch, horizon"):
        merged(shot, {"guessed": ("tilt",)}, "{name}")

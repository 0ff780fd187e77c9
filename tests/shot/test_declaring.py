"""How the values of a shot are read."""

import pytest

from render.errors import SettingError
from render.shot.declaring import flag, number, one_of, read_spot, whole
from render.shot.shot import shot_keys


def test_spots_are_shares_or_pixels() -> None:
    """A share is of the picture's size, pixels stay as they are."""
    assert read_spot("25%, 640").at(200, 100) == (50.0, 640.0)


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (read_spot, "50%"),
        (number(0, 1, "0.5"), "nan"),
        (number(0, 1, "0.5"), "2"),
        (one_of("a", "b"), "c"),
        (whole(1, 5), "1.5"),
        (flag, "yes"),
    ],
)
def test_wrong_words_are_refused_with_what_to_write(read, text) -> None:
    """The sentence quotes the text and says what to write."""
    with pytest.raises(SettingError, match=f'"{text}".*write'):
        read(text)


def test_only_what_ends_like_a_file_is_one() -> None:
    """A lens may be named or filed, depth is always a file, several texts are none."""
    keys = shot_keys()

    assert keys["lens-file"].is_file("own/Mine.TOML")
    assert not keys["lens-file"].is_file("long 90")
    assert keys["depth"].is_file("depth.png")
    assert not keys["tilt"].is_file("up 8")
    assert not keys["mark"].is_file(("50%,90% 9 m",))

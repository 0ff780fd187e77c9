"""Things by name."""

import pytest

from render.errors import SettingError
from render.shot.declaring import PictureSpot
from render.shot.things import CheckWish, ThingName, read_check, read_thing


def test_a_check_is_a_name_and_where_it_is() -> None:
    """A spot with its name in front, or a thing of a scene, which may be called otherwise."""
    face = PictureSpot(0.42, 0.38, x_is_share=True, y_is_share=True)
    assert read_check("left face=42%,38%") == CheckWish("left face", face)
    assert read_check("left face=42%,38%, 2.4 m") == CheckWish("left face", face, 2.4)
    assert read_check("crossing") == CheckWish("crossing", ThingName("crossing"))
    assert read_check("band=crossing") == CheckWish("band", ThingName("crossing"))


@pytest.mark.parametrize("text", ["", "=50%,62%", "door=", "50%,62%", "door=1,2,3"])
def test_what_is_neither_is_refused(text: str) -> None:
    """One sentence that says how to write it."""
    with pytest.raises(SettingError):
        read_check(text)


def test_names_begin_with_a_letter() -> None:
    """So that numbers are never taken for things."""
    assert read_thing(" Chapel Mole ") == ThingName("Chapel Mole")
    with pytest.raises(SettingError, match="begins with a letter"):
        read_thing("18")

"""Decimal commas, wherever a number is typed."""

import pytest

from render.decimals import pointed
from render.errors import SettingError
from render.shot.axes import parse_axis
from render.shot.keyframes import read_key_frame
from render.shot.placekeys import read_latitude_longitude
from render.shot.shot import Shot, merged, shot_keys


@pytest.mark.parametrize(
    ("name", "comma", "point"),
    [
        ("f", "f/2,8", "2.8"),
        ("tilt", "up 8,5", "up 8.5"),
        ("height", "roof + 2,5 m", "roof + 2.5 m"),
        ("horizon", "8,5%", "8.5%"),
        ("focus", "50,5%,62,25%", "50.5%,62.25%"),
        ("focus", "18,5 m", "18.5 m"),
        ("focus", "extension 46,2 mm", "extension 46.2 mm"),
        ("format", "23,6x15,7", "23.6x15.7"),
        ("view", "62,5", "62.5"),
        ("near", "12%,80% 60%,82% 2,5 m", "12%,80% 60%,82% 2.5 m"),
        ("mark", "812,640 18,5 m map", "812,640 18.5 m map"),
        ("mark", "38,5%,59,3% 18 m", "38.5%,59.3% 18 m"),
        ("wall-foot", "38,5%,59,3% 60%,47,3%, 8,5 cm high", "38.5%,59.3% 60%,47.3% high 8.5 cm"),
        ("slope", "up 3,5", "up 3.5"),
        ("cats-eye", "50% at f/2,8", "50% at f/2.8"),
        ("at", "47,0013, -29,9969", "47.0013, -29.9969"),
    ],
)
def test_a_decimal_comma_is_read_where_it_means_one_thing(
    name: str, comma: str, point: str
) -> None:
    """One number, two per cent signs, or a unit behind tell what the comma is."""
    one, other = (shot_keys()[name].read(text) for text in (comma, point))
    assert one == other


def test_key_frames_take_decimal_commas() -> None:
    """Between values a comma stays what it was."""
    frame = read_key_frame("0,5 s: tilt=up 6,5, f=2,8", shot_keys())
    shot = merged(Shot(), dict(frame.given), "{name}")
    assert (frame.at_s, shot.lens.tilt_deg, shot.lens.f_number) == (0.5, -6.5, 2.8)
    assert read_latitude_longitude("47, 8") == (47, 8)


def test_what_may_be_thousands_or_a_list_is_asked_about() -> None:
    """Three digits behind a comma, unless 0 stands before it; a list that mixes both."""
    with pytest.raises(SettingError, match=r"1,500 may be 1\.500 or 1500"):
        shot_keys()["height"].read("1,500 m")
    assert pointed("0,125") == "0.125"
    with pytest.raises(SettingError, match="f=2,8; 4"):
        parse_axis("f=2,8, 4, 5,6")
    assert parse_axis("f=2,8; 4").values == ("2,8", "4")
    assert parse_axis("f=2.8,4").values == ("2.8", "4")
    with pytest.raises(SettingError, match="decimals with a point"):
        shot_keys()["focus"].read("812,5,640,25")

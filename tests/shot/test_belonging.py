"""What a source would not heed is refused."""

import pytest

from render.errors import SettingError
from render.shot.belonging import refuse_strange, refuse_unheeded
from render.shot.shot import Shot, merged


@pytest.mark.parametrize(
    ("source", "name", "words"),
    [
        ("scene", "depth", "d.npy"),
        ("scene", "near", "none"),
        ("scene", "view", "60"),
        ("scene", "horizon", "30%"),
        ("scene", "at", "47, 8"),
        ("picture", "reach", "800 m"),
        ("picture", "distance", "60 m"),
        ("picture", "width", "64"),
    ],
)
def test_what_is_for_another_source_is_refused_by_name(source: str, name: str, words: str) -> None:
    """The sentence names the option and what it is for."""
    shot = merged(Shot(**{source: "market"}), {name: words}, "--{name}")
    with pytest.raises(SettingError, match=rf"--{name} is for .*: leave it out"):
        refuse_strange(shot)


def test_a_photo_has_no_moment_and_a_heading_only_for_the_sun() -> None:
    """With a place and a day the heading is for the card's sun; else it does nothing, like time."""
    photo, sun = Shot(picture="a.jpg"), {"at": "47, 8", "when": "2026-06-21T12:00+02:00"}
    with pytest.raises(SettingError, match=r"a\.jpg is one picture"):
        refuse_unheeded(merged(photo, {"time": "2"}, "--{name}"))
    for given in ({}, {"at": "47, 8"}):
        with pytest.raises(SettingError, match="needs --at and --when too"):
            refuse_unheeded(merged(photo, {"heading": "90", **given}, "--{name}"))
    refuse_unheeded(merged(photo, {"heading": "90", **sun}, "--{name}"))


def test_what_is_heeded_or_answered_is_not() -> None:
    """The sun over a photo, the disparity of a scene, and lamps that a scene need not lift."""
    sun = {"at": "47, 8", "when": "2026-06-21T12:00+02:00", "horizon": "30%"}
    refuse_strange(merged(Shot(picture="a.jpg"), sun, "--{name}"))
    written = {"baseline": "0.1", "lift-highlights": "2", "distance": "60 m", "width": "64"}
    refuse_strange(merged(Shot(scene="market"), written, "--{name}"))


def test_the_sun_of_a_scene_is_written_into_its_file() -> None:
    """With the lines to write, what was given in them, and in which file."""
    shot = merged(Shot(scene="market"), {"when": "2026-12-01T16:00+01:00"}, "--{name}")
    with pytest.raises(SettingError) as refused:
        refuse_strange(shot)
    told = str(refused.value)
    assert 'date = "2026-12-01T16:00+01:00" and place_deg = [' in told
    assert "scenes show market --toml > my_market.toml" in told
    own = merged(Shot(scene="yard.toml"), {"at": "47, 8"}, "--{name}")
    with pytest.raises(
        SettingError, match=r"place_deg = \[47, 8\] .*under \[light\] in yard.toml$"
    ):
        refuse_strange(own)

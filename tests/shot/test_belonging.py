"""What a source would not heed is refused."""

import pytest

from render.errors import SettingError
from render.shot.belonging import refuse_strange
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


def test_what_is_heeded_or_answered_is_not() -> None:
    """The sun over a photo, the disparity of a scene, and lamps that a scene need not lift."""
    sun = {"at": "47, 8", "when": "2026-06-21T12:00+02:00", "horizon": "30%"}
    refuse_strange(merged(Shot(picture="a.jpg"), sun, "--{name}"))
    written = {"baseline": "0.1", "lift-highlights": "2", "distance": "60 m", "width": "64"}
    refuse_strange(merged(Shot(scene="market"), written, "--{name}"))

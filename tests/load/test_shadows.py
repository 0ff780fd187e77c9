"""Who shades whom in a scene."""

from pathlib import Path

import pytest

from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.load.shadows import shadow_on
from render.shot.shot import Shot, merged
from render.world.sun import ITSELF

SCENE = """
line = "A tower on a plain."
[vantage]
stand_m = [0, -40]
height_m = 8
[[things]]
kind = "box"
name = "tower"
at_m = [0, 10]
size_m = [4, 4, 30]
"""


@pytest.fixture
def plain(tmp_path: Path) -> Prepared:
    """One tower, ten metres north of the origin."""
    path = tmp_path / "plain.toml"
    path.write_text(SCENE)
    shot = merged(Shot(scene=str(path)), {"width": "64"}, "{name}")
    return prepare(shot, silent, for_render=False)


def test_the_shadow_falls_away_from_the_sun(plain: Prepared) -> None:
    """With the sun in the north the origin lies in the tower's shadow, in the south it does not."""
    at = (0.0, 0.0, 0.1)

    assert shadow_on(plain, at, 0.0, 40.0) == "tower"
    assert shadow_on(plain, at, 180.0, 40.0) == ""
    assert shadow_on(plain, at, 0.0, 80.0) == ""  # 30 m high, 8 m away: over it from 75 degrees
    assert shadow_on(plain, at, 90.0, -1.0) == "the earth"
    front = (0.0, 7.99, 6.0)  # of the tower itself: that shades no other
    assert shadow_on(plain, front, 0.0, 40.0, of="tower") == ITSELF
    assert shadow_on(plain, front, 0.0, 40.0) == "tower"
    assert shadow_on(plain, at, 0.0, 40.0, of="church") == "tower"

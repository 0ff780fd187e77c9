"""Walls that are wished sharp in a photo."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.load.asked.checks import shows
from render.load.asked.place import place_of
from render.load.asked.walls import with_walls
from render.load.asked.wish import parse_wish
from render.load.progress import silent
from render.shot.shot import Shot, merged


@pytest.mark.parametrize("wall", ["35%,70% to 60%,50%, 4 m high", "40 m to 60 m, 30 m high"])
def test_a_wall_on_level_ground_is_put_into_the_depth(tmp_path: Path, wall: str) -> None:
    """The shot has its foot line behind those it had, and then shows it: nothing is added twice."""
    path = tmp_path / "roof.png"
    Image.fromarray(np.full((120, 180, 3), 90, np.uint8)).save(path)
    given = {"focal-35": "60", "height": "20", "pitch": "20", "lens": "90"}
    before = "10%,60% 20%,60% high 1 m"
    shot = merged(Shot(picture=str(path)), given | {"wall-foot": (before,)}, "{name}")
    place, wish = place_of(shot, silent), parse_wish("wall", f"front={wall}")
    walled = with_walls(place, [wish], silent)

    assert not shows(place.site, wish)
    assert shows(walled.site, wish)
    assert walled.walls[0] == before
    assert len(walled.walls) == len(walled.shot.depth.walls) == 2
    assert walled.notes[0].startswith("the picture's depth did not show front")
    assert with_walls(walled, [wish], silent) is walled

"""A plan of a map file, to choose a standpoint on."""

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError
from render.live.groundplan import ground_plan
from render.shot.shot import Shot, merged

MAP = Path(__file__).parents[2] / "scenes" / "quillby.osm"


def test_north_is_up_and_the_standpoint_lies_where_it_is() -> None:
    """Half way between the edges of the plan where the plan is drawn round it."""
    shot = merged(Shot(scene=str(MAP)), {"at": "46.9995, -30.0", "heading": "90"}, "{name}")
    found = ground_plan(shot, 300.0)
    told = found.told
    with Image.open(io.BytesIO(found.jpeg)) as image:
        plan = np.asarray(image.convert("L"), float)

    assert told["here"] == pytest.approx([0.5, 0.5])
    assert told["heading"] == 90
    assert (told["north"] - told["south"]) * 111_320 == pytest.approx(300, rel=1e-6)
    assert 0.02 < (plan < 150).mean() < 0.6  # buildings, and not buildings alone


def test_all_of_it_holds_the_whole_file() -> None:
    """Without a width; and only a map has a plan."""
    told = ground_plan(Shot(scene=str(MAP)), 0.0).told

    assert told["here"] is None
    assert told["west"] < -30.009
    assert told["east"] > -29.991
    with pytest.raises(InputError, match="only a map"):
        ground_plan(Shot(scene="market"), 0.0)

"""Where a prepared shot's tripod stands."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.depth.depthmap import Unsaid
from render.load.prepare import prepare
from render.load.progress import silent
from render.shot.shot import Shot, merged
from render.tell.stand import stand_of


def test_a_photo_stands_where_it_was_taken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Height and pitch as given, or as a depth without them tells, which is asked once."""
    path = tmp_path / "roof.png"
    Image.fromarray(np.full((60, 90, 3), 99, np.uint8)).save(path)
    given = {"focal-35": "40", "height": "20", "pitch": "20", "lens": "45"}
    prepared = prepare(merged(Shot(picture=str(path)), given, "{name}"), silent)
    stand = stand_of(prepared)

    assert stand.looks == "20.0 m up, 20° down"
    assert stand.where == "where the picture was taken"
    foreign = replace(prepared, scene=replace(prepared.scene, vantage=None))
    assert stand_of(foreign).looks == stand.looks
    monkeypatch.setattr("render.load.case.sample", lambda _: pytest.fail("it was found before"))
    assert stand_of(foreign).where.endswith("found from the depth of its ground")
    spread = replace(foreign, unsaid=Unsaid(view=True))
    assert stand_of(spread).height_m is None


def test_a_scene_stands_so_far_from_its_subject() -> None:
    """A demo scene tells distance and heading too."""
    shot = merged(Shot(scene="bench"), {"width": "32"}, "{name}")
    stand = stand_of(prepare(shot, silent, for_render=False))

    assert stand.heading_deg is not None
    assert "from the subject along the ground" in stand.where

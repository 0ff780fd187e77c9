"""The light at a shot's place."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import SettingError
from render.load.prepare import prepare
from render.load.progress import silent
from render.shot.shot import Shot, merged
from render.tell.light import light_known, light_of, sun_seen

SCENE = """
line = "A plain."
[vantage]
stand_m = [0, -40]
height_m = 8
[light]
sun_heading_deg = {heading}
sun_height_deg = 4
[[things]]
kind = "box"
name = "crate"
size_m = [2, 2, 2]
"""


@pytest.mark.parametrize(("heading", "seen"), [(0, True), (180, False)])
def test_a_sun_in_the_frame_is_found(tmp_path: Path, heading: int, seen: bool) -> None:
    """Looking north, a low sun in the north is seen and one in the south is not."""
    path = tmp_path / "plain.toml"
    path.write_text(SCENE.format(heading=heading))
    given = {"width": "64", "pitch": "0", "lens": "45"}
    shot = merged(Shot(scene=str(path)), given, "{name}")

    prepared = prepare(shot, silent, for_render=False)
    assert sun_seen(prepared) is seen
    assert light_known(prepared) == "as in the scene"


def test_a_picture_with_place_and_day_has_a_light_plan(tmp_path: Path) -> None:
    """Without them it has none; a date that cannot be is refused under its option's name."""
    path = tmp_path / "roof.png"
    Image.fromarray(np.full((60, 90, 3), 99, np.uint8)).save(path)
    given = {"focal-35": "40", "height": "20", "pitch": "20", "lens": "45"}
    shot = merged(Shot(picture=str(path)), given, "{name}")
    placed = {"at": "48, 11", "when": "2026-06-21T12:00+02:00", "heading": "300"}
    prepared = prepare(merged(shot, dict(placed), "{name}"), silent)
    plan, plain = light_of(prepared), prepare(shot, silent)

    assert light_of(plain) is None
    assert light_known(prepared) == "of the sun at that hour"
    assert light_known(plain) == ""
    assert plan is not None
    assert plan.window
    assert all(hour.side for hour in plan.hours)
    bad = merged(shot, {**placed, "when": "noon"}, "{name}")
    with pytest.raises(SettingError, match="--when: "):
        light_of(prepare(bad, silent))

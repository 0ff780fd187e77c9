"""Which lens, and where wishes are looked up."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import HingelineError
from render.load.asked.framed import unseen
from render.load.asked.place import place_of
from render.load.asked.wish import parse_wish
from render.load.progress import silent
from render.shot.shot import Shot, merged
from tests.places import two_crates


def test_a_picture_gives_its_frame_depth_and_vantage(tmp_path: Path) -> None:
    """The site is the planned frame: its place in the picture, its depth, where one stands."""
    path = tmp_path / "roof.png"
    Image.fromarray(np.full((120, 180, 3), 99, np.uint8)).save(path)
    given = {"focal-35": "60", "height": "20", "pitch": "20"}
    shot = merged(Shot(picture=str(path)), given, "{name}")
    named = place_of(_through(shot, "long 90"), silent)
    unnamed = place_of(shot, silent)

    assert named.limits.name == "long 90"
    assert named.shot.lens.focal_mm == 90
    assert named.site.whole_px == (180, 120)
    assert named.site.left_px == 30
    assert named.site.camera is not None
    assert named.site.depth_m is not None
    assert named.site.depth_m.shape == (named.site.camera.height_px, 120)
    assert named.site.view == pytest.approx((-0.2, -0.2 * 2 / 3, 0.2, 0.2 * 2 / 3), rel=0.01)
    assert named.site.vantage is not None
    assert unnamed.limits.focal_mm == pytest.approx(60, abs=0.2)
    assert any("no lens was named" in note for note in unnamed.notes)


def test_without_a_picture_the_sensor_and_shift_give_the_view() -> None:
    """An upright sensor with rise sees a tall view, more of it above."""
    given = {"lens": "45", "portrait": "true", "rise": "up 9", "height": "1.6"}
    place = place_of(merged(Shot(), given, "{name}"), silent)
    up = place_of(merged(Shot(), {**given, "pitch": "-5"}, "{name}"), silent)
    site = place.site

    assert "1.60 m above the ground, held level, as no pitch was given" in place.notes[-1]
    assert "1.60 m above the ground, looking 5° up" in up.notes[-1]
    assert site.view == pytest.approx((-12 / 45, -27 / 45, 12 / 45, 9 / 45))
    assert site.camera is None


def test_an_unnamed_lens_is_taken_to_be_usual_and_said_so() -> None:
    """With only a focal length the limits are assumed, in a note."""
    place = place_of(merged(Shot(), {"lens": "85"}, "{name}"), silent)

    assert place.limits.tilt_limit_deg == 8
    assert "no lens file was given" in place.notes[0]


def test_no_lens_and_two_lenses_are_refused() -> None:
    """Without a lens, or with two that differ, there is nothing to work with."""
    with pytest.raises(HingelineError, match="say which lens"):
        place_of(Shot(), silent)
    with pytest.raises(HingelineError, match="leave one of them out"):
        place_of(_through(merged(Shot(), {"lens": "45"}, "{name}"), "long 90"), silent)


def _through(shot: Shot, lens: str) -> Shot:
    return merged(shot, {"lens-file": lens}, "{name}")


def test_things_of_a_scene_are_found_by_name_and_its_frame_by_share(tmp_path: Path) -> None:
    """Named things come in the camera's frame; shares count from the frame, not its margin."""
    path = two_crates(tmp_path, far_m=(3, 20))
    shot = merged(Shot(scene=str(path)), {"width": "96"}, "{name}")
    site = place_of(_through(shot, "standard 45"), silent).site
    near, far = (site.targets(parse_wish("point", name))[0] for name in ("near crate", "far crate"))
    (middle,) = site.targets(parse_wish("point", "50%,50%"))

    assert site.whole_px == (96, 64)
    assert near.depth_m == pytest.approx(21, abs=1)
    assert 15 < far.depth_m - near.depth_m < 22
    assert far.slope_x > 0.05
    assert far.slope_y < near.slope_y
    assert site.camera is not None
    assert abs(middle.slope_x) <= 1 / site.camera.focal_px
    assert unseen(site, parse_wish("point", "near crate")) == ""
    with pytest.raises(HingelineError, match=r"its things are: .*near crate"):
        site.targets(parse_wish("point", "tower"))

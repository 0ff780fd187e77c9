"""The spots that a shot checks."""

from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from render.depth.ground import Slope, ground_depth
from render.load.asked.checks import hidden, spots
from render.load.asked.wish import parse_wish
from render.load.prepare import prepare
from render.load.progress import silent
from render.optics.camera import Vantage
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.shot.shot import Shot, merged
from tests.load.asked.test_site import CAMERA, SEEN


def test_an_area_is_checked_where_it_is_sharp_or_at_its_ends() -> None:
    """One spot of it, or three where all of a deep one is wished."""
    wish = parse_wish("point", "30,15,39,34")
    lens = focus_lens(LensSetting(focal_mm=45, f_number=8, focus=FocusDistance(22.0)))
    ends = spots(SEEN, wish, lens, 0.03, whole=True)

    assert [name.rpartition(", ")[2] for name, _ in ends] == ["near", "middle", "far"]
    assert len(spots(SEEN, wish, lens, 0.03)) == 1


@pytest.mark.parametrize("terrain", [None, Slope(0.5)])
def test_ground_is_checked_at_three_distinct_places(terrain: Slope | None) -> None:
    """Near, middle and far lie on the middle line; what is before air is at its own distance."""
    vantage = Vantage(5.0, 10.0, terrain=terrain)
    depth_m = ground_depth(CAMERA, vantage, terrain or Slope())
    site = replace(SEEN, vantage=vantage, depth_m=depth_m)
    level = spots(site, parse_wish("ground", "14 m to 40 m"))
    air = spots(site, parse_wish("point", "bird=14 m, 2 m"))
    sky = spots(site, parse_wish("point", "kite=30 m, 7 m"))

    assert [name.split(", ")[1] for name, _ in level] == ["near", "middle", "far"]
    places = [tuple(float(v.rstrip("%")) for v in spot.split(",")) for _, spot in level]
    assert places[0][1] > places[1][1] > places[2][1]
    assert all(across == pytest.approx(50, abs=0.6) for across, _ in places)
    far = [float(spot.split(", ")[1].removesuffix(" m")) for ((_, spot),) in (air, sky)]
    assert far == pytest.approx(
        [
            t.depth_m
            for name in ("bird=14 m, 2 m", "kite=30 m, 7 m")
            for t in site.targets(parse_wish("point", name))
        ],
        rel=1e-3,
    )
    assert "what lies behind it" in hidden(site, parse_wish("point", "bird=14 m, 2 m"))
    assert "what lies behind it" in hidden(site, parse_wish("point", "kite=30 m, 7 m"))
    assert not hidden(site, parse_wish("ground", "14 m to 40 m"))


def test_a_point_that_no_frame_holds_is_kept_with_its_distance(tmp_path: Path) -> None:
    """Who asked for it hears that it is not in the frame, and nobody that all of it is sharp."""
    vantage = Vantage(5.0, 10.0)
    site = replace(SEEN, vantage=vantage, depth_m=ground_depth(CAMERA, vantage, Slope()))
    ((name, spot),) = spots(site, parse_wish("point", "kerb=2 m, 0 m"))
    assert float(spot.split(",")[1].rstrip("%")) > 100

    path = tmp_path / "grey.png"
    Image.new("L", (60, 40), 128).save(path)
    given = {"view": "60", "height": "5", "pitch": "down 10"}
    shot = merged(Shot(picture=str(path)), {**given, "check": (f"{name}={spot}",)}, "{name}")
    assert prepare(shot, silent).unseen == ("kerb",)
    ring = {"focus": "extension 31.2 mm", "tilt": "up 2"}
    turned = merged(merged(shot, ring, "{name}"), {"tilt": "up 4"}, "{name}")
    assert turned.ring.endswith("give --focus to set it anew")  # nothing is seen there


def test_what_blurs_otherwise_than_the_picture_shows_is_at_its_own_distance() -> None:
    """A tenth nearer than the ground behind it is the ground at f/8, and another thing at f/1."""
    wish = parse_wish("point", "pot=14 m, 0.5 m")
    site = replace(SEEN, depth_m=ground_depth(CAMERA, Vantage(5.0, 10.0), Slope()))
    stops = {
        stop: focus_lens(LensSetting(focal_mm=45, f_number=stop, focus=FocusDistance(14.0)))
        for stop in (8, 1)
    }
    ((_, small),) = spots(site, wish, stops[8], 0.03)
    ((_, wide),) = spots(site, wish, stops[1], 0.03)

    assert not small.endswith("m")
    assert wide.endswith("m")
    assert not hidden(site, wish, stops[8], 0.03)
    assert hidden(site, wish, stops[1], 0.03).endswith("--thing")
    assert "--thing" not in hidden(replace(site, things={}), wish, stops[1], 0.03)

"""What should be sharp, in words."""

import math
from dataclasses import replace

import numpy as np
import pytest

from render.errors import HingelineError
from render.load.asked.checks import spots
from render.load.asked.site import Site
from render.load.asked.wish import parse_wish
from render.optics.camera import Camera, Sensor, Vantage
from render.optics.solving.arrangements import ahead_m
from render.optics.solving.solve import one_ray

VIEW = (-0.4, -0.27, 0.4, 0.27)
#: A frame of 60 x 40 px that begins at (20, 10) of a picture of 100 x 60 px; sky above row 10.
CAMERA = Camera.from_lens(60, 40, 45, Sensor())
DEPTH = np.repeat(np.linspace(40, 4, 40, dtype=np.float32)[:, None], 60, 1)
DEPTH[:10] = np.inf
SEEN = Site(
    view=VIEW,
    camera=CAMERA,
    depth_m=DEPTH,
    left_px=20,
    top_px=10,
    whole_px=(100, 60),
    vantage=Vantage(5.0, 10.0),
)
STANDING = Site(view=VIEW, vantage=Vantage(1.6))
NOWHERE = Site(view=VIEW)
STAGE = Site(view=VIEW, vantage=Vantage(1.6), things={"red boat": (1.0, 2.0, 20.0)})


def test_a_spot_is_found_in_the_whole_picture_and_takes_the_depth_there() -> None:
    """A spot counts from the picture's corner; its ray and depth are those of that pixel."""
    (by_pixel,) = SEEN.targets(parse_wish("point", "door=50,40"))
    (by_share,) = SEEN.targets(parse_wish("point", "50%, 66.7%"))
    x, y = CAMERA.slopes(30.5, 30.5)

    assert (by_pixel.slope_x, by_pixel.slope_y) == pytest.approx((x, y))
    assert by_pixel.depth_m == pytest.approx(float(DEPTH[30, 30]))
    assert by_pixel.name == "door"
    assert by_share.depth_m == by_pixel.depth_m
    assert by_share.name == "50%, 66.7%"


def test_an_area_stands_for_all_its_pixels() -> None:
    """An area is its pixels, and a grid of them for solving."""
    wish = parse_wish("point", "30,15,39,34")
    whole = SEEN.region(wish)
    grid = SEEN.targets(wish)

    assert len(whole.inverse_depth) == 10 * 15
    shares = SEEN.targets(parse_wish("point", "30.6%,45%,39.4%,55%"))
    across = [float(CAMERA.positions((t.slope_x, 0.0))[0]) + 20 for t in shares]
    assert (min(across), max(across)) == pytest.approx((31.5, 38.5))  # 30.5 and 39.5 lie outside
    assert len(grid) <= 49
    depths = [target.depth_m for target in grid]
    assert (min(depths), max(depths)) == pytest.approx(
        (DEPTH[24, 0], 1 / min(whole.inverse_depth)), rel=0.2
    )


def test_metres_are_ahead_above_and_aside() -> None:
    """12 m ahead, at the height of the lens, 2 m to the left."""
    (target,) = STANDING.targets(parse_wish("point", "gate=12 m, 1.6 m, left 2 m"))

    assert (target.slope_x, target.slope_y, target.depth_m) == pytest.approx((-1 / 6, 0, 12))


def test_lengths_may_be_in_any_unit() -> None:
    """A foot is 0.3048 m (international yard and pound, 1959)."""
    for kind, metric, feet in (
        ("point", "12.192 m, 1.524 m, left 3.048 m", "40 ft, 5 ft, left 10 ft"),
        ("ground", "4.572 m to 60.96 m", "15 ft to 200 feet"),
        ("wall", "4 m to 12 m, 6.096 m high", "4 m to 12 m, 20 ft high"),
        ("face", "1.2192 m, back 20", "4 ft, back 20"),
        ("face", "1.2 m, back 20.5", "1.2 m, back 20° 30'"),
        ("point", "1.349375 m, 0 m, left 0 m", "4 ft 5 1/8 in, 0, left 0"),
        ("row", "2 m, 0 m to 8 m, 0 m", "200 cm, 0 m to 0.008 km, 0 m"),
    ):
        said, meant = (STANDING.targets(parse_wish(kind, text)) for text in (feet, metric))
        for one, other in zip(said, meant, strict=True):
            assert (one.slope_x, one.slope_y, one.depth_m) == pytest.approx(
                (other.slope_x, other.slope_y, other.depth_m)
            )


def test_ground_wall_and_face_may_be_pointed_at() -> None:
    """From spot to spot: as far as the picture shows them to be."""
    ground = SEEN.targets(parse_wish("ground", "50,48 to 50,30"))
    wall = SEEN.targets(parse_wish("wall", "30,48 to 70,30, 4 m high"))
    face = SEEN.targets(parse_wish("face", "40,40, back 20"))
    feet = [SEEN.targets(parse_wish("point", spot))[0] for spot in ("30,48", "70,30")]
    (middle,) = SEEN.targets(parse_wish("point", "40,40"))

    near, far = (ahead_m(SEEN.vantage, SEEN.seen("it", 30, row)) for row in (38, 20))
    by_metres = SEEN.targets(parse_wish("ground", f"{near:.9f} m to {far:.9f} m"))
    assert [t.depth_m for t in ground] == pytest.approx([t.depth_m for t in by_metres])
    for corner, foot in zip(wall[::2], feet, strict=True):
        assert (corner.slope_x, corner.slope_y) == pytest.approx((foot.slope_x, foot.slope_y))
        assert corner.depth_m == pytest.approx(foot.depth_m)
    assert np.mean([t.depth_m for t in face]) == pytest.approx(middle.depth_m)
    assert spots(SEEN, parse_wish("face", "eyes=40,40, back 20")) == [
        ("eyes", spots(SEEN, parse_wish("point", "40,40"))[0][1])
    ]
    assert np.mean([t.slope_x * t.depth_m for t in face]) == pytest.approx(
        middle.slope_x * middle.depth_m
    )
    with pytest.raises(HingelineError, match="needs a picture"):
        STANDING.targets(parse_wish("ground", "50%,90% to 50%,50%"))


def test_rows_run_through_the_picture_or_through_the_place() -> None:
    """One in metres goes straight from end to end; one in the picture holds what is in line.

    It is solved for the places it is checked at: what shows through it is told and left out, and
    what stands off its line is one more of them.
    """
    across = parse_wish("row", "22,30 to 76,30")
    steps = np.rint(np.linspace(2, 56, 7)).astype(int)
    depth = np.full_like(DEPTH, 8.0)
    depth[20, steps[1]] = 7.4  # a thing that stands out
    depth[20, steps[4:6]] = (30.0, np.inf)  # past the things, and the sky
    row = replace(SEEN, depth_m=depth)
    placed = STANDING.targets(parse_wish("row", "2 m, 0 m to 8 m, 0 m, right 1 m"))

    np.testing.assert_allclose(np.diff([t.depth_m for t in placed]), 1.0)
    assert [t.depth_m for t in row.targets(across)] == pytest.approx([8, 7.4, 8, 8])
    called = [name.rpartition(", ")[2] for name, _ in spots(row, across)]
    assert called == ["first", "part standing forward", "middle", "last"]
    assert "(30.0 m to infinity away)" in row.row_gaps(across)
    assert not replace(SEEN, depth_m=np.full_like(DEPTH, 8.0)).row_gaps(across)


def test_ground_wall_and_face_are_their_corners() -> None:
    """Each arrangement of known shape is sharp as a whole when its four corners are."""
    ground = STANDING.targets(parse_wish("ground", "4 m to 60 m"))
    wall = STANDING.targets(parse_wish("wall", "4 m to 12 m, 6 m high"))
    face = NOWHERE.targets(parse_wish("face", "1.2 m, back 20, left 10"))

    assert {round(t.depth_m, 6) for t in ground} == {4, 60}
    assert {round(t.depth_m, 6) for t in wall} == {4, 12}
    assert min(t.slope_y for t in wall) == pytest.approx((1.6 - 6) / 4)
    assert face[0].depth_m > face[2].depth_m
    assert ground[0].name == "ground 4 m to 60 m"


def test_things_of_a_scene_are_known_by_name() -> None:
    """A named thing is where the scene has it; a wrong name is answered with the known ones."""
    (target,) = STAGE.targets(parse_wish("point", "red boat"))

    assert (target.slope_x, target.slope_y, target.depth_m) == (0.05, 0.1, 20)
    with pytest.raises(HingelineError, match="its things are: red boat"):
        STAGE.targets(parse_wish("point", "blue boat"))


def test_everything_else_is_the_frame_without_the_areas() -> None:
    """The rest holds every pixel outside the marked areas, sky too."""
    rest = SEEN.everything_but([parse_wish("point", "30,30,39,39")])

    assert len(rest.inverse_depth) == 60 * 40 - 100
    assert np.sum(rest.inverse_depth == 0) == 600


def test_pixels_are_one_ray_within_a_pixel() -> None:
    """In a picture rays count as one within half a pixel, elsewhere a part in ten thousand."""
    assert SEEN.pixel_slope == pytest.approx(0.5 / CAMERA.focal_px)
    assert NOWHERE.pixel_slope == 1e-4
    neighbours = SEEN.targets(parse_wish("point", "30,30,32,32"))
    assert len(neighbours) == 9
    assert one_ray(neighbours, 45, SEEN.pixel_slope) == ""


@pytest.mark.parametrize(
    ("site", "kind", "text", "sentence"),
    [
        (SEEN, "point", "door=130%,50%", "door lies outside the picture of 100 x 60 px"),
        (SEEN, "point", "5,5", r"outside what the planned lens sees \(\d+ to \d+ % across"),
        (SEEN, "point", "50,12", "lies on the sky"),
        (SEEN, "point", "30,10,40,19", "lies on the sky"),
        (SEEN, "row", "40,12 to 60,45", "lies on the sky"),
        (SEEN, "point", "bench", "is not understood"),
        (SEEN, "point", "5 m", "is not understood"),
        (SEEN, "row", "40,30", "each a point"),
        (SEEN, "ground", "4 m", "is not understood"),
        (SEEN, "wall", "4 m to 12 m, 3 m", "is not understood"),
        (SEEN, "face", "1 m, up 20", "is not understood"),
        (STANDING, "point", "-5 m, 1 m", "behind the camera"),
        (STANDING, "ground", "60 m to 4 m", "near to a farther"),
        (NOWHERE, "point", "50%,50%", "needs a picture"),
        (NOWHERE, "point", "5 m, 1 m", "--height"),
        (NOWHERE, "ground", "4 m to 9 m", "--height"),
    ],
)
def test_what_cannot_be_found_is_said(site: Site, kind: str, text: str, sentence: str) -> None:
    """Outside, on sky, behind the camera or without what it needs: one sentence each."""
    with pytest.raises(HingelineError, match=sentence):
        site.targets(parse_wish(kind, text))


@pytest.mark.parametrize(("sharp", "soft"), [("30,30,39,39", "35,35,50,45"), ("40,30", "40,30")])
def test_contradictions_are_refused(sharp: str, soft: str) -> None:
    """The same place cannot be wished sharp and soft."""
    with pytest.raises(HingelineError, match="mark them apart"):
        SEEN.check_apart([parse_wish("point", sharp)], [parse_wish("point", soft)])
    SEEN.check_apart([parse_wish("point", "30,30,39,39")], [parse_wish("point", "40,30,50,39")])


def test_nothing_left_to_be_soft_is_refused() -> None:
    """An area over the whole frame leaves nothing."""
    with pytest.raises(HingelineError, match="nothing is left"):
        SEEN.everything_but([parse_wish("point", "20,10,79,49")])
    assert math.isfinite(SEEN.pixel_slope)

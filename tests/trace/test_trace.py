"""From a description and a view to a scene: perspective, vantages, what lies behind, sameness."""

import math
from collections.abc import Callable
from dataclasses import replace

import numba
import numpy as np
import pytest
from scipy.ndimage import binary_dilation

from render.errors import SettingError
from render.optics.camera import Sensor
from render.scene.colour import SRGB
from render.trace.build import build
from render.trace.spread import pixel_offsets
from render.trace.trace import OneLens, trace_built, trace_scene, view_of
from tests.world.worlds import SHADE, described, eye_level

CUBE = {"kind": "box", "name": "cube", "at_m": [0, 11], "size_m": [2, 2, 4], "side": "#ffffff"}


def test_corners_of_a_box_lie_where_hand_worked_perspective_puts_them() -> None:
    """A face 2 m wide at 10 m, 100 px a unit of slope, seen from half its height."""
    d = described([CUBE], light=SHADE, ground={"none": True})
    scene = trace_scene(d, eye_level(at_m=(0.0, 0.0, 2.03)))

    # half width 1 m / 10 m = 0.1 = 10 px either side of column 50; the box is 4 m high and the
    # camera 2.03 m up: 19.7 px above and 20.3 px below the middle, 33.5
    face = np.isclose(scene.depth_m, 10.0)
    rows, columns = np.nonzero(face)
    assert (columns.min(), columns.max()) == (40, 59)
    assert (rows.min(), rows.max()) == (14, 53)
    assert face[14:54, 40:60].all()


def test_depth_is_z_and_not_the_length_of_the_ray() -> None:
    """A wall square to the axis has one depth from its middle to its corner."""
    wall = {"kind": "box", "at_m": [0, 21], "size_m": [60, 2, 60]}

    scene = trace_scene(described([wall], ground={"none": True}), eye_level())

    np.testing.assert_allclose(scene.depth_m[:34], 20.0, rtol=1e-6)


def test_level_ground_has_the_depth_of_the_ground_formula() -> None:
    """1/z = (sin p + y cos p) / h below the horizon, the sky above it."""
    view = eye_level(pitch_deg=20.0)
    scene = trace_scene(described([], ground={"material": "sand"}), view)

    _columns, rows = scene.camera.grid()
    pitch = np.radians(20.0)
    inverse = (np.sin(pitch) + rows * np.cos(pitch)) / 2.0
    with np.errstate(divide="ignore"):
        wanted = np.where(inverse > 1e-3, 1 / inverse, np.inf)
    near = wanted < 1000
    np.testing.assert_allclose(scene.depth_m[near, 50], wanted[near], rtol=1e-4)


@pytest.mark.parametrize(
    ("heading", "column"), [(0.0, 50), (5.0, 41), (-5.0, 58)], ids=["ahead", "right", "left"]
)
def test_turning_the_camera_right_moves_things_left(heading: float, column: int) -> None:
    """Compass headings grow clockwise; a post due north moves by tan 5 degrees, 8.7 px."""
    post = {"kind": "box", "at_m": [0, 20], "size_m": [0.4, 0.4, 6]}
    scene = trace_scene(described([post], light=SHADE), eye_level(heading_deg=heading))

    seen = np.nonzero(scene.depth_m[30] < 25)[0]
    assert abs(seen.mean() - column) <= 0.6


def test_rise_moves_the_view_up() -> None:
    """6 mm of rise on a 36 mm wide, 100 px sensor moves everything 16.7 px down."""
    flat = trace_scene(described([CUBE]), eye_level())
    risen = trace_scene(described([CUBE]), eye_level(rise_mm=6.0))

    top = [np.nonzero(np.isclose(s.depth_m[:, 50], 10.0))[0].min() for s in (flat, risen)]
    assert top[1] - top[0] == pytest.approx(6.0 * 100 / 36, abs=1)
    assert risen.camera.centre_y_px - flat.camera.centre_y_px == pytest.approx(6.0 * 100 / 36)


def test_the_margin_only_adds_to_the_frame() -> None:
    """The frame of a picture with margin has the same depth as the picture without."""
    d = described([CUBE])
    bare = trace_scene(d, eye_level())
    wide = trace_scene(d, eye_level(margin_px=9))

    frame = wide.frame
    assert (wide.camera.width_px, wide.camera.height_px) == (118, 85)
    np.testing.assert_array_equal(wide.depth_m[frame.rows, frame.columns], bare.depth_m)


def test_behind_an_edge_lies_the_next_surface_of_another_thing() -> None:
    """Behind the cube is the wall or the ground, never the cube's own back."""
    wall = {"kind": "box", "at_m": [0, 31], "size_m": [60, 2, 20]}
    scene = trace_scene(described([CUBE, wall], light=SHADE), eye_level(), behind_px=5)

    behind = scene.behind
    assert behind is not None
    assert behind.depth_m[20, 42] == pytest.approx(30.0, rel=1e-5)
    assert np.isnan(behind.depth_m[20, 5])
    known = ~np.isnan(behind.depth_m)
    assert np.all(behind.depth_m[known] >= scene.depth_m[known])


def test_the_same_scene_gives_the_same_bytes_on_one_thread_and_many() -> None:
    """No result depends on how rows were shared out."""
    things = [CUBE, {"kind": "tree", "at_m": [2, 9], "leaves": 200}]
    d = described(things, light={"cloud": 0.4})
    many = trace_scene(d, eye_level(), behind_px=4)
    threads = numba.get_num_threads()
    numba.set_num_threads(1)
    try:
        one = trace_scene(d, eye_level(), behind_px=4)
    finally:
        numba.set_num_threads(threads)

    assert many.picture.tobytes() == one.picture.tobytes()
    assert many.behind is not None
    assert one.behind is not None
    assert many.behind.picture.tobytes() == one.behind.picture.tobytes()


def test_a_vantage_inside_a_house_is_refused_by_name() -> None:
    """The sentence says in what the camera would stand and what to do."""
    d = described([{"kind": "house", "name": "mill", "at_m": [0, 0], "size_m": [9, 8, 6]}])

    with pytest.raises(SettingError, match=r"inside the mill of small .* go higher"):
        trace_scene(d, eye_level())
    assert trace_scene(d, eye_level(at_m=(0.0, 0.0, 14.0), height_m=14.0)).depth_m.size


def test_views_follow_the_scene_and_what_is_asked() -> None:
    """Storeys count 3 m, distance moves back along the heading, the subject stays in the middle."""
    d = described([CUBE], vantage={"stand_m": [0, -30], "height_m": 9, "look_at_m": [0, 10, 2]})

    plain = view_of(d)
    assert plain.pitch_deg == pytest.approx(np.degrees(np.arctan2(7, 40)))
    assert view_of(d, storeys=4).height_m == pytest.approx(13.6)
    moved = view_of(d, heading_deg=90, distance_m=20)
    np.testing.assert_allclose(moved.at_m, (-20, 10, 9), atol=1e-9)
    assert view_of(d, portrait=True).sensor == Sensor(24, 36)
    assert view_of(d, pitch_deg=3.0).pitch_deg == 3.0
    with pytest.raises(SettingError, match="not both"):
        view_of(d, height_m=3, storeys=1)
    with pytest.raises(SettingError, match="above the ground"):
        view_of(d, height_m=-1)


def test_samples_fill_the_pixel_evenly_from_its_centre() -> None:
    """The first sample is the centre, where depth is taken; so is the mean, wherever one stops."""
    points = pixel_offsets(16)

    np.testing.assert_array_equal(points[0], (0.5, 0.5))
    assert len(np.unique(np.floor(points * 4), axis=0)) >= 12
    assert points.min() >= 0
    assert points.max() <= 1
    for count in (4, 8, 16):
        np.testing.assert_allclose(points[:count].mean(axis=0), 0.5, atol=1e-12)
    # share of a pixel that edges of nine directions cover, wherever they cross it
    missed = []
    for x, y in ((math.cos(a), math.sin(a)) for a in np.arange(9) * math.pi / 9):
        edges, fine = np.linspace(-0.7, 0.7, 281), (np.indices((64, 64)) + 0.5) / 64 - 0.5
        covered = [
            np.mean(along[..., None] < edges, axis=tuple(range(along.ndim)))
            for along in ((points - 0.5) @ (x, y), x * fine[0] + y * fine[1])
        ]
        missed.append(1.4 * np.mean((covered[0] - covered[1]) ** 2))
    assert math.sqrt(np.mean(missed)) < 0.042  # Sobol points so moved: 0.049


def test_an_edge_is_smoothed_over_the_pixel_it_crosses() -> None:
    """A white wall that ends inside a column gives that column the share it covers."""
    wall = {"kind": "box", "at_m": [-5.975, 10], "size_m": [10, 0.01, 40], "side": "#ffffff"}
    dark = {"kind": "box", "at_m": [0, 60], "size_m": [400, 2, 400], "side": "#000000"}
    scene = trace_scene(described([wall, dark], light=SHADE), eye_level())

    row = scene.picture[10, :, 1]
    # the wall ends at x = -0.975 m at 10 m: column 40.25
    assert row[40] / row[20] == pytest.approx(0.25, abs=0.07)


@pytest.mark.parametrize("width_px", [0.1, 0.3])
def test_what_is_thinner_than_a_pixel_keeps_its_light_and_does_not_break(width_px: float) -> None:
    """A black pole, leaning away, before the sky: it takes its width of it from every row."""
    wide, up = 0.2 * width_px, math.radians(12)  # at 20 m, 100 px a unit of slope
    pole = {"kind": "box", "at_m": [1.5, 20], "size_m": [wide, 0.001, 30], "side": "#000000"}
    view, bare = eye_level(pitch_deg=-12.0), {"light": SHADE, "ground": {"none": True}}
    away = {"kind": "box", "at_m": [0, -20]}
    before, sky = (
        trace_scene(described(things, **bare), view).picture[:60].mean(axis=2)
        for things in ([away, pole], [away])
    )

    taken = (1 - before / sky).sum(axis=1)
    low = (np.arange(60) + 0.5 - 33.5) / 100
    wanted = width_px * (math.cos(up) + low * math.sin(up))
    assert taken.mean() == pytest.approx(wanted.mean(), rel=0.1)
    assert taken.min() > 0.3 * wanted.mean()


def test_building_twice_gives_the_same_world() -> None:
    """Seeds fix every leaf."""
    d = described([{"kind": "tree", "at_m": [0, 9], "leaves": 100, "vary": 0.2}])

    first, second = build(d), build(d)

    np.testing.assert_array_equal(first.world.tri, second.world.tri)
    other = replace(d, things=(replace(d.things[0], seed=8),))
    assert not np.array_equal(first.world.tri, build(other).world.tri)


def test_samples_are_taken_where_a_lens_shows_them() -> None:
    """In focus as many as without a lens; the wider the blur, the fewer."""
    d = described([{"kind": "house", "at_m": [0, 18]}, {"kind": "tree", "at_m": [6, 14]}])
    built, view = build(d), eye_level()

    def everywhere(depth: np.ndarray) -> np.ndarray:
        return np.ones(depth.shape, np.bool_)

    def nowhere(depth: np.ndarray) -> np.ndarray:
        return np.zeros(depth.shape, np.bool_)

    def blur(radius_px: float) -> Callable[[np.ndarray], np.ndarray]:
        return lambda depth: np.full(depth.shape, radius_px, np.float32)

    whole, fine = (trace_built(d, built, view, samples=count) for count in (16, 256))
    sharp = trace_built(d, built, view, only=OneLens(nowhere, blur(0)))
    mild = trace_built(d, built, view, only=OneLens(nowhere, blur(1.5)))
    blurred = trace_built(d, built, view, only=OneLens(everywhere, blur(4)))
    wide = trace_built(d, built, view, only=OneLens(nowhere, blur(30)))
    off = [float(np.std(scene.picture - fine.picture)) for scene in (whole, mild, blurred, wide)]
    bare = [  # without soft light, whose rays go by blur in a way of their own
        trace_built(d, built, view, only=only, soft=0).picture
        for only in (None, OneLens(nowhere, blur(0)))
    ]

    assert bare[0].tobytes() == bare[1].tobytes()
    assert off[1] > 1.1 * off[0]
    assert off[2] > 1.3 * off[1]
    assert off[3] > 1.3 * off[2]
    # one sample a pixel leaves 1.2 % of noise in the mean of so small a picture: two of them
    other = trace_built(d, built, replace(view, width_px=101), only=OneLens(nowhere, blur(30)))
    means = [scene.picture.mean() for scene in (wide, other)]
    np.testing.assert_allclose(np.mean(means), whole.picture.mean(), rtol=0.01)
    for scene in (sharp, mild, blurred, wide):
        assert scene.depth_m.tobytes() == whole.depth_m.tobytes()
    assert sharp.behind is not None
    assert np.isnan(sharp.behind.depth_m).all()
    assert blurred.behind is not None
    assert not np.isnan(blurred.behind.depth_m).any()


def test_a_sharp_edge_before_wide_blur_takes_every_sample() -> None:
    """Pixels of the far side beside it hold a part of it, and are sampled like the near side."""
    d = described([CUBE], light=SHADE)
    built, view = build(d), eye_level()

    def near_is_sharp(depth: np.ndarray) -> np.ndarray:
        return np.where(depth < 12, np.float32(1.5), np.float32(30))

    def nowhere(depth: np.ndarray) -> np.ndarray:
        return np.zeros(depth.shape, np.bool_)

    whole = trace_built(d, built, view)
    held = trace_built(d, built, view, only=OneLens(nowhere, near_is_sharp))

    beside = binary_dilation(whole.depth_m < 12, np.ones((3, 3))) & (whole.depth_m >= 12)
    assert beside.sum() > 60
    # soft light is shared with neighbours that took fewer rays: equal but for its noise, in codes
    codes = [SRGB.codes(scene.picture[beside], 8).astype(int) for scene in (held, whole)]
    assert np.abs(codes[0] - codes[1]).max() <= 5
    coverage = np.abs(held.picture - whole.picture)[beside].mean()
    assert coverage < 0.01 * whole.picture[beside].mean()


def test_no_beads_stand_along_the_edge_of_a_shelf_in_the_shade() -> None:
    """Pixels that it half covers are no rougher along it than those that it fills."""
    shelf = {"kind": "box", "at_m": [0, 9, 1.0], "size_m": [30, 0.5, 1.03]}
    wall = {"kind": "box", "at_m": [0, 12], "size_m": [60, 1, 20], "side": "#c0b090"}
    d = described([{**shelf, "side": "#d0c8b8"}, wall], light=SHADE)
    scene = trace_scene(d, eye_level())

    rows = scene.picture[:, 10:90, 1]
    rough = np.abs(np.diff(rows, n=2, axis=1)).mean(axis=1) / rows.mean(axis=1)
    shows = np.abs(scene.depth_m[:50, 50] - 8.75) < 0.1
    border = np.flatnonzero(np.diff(shows.astype(int)))
    beside = np.concatenate([border, border + 1])
    assert len(beside) == 4
    assert rough[beside].max() < 2 * np.median(rough[:50][shows])

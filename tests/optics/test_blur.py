"""The blur figure against rays traced without any formula of the package."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.blur import blur_field, blur_mm, blur_slope, defocus, spots
from render.optics.camera import Camera, Sensor
from render.optics.lens import FocusDistance, FocusExtension, LensSetting
from render.optics.plane import FocusedLens, focus_lens
from tests.optics.rays import ellipse, landing_mm, rim
from tests.strategies import depth_m, f_number, focal_mm, inverse_depth, lenses, movement_deg, slope


def _traced(lens: FocusedLens, q: np.ndarray, inverse: float, count: int = 64) -> np.ndarray:
    """Landing points (mm) of a rim of rays, the chief ray's first."""
    ray = np.array([q[0], q[1], 1.0])
    heights = np.vstack([np.zeros((1, 2)), lens.aperture_radius_mm * rim(count)])
    point = ray if inverse == 0 else ray * 1000.0 / inverse
    return landing_mm(
        point, inverse == 0, np.array(lens.axis), lens.focal_mm, lens.extension_mm, heights
    )


@given(lenses(), slope, slope, inverse_depth)
def test_spot_is_the_ellipse_of_traced_rays(
    lens: FocusedLens, x: float, y: float, inverse: float
) -> None:
    """Centre and shape of the closed form are those of the ellipse through traced rim rays."""
    d = float(defocus(lens, [x, y], inverse))
    assume(abs(d) > 1e-5)
    spot = spots(lens, [x, y], inverse)

    landed = _traced(lens, np.array([x, y]), inverse)
    centre, shape = ellipse(landed[1:])

    size = np.abs(shape).max()
    np.testing.assert_allclose(spot.matrix_mm @ spot.matrix_mm.T, shape, atol=1e-6 * size)
    np.testing.assert_allclose(landed[0], lens.extension_mm * np.array([x, y]), atol=1e-9)
    np.testing.assert_allclose(spot.offset_mm, centre - landed[0], atol=1e-6 * math.sqrt(size))


@given(lenses(), slope, slope)
def test_sharp_depth_has_no_blur(lens: FocusedLens, x: float, y: float) -> None:
    """All rays from the depth that a pixel is sharp at land on one point of the picture."""
    inverse = float(lens.sharp_inverse_depth([x, y]))
    assume(0 < inverse < 2)

    landed = _traced(lens, np.array([x, y]), inverse)

    np.testing.assert_allclose(landed, landed[:1].repeat(len(landed), 0), atol=1e-8)
    assert abs(defocus(lens, [x, y], inverse)) < 1e-9


@given(focal_mm, f_number, st.floats(1.0, 500.0), depth_m, slope, slope)
def test_without_tilt_the_spot_is_the_textbook_circle(
    focal: float, stop: float, focus: float, depth: float, x: float, y: float
) -> None:
    """At zero tilt the diameter is f^2 |z - s| / (N z (s - f)) (Potmesil & Chakravarty 1981)."""
    lens = focus_lens(LensSetting(focal_mm=focal, f_number=stop, focus=FocusDistance(focus)))
    f, s = focal / 1000.0, focus
    share = 1.0 if math.isinf(depth) else abs(depth - s) / depth
    textbook_mm = 1000.0 * f * f * share / (stop * (s - f))

    axes = 2.0 * spots(lens, [x, y], 1.0 / depth).semi_axes_mm()

    np.testing.assert_allclose(axes, textbook_mm, rtol=1e-6, atol=1e-9)


@given(focal_mm, st.floats(0.999, 1.08), movement_deg, slope, slope, inverse_depth)
def test_tilt_and_swing_swap_under_a_quarter_turn(
    focal: float, stretch: float, angle: float, x: float, y: float, inverse: float
) -> None:
    """Swing does to the turned picture what tilt does to the upright one."""
    down, right = (
        focus_lens(
            LensSetting(
                focal_mm=focal,
                f_number=2.8,
                focus=FocusExtension(focal * stretch),
                tilt_deg=tilt,
                swing_deg=swing,
            )
        )
        for tilt, swing in ((angle, 0.0), (0.0, angle))
    )
    upright, turned = spots(down, [x, y], inverse), spots(right, [y, x], inverse)
    swap = np.array([[0.0, 1.0], [1.0, 0.0]])

    np.testing.assert_allclose(turned.offset_mm, swap @ upright.offset_mm, atol=1e-12)
    np.testing.assert_allclose(
        turned.matrix_mm @ turned.matrix_mm.T,
        swap @ upright.matrix_mm @ upright.matrix_mm.T @ swap,
        atol=1e-12,
    )


@given(lenses(), slope, slope, inverse_depth)
def test_mirrored_scene_has_mirrored_blur(
    lens: FocusedLens, x: float, y: float, inverse: float
) -> None:
    """With the swing negated, a mirrored point has the mirrored spot."""
    nx, ny, nz = lens.axis
    other = FocusedLens(lens.focal_mm, lens.aperture_radius_mm, lens.extension_mm, (-nx, ny, nz))
    mirror = np.array([-1.0, 1.0])
    spot, mirrored = spots(lens, [x, y], inverse), spots(other, [-x, y], inverse)

    np.testing.assert_allclose(mirrored.offset_mm, mirror * spot.offset_mm, atol=1e-12)
    np.testing.assert_allclose(
        mirrored.matrix_mm @ mirrored.matrix_mm.T,
        np.diag(mirror) @ spot.matrix_mm @ spot.matrix_mm.T @ np.diag(mirror),
        atol=1e-12,
    )


@given(lenses(), slope, slope, inverse_depth, st.floats(1.1, 8.0))
def test_defocus_does_not_know_the_aperture(
    lens: FocusedLens, x: float, y: float, inverse: float, stops: float
) -> None:
    """Stopping down changes no sharp depth; without tilt blur falls exactly as 1/N."""
    small = FocusedLens(
        lens.focal_mm, lens.aperture_radius_mm / stops, lens.extension_mm, lens.axis
    )
    straight, straight_small = (
        FocusedLens(one.focal_mm, one.aperture_radius_mm, one.extension_mm, (0.0, 0.0, 1.0))
        for one in (lens, small)
    )

    assert defocus(small, [x, y], inverse) == defocus(lens, [x, y], inverse)
    np.testing.assert_allclose(
        spots(straight_small, [x, y], inverse).semi_axes_mm() * stops,
        spots(straight, [x, y], inverse).semi_axes_mm(),
        rtol=1e-9,
    )


@pytest.mark.parametrize(
    ("tilt", "swing", "sharp", "soft"),
    [
        (-8.0, 0.0, "above", "below"),
        (8.0, 0.0, "below", "above"),
        (0.0, 8.0, "right", "left"),
        (0.0, -8.0, "left", "right"),
    ],
)
def test_near_thing_is_sharp_where_the_axis_leans(
    tilt: float, swing: float, sharp: str, soft: str
) -> None:
    """Focused far ahead, the lens's near focus lies on the side its axis leans to.

    Lens up brings nearer things above into focus and leaves the ones below more blurred.
    """
    lens = focus_lens(
        LensSetting(
            focal_mm=90, f_number=2.8, focus=FocusDistance(60), tilt_deg=tilt, swing_deg=swing
        )
    )
    places = {"above": (0, -0.1), "below": (0, 0.1), "left": (-0.1, 0), "right": (0.1, 0)}
    widths = {}
    for name, q in places.items():
        landed = _traced(lens, np.array(q), 1 / 10)
        widths[name] = np.ptp(landed[1:], axis=0).max()

    assert widths[sharp] < widths["left" if tilt else "above"] < widths[soft]
    assert lens.sharp_inverse_depth(places[sharp]) > lens.sharp_inverse_depth(places[soft])


@pytest.mark.parametrize(
    ("name", "x", "y"),
    [("above", 0.0, -0.2), ("below", 0.0, 0.2), ("left", -0.2, 0.0), ("right", 0.2, 0.0)],
)
@pytest.mark.parametrize(("tilt", "swing"), [(8.0, 0.0), (-8.0, 0.0), (0.0, 8.0), (0.0, -8.0)])
def test_bright_dot_blurs_where_its_rays_land(
    name: str, x: float, y: float, tilt: float, swing: float
) -> None:
    """A dot above, below, left or right lands on its side, its blur offset as traced rays say."""
    lens = focus_lens(
        LensSetting(
            focal_mm=90, f_number=1.4, focus=FocusDistance(20), tilt_deg=tilt, swing_deg=swing
        )
    )
    landed = _traced(lens, np.array([x, y]), 1 / 8, count=256)
    centre, _ = ellipse(landed[1:])
    offset = spots(lens, [x, y], 1 / 8).offset_mm
    towards = int(abs(y) > 0)

    assert np.sign(landed[0][towards]) == np.sign((x, y)[towards]), name
    np.testing.assert_allclose(offset, centre - landed[0], atol=1e-8)
    along = 1 if tilt else 0
    assert np.sign(offset[along]) == np.sign((centre - landed[0])[along]) != 0


def test_near_spot_is_upright_on_the_sensor_and_reversed_in_the_picture() -> None:
    """A lens corner up right lands up right on the sensor for near things, opposite for far."""
    lens = focus_lens(LensSetting(focal_mm=90, f_number=2.8, focus=FocusDistance(10)))
    corner = np.array([[lens.aperture_radius_mm, 0.0]])

    def shift(inverse: float) -> float:
        picture = landing_mm(
            np.array([0.0, 0.0, 1000.0 / inverse]),
            False,
            np.array(lens.axis),
            lens.focal_mm,
            lens.extension_mm,
            corner,
        )
        return float(picture[0, 0])

    assert shift(1 / 5) < 0 < shift(1 / 40)
    assert defocus(lens, [0, 0], 1 / 5) > 0 > defocus(lens, [0, 0], 1 / 40)


@given(lenses(), st.integers(3, 20), st.integers(3, 15), st.randoms(use_true_random=False))
def test_field_is_the_defocus_of_every_pixel(
    lens: FocusedLens, width: int, height: int, random: object
) -> None:
    """The vectorised field holds the defocus of each pixel's own ray, sky included."""
    camera = Camera.from_lens(width, height, lens.focal_mm, Sensor())
    rng = np.random.default_rng(random.randrange(10**6))  # type: ignore[attr-defined]
    depth = rng.uniform(1, 100, (height, width)).astype(np.float32)
    depth[0] = np.inf

    field = blur_field(lens, camera, depth)

    x, y = np.meshgrid(np.arange(width) + 0.5, np.arange(height) + 0.5)
    exact = defocus(lens, camera.slopes(x, y), 1.0 / depth.astype(float))
    np.testing.assert_allclose(field.defocus, exact, atol=2e-6)
    np.testing.assert_allclose(
        field.radius_px(), exact * lens.aperture_radius_mm * field.px_per_mm, rtol=1e-4, atol=1e-3
    )


@given(lenses(), st.floats(-300.0, 300.0), st.integers(0, 10**6))
def test_mirrored_picture_with_shift_and_swing_negated_is_mirrored(
    lens: FocusedLens, centre: float, seed: int
) -> None:
    """Swing and lateral shift negated, the mirrored depth has the mirrored blur."""
    nx, ny, nz = lens.axis
    other = FocusedLens(lens.focal_mm, lens.aperture_radius_mm, lens.extension_mm, (-nx, ny, nz))
    camera = Camera(17, 9, 20.0, centre / 20, 3.0)
    mirrored = Camera(17, 9, 20.0, 17 - centre / 20, 3.0)
    depth = np.random.default_rng(seed).uniform(2, 50, (9, 17)).astype(np.float32)

    np.testing.assert_allclose(
        blur_field(other, mirrored, depth[:, ::-1]).defocus,
        blur_field(lens, camera, depth).defocus[:, ::-1],
        atol=2e-6,
    )


def test_half_size_preview_has_half_the_blur_in_pixels() -> None:
    """The same view in half the pixels has half the radius in pixels."""
    lens = focus_lens(LensSetting(focal_mm=45, f_number=2.8, focus=FocusDistance(30), tilt_deg=-6))
    full = Camera.from_lens(64, 40, 45, Sensor(36, 22.5))
    depth = np.full((40, 64), 12, np.float32)
    half = blur_field(lens, full.resized(32, 20), depth[::2, ::2]).radius_px()
    whole = blur_field(lens, full, depth).radius_px().reshape(20, 2, 32, 2).mean((1, 3))

    np.testing.assert_allclose(half, whole / 2, rtol=1e-4)


def test_a_point_inside_the_tilted_aperture_is_refused() -> None:
    """A point so near that its image lies inside the tilted aperture has no blur figure."""
    lens = focus_lens(LensSetting(focal_mm=90, f_number=1.4, focus=FocusDistance(5), tilt_deg=10))

    with pytest.raises(SettingError, match="no edge"):
        spots(lens, [0.0, 0.0], 1000.0 / 2.0)


def test_blur_as_an_angle_is_that_on_the_sensor_seen_from_the_lens() -> None:
    """f/2.8 at 90 mm and 10 m, of what stands at 20 m: as the textbook's circle over v."""
    lens = focus_lens(LensSetting(focal_mm=90, f_number=2.8, focus=FocusDistance(10.0)))
    rays, inverse = [(0.0, 0.0), (0.1, -0.05)], [1 / 20, 1 / 20]

    np.testing.assert_allclose(
        blur_slope(lens, rays, inverse) * lens.extension_mm, blur_mm(lens, rays, inverse)
    )
    textbook_mm = 90 / 2.8 * 0.09 * (20 - 10) / (20 * (10 - 0.09))
    assert blur_mm(lens, (0.0, 0.0), 1 / 20) == pytest.approx(textbook_mm)

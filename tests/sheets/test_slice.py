"""The slice's lines are those of the optics, turned upright and clipped."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from render.optics.blur import defocus
from render.optics.camera import Camera, Sensor, Vantage
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens, sharp_plane
from render.optics.solving.targets import Target
from render.scene.scene import Scene
from render.sheets.slice import (
    Kind,
    Line,
    Slice,
    clip_line,
    clip_polygon,
    slice_scene,
    wedge_polygon,
)

COC_MM = 0.03
TILT = st.floats(-12, 12).filter(lambda t: abs(t) > 0.5)


def _scene(pitch_deg: float = 20.0, height_m: float = 10.0) -> Scene:
    """Level ground seen from a height, its sky at infinity."""
    camera = Camera.from_lens(90, 60, 45.0, Sensor())
    rows = camera.grid()[1]
    pitch = math.radians(pitch_deg)
    falls = rows * math.cos(pitch) + math.sin(pitch)
    depth = np.where(falls > 0, height_m / np.where(falls > 0, falls, 1.0), np.inf)
    depth_m = np.repeat(depth[:, None], 90, axis=1).astype(np.float32)
    return Scene(
        np.full((60, 90, 3), 0.2, np.float32), depth_m, camera, vantage=Vantage(height_m, pitch_deg)
    )


def _cut(tilt_deg: float = -8.0, swing_deg: float = 0.0, kind: Kind = "side") -> Slice:
    setting = LensSetting(
        focal_mm=45,
        f_number=2.8,
        tilt_deg=tilt_deg,
        swing_deg=swing_deg,
        focus=FocusDistance(25.0),
    )
    return slice_scene(_scene(), setting, COC_MM, kind)


def _on(line: Line, point: tuple[float, float]) -> float:
    return line.a[0] * point[0] + line.a[1] * point[1] - line.b


@pytest.mark.parametrize("kind", ["side", "plan"])
@given(x=st.floats(-0.35, 0.35), y=st.floats(-0.05, 0.2), swing=st.floats(-6, 6))
def test_what_is_sharp_beside_the_middle_lies_on_the_line_drawn(
    kind: Kind, x: float, y: float, swing: float
) -> None:
    """A lens tilted and swung, cut through a thing in its plane of sharp focus."""
    setting = LensSetting(
        focal_mm=45, f_number=2.8, tilt_deg=4.0, swing_deg=swing, focus=FocusDistance(25.0)
    )
    inverse = float(focus_lens(setting).sharp_inverse_depth((x, y)))
    assume(inverse > 1e-3)
    thing = Target(x, y, 1 / inverse)
    cut = slice_scene(_scene(), setting, COC_MM, kind, thing)
    # the line through the nearest pixel's column or row: half a pixel off at most
    moved = replace(cut, slope_x=x, slope_y=y)
    line = moved.sharp_line()
    assert _on(line, moved.place_of(thing)) == pytest.approx(0, abs=1e-9 / inverse)
    assert cut.slope_x == (pytest.approx(x, abs=0.005) if kind == "side" else 0)
    assert cut.slope_y == (pytest.approx(y, abs=0.005) if kind == "plan" else 0)


@given(TILT, st.floats(-0.002, 0.002))
def test_planes_of_equal_blur_meet_in_the_hinge(tilt_deg: float, level: float) -> None:
    """Whatever the defocus, its line passes through the hinge line's point."""
    cut = _cut(tilt_deg)

    assert cut.hinge is not None
    assert _on(cut.sharp_line(level), cut.hinge) == pytest.approx(0.0, abs=1e-12)


@given(TILT)
def test_three_planes_meet_in_the_scheimpflug_line(tilt_deg: float) -> None:
    """Sensor, lens and plane of sharp focus share the point that is marked."""
    cut = _cut(tilt_deg)
    meet = cut.scheimpflug

    assert meet is not None
    assert _on(cut.sharp_line(), meet) == pytest.approx(0.0, abs=1e-12)
    sensor = cut.line(0.0, 1.0, -cut.lens.extension_mm / 1000)
    assert _on(sensor, meet) == pytest.approx(0.0, abs=1e-12)
    assert _on(cut.line(cut.across, cut.lens.axis[2], 0.0), meet) == pytest.approx(0.0, abs=1e-12)


def test_the_hinge_is_as_far_as_the_optics_say() -> None:
    """Lens up 8°, 45 mm: 0.323 m from the lens, above it."""
    cut = _cut(-8.0)

    assert cut.hinge is not None
    assert math.hypot(*cut.hinge) == pytest.approx(sharp_plane(cut.lens).hinge_distance_m)
    assert cut.hinge[1] > 0
    assert _cut(0.0).hinge is None


def test_the_ground_is_level_and_as_deep_as_the_camera_is_high() -> None:
    """With the pitch taken out, every point of level ground lies 10 m below the lens."""
    cut = _cut()
    points = np.concatenate([run.points for run in cut.runs])

    np.testing.assert_allclose(points[:, 1], -10.0, atol=1e-4)
    assert cut.ground_m == 10.0


def test_what_is_drawn_as_sharp_lies_in_the_wedge() -> None:
    """A profile point is sharp exactly where it lies between the wedge's planes."""
    cut = _cut()
    near, far = cut.sharp_line(cut.share), cut.sharp_line(-cut.share)
    for run in cut.runs:
        inner = run.points[1:-1]
        inside = (inner @ near.a >= near.b) & (inner @ far.a <= far.b)
        assert np.all(inside == run.sharp)
    assert any(run.sharp for run in cut.runs)


def test_the_wedge_polygon_holds_points_under_c_only() -> None:
    """Corners of the drawn wedge have a defocus of c N / f at the most."""
    cut = _cut()
    polygon = wedge_polygon(cut, (0.0, -12.0, 60.0, 12.0))
    turn = math.radians(cut.turn_deg)
    for out, up in polygon:
        z = out * math.cos(turn) - up * math.sin(turn)
        y = -out * math.sin(turn) - up * math.cos(turn)
        d = float(defocus(cut.lens, [0.0, y / z], 1.0 / z))
        assert abs(d) <= cut.share * (1 + 1e-9)
    assert len(polygon) >= 3


def test_a_plan_lies_flat_and_swing_turns_it() -> None:
    """Swing right puts the hinge to the right of the lens, that is down in the plan."""
    cut = _cut(0.0, 5.0, "plan")

    assert cut.turn_deg == 0
    assert cut.ground_m is None
    assert cut.hinge is not None
    assert cut.hinge[0] == pytest.approx(0.0)
    assert cut.hinge[1] == pytest.approx(-45e-3 / math.sin(math.radians(5.0)))


def test_lines_and_polygons_are_clipped_at_the_frame() -> None:
    """A diagonal through a unit square ends at its corners; a line outside is dropped."""
    frame = (0.0, 0.0, 1.0, 1.0)
    square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]

    assert clip_line(Line((1.0, -1.0), 0.0), frame) == ((0.0, 0.0), (1.0, 1.0))
    assert clip_line(Line((1.0, 0.0), 2.0), frame) is None
    assert clip_line(Line((0.0, 0.0), 1.0), frame) is None
    assert sorted(clip_polygon(square, Line((1.0, 0.0), 0.25))) == [
        (0.0, 0.0),
        (0.0, 1.0),
        (0.25, 0.0),
        (0.25, 1.0),
    ]
    assert clip_polygon(square, Line((1.0, 0.0), -1.0)) == []

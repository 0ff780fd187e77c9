"""Places by tape measure."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.band import level_ground_per_m
from render.optics.camera import Vantage
from render.optics.solving.arrangements import ahead_m, face_m, ground_m, place_m, row_m, wall_m
from render.optics.solving.solve import best_plane
from render.optics.solving.targets import Target
from tests.strategies import vantages


@given(vantages, st.floats(-50, 50), st.floats(-50, 50), st.floats(0, 30))
def test_places_keep_their_distance_and_height(
    vantage: Vantage, ahead: float, right: float, above: float
) -> None:
    """Turned into the camera's frame, a place keeps its distance and its height over ground."""
    point = place_m(vantage, ahead, right, above)
    down = level_ground_per_m(vantage) * vantage.height_m

    assert float(down @ point) == pytest.approx(vantage.height_m - above, abs=1e-9)
    assert float(np.linalg.norm(point)) == pytest.approx(
        math.hypot(ahead, right, vantage.height_m - above), abs=1e-9
    )


@given(vantages, st.floats(0.5, 500), st.floats(-50, 50), st.floats(-5, 30))
def test_how_far_ahead_a_point_lies_undoes_its_placing(
    vantage: Vantage, ahead: float, right: float, above: float
) -> None:
    """However the camera is held, and wherever the thing stands."""
    point = place_m(vantage, ahead, right, above)

    assert ahead_m(vantage, point) == pytest.approx(ahead, abs=1e-9)


def test_a_level_camera_sees_right_down_and_forward() -> None:
    """10 m ahead, 2 m to the right, 0.5 m up, seen from 1.5 m: right 2, down 1, forward 10."""
    np.testing.assert_allclose(place_m(Vantage(1.5), 10, 2, 0.5), [2, 1, 10])


def test_the_ground_ahead_rises_in_the_picture_when_the_camera_looks_down() -> None:
    """Pitched down, the same place lies higher in the picture and at less depth."""
    level, down = (place_m(Vantage(5, pitch), 20, 0, 0) for pitch in (0, 10))

    assert down[1] / down[2] < level[1] / level[2]


@given(vantages)
def test_ground_and_wall_are_planes_of_their_kind(vantage: Vantage) -> None:
    """The corners of the ground lie on the ground; those of a wall on one upright plane."""
    down = level_ground_per_m(vantage) * vantage.height_m
    ground = ground_m(vantage, 4, 40, 15)
    wall = wall_m(vantage, 5, 12, 20)

    np.testing.assert_allclose(ground @ down, vantage.height_m, atol=1e-9)
    normal = np.cross(wall[1] - wall[0], wall[2] - wall[0])
    np.testing.assert_allclose((wall - wall[0]) @ normal, 0, atol=1e-6)
    assert float(normal @ down) == pytest.approx(0, abs=1e-9)


def test_a_row_is_straight_and_has_its_ends() -> None:
    """The row goes from first to last in even steps."""
    row = row_m([0, 1, 2], [1, 1, 8], 4)

    np.testing.assert_allclose(row[[0, -1]], [[0, 1, 2], [1, 1, 8]])
    np.testing.assert_allclose(np.diff(row, axis=0), [[1 / 3, 0, 2]] * 3)


def test_a_face_leaning_back_asks_for_the_lens_down() -> None:
    """Forehead farther than chin, as ground is farther higher up: hinge below, lens down."""
    leaning = best_plane([Target.at(*p) for p in face_m(1.2, back_deg=20)], 90)
    turned = best_plane([Target.at(*p) for p in face_m(1.2, turned_deg=20)], 90)

    assert leaning.exact
    assert leaning.tilt_deg == pytest.approx(
        math.degrees(math.asin(0.09 / 1.2 * math.tan(math.radians(20)))), rel=1e-6
    )
    assert turned.tilt_deg == pytest.approx(0, abs=1e-9)
    assert turned.swing_deg < 0


@pytest.mark.parametrize(
    "make",
    [
        lambda: row_m([0, 0, 1], [0, 0, 2], 1),
        lambda: ground_m(Vantage(2), 9, 4, 10),
        lambda: ground_m(Vantage(2), -1, 4, 10),
        lambda: wall_m(Vantage(2), 0, 4, 10),
        lambda: face_m(0.1),
        lambda: face_m(1, back_deg=90),
        lambda: face_m(math.nan),
    ],
)
def test_impossible_arrangements_are_refused(make: object) -> None:
    """Rows of one, ground that ends before it begins, faces in the lens are refused."""
    with pytest.raises(SettingError):
        make()  # type: ignore[operator]

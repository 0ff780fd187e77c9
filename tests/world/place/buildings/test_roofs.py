"""Roofs over outlines: heights by hand, and plans that cover the outline once."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon

from render.world.place.buildings.roofs import outline_axes, roof_over

_HOUSE = shapely.box(-6, -4, 6, 4)  # 12 m by 8 m
_SHAPES = st.sampled_from(["gabled", "hipped", "pyramidal", "skillion"])
_TURNED = st.builds(
    lambda w, d, a, x, y: translate(rotate(shapely.box(-w, -d, w, d), a), x, y),
    st.floats(2, 20),
    st.floats(1, 12),
    st.floats(0, 180),
    st.floats(-900, 900),
    st.floats(-900, 900),
)


def _at(shape: str, *points: tuple[float, float], **more: object) -> list[float]:
    roof = roof_over(_HOUSE, shape, 3.0, **more)  # type: ignore[arg-type]
    assert roof is not None
    return [round(float(h), 9) for h in roof.height(np.array(points, float))]


def test_a_gable_rises_from_the_long_sides() -> None:
    """3 m at the ridge all along, 0 at the eaves, half of it half way up."""
    assert _at("gabled", (0, 0), (6, 0), (0, 4), (0, -2)) == [3, 3, 0, 1.5]


def test_the_ridge_may_run_across() -> None:
    """Then the short sides are the eaves' ends."""
    assert _at("gabled", (0, 0), (0, 4), (6, 0), (3, 0), across=True) == [3, 3, 0, 1.5]


def test_a_hip_has_one_steepness_all_round() -> None:
    """Its ridge is as long as the house is longer than wide."""
    assert _at("hipped", (0, 0), (2, 0), (6, 0), (0, 4), (4, 0)) == [3, 3, 0, 0, 1.5]


def test_a_pyramid_has_its_point_in_the_middle() -> None:
    """Every edge of the outline is an eaves."""
    assert _at("pyramidal", (0, 0), (6, 0), (0, -4), (3, 0)) == [3, 0, 0, 1.5]


def test_a_turret_is_pointed_from_all_its_sides() -> None:
    """Eight sides: the corners at the eaves, the middle at the top."""
    turret = shapely.Point(0, 0).buffer(3, quad_segs=2)
    roof = roof_over(turret, "pyramidal", 5.0)

    assert roof is not None
    assert len(roof.planes) == 8
    corners = shapely.get_coordinates(turret)[:-1]
    np.testing.assert_allclose(roof.height(corners), 0, atol=1e-9)
    assert roof.height(np.zeros((1, 2)))[0] == pytest.approx(5)


def test_a_skillion_falls_towards_its_direction() -> None:
    """Low in the east, high in the west."""
    assert _at("skillion", (6, 0), (-6, 1), (0, 3), direction_deg=90.0) == [0, 3, 1.5]


def test_a_flat_roof_is_none() -> None:
    """Nor is there one without a rise."""
    assert roof_over(_HOUSE, "flat", 3.0) is None
    assert roof_over(_HOUSE, "gabled", 0.0) is None


@given(_TURNED, _SHAPES, st.floats(0.5, 8))
def test_plans_cover_the_outline_once(outline: Polygon, shape: str, rise: float) -> None:
    """Faces seen from above add up to the outline, and each is the least plane inside its plan."""
    roof = roof_over(outline, shape, rise)

    assert roof is not None
    pieces = [outline.intersection(plan) for plan in roof.plans]
    assert sum(p.area for p in pieces) == pytest.approx(outline.area, rel=1e-6)
    for plane, piece in zip(roof.planes, pieces, strict=True):
        if piece.area > 1e-3:
            point = np.array(piece.representative_point().coords[0])
            assert plane[:2] @ point + plane[2] == pytest.approx(
                float(roof.height(point[None])[0]), abs=1e-6
            )


@given(_TURNED, _SHAPES, st.floats(0.5, 8))
def test_no_point_is_higher_than_the_ridge_or_below_the_eaves(
    outline: Polygon, shape: str, rise: float
) -> None:
    """Inside the outline a roof is between 0 and its rise."""
    roof = roof_over(outline, shape, rise)

    assert roof is not None
    middle = np.array(outline.centroid.coords)
    corners = shapely.get_coordinates(outline)
    points = np.concatenate([middle + s * (corners - middle) for s in (0.2, 0.7, 1.0)])
    heights = roof.height(points)
    assert heights.min() >= -1e-6
    assert heights.max() <= rise + 1e-6


def test_a_walls_top_bends_where_the_ridge_crosses_it() -> None:
    """Half way along the gable's wall, and nowhere along the eaves."""
    roof = roof_over(_HOUSE, "gabled", 3.0)

    assert roof is not None
    assert roof.breaks(np.array([6.0, -4.0]), np.array([6.0, 4.0])) == pytest.approx([0.5])
    assert roof.breaks(np.array([-6.0, 4.0]), np.array([6.0, 4.0])) == []


def test_axes_of_a_turned_rectangle() -> None:
    """Middle, direction and half sides, whichever way it is turned."""
    middle, along, half_u, half_v = outline_axes(translate(rotate(_HOUSE, 30), 5, 7))

    assert middle == pytest.approx([5, 7])
    assert abs(along @ [math.cos(math.radians(30)), math.sin(math.radians(30))]) == pytest.approx(1)
    assert (half_u, half_v) == pytest.approx((6, 4))

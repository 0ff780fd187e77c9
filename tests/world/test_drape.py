"""Flat things laid on uneven ground run parallel to it everywhere."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.world.description import Ground, Relief
from render.world.drape import cut_along, draped
from render.world.ground import mesh_height
from render.world.mesh import extrude, sheet

_HILLS = st.lists(
    st.tuples(st.floats(-20, 20), st.floats(-20, 20), st.floats(6, 40), st.floats(-9, 9)),
    min_size=1,
    max_size=3,
)
#: Over some thirty of the ground's own steps each way.
_SMALL_LAWN = [(-8.2, -7.5), (10.4, -6.2), (8.8, 9.8), (0.0, 4.0), (-9.6, 6.0)]
_LAWN = [(-41.0, -37.3), (52.2, -31.0), (44.0, 48.8), (0.0, 20.0), (-48.0, 30.1)]


def _inner_points(xyz: np.ndarray) -> np.ndarray:
    """Three places inside each triangle, shape (n, 3)."""
    weights = np.array([[0.6, 0.3, 0.1], [0.1, 0.1, 0.8], [1 / 3, 1 / 3, 1 / 3]])
    return np.einsum("wk,nkc->nwc", weights, xyz).reshape(-1, 3)


@given(_HILLS, st.floats(0.0, 1.5), st.floats(0.01, 0.3))
def test_a_lawn_on_hills_keeps_its_lift_everywhere(
    hills: list[tuple[float, float, float, float]], rolling: float, lift: float
) -> None:
    """Between the corners too it is `lift` above the ground's mesh, and covers the same plan."""
    ground = Ground(hills_m=tuple(hills), rolling_m=rolling, extent_m=70.0)
    flat = sheet(_SMALL_LAWN, lift, "top")

    laid = draped(flat, ground)

    p = _inner_points(laid.xyz)
    over = p[:, 2] - mesh_height(ground, p[:, 0], p[:, 1])
    np.testing.assert_allclose(over, lift, atol=1e-6)
    assert np.isclose(_plan_area(laid.xyz), _plan_area(flat.xyz), rtol=1e-9)
    assert np.all(_signed(laid.xyz) > 0)


def test_measured_heights_are_followed_too() -> None:
    """The same on a relief, also where the sheet reaches beyond it."""
    rng = np.random.default_rng(3)
    ground = Ground(relief=Relief(rng.uniform(0, 12, (13, 13))), extent_m=30.0)

    laid = draped(sheet(_LAWN, 0.05, "top"), ground)

    p = _inner_points(laid.xyz)
    over = p[:, 2] - mesh_height(ground, p[:, 0], p[:, 1])
    np.testing.assert_allclose(over, 0.05, atol=1e-6)


def test_kerbs_keep_their_upright_faces() -> None:
    """A slab's sides are cut as well, not lost: its faces keep their area on a slope."""
    ground = Ground(profile_m=((-50.0, 0.0), (50.0, 10.0)), extent_m=60.0)
    slab = extrude([(-8, -5), (8, -5), (8, 5), (-8, 5)], -0.3, 0.12, "kerb", "top", bottom=False)

    laid = draped(slab, ground)

    kerb = laid.slots.index("kerb")
    low, high = (laid.xyz[laid.slot == kerb][..., 2].min(), laid.xyz[..., 2].max())
    side = slab.xyz[slab.slot == slab.slots.index("kerb")]
    assert _area(laid.xyz[laid.slot == kerb]) == pytest.approx(_area(side), rel=0.01)
    assert high - low > 0.42


def test_level_ground_changes_nothing() -> None:
    """Without hills the very same mesh comes back."""
    mesh = sheet(_LAWN, 0.1, "top")

    assert draped(mesh, Ground()) is mesh


@given(
    st.lists(st.tuples(*[st.floats(-7, 7, allow_nan=False)] * 6), min_size=1, max_size=8).map(
        lambda rows: np.array(rows).reshape(-1, 3, 2)
    )
)
def test_cutting_keeps_area_and_leaves_no_piece_across_a_line(triangles: np.ndarray) -> None:
    """Pieces add up to their triangle, and none reaches from one strip into the next."""
    corners = np.concatenate([triangles, np.zeros((len(triangles), 3, 1))], axis=2)

    pieces, source = cut_along(corners, corners[..., 0], -7, 7)

    whole = np.array([_area(corners[[k]]) for k in range(len(corners))])
    parts = np.bincount(source, [_area(pieces[[k]]) for k in range(len(pieces))], len(corners))
    np.testing.assert_allclose(parts, whole, atol=1e-6)
    least, most = pieces[..., 0].min(axis=1), pieces[..., 0].max(axis=1)
    assert np.all(most <= np.floor(least + 1e-6) + 1 + 1e-6)


def _signed(xyz: np.ndarray) -> np.ndarray:
    a, b = xyz[:, 1] - xyz[:, 0], xyz[:, 2] - xyz[:, 0]
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def _plan_area(xyz: np.ndarray) -> float:
    return float(_signed(xyz).sum() / 2)


def _area(xyz: np.ndarray) -> float:
    across = np.cross(xyz[:, 1] - xyz[:, 0], xyz[:, 2] - xyz[:, 0])
    return float(np.linalg.norm(across, axis=1).sum() / 2)

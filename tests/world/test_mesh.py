"""Meshes: closed, outward, in metres."""

import numpy as np
import pytest
from numpy.typing import NDArray

from render.world.mesh import (
    Mesh,
    box,
    cylinder,
    ellipsoid,
    extrude,
    fan,
    join,
    lathe,
    moved,
    quad,
    sheet,
    tube,
)

L_SHAPE = [(0, 0), (4, 0), (4, 1), (1, 1), (1, 3), (0, 3)]


def _volume(mesh: Mesh) -> float:
    a, b, c = np.moveaxis(mesh.xyz, 1, 0)
    return float(np.sum(np.einsum("nk,nk->n", a, np.cross(b, c))) / 6)


def _area(xyz: NDArray[np.float64]) -> float:
    return float(
        np.linalg.norm(np.cross(xyz[:, 1] - xyz[:, 0], xyz[:, 2] - xyz[:, 0]), axis=1).sum() / 2
    )


@pytest.mark.parametrize(
    ("mesh", "volume"),
    [
        (box((2, 3, 4), "a"), 24),
        (extrude(L_SHAPE, 1, 3, "a", "b"), 12),
        (extrude(L_SHAPE[::-1], 1, 3, "a", "b"), 12),
        (cylinder(1, 2, "a", sides=200), np.pi * 2),
        (cylinder(1, 3, "a", top_radius=0.0, sides=200), np.pi),
        (ellipsoid((1, 2, 3), "a", sides=96, rings=64), 8 * np.pi),
        (tube((0, 0, 0), (3, 4, 0), 0.1, "a", sides=200), np.pi * 0.01 * 5),
        (lathe([(0, 0), (1, 0), (1, 1), (0, 1)], "a", 200), np.pi),
    ],
    ids=["box", "prism", "turned prism", "cylinder", "cone", "egg", "bar", "lathe"],
)
def test_solids_are_closed_and_face_outward(mesh: Mesh, volume: float) -> None:
    """The signed volume (divergence theorem) is the textbook volume, and positive."""
    assert _volume(mesh) == pytest.approx(volume, rel=3e-3)


def test_normals_agree_with_the_turn_of_the_corners() -> None:
    """Also after mirroring, turning and stretching."""
    for mesh in (
        box((1, 2, 3), "a"),
        moved(ellipsoid((1, 1, 2), "a"), turn_deg=30, size=(-1, 1, 2)),
    ):
        face = np.cross(mesh.xyz[:, 1] - mesh.xyz[:, 0], mesh.xyz[:, 2] - mesh.xyz[:, 0])
        assert np.all(np.einsum("nk,nk->n", face, mesh.normal.mean(axis=1)) > 0)
        np.testing.assert_allclose(np.linalg.norm(mesh.normal, axis=-1), 1, rtol=1e-9)


def test_a_hollow_outline_keeps_its_area() -> None:
    """Cutting ears loses and doubles nothing."""
    assert _area(sheet(L_SHAPE, 0.5, "a").xyz) == pytest.approx(6)


def test_surface_coordinates_are_metres() -> None:
    """A wall 5 m long and 2 m high spans 5 by 2 in u and v, and a fan's lie in its plane."""
    wall = quad((1, 1, 0), (4, 5, 0), (4, 5, 2), (1, 1, 2), "a")
    np.testing.assert_allclose(np.ptp(wall.uv.reshape(-1, 2), axis=0), (5, 2))

    flat = fan([(0, 0, 1), (2, 0, 1), (2, 2, 1), (1, 3, 1), (0, 2, 1)], "a")
    np.testing.assert_allclose(np.ptp(flat.uv.reshape(-1, 2), axis=0), (2, 3))


def test_joining_keeps_what_each_face_is_made_of() -> None:
    """Equal names become one slot; painting renames them."""
    mesh = join([box((1, 1, 1), "a", top="b"), box((1, 1, 1), "b")]).painted(a="brick")

    assert mesh.slots == ("brick", "b")
    assert np.bincount(mesh.slot).tolist() == [10, 14]
    assert len(join([]).xyz) == 0

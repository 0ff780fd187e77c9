"""Walls and flat faces gathered into a mesh."""

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from render.world.place.soup import Soup, triangles_of

_RING = Polygon(
    [(0, 0), (10, 0), (10, 8), (0, 8)], [[(2, 2), (2, 4), (4, 4), (4, 2)], [(6, 2), (7, 2), (7, 6)]]
)


def _area(corners: np.ndarray) -> np.ndarray:
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2


def test_holes_stay_open() -> None:
    """Triangles add up to the polygon without its holes, each counter-clockwise and inside."""
    corners, index = triangles_of([_RING, shapely.box(20, 0, 21, 1)])

    areas = _area(corners)
    assert np.all(areas > 0)
    assert np.bincount(index, areas) == pytest.approx([_RING.area, 1.0])
    middles = corners[index == 0].mean(axis=1)
    assert np.all(shapely.contains_xy(_RING, middles[:, 0], middles[:, 1]))


def test_nothing_gives_nothing() -> None:
    """No polygons, no triangles; an empty soup is an empty mesh."""
    assert len(triangles_of([])[0]) == 0
    assert len(Soup().mesh().xyz) == 0


def test_sloping_faces_lie_in_their_plane_and_look_out() -> None:
    """Z = a x + b y + c at every corner; up or down as asked; uv in metres along the slope."""
    soup = Soup()
    soup.flat(shapely.box(0, 0, 4, 3), (0.75, 0.0, 2.0), "tiles #a1563a")
    soup.flat(shapely.box(0, 0, 4, 3), (0.0, 0.0, 1.0), "plain #808080", down=True)
    mesh = soup.mesh()

    up = mesh.slot == mesh.slots.index("tiles #a1563a")
    p = mesh.xyz[up]
    np.testing.assert_allclose(p[..., 2], 0.75 * p[..., 0] + 2)
    np.testing.assert_allclose(mesh.normal[up][0, 0], [-0.6, 0, 0.8])
    assert np.ptp(mesh.uv[up][..., 1]) == pytest.approx(5.0)  # 4 m level are 5 m up the slope
    across = np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0])
    assert np.all(across[:, 2] > 0)
    below = mesh.xyz[~up]
    assert np.all(_area(below[..., :2]) < 0)
    assert np.all(mesh.normal[~up][..., 2] == -1)


def test_a_block_has_four_sides_and_a_top() -> None:
    """Its faces have the area of a box without its foot."""
    soup = Soup()
    soup.block(np.array([[0, 0], [2, 0], [2, 1], [0, 1]], float), 5.0, 8.0, "brick")
    mesh = soup.mesh()

    across = np.cross(mesh.xyz[:, 1] - mesh.xyz[:, 0], mesh.xyz[:, 2] - mesh.xyz[:, 0])
    assert np.linalg.norm(across, axis=1).sum() / 2 == pytest.approx(2 * (2 + 1) * 3 + 2)
    middle = np.array([1, 0.5, 6.5])
    out = np.einsum("nc,nc->n", mesh.xyz.mean(axis=1) - middle, mesh.normal[:, 0])
    assert np.all(out > 0)

"""Walls, hedges, towers and chimneys."""

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon

from render.world.place.mapdata import Feature
from render.world.place.soup import Soup
from render.world.place.standing.uprights import add_barriers, tower_meshes

_DISC = shapely.Point(0, 0).buffer(300)


def _level(xy: np.ndarray) -> np.ndarray:
    return np.zeros(len(xy))


def test_a_wall_is_as_high_as_it_says_and_follows_the_ground() -> None:
    """2.5 m above a slope of 1 in 20, all along."""
    wall = Feature({"barrier": "wall", "height": "2.5"}, LineString([(0, 0), (40, 0)]))
    soup = Soup()

    count = add_barriers(soup, [wall], _DISC, lambda xy: xy[:, 0] / 20)

    mesh = soup.mesh()
    top = mesh.xyz[mesh.normal[:, 0, 2] > 0.5].reshape(-1, 3)
    assert count == 1
    np.testing.assert_allclose(top[:, 2] - top[:, 0] / 20, 2.5, atol=1e-6)
    assert np.ptp(mesh.xyz[..., 1]) == pytest.approx(0.3)


def test_a_hedge_round_a_garden_leaves_the_garden_open() -> None:
    """A closed line is a ring, not a block; gates and bollards are no walls."""
    garden = Feature({"barrier": "hedge"}, shapely.box(0, 0, 20, 20))
    gate = Feature({"barrier": "gate"}, Point(5, 5))
    soup = Soup()

    assert add_barriers(soup, [garden, gate], _DISC, _level) == 1

    tops = soup.mesh()
    up = tops.xyz[tops.normal[:, 0, 2] > 0.5]
    a, b = up[:, 1] - up[:, 0], up[:, 2] - up[:, 0]
    area = float(np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() / 2)
    assert area == pytest.approx(80 * 0.8, rel=0.02)


def test_a_chimney_has_its_height_and_stands_on_the_ground() -> None:
    """55 m above ground that lies at 7 m."""
    chimney = Feature({"man_made": "chimney", "height": "55 m"}, Point(30, 40))

    mesh, count = tower_meshes([chimney], 300, lambda xy: np.full(len(xy), 7.0), Polygon())

    assert mesh is not None
    assert count == 1
    assert mesh.xyz[..., 2].max() == pytest.approx(62)
    assert mesh.xyz[..., :2].mean(axis=(0, 1)) == pytest.approx([30, 40], abs=0.2)


def test_a_tower_that_a_building_draws_is_not_drawn_twice() -> None:
    """Nor one beyond reach."""
    tower = Feature({"man_made": "tower"}, Point(5, 5))
    far = Feature({"man_made": "mast"}, Point(900, 0))

    assert tower_meshes([tower, far], 300, _level, shapely.box(0, 0, 10, 10)) == (None, 0)

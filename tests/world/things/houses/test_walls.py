"""Walls with openings: they wear under their sills, and nowhere shows where a part ends."""

import numpy as np

from render.world.mesh import Mesh
from render.world.surfaces.material import Material
from render.world.things.houses.walls import wall_panel
from tests.world.surfaces.looks import looks

#: One window, 1 m wide, its sill 1.5 m up, in the middle of a wall of 6 by 4 m.
_WINDOW = (2.5, 3.5, 1.5, 3.0)


def _seen(wall: Mesh, points: np.ndarray) -> np.ndarray:
    """Lightness of an old plaster at (along, up) of a wall; nan where it is open."""
    plaster = Material.of({"rule": "plaster", "vary": 0.9})
    at = wall.xyz[..., [0, 2]]
    mine = (np.array(wall.slots)[wall.slot] == "wall") & (np.ptp(wall.xyz[..., 1], axis=1) < 1e-9)
    found = np.full(len(points), np.nan)
    for corners, uv in zip(at[mine], wall.uv[mine], strict=True):
        grid = np.concatenate([corners.T, np.ones((1, 3))])
        share = np.linalg.solve(grid, np.concatenate([points.T, np.ones((1, len(points)))]))
        inside = (share > 0).all(axis=0)
        found[inside] = looks(plaster, share[:, inside].T @ uv, 0.01)[:, 0]
    return found


def test_a_wall_is_dirtier_under_a_sill_than_beside_it() -> None:
    """Means over half a metre below the sill, and at the same height away from it."""
    wall = wall_panel((0.0, 0.0), (6.0, 0.0), 0.0, 4.0, [_WINDOW], 0.16, "wall")
    rng = np.random.default_rng(3)
    under = np.stack([rng.uniform(2.5, 3.5, 300), rng.uniform(1.1, 1.45, 300)], -1)
    beside = under + np.where(rng.random((300, 1)) < 0.5, [[-2.0, 0.0]], [[2.0, 0.0]])

    assert np.nanmean(_seen(wall, under)) < 0.96 * np.nanmean(_seen(wall, beside))
    inside = np.array([[3.0, 2.0]])
    assert np.isnan(_seen(wall, inside)).all()


def test_no_seam_shows_where_a_part_of_a_wall_ends() -> None:
    """Across the edge of the strip under a sill the wall changes no more than elsewhere."""
    wall = wall_panel((0.0, 0.0), (6.0, 0.0), 0.0, 4.0, [_WINDOW], 0.16, "wall")
    high = np.linspace(0.05, 1.0, 60)
    steps = {
        edge: np.abs(
            _seen(wall, np.stack([np.full(60, edge - 0.002), high], -1))
            - _seen(wall, np.stack([np.full(60, edge + 0.002), high], -1))
        ).mean()
        for edge in (2.34, 1.04)
    }

    assert steps[2.34] < 0.02 + 2 * steps[1.04]

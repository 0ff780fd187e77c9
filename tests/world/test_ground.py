"""The ground's height and its mesh."""

import numpy as np

from render.world.description import Ground, Relief
from render.world.ground import ground_height, ground_mesh, mesh_height


def test_a_profile_runs_along_its_heading_and_is_level_across() -> None:
    """Towards the east from 0 to 10 m up; between the knots it never leaves their range."""
    ground = Ground(profile_deg=90.0, profile_m=((0.0, 0.0), (100.0, 10.0), (120.0, 10.0)))
    x = np.linspace(-50, 200, 60)
    z = ground_height(ground, x, np.full(60, 33.0))

    np.testing.assert_allclose(z, ground_height(ground, x, np.full(60, -70.0)), rtol=1e-12)
    assert (z[0], z[-1]) == (0.0, 10.0)
    assert np.all(np.diff(z) >= 0)


def test_a_hill_stands_where_it_is_put() -> None:
    """Its height at its top, nothing beyond its foot."""
    ground = Ground(hills_m=((5.0, -3.0, 20.0, 8.0),), level_m=1.0)

    z = ground_height(ground, np.array([5.0, 80.0]), np.array([-3.0, 0.0]))
    np.testing.assert_allclose(z, (9.0, 1.0), atol=1e-6)


def test_the_mesh_follows_the_height() -> None:
    """Every corner inside the shaped part; one face reaches to the horizon."""
    ground = Ground(rolling_m=0.8, extent_m=40.0)
    at = ground_mesh(ground).xyz.reshape(-1, 3)
    inside = np.abs(at[:, :2]).max(axis=1) <= 40

    np.testing.assert_allclose(
        at[inside, 2], ground_height(ground, at[inside, 0], at[inside, 1]), atol=1e-9
    )
    assert np.abs(at[:, 0]).max() > 10000
    assert len(ground_mesh(Ground()).xyz) == 2


def test_a_relief_is_its_own_lattice() -> None:
    """At the lattice's points the measured heights; flat triangles between, the edge beyond."""
    heights = np.array([[0.0, 1.0, 4.0], [2.0, 3.0, 5.0], [8.0, 6.0, 7.0]])
    ground = Ground(relief=Relief(heights), extent_m=10.0, level_m=100.0)
    at = np.array([-10.0, 0.0, 10.0])
    x, y = np.meshgrid(at, at, indexing="ij")

    assert np.allclose(ground_height(ground, x, y), 100 + heights)
    assert mesh_height(ground, np.array(-5.0), np.array(-7.5)) == 100 + 1.25  # by hand: 2a + b
    assert mesh_height(ground, np.array(500.0), np.array(0.0)) == 106
    mesh = ground_mesh(ground)
    inside = np.abs(mesh.xyz[..., :2]).max(axis=-1) <= 10
    corners = mesh.xyz[inside]
    assert np.allclose(corners[:, 2], mesh_height(ground, corners[:, 0], corners[:, 1]))

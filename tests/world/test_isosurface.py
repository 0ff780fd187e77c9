"""Surfaces of distance fields: on the zero, closed, facing outward."""

import numpy as np

from render.world.isosurface import graded, isosurface, slope


def _ball(p: np.ndarray) -> np.ndarray:
    return np.linalg.norm(p - [0.1, -0.2, 0.05], axis=1) - 1.0


def test_a_ball_is_met_exactly_with_its_own_normals() -> None:
    """Points lie on the ball and normals point from its middle, on an uneven grid too."""
    fine, coarse = graded([(-1.5, 0.05), (0, 0.2), (1.5, 0.1)]), np.linspace(-1.6, 1.6, 20)
    ball = isosurface(_ball, (fine, coarse, coarse), step=1e-3)

    out = ball.xyz - [0.1, -0.2, 0.05]
    np.testing.assert_allclose(np.linalg.norm(out, axis=1), 1.0, atol=1e-4)
    np.testing.assert_allclose(ball.normal, out, atol=1e-3)


def test_the_surface_is_closed_and_faces_outward() -> None:
    """Every edge belongs to two faces that run along it in opposite ways; the volume is right."""
    grid = np.linspace(-1.6, 1.6, 34)
    ball = isosurface(_ball, (grid, grid, grid), step=1e-3)
    edges = np.concatenate([ball.quads[:, [k, (k + 1) % 4]] for k in range(4)])
    there = {tuple(edge) for edge in edges.tolist()}

    assert len(there) == len(edges)
    assert there == {(b, a) for a, b in there}
    mesh = ball.mesh(ball.xyz[:, :2], "ball")
    p = mesh.xyz
    volume = np.sum(np.cross(p[:, 0], p[:, 1]) * p[:, 2]) / 6
    assert abs(volume / (4 / 3 * np.pi) - 1) < 0.01
    assert mesh.slots == ("ball",)


def test_grid_lines_follow_the_wished_steps() -> None:
    """Ends are kept, and steps grow from mark to mark."""
    lines = graded([(0.0, 1.0), (50.0, 5.0)])
    steps = np.diff(lines)

    assert (lines[0], lines[-1]) == (0.0, 50.0)
    assert np.all(np.diff(steps) > 0)
    assert 0.8 < steps[0] < 1.3
    assert 4.0 < steps[-1] < 5.1


def test_slope_is_the_gradient() -> None:
    """A linear field gives back its own value and slope."""
    p = np.random.default_rng(1).normal(size=(20, 3))
    value, g = slope(lambda q: q @ np.array([1.0, 2.0, -0.5]) + 3.0, p, 0.01)

    np.testing.assert_allclose(value, p @ [1.0, 2.0, -0.5] + 3.0)
    np.testing.assert_allclose(g, np.tile([1.0, 2.0, -0.5], (20, 1)), atol=1e-9)

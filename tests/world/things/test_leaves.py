"""Leaves and flowers."""

import numpy as np

from render.world.things.leaves import bloom, leaves


def test_a_near_leaf_is_a_far_one_with_a_fold() -> None:
    """Both are as long and as wide as asked for; the near one is not flat."""
    at, up = np.zeros((60, 3)), np.tile([0.0, 0.0, 1.0], (60, 1))
    for near in (False, True):
        mesh = leaves(at, up, np.full(60, 0.02), "leaf", np.random.default_rng(1), 1.7, near=near)
        faces = mesh.xyz.reshape(2 if near else 1, 60, -1, 3)
        reach = np.linalg.norm(faces, axis=-1).max()
        assert 0.016 < reach < 0.019
        assert np.isfinite(mesh.normal).all()
    a, b, c = mesh.xyz.swapaxes(0, 1)
    flat = np.cross(b - a, c - a)
    flat /= np.linalg.norm(flat, axis=1, keepdims=True)
    folds = flat.reshape(2, 60, 4, 3)

    assert np.abs(np.sum(folds[0, :, 1] * folds[1, :, 1], axis=-1)).max() < 0.95
    assert np.sum(flat[:, None] * mesh.normal, axis=-1).min() > 0  # lit from the side it shows


def test_a_flower_opens_towards_where_it_faces() -> None:
    """Its petals lie round its middle, of one colour, on the side that it faces."""
    facing = np.array([0.6, 0.0, 0.8])
    mesh = bloom(np.array([1.0, 2.0, 3.0]), facing, 0.03, np.random.default_rng(2))
    out = mesh.xyz.reshape(-1, 3) - [1.0, 2.0, 3.0]

    assert (out @ facing).min() > -1e-9
    assert np.linalg.norm((out - np.outer(out @ facing, facing)).mean(axis=0)) < 0.004
    assert len(np.unique(mesh.uv.reshape(-1, 2), axis=0)) == 1

"""Leaves and flowers."""

import numpy as np

from render.world.things.leaves import bloom, blossoms, leaves, sprays


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


def test_a_twig_is_three_leaves_of_one_tone_about_as_large_as_the_face_it_stands_for() -> None:
    """They fan out: no two point the same way, and together they cover about as much."""
    at, up = np.zeros((80, 3)), np.tile([0.0, 0.0, 1.0], (80, 1))
    size, rng = np.full(80, 0.2), np.random.default_rng(4)
    mesh = sprays(at, up, size, "leaf", rng)
    faces = mesh.xyz.reshape(3, 80, 2, 3, 3)

    one = leaves(at, up, size, "leaf", rng)
    shares = [np.linalg.norm(np.cross(m[..., 1, :] - m[..., 0, :], m[..., 2, :] - m[..., 0, :]),
                             axis=-1).sum() for m in (faces, one.xyz)]  # fmt: skip
    assert 0.8 < shares[0] / shares[1] < 1.5
    along = faces[:, :, 0, 2] - faces[:, :, 0, 0]
    along /= np.linalg.norm(along, axis=-1, keepdims=True)
    assert np.sum(along[0] * along[1], -1).max() < 0.98
    tones = mesh.uv.reshape(3, 80, 6, 2)
    assert (tones == tones[:1, :, :1]).all()
    np.testing.assert_allclose(np.linalg.norm(mesh.normal, axis=-1), 1, atol=1e-6)


def test_a_flower_opens_towards_where_it_faces() -> None:
    """Its petals lie round its middle, of one colour, on the side that it faces."""
    facing = np.array([0.6, 0.0, 0.8])
    mesh = bloom(np.array([1.0, 2.0, 3.0]), facing, 0.03, np.random.default_rng(2))
    out = mesh.xyz.reshape(-1, 3) - [1.0, 2.0, 3.0]

    assert (out @ facing).min() > -1e-9
    assert np.linalg.norm((out - np.outer(out @ facing, facing)).mean(axis=0)) < 0.004
    assert len(np.unique(mesh.uv.reshape(-1, 2), axis=0)) == 1


def test_flowers_in_numbers_are_cups_of_one_tone_that_open_the_way_they_face() -> None:
    """As wide as asked for, each of one tone, its petals on the side it faces, lit from there."""
    facing = np.random.default_rng(6).normal(size=(40, 3))
    facing /= np.linalg.norm(facing, axis=1, keepdims=True)
    mesh = blossoms(np.zeros((40, 3)), facing, 0.05, "flower", np.random.default_rng(7))
    corners = mesh.xyz.reshape(5, 40, 6, 3)
    along = np.einsum("pfck,fk->pfc", corners, facing)

    assert 0.018 < np.linalg.norm(corners, axis=-1).max() < 0.032
    assert along.min() > -1e-9
    normal = mesh.normal.reshape(5, 40, 6, 3)
    assert np.einsum("pfck,fk->pfc", normal, facing).min() > 0.3
    tones = mesh.uv.reshape(5, 40, 6, 2)
    assert (tones == tones[:1, :, :1]).all()

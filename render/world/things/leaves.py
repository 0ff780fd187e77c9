"""Leaves and flowers as faces: lozenges for crowns, folded leaves and petals for what is near."""

from dataclasses import replace

import numpy as np

from render.world.mesh import Mesh, quads

__all__ = ["bloom", "blossoms", "leaves", "sprays"]


def leaves(
    at: np.ndarray,
    normal: np.ndarray,
    size: np.ndarray,
    slot: str,
    rng: np.random.Generator,
    long: float = 1.6,
    near: bool = False,
) -> Mesh:
    """Leaf faces at points: each a lozenge lying loosely square to `normal`.

    Those that are looked at from near have a belly and a fold along the middle.

    Parameters
    ----------
    at, normal : ndarray, shape (n, 3)
    size : ndarray, shape (n,)
        Width, metres; `long` times as long.
    """
    n = len(at)
    normal = normal / np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-9)
    lie = normal + rng.normal(0, 0.55, (n, 3))
    lie /= np.linalg.norm(lie, axis=1, keepdims=True)
    x = np.cross(lie, rng.normal(size=(n, 3)))
    x /= np.maximum(np.linalg.norm(x, axis=1, keepdims=True), 1e-9)
    y = np.cross(lie, x)
    w, tip = 0.45 * size[:, None], 0.5 * long * size[:, None]
    if near:
        return _folded(at, lie, x * w, y * tip, slot, rng)
    corners = np.stack(
        [at - y * tip, at + x * w - y * tip * 0.1, at + y * tip, at - x * w - y * tip * 0.1], 1
    )
    tag = np.repeat(rng.uniform(0.0, 40.0, (n, 1, 2)), 4, axis=1)
    mesh = quads(corners, slot, tag)
    shading = np.repeat(np.repeat(normal, 2, axis=0)[:, None, :], 3, axis=1)
    if len(shading) != len(mesh.xyz):
        return mesh
    return Mesh(mesh.xyz, mesh.uv, shading, mesh.slot, mesh.slots)


def sprays(
    at: np.ndarray, normal: np.ndarray, size: np.ndarray, slot: str, rng: np.random.Generator
) -> Mesh:
    """Twigs at points: three leaves of one tone that fan out where a single one would lie.

    A tree has far fewer leaf faces than leaves; one face as large as a twig reads as a shard.

    Parameters
    ----------
    at, normal : ndarray, shape (n, 3)
    size : ndarray, shape (n,)
        Width of the face that the twig stands for, metres.
    """
    n = len(at)
    normal = normal / np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-9)
    lie = normal + rng.normal(0, 0.45, (n, 3))
    lie /= np.linalg.norm(lie, axis=1, keepdims=True)
    x = np.cross(lie, rng.normal(size=(n, 3)))
    x /= np.maximum(np.linalg.norm(x, axis=1, keepdims=True), 1e-9)
    y, tone = np.cross(lie, x), np.repeat(rng.uniform(0.0, 40.0, (n, 1, 2)), 4, axis=1)
    corners, shading, fan = [], [], rng.uniform(0.75, 1.15, n)
    for turn in (-1.0, 0.0, 1.0):
        a = (turn * fan + rng.normal(0, 0.18, n))[:, None]
        droop = rng.normal(-0.15, 0.3, (n, 1))
        along, side = np.sin(a) * x + np.cos(a) * y + droop * lie, np.cos(a) * x - np.sin(a) * y
        long = (size * rng.uniform(0.75, 1.05, n))[:, None]
        wide = 0.27 * long
        foot = at - 0.35 * size[:, None] * y + 0.06 * size[:, None] * along
        belly = foot + 0.42 * long * along
        corners.append(np.stack([foot, belly + wide * side, foot + long * along,
                                 belly - wide * side], 1))  # fmt: skip
        shading.append(normal + 0.35 * (np.cross(along, -side) - normal))
    mesh = quads(np.concatenate(corners), slot, np.concatenate([tone] * 3))
    lit = np.repeat(np.repeat(np.concatenate(shading), 2, axis=0)[:, None, :], 3, axis=1)
    lit /= np.maximum(np.linalg.norm(lit, axis=-1, keepdims=True), 1e-9)
    return Mesh(mesh.xyz, mesh.uv, lit, mesh.slot, mesh.slots)


def _folded(
    at: np.ndarray,
    lie: np.ndarray,
    wide: np.ndarray,
    long: np.ndarray,
    slot: str,
    rng: np.random.Generator,
) -> Mesh:
    """Leaves rounded to a tip, folded along the middle, bent down at the end, lit as if cupped."""
    tag = rng.uniform(0.0, 40.0, (len(at), 1, 2))
    size = np.linalg.norm(wide, axis=1, keepdims=True)
    across, along = wide / size, long / np.linalg.norm(long, axis=1, keepdims=True)
    up, down = 0.35 * size * lie, -0.5 * size * lie
    base, vein, tip = at - long, at - 0.05 * long - 0.1 * up, at + long + down
    faces, lean = [], []
    for side in (1.0, -1.0):
        shoulder, belly, waist = (
            at + s * long + side * w * wide + up
            for s, w in ((-0.62, 0.66), (-0.12, 1.0), (0.46, 0.70))
        )
        inner, outer = lie - 0.3 * side * across, lie + 0.3 * side * across
        start, end = inner - 0.2 * along, lie + 0.45 * along
        for outline, facing in (
            ([base, shoulder, belly, vein], [start, outer - 0.15 * along, outer, inner]),
            ([vein, belly, waist, tip], [inner, outer, outer + 0.2 * along, end]),
        ):
            turn = 1 if side > 0 else -1
            faces.append(np.stack(outline[::turn], 1))
            lean.append(np.stack(facing[::turn], 1))
    order = (2, 2, len(at), 4, 3)  # half, part, leaf, corner
    corners, normals = (
        np.reshape(x, order).swapaxes(1, 2).reshape(-1, 4, 3) for x in (faces, lean)
    )
    normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    mesh = quads(corners, slot, np.broadcast_to(tag[None, :, None], (2, len(at), 2, 4, 2)))
    shading = normals[:, [[0, 1, 2], [0, 2, 3]]].reshape(-1, 3, 3)
    return replace(mesh, normal=shading) if len(shading) == len(mesh.xyz) else mesh


def bloom(at: np.ndarray, facing: np.ndarray, size: float, rng: np.random.Generator) -> Mesh:
    """One flower: two rings of petals of one colour round its middle, open towards `facing`."""
    facing = facing / np.linalg.norm(facing)
    x = np.cross(facing, rng.normal(size=3))
    x /= np.linalg.norm(x)
    y = np.cross(facing, x)
    size *= float(rng.uniform(0.8, 1.25))
    petals = []
    for count, reach, rise in ((7, 1.0, 0.15), (5, 0.62, 0.45)):
        turn = np.arange(count) * (2 * np.pi / count) + rng.uniform(0, 2 * np.pi)
        out = np.cos(turn)[:, None] * x + np.sin(turn)[:, None] * y
        side = np.cos(turn)[:, None] * y - np.sin(turn)[:, None] * x
        far = at + size * reach * (out + rise * facing)
        half = at + size * reach * (0.55 * out + 0.2 * rise * facing)
        wide = side * size * reach * 1.9 / count
        petals.append(np.stack([np.broadcast_to(at, far.shape), half - wide, far, half + wide], 1))
    corners = np.concatenate(petals)
    tag = np.broadcast_to(rng.uniform(0.0, 40.0, 2), (len(corners), 4, 2))
    return quads(corners, "flower", tag)


def blossoms(
    at: np.ndarray, facing: np.ndarray, size: float, slot: str, rng: np.random.Generator
) -> Mesh:
    """Flowers in numbers: five petals each, of one tone, in a shallow cup open towards `facing`.

    Parameters
    ----------
    at, facing : ndarray, shape (n, 3)
    size : float
        Width of a flower, metres.
    """
    n = len(at)
    facing = facing / np.maximum(np.linalg.norm(facing, axis=1, keepdims=True), 1e-9)
    x = np.cross(facing, rng.normal(size=(n, 3)))
    x /= np.maximum(np.linalg.norm(x, axis=1, keepdims=True), 1e-9)
    y = np.cross(facing, x)
    reach = 0.5 * size * rng.uniform(0.75, 1.15, (n, 1))
    petals = []
    for turn in np.arange(5) * (2 * np.pi / 5):
        out, side = np.cos(turn) * x + np.sin(turn) * y, np.cos(turn) * y - np.sin(turn) * x
        belly, tip = at + reach * (0.6 * out + 0.2 * facing), at + reach * (out + 0.3 * facing)
        wide = 0.42 * reach * side
        petals.append(np.stack([at, belly + wide, tip, belly - wide], 1)[:, ::-1])
    tone = np.repeat(rng.uniform(0.0, 40.0, (n, 1, 2)), 4, axis=1)
    return quads(np.concatenate(petals), slot, np.concatenate([tone] * 5))

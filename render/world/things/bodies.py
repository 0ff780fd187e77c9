"""Dressed bodies for people who stand near: cloth with folds, hands with fingers, shoes.

Metres in the frame of a figure 1.75 m tall, facing -y, feet on the ground.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from render.world.isosurface import graded, isosurface
from render.world.mesh import Mesh, join
from render.world.things.fields import ball, carved, egg, limb, melted, path

__all__ = ["Pose", "body_mesh", "cloth"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """Where the joints are, metres; pairs are left (+x) and right.

    Attributes
    ----------
    hip_m : float
        Height of the hip joints.
    chest, head : ndarray, shape (3,)
        Middle of the chest between the shoulders, 5 cm below them; between the ears.
    knees, ankles, shoulders, elbows, hands : ndarray, shape (2, 3)
    """

    hip_m: float
    chest: Floats
    head: Floats
    knees: Floats
    ankles: Floats
    shoulders: Floats
    elbows: Floats
    hands: Floats

    def hips(self) -> Floats:
        """The hip joints, shape (2, 3)."""
        return np.array([[s * 0.09, 0.0, self.hip_m] for s in (1, -1)])


def body_mesh(pose: Pose, skirt: bool, rng: np.random.Generator) -> Mesh:
    """Everything below the head: slots top, bottom, shoe, belt, skin."""
    turn = rng.uniform(0, 6.28, 6)
    parts = [
        _surface(lambda p: _top(p, pose, turn), _around(pose, "top"), 0.015, "top"),
        _surface(lambda p: _bottom(p, pose, skirt, turn), _around(pose, "bottom"), 0.016, "bottom"),
        _surface(lambda p: _belt(p, pose), _box(np.array([0, 0, pose.hip_m]), 0.25), 0.007, "bag"),
        _neckband(pose),
    ]
    for k in range(2):
        foot, hand = pose.ankles[k] + [0, -0.07, -0.03], pose.hands[k]
        parts.append(_surface(partial(_shoe, pose=pose, k=k), _box(foot, 0.19), 0.011, "shoe"))
        mesh = _surface(partial(_hand, pose=pose, k=k), _box(hand, 0.16), 0.0065, "skin")
        # far from the face's own coordinates, so that no lips grow on a palm
        parts.append(Mesh(mesh.xyz, mesh.uv + [1.0, 0.0], mesh.normal, mesh.slot, mesh.slots))
    return join(parts)


def _neckband(pose: Pose) -> Mesh:
    """The rolled edge where the top meets the neck."""
    turn, around = np.linspace(0, 2 * np.pi, 57), np.linspace(0, 2 * np.pi, 11)
    middle = np.stack([0.065 * np.sin(turn), 0.019 - 0.065 * np.cos(turn), 0 * turn], -1)
    middle[:, 2] = -0.174 + 0.40 * middle[:, 1]
    out = np.stack([np.sin(turn), -np.cos(turn), 0.4 * -np.cos(turn)], -1)
    ring = 0.0085 * np.cos(around)[None, :, None] * out[:, None]
    ring = ring + 0.013 * np.sin(around)[None, :, None] * np.array([0.0, -0.25, 1.0])
    grid = pose.head + middle[:, None] + ring
    uv = np.stack(np.broadcast_arrays(0.065 * turn[:, None], 0.012 * around[None]), -1)
    return cloth(grid, uv, "top")


def _surface(
    field: Callable[[Floats], Floats], box: tuple[Floats, Floats], step: float, slot: str
) -> Mesh:
    axes = [graded([(low, step), (high, step)]) for low, high in zip(*box, strict=True)]
    surface = isosurface(lambda p: field(p.T.astype(np.float32)), axes, step=0.3 * step)
    p = surface.xyz
    uv = np.stack([0.13 * np.arctan2(p[:, 0], 0.4 - p[:, 1]), p[:, 2]], -1)
    return surface.mesh(uv, slot)


def _box(at: Floats, half: float) -> tuple[Floats, Floats]:
    return at - half, at + half


def _around(pose: Pose, what: str) -> tuple[Floats, Floats]:
    if what == "top":
        points = np.concatenate([pose.shoulders, pose.elbows, pose.hands, pose.chest[None]])
        points = np.concatenate([points, [[0, 0, pose.hip_m]]])
    else:
        points = np.concatenate([pose.hips(), pose.knees, pose.ankles])
    return points.min(axis=0) - 0.20, points.max(axis=0) + 0.20


def _wavy(q: Floats, turn: Floats) -> Floats:
    """Folds that run across, -1 to 1."""
    x, y, z = q
    bent = 2.2 * np.sin(9 * x + turn[0]) + 1.7 * np.sin(11 * y + turn[1])
    return np.asarray(np.sin(95 * z + bent + turn[2]) * np.sin(31 * z + 14 * x + turn[3]))


def _top(q: Floats, pose: Pose, turn: Floats) -> Floats:
    chest, hip = pose.chest, pose.hip_m
    flat = np.stack([0.66 * q[0], q[1], q[2]])
    breast = chest + [0, 0.014, -0.03]
    spine = path(
        flat,
        np.array([[0, 0.012, hip], [0, 0.004, hip + 0.12], breast - [0, 0, 0.09], breast]),
        (0.104, 0.101, 0.118, 0.105),
    )
    ridge = chest + [0, 0.02, 0.05]
    up = pose.head + [0, 0.042, -0.176]
    d = melted(spine, limb(q, up + [0.016, 0, 0], ridge + [0.16, 0.0, 0], 0.040, 0.050), 0.05)
    d = melted(d, limb(q, up - [0.016, 0, 0], ridge - [0.16, 0.0, 0], 0.040, 0.050), 0.05)
    collar = 0.5 * (chest + pose.head) + [0, 0.024, -0.072]
    d = melted(d, egg(q, collar, (0.075, 0.076, 0.05)), 0.06)
    for k in (1, -1):  # shoulder blades: without them the arms hang on like balls
        blade = chest + [0.118 * k, 0.045, -0.03]
        d = melted(d, egg(q, blade, (0.085, 0.060, 0.125)), 0.07)
    folds = _wavy(q, turn)
    for k in range(2):
        s, e, h = pose.shoulders[k], pose.elbows[k], pose.hands[k]
        end = e + 0.93 * (h - e)
        arm = path(q, [s + [0, 0.012, -0.01], e, end], (0.054, 0.050, 0.040))
        crook = np.exp(-((ball(q, e, 0.0) / 0.09) ** 2))
        arm = arm - 0.0045 * folds * crook
        arm = melted(arm, limb(q, e + 0.89 * (h - e), end, 0.0415), 0.004)
        d = melted(d, arm, 0.05)
    waist = np.exp(-(((q[2] - hip - 0.06) / 0.10) ** 2))
    d = (
        d
        - 0.004 * folds * waist
        - 0.002 * np.sin(30 * q[0] + turn[4]) * np.sin(22 * q[2] + turn[5])
    )
    d = carved(d, np.asarray(q[2] - hip - 0.05), 0.012)
    neck = np.hypot(q[0], q[1] - pose.head[1] - 0.019)
    line = pose.head[2] - 0.166 + 0.40 * (q[1] - pose.head[1] - 0.020)
    return carved(d, np.maximum(neck - 0.060, line - 0.014 - q[2]), 0.006)


def _bottom(q: Floats, pose: Pose, skirt: bool, turn: Floats) -> Floats:
    hip = pose.hip_m
    d = egg(q, (0, 0.012, hip + 0.0), (0.168, 0.122, 0.15))
    folds = _wavy(q, turn[::-1])
    for k in range(2):
        a, b, c = pose.hips()[k], pose.knees[k], pose.ankles[k]
        hem = c + [0, 0.008, 0.005]
        leg = path(q, [a, b, hem], (0.092, 0.068, 0.056))
        near_knee = np.exp(-((ball(q, b, 0.0) / 0.10) ** 2))
        near_hem = np.exp(-((ball(q, hem, 0.0) / 0.09) ** 2))
        leg = leg - folds * (0.004 * near_knee + 0.005 * near_hem)
        leg = carved(leg, np.asarray(q[2] - hem[2] + 0.035), 0.006)
        d = melted(d, leg, 0.03)
    if skirt:
        x, y, z = q
        along = np.clip((hip + 0.10 - z) / 0.55, 0, 1)
        pleat = 0.012 * along * np.sin(11 * np.arctan2(x, -y) + turn[0])
        cone = np.hypot(x, 1.15 * y) - (0.145 + 0.10 * along) - pleat
        cone = np.maximum(cone, np.abs(z - hip + 0.18) - 0.28) * 0.8
        d = np.minimum(d, cone)
    return carved(d, np.asarray(hip + 0.095 - q[2]), 0.01)


def _belt(q: Floats, pose: Pose) -> Floats:
    """A belt round the waist with its buckle in front."""
    z = q[2] - pose.hip_m - 0.074
    level = np.stack([q[0], q[1], q[2] - 0.6 * z])
    round_it = egg(level, (0, 0.012, pose.hip_m), (0.168, 0.122, 0.15))
    band = np.maximum(round_it - 0.007, np.abs(z) - 0.017)
    buckle = np.maximum(np.abs(q[0]) - 0.022, np.abs(z) - 0.021)
    buckle = np.maximum(np.maximum(buckle, round_it - 0.012), q[1])
    return np.asarray(np.minimum(band, buckle))


def _shoe(q: Floats, pose: Pose, k: int) -> Floats:
    a = pose.ankles[k]
    ground, out = a[2] - 0.07, (0.024, -0.024)[k]
    low = ground + 0.036
    d = path(
        q,
        [
            (a[0], a[1] + 0.028, low),
            (a[0] + out, a[1] - 0.10, low - 0.004),
            (a[0] + 1.3 * out, a[1] - 0.165, low - 0.010),
        ],
        (0.038, 0.044, 0.033),
    )
    d = melted(d, limb(q, (a[0], a[1] + 0.012, low), a + [0, 0.012, 0.02], 0.040, 0.042), 0.02)
    sole = np.maximum(d - 0.004, q[2] - ground - 0.022)
    d = np.minimum(d, sole)
    step = np.maximum(np.abs(q[1] - a[1] + 0.018) - 0.018, q[2] - ground - 0.012)  # before the heel
    return carved(carved(d, step, 0.002), np.asarray(q[2] - ground), 0.002)


def _hand(q: Floats, pose: Pose, k: int) -> Floats:
    """A relaxed hand along the forearm, thumb forward."""
    e, h, side = pose.elbows[k], pose.hands[k], (1.0, -1.0)[k]
    along = (h - e) / np.linalg.norm(h - e)
    back = np.array([side, 0.0, 0.0]) if abs(along[2]) > 0.6 else np.array([0.0, 0.0, 1.0])
    back = back - (back @ along) * along
    back /= np.linalg.norm(back)
    across = np.cross(along, back) * side
    frame = np.stack([across, -back, along])  # u towards the thumb, v to the palm, w to the tips
    if across[1] > 0.3 or (abs(across[1]) <= 0.3 and across[0] * side > 0):
        frame[0] *= -1
    p = (frame @ (q - h[:, None]).astype(float)).astype(np.float32)
    d = limb(p, (0, 0, -0.07), (0, 0, 0.0), 0.026, 0.024)
    d = melted(d, egg(p, (0, 0.002, 0.050), (0.040, 0.016, 0.050)), 0.02)
    for i, (reach, curl) in enumerate(
        ((0.066, 0.018), (0.074, 0.022), (0.069, 0.026), (0.053, 0.028))
    ):
        u = 0.030 - 0.0195 * i
        joint, tip = (u * 1.02, 0.010, 0.085 + 0.55 * reach), (u, 0.010 + curl, 0.080 + reach)
        d = melted(d, path(p, [(u, 0.002, 0.080), joint, tip], (0.0100, 0.0090, 0.0075)), 0.006)
    thumb = path(
        p,
        [(0.026, 0.006, 0.022), (0.048, 0.014, 0.055), (0.047, 0.022, 0.082)],
        (0.014, 0.011, 0.009),
    )
    return melted(d, thumb, 0.012)


def cloth(grid: Floats, uv: Floats, slot: str) -> Mesh:
    """A sheet through a grid of points (n, m, 3) with uv (n, m, 2) and smooth normals."""
    normal = np.cross(np.gradient(grid, axis=0), np.gradient(grid, axis=1))
    normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-12)

    def corners(field: Floats) -> Floats:
        q = np.stack([field[:-1, :-1], field[1:, :-1], field[1:, 1:], field[:-1, 1:]], axis=2)
        return np.asarray(q[:, :, [0, 1, 2, 0, 2, 3]].reshape(-1, 3, field.shape[-1]))

    xyz = corners(grid)
    return Mesh(xyz, corners(uv), corners(normal), np.zeros(len(xyz), np.int32), (slot,))

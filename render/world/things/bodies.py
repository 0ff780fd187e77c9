"""Dressed bodies for people who stand near: cloth with folds, hands with fingers, shoes.

Metres in the frame of a figure 1.75 m tall, facing -y, feet on the ground.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from render.world.isosurface import graded, isosurface
from render.world.mesh import Mesh, cylinder, join, moved
from render.world.things.fields import Fold, carved, creased, curve, egg, limb, melted, path
from render.world.things.worn.cloth import cloth, laid_on, on_front
from render.world.things.worn.collars import collar_mesh, shirt_front

__all__ = ["Pose", "body_mesh"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """Where the joints are, metres; pairs are left (+x) and right.

    Attributes
    ----------
    hip_m : float
        Height of the hip joints.
    chest, head : ndarray, shape (3,)
        Middle of the chest between the shoulders, 3 cm below them; between the ears.
    knees, ankles, shoulders, elbows, hands : ndarray, shape (2, 3)
    head_size : float
        How many times as large a head as a grown-up of that height has.
    """

    hip_m: float
    chest: Floats
    head: Floats
    knees: Floats
    ankles: Floats
    shoulders: Floats
    elbows: Floats
    hands: Floats
    head_size: float = 1.0

    def hips(self) -> Floats:
        """The hip joints, shape (2, 3)."""
        return np.array([[s * 0.09, 0.0, self.hip_m] for s in (1, -1)])


def body_mesh(pose: Pose, skirt: bool, rng: np.random.Generator, apron: bool = False) -> Mesh:
    """Everything below the head: slots top, shirt, bottom, shoe, bag, skin, bib."""
    turn = rng.uniform(0, 6.28, 6)
    over, under = _folds_of_top(pose, turn), _folds_of_bottom(pose, turn)
    top, bottom = (
        partial(_top, pose=pose, turn=turn, folds=over),
        partial(_bottom, pose=pose, skirt=skirt, turn=turn, folds=under),
    )
    parts = [
        _surface(top, _around(pose, "top"), 0.0115, "top"),
        _surface(bottom, _around(pose, "bottom"), 0.0125, "bottom"),
        _surface(lambda p: _belt(p, pose), _box(np.array([0, 0, pose.hip_m]), 0.25), 0.007, "bag"),
    ]
    parts += _worn_open(top, pose, rng.spawn(1)[0])
    if apron:
        box = _around(pose, "bottom")[0] + [0, -0.05, 0.3], pose.chest + [0.3, 0.22, 0.14]
        parts.append(_surface(lambda p: _apron(p, pose, turn, top, bottom), box, 0.010, "bib"))
    for k in range(2):
        foot, hand = pose.ankles[k] + [0, -0.07, -0.03], pose.hands[k]
        parts.append(_surface(partial(_shoe, pose=pose, k=k), _box(foot, 0.19), 0.011, "shoe"))
        mesh = _surface(partial(_hand, pose=pose, k=k), _box(hand, 0.16), 0.0065, "skin")
        # far from the face's own coordinates, so that no lips grow on a palm
        parts.append(Mesh(mesh.xyz, mesh.uv + [1.0, 0.0], mesh.normal, mesh.slot, mesh.slots))
    return join(parts)


def _worn_open(top: Callable[[Floats], Floats], pose: Pose, rng: np.random.Generator) -> list[Mesh]:
    """What shows at the neck: a jumper's rib, with a shirt's collar over it or not, or a shirt."""
    pick = rng.random()
    if pick < 0.28:
        return [_neckband(pose)]
    at = _collar_at(pose).tolist()
    if pick < 0.58:
        return [_neckband(pose), moved(join([collar_mesh("shirt", 9), shirt_front()]), at)]
    # a shirt: its collar, the band down its front with buttons, a pocket on the breast
    up, low = float(pose.chest[2]) + 0.085, pose.hip_m + 0.07
    parts = [moved(collar_mesh("top", 9), at), laid_on(top, (-0.018, 0.018), (low, up))]
    parts.append(laid_on(top, (0.055, 0.155), (pose.chest[2] - 0.135, pose.chest[2] - 0.01)))
    ahead = np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])
    for z in np.arange(low + 0.06, up, 0.095):
        spot = on_front(top, np.array([[0.0, 0.0, z]]))[0] - [0, 0.006, 0]
        button = cylinder(0.0055, 0.003, "shirt", sides=10)
        parts.append(moved(button, spot.tolist(), matrix=ahead))
    return parts


def _neckband(pose: Pose) -> Mesh:
    """The rolled edge where the top meets the neck."""
    turn, around = np.linspace(0, 2 * np.pi, 113), np.linspace(0, 2 * np.pi, 11)
    middle = np.stack([0.0595 * np.sin(turn), 0.026 - 0.0570 * np.cos(turn), 0 * turn], -1)
    middle[:, 2] = -0.174 + 0.40 * middle[:, 1]
    out = np.stack([np.sin(turn), -np.cos(turn), 0.4 * -np.cos(turn)], -1)
    rib = 1 + 0.16 * np.where(np.arange(113) % 2, -1.0, 1.0)
    ring = 0.0052 * rib[:, None, None] * np.cos(around)[None, :, None] * out[:, None]
    ring = ring + 0.0115 * np.sin(around)[None, :, None] * np.array([0.0, -0.25, 1.0])
    grid = _collar_at(pose) + middle[:, None] + ring
    uv = np.stack(np.broadcast_arrays(0.065 * turn[:, None], 0.012 * around[None]), -1)
    return cloth(grid, uv, "top")


def _surface(
    field: Callable[[Floats], Floats], box: tuple[Floats, Floats], step: float, slot: str
) -> Mesh:
    axes = [graded([(low, step), (high, step)]) for low, high in zip(*box, strict=True)]
    surface = isosurface(lambda p: field(p.T.astype(np.float32)), axes, step=0.3 * step)
    p = surface.xyz
    round_m = 0.20 * np.arctan2(p[:, 0], 0.3 - p[:, 1])
    uv = np.stack([round_m + 0.3 * p[:, 1], p[:, 2] - 0.35 * p[:, 1]], -1)
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


def _at_a_bend(
    a: Floats, b: Floats, c: Floats, round_m: float, high: float, turn: Floats
) -> list[Fold]:
    """Folds of a sleeve or a leg that bends at b: inside the bend, and slack before and behind."""
    up, down = (a - b) / np.linalg.norm(a - b), (c - b) / np.linalg.norm(c - b)
    inside = up + down
    bent = float(np.linalg.norm(inside))
    inside = inside / bent if bent > 0.08 else np.array([0.0, 1.0, 0.0])
    along = (down - up) / np.linalg.norm(down - up)
    inside = inside - (inside @ along) * along
    inside /= np.linalg.norm(inside)
    across = np.cross(along, inside)
    high *= 0.75 + 0.5 * min(bent, 1.0)
    folds = []
    for k in range(-3, 4):
        lean = 0.5 * np.sin(turn[abs(k) % 6] + 2.4 * k)
        middle = b + (0.034 * k + 0.006 * np.sin(turn[(k + 3) % 6])) * (down if k > 0 else -up)
        ways = across + lean * along, -across + (0.35 - lean) * along
        ends = [middle + round_m * (0.85 * w + (0.55 - 0.12 * abs(k)) * inside) for w in ways]
        size = high * (1 - 0.16 * abs(k)) * (1 + 0.25 * np.sin(turn[1] + 5.0 * k))
        folds.append((ends[0], ends[1], size, 0.018 + 0.002 * abs(k)))
    return folds


def _slack(
    a: Floats, b: Floats, shares: Sequence[float], round_m: float, high: float, turn: Floats
) -> list[Fold]:
    """Folds that wind about a sleeve or a leg from a to b, at shares of the way."""
    along = (b - a) / np.linalg.norm(b - a)
    side = np.cross(along, [0.0, 1.0, 0.0])
    side /= np.linalg.norm(side)
    front = np.cross(side, along)
    folds = []
    for k, share in enumerate(shares):
        at, angle = a + share * (b - a), turn[k % 6] + 2.1 * k
        out = [np.cos(angle + w) * side + np.sin(angle + w) * front for w in (-0.75, 0.75)]
        rise = 0.022 * np.sin(turn[(k + 2) % 6] + k)
        folds.append((at + round_m * out[0] + rise * along, at + round_m * out[1] - rise * along,
                      high, 0.019))  # fmt: skip
    return folds


def _collar_at(pose: Pose) -> Floats:
    """Between the ears of a grown-up's head: what the neck's opening is measured from."""
    return np.array([0.0, pose.head[1], pose.chest[2] + 0.276])


def _folds_of_top(pose: Pose, turn: Floats) -> list[Fold]:
    folds: list[Fold] = []
    chest, hip = pose.chest, pose.hip_m
    for k in range(2):
        side = (1.0, -1.0)[k]
        s, e, h = pose.shoulders[k], pose.elbows[k], pose.hands[k]
        folds += _at_a_bend(s, e, h, 0.046, 0.0115, np.roll(turn, k))
        folds += _slack(s, e, (0.3, 0.46, 0.64, 0.8), 0.047, 0.0085, np.roll(turn, 2 + k))
        folds += _slack(e, h, (0.34, 0.5, 0.64, 0.74, 0.84), 0.041, 0.0078, np.roll(turn, 4 + k))
        pit = chest + [0.135 * side, -0.055, -0.075]
        for n in range(4):  # fans from the armpit, before and behind
            drop = 0.05 - 0.062 * n + 0.04 * np.sin(turn[(n + 2 * k) % 6])
            a = pit - [0.006 * n * side, 0.004 * n, 0.034 * n]
            # no two alike: in step on both sides they are ribs
            own = np.sin(1.7 * turn[(n + 3 * k) % 6] + 2.3 * n) ** 2
            folds.append((a, np.array([(0.085 - 0.06 * own) * side, chest[1] - 0.095, a[2] + drop]),
                          (0.0098 - 0.0009 * n) * (0.25 + 0.75 * own), 0.021))  # fmt: skip
            back = a * [1, 0, 1] + [0, chest[1] + 0.085, -0.01]
            folds.append((back, np.array([0.03 * side, chest[1] + 0.12, a[2] + 0.7 * drop]),
                          0.009, 0.021))  # fmt: skip
    for n in range(7):  # what hangs over the belt
        angle = 0.9 * n + 0.5 * np.sin(turn[n % 6])
        x, y = 0.158 * np.sin(angle), 0.014 - 0.112 * np.cos(angle)
        z = hip + 0.075 + 0.014 * (n % 3)
        lean = 0.05 * np.sin(turn[(n + 1) % 6] + n)
        more = angle + 0.55
        folds.append((np.array([x, y, z]),
                      np.array([0.158 * np.sin(more), 0.014 - 0.112 * np.cos(more), z + lean]),
                      0.0090, 0.020))  # fmt: skip
    return folds


def _top(q: Floats, pose: Pose, turn: Floats, folds: Sequence[Fold]) -> Floats:
    chest, hip = pose.chest, pose.hip_m
    flat = np.stack([0.66 * q[0], q[1], q[2]])
    breast = chest + [0, 0.014, -0.03]
    spine = curve(
        flat,
        np.array([[0, 0.012, hip], [0, 0.004, hip + 0.12], breast - [0, 0, 0.09], breast]),
        (0.106, 0.102, 0.111, 0.108),
    )
    ridge = chest + [0, 0.02, 0.022]
    head = _collar_at(pose)
    up = head + [0, 0.042, -0.168]
    d = melted(spine, limb(q, up + [0.016, 0, 0], ridge + [0.15, 0.0, 0], 0.044, 0.046), 0.05)
    d = melted(d, limb(q, up - [0.016, 0, 0], ridge - [0.15, 0.0, 0], 0.044, 0.046), 0.05)
    collar = 0.5 * (chest + head) + [0, 0.024, -0.072]
    d = melted(d, egg(q, collar, (0.075, 0.076, 0.05)), 0.06)
    for k in (1, -1):  # shoulder blades: without them the arms hang on like balls
        blade = chest + [0.112 * k, 0.045, -0.045]
        d = melted(d, egg(q, blade, (0.083, 0.060, 0.120)), 0.07)
    d = carved(d, np.asarray(q[2] - hip - 0.05), 0.012)  # before the arms: they hang lower
    for k in range(2):
        s, e, h = pose.shoulders[k], pose.elbows[k], pose.hands[k]
        end = e + 0.93 * (h - e)
        start = s + [0, 0.010, -0.006]
        bent = np.linalg.norm((s - e) / np.linalg.norm(s - e) + (h - e) / np.linalg.norm(h - e))
        out = -(s - e) / np.linalg.norm(s - e) - (h - e) / np.linalg.norm(h - e)
        tip = e + 0.012 * out / max(float(bent), 0.3)
        joints = [start, start + 0.45 * (e - start), e, e + 0.3 * (h - e), end]
        arm = path(q, joints, (0.053, 0.049, 0.041, 0.043, 0.035))
        arm = melted(arm, limb(q, tip, tip, 0.034), 0.02)
        arm = melted(arm, limb(q, e + 0.85 * (h - e), end, 0.0395, 0.0375), 0.004)
        d = melted(d, arm, 0.045)
    d = creased(d, q, folds, 0.04)
    d = d - 0.0015 * np.sin(30 * q[0] + turn[4]) * np.sin(22 * q[2] + turn[5])
    neck = np.hypot(q[0], q[1] - head[1] - 0.025)
    line = head[2] - 0.166 + 0.40 * (q[1] - head[1] - 0.020)
    return carved(d, np.maximum(neck - 0.0550, line - 0.014 - q[2]), 0.006)


def _folds_of_bottom(pose: Pose, turn: Floats) -> list[Fold]:
    folds: list[Fold] = []
    hip = pose.hip_m
    for k in range(2):
        side = (1.0, -1.0)[k]
        a, b, c = pose.hips()[k], pose.knees[k], pose.ankles[k]
        folds += _at_a_bend(a, b, c, 0.066, 0.012, np.roll(turn, 3 + k))
        folds += _slack(a, b, (0.3, 0.48, 0.66, 0.82), 0.078, 0.0095, np.roll(turn, 1 + k))
        folds += _slack(
            b, c, (0.24, 0.42, 0.58, 0.72, 0.84, 0.93), 0.058, 0.0115, np.roll(turn, 5 - k)
        )
        for n in range(4):  # rays from the crotch, and under the seat
            z = hip - 0.055 - 0.012 * n
            rise = 0.075 - 0.052 * n
            folds.append((np.array([0.018 * side, -0.088, z]),
                          np.array([0.145 * side, -0.070, z + rise]), 0.0085, 0.016))  # fmt: skip
            folds.append((np.array([0.02 * side, 0.095, z - 0.03]),
                          np.array([0.14 * side, 0.085, z + 0.4 * rise - 0.02]),
                          0.0075, 0.018))  # fmt: skip
    return folds


def _bottom(q: Floats, pose: Pose, skirt: bool, turn: Floats, folds: Sequence[Fold]) -> Floats:
    hip = pose.hip_m
    d = egg(q, (0, 0.012, hip + 0.02), (0.166, 0.118, 0.15))
    for k in range(2):
        a, b, c = pose.hips()[k], pose.knees[k], pose.ankles[k]
        hem = c + [0, 0.008, 0.005]
        calf = b + 0.3 * (hem - b) + [0, 0.010, 0]
        leg = path(q, [a, b, calf, hem], (0.090, 0.066, 0.066, 0.058))
        leg = carved(leg, np.asarray(q[2] - hem[2] + 0.035), 0.006)
        d = melted(d, leg, 0.035)
    d = creased(d, q, folds, 0.04)
    if skirt:
        x, y, z = q
        along = np.clip((hip + 0.10 - z) / 0.55, 0, 1)
        pleat = 0.012 * along * np.sin(11 * np.arctan2(x, -y) + turn[0])
        cone = np.hypot(x, 1.15 * y) - (0.145 + 0.10 * along) - pleat
        cone = np.maximum(cone, np.abs(z - hip + 0.18) - 0.28) * 0.8
        d = np.minimum(d, cone)
    return carved(d, np.asarray(hip + 0.095 - q[2]), 0.01)


def _apron(
    q: Floats,
    pose: Pose,
    turn: Floats,
    top: Callable[[Floats], Floats],
    bottom: Callable[[Floats], Floats],
) -> Floats:
    """A bib and a skirt before the body, straps over the shoulders, tied at the waist."""
    x, y, z = q
    hip, bib = pose.hip_m, float(pose.chest[2]) - 0.04
    lean = y - np.interp(z, [hip, pose.chest[2]], [0.01, pose.chest[1]])
    # drawn in at the waist by its strings, from where it falls in pleats
    wide = np.interp(z, [hip - 0.42, hip - 0.04, hip + 0.105], [1.05, 1.0, 0.86])
    fall = np.clip((hip + 0.09 - z) / 0.30, 0, 1)
    pleat = 0.010 * fall * np.sin(31 * x + 2.0 * np.sin(4.1 * x + 2.2 * z + turn[2]) + turn[0])
    pleat = pleat + 0.005 * fall * np.sin(67 * x - 9 * z + turn[1])
    level = np.stack([x / wide, 0.012 + (y - 0.012) / wide, np.full_like(z, hip)])
    hung = 0.8 * egg(level, (0, 0.012, hip), (0.185, 0.150, 0.15)) - pleat
    hung = np.maximum(hung, z - hip - 0.12)
    bare = melted(top(q), bottom(q), 0.05)
    body = np.minimum(bare - 0.007, melted(hung, bare, 0.03))
    sewn_on = np.maximum(np.abs(x) - 0.095, np.abs(z - hip + 0.115) - 0.075)  # a pocket
    body = body - 0.0035 * np.clip(-sewn_on / 0.006, 0, 1) * (y < 0)
    sack = np.maximum(np.abs(x - 0.03) - 0.045, np.abs(z - bib + 0.12) - 0.05)
    body = body - 0.003 * np.clip(-sack / 0.006, 0, 1) * (y < 0)
    half = np.interp(z, [hip - 0.42, hip, hip + 0.10, bib], [0.215, 0.19, 0.165, 0.115])
    front = np.maximum(np.abs(x) - half, lean + 0.012)
    front = np.maximum(front, np.maximum(z - bib, hip - 0.42 - z))
    strap = np.maximum(
        np.abs(np.abs(x) - 0.088) - 0.015, np.where(lean < 0, bib - 0.03 - z, hip + 0.09 - z)
    )
    tie = np.abs(z - hip - 0.105) - 0.011
    sheet = np.maximum(body, np.minimum(front, strap))
    return np.asarray(np.minimum(sheet, np.maximum(bare - 0.006, tie)))


def _belt(q: Floats, pose: Pose) -> Floats:
    """A belt round the waist with its buckle in front."""
    z = q[2] - pose.hip_m - 0.074
    level = np.stack([q[0], q[1], q[2] - 0.6 * z])
    round_it = egg(level, (0, 0.012, pose.hip_m + 0.02), (0.166, 0.118, 0.15))
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

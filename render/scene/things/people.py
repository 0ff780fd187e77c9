"""People at the size of a street: standing, walking, sitting; every copy dressed anew."""

import math

import numpy as np

from render.scene.mesh import Mesh, box, ellipsoid, join, lathe, moved, tube
from render.scene.things.kind import Values, kind, number, pick, yes

__all__ = ["figure"]

_STUFF = {
    "skin": "skin",
    "hair": "hair",
    "top": "cloth",
    "bottom": "dark cloth",
    "shoe": "leather",
    "bag": "leather",
}


@kind(
    "person",
    "A person, facing -y before turning.",
    variants=6,
    stuff=_STUFF,
    height_m=number(1.72, "height", 0.4, 2.6),
    pose=pick("any", "how they hold themselves", "any", "stand", "walk", "sit", "work", "wave"),
    skirt=yes(False, "a skirt or a long coat"),
    bag=yes(False, "a bag"),
)
def _person(v: Values, rng: np.random.Generator) -> Mesh:
    pose = v.pose
    if pose == "any":
        pose = str(rng.choice(["stand", "walk", "walk", "stand"]))
    skirt = v.skirt or bool(rng.random() < 0.3 and pose != "sit")
    mesh = figure(pose, skirt, v.bag or bool(rng.random() < 0.25), rng)
    return moved(mesh, size=v.height_m / 1.75)


def figure(pose: str, skirt: bool, bag: bool, rng: np.random.Generator) -> Mesh:
    """A figure 1.75 m tall, facing -y, feet on the ground."""
    hip = 0.92 if pose != "sit" else 0.50
    swing = {"walk": 0.42, "stand": 0.05, "wave": 0.07, "work": 0.1}.get(pose, 0.0)
    parts: list[Mesh] = []
    for side in (1, -1):
        parts += _leg(side, hip, swing * side, pose == "sit")
    lean = 0.03 if pose == "walk" else (0.10 if pose == "work" else 0.0)
    chest = np.array([0.0, -lean, hip + 0.44])
    parts.append(_torso(hip, chest))
    if skirt:
        cone = lathe([(0.24, -0.52), (0.19, -0.2), (0.155, 0.10)], "top", 20, smooth=True)
        parts.append(moved(cone, (0, 0, hip), size=(1.0, 0.82, 1.0)))
    for side in (1, -1):
        parts += _arm(side, chest, -swing * side, pose, rng)
    parts += _head(chest, pose, rng)
    if bag:
        parts.append(box((0.30, 0.13, 0.26), "bag", (0.30, 0.02, hip - 0.22)))
        parts.append(tube((0.30, 0.02, hip + 0.02), (0.18, 0.0, hip + 0.5), 0.012, "bag", sides=5))
    return join(parts)


def _limb(points: list[np.ndarray], radii: list[float], slot: str) -> list[Mesh]:
    parts = [
        tube(a, b, r, slot, s, 10)
        for a, b, r, s in zip(points[:-1], points[1:], radii[:-1], radii[1:], strict=True)
    ]
    parts += [
        ellipsoid((r, r, r), slot, p.tolist(), 10, 6)
        for p, r in zip(points[1:-1], radii[1:-1], strict=True)
    ]
    return parts


def _leg(side: int, hip: float, swing: float, sits: bool) -> list[Mesh]:
    x = 0.095 * side
    start = np.array([x, 0.0, hip])
    if sits:
        knee, ankle = np.array([x * 1.2, -0.44, hip + 0.02]), np.array([x * 1.2, -0.46, 0.09])
    else:
        knee = np.array([x * 1.02, -0.43 * math.sin(swing) - 0.02, hip - 0.43 * math.cos(swing)])
        bend = swing - (0.10 if swing > 0 else 0.45) * abs(swing)
        ankle = knee + np.array([0, -0.42 * math.sin(bend - 0.05), -0.42 * math.cos(bend - 0.05)])
        ankle[2] = max(ankle[2], 0.07)
    parts = _limb([start, knee, ankle], [0.092, 0.062, 0.046], "bottom")
    foot = ellipsoid(
        (0.048, 0.135, 0.048), "shoe", (ankle[0], ankle[1] - 0.06, ankle[2] - 0.035), 10, 6
    )
    return [*parts, foot, ellipsoid((0.10, 0.10, 0.11), "bottom", start.tolist(), 10, 6)]


def _torso(hip: float, chest: np.ndarray) -> Mesh:
    profile = [
        (0.135, -0.04),
        (0.152, 0.06),
        (0.135, 0.20),
        (0.165, 0.36),
        (0.178, 0.46),
        (0.15, 0.53),
        (0.06, 0.575),
    ]
    body = moved(lathe(profile, "top", 20, smooth=True), (0, 0, 0), size=(1.12, 0.70, 1.0))
    shear = np.eye(3)
    shear[1, 2] = chest[1] / 0.44
    return moved(moved(body, matrix=shear), (0, 0, hip))


def _arm(
    side: int, chest: np.ndarray, swing: float, pose: str, rng: np.random.Generator
) -> list[Mesh]:
    shoulder = chest + [0.185 * side, 0.0, 0.05]
    if pose == "wave" and side > 0:
        elbow, hand = shoulder + [0.18, -0.05, 0.22], shoulder + [0.14, -0.10, 0.48]
    elif pose == "work" or (pose == "sit" and rng.random() < 0.7):
        elbow, hand = (
            shoulder + [0.06 * side, -0.10, -0.25],
            shoulder + [-0.04 * side, -0.36, -0.24],
        )
    elif pose == "stand" and rng.random() < 0.3:
        elbow, hand = (
            shoulder + [0.07 * side, -0.04, -0.26],
            shoulder + [-0.08 * side, -0.22, -0.16],
        )
    else:
        elbow = shoulder + [0.045 * side, -0.27 * math.sin(swing) + 0.02, -0.27 * math.cos(swing)]
        hand = elbow + [
            0.0,
            -0.25 * math.sin(swing * 1.3 + 0.25),
            -0.25 * math.cos(swing * 1.3 + 0.25),
        ]
    parts = _limb([shoulder, elbow, hand], [0.056, 0.043, 0.032], "top")
    grip = ellipsoid((0.034, 0.042, 0.058), "skin", (hand + [0, -0.01, -0.04]).tolist(), 10, 6)
    return [*parts, ellipsoid((0.066, 0.066, 0.066), "top", shoulder.tolist(), 10, 6), grip]


def _head(chest: np.ndarray, pose: str, rng: np.random.Generator) -> list[Mesh]:
    neck = chest + [0, 0.0, 0.10]
    top = neck + [0, -0.02, 0.21]
    parts = [tube(neck, neck + [0, -0.01, 0.12], 0.052, "skin", 0.048, 12)]
    parts.append(ellipsoid((0.076, 0.092, 0.112), "skin", top.tolist(), 20, 14))
    parts.append(
        ellipsoid((0.014, 0.022, 0.02), "skin", (top + [0, -0.092, -0.012]).tolist(), 8, 6)
    )
    parts += [
        ellipsoid((0.010, 0.018, 0.026), "skin", (top + [s * 0.077, 0.004, -0.01]).tolist(), 8, 6)
        for s in (1, -1)
    ]
    cap = ellipsoid((0.083, 0.098, 0.10), "hair", (top + [0, 0.016, 0.028]).tolist(), 20, 12)
    keep = cap.xyz.mean(axis=1)
    front = (keep[:, 1] < top[1] - 0.035) & (keep[:, 2] < top[2] + 0.052)
    low = keep[:, 2] < top[2] - 0.055
    stay = ~(front | low)
    parts.append(Mesh(cap.xyz[stay], cap.uv[stay], cap.normal[stay], cap.slot[stay], cap.slots))
    if rng.random() < 0.45:
        parts.append(
            ellipsoid((0.072, 0.045, 0.13), "hair", (top + [0, 0.07, -0.055]).tolist(), 14, 8)
        )
    return parts

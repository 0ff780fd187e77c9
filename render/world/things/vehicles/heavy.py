"""Lorries."""

import numpy as np

from render.world.mesh import Mesh, box, join, moved, quads, tube
from render.world.things.feet import block
from render.world.things.kind import Values, kind, number, pick
from render.world.things.vehicles.wheels import wheel

__all__: list[str] = []

_STUFF = {
    "body": "car paint",
    "glass": "car glass",
    "tyre": "rubber",
    "rim": "steel",
    "trim": "black plastic",
    "light": "head lamp",
    "tail": "tail lamp",
    "plate": "white paint",
}


def _hull(side: list[tuple[float, float]], low: float, high: float, slot: str) -> Mesh:
    """A body with the given side outline, narrowing from half width low to high."""
    p = np.array(side)
    zmin, zmax = p[:, 1].min(), p[:, 1].max()
    half = low + (high - low) * (p[:, 1] - zmin) / (zmax - zmin)
    right = np.stack([half, p[:, 0], p[:, 1]], -1)
    left = right * [-1, 1, 1]
    n = len(p)
    strip = [[left[i], left[(i + 1) % n], right[(i + 1) % n], right[i]] for i in range(n)]
    mesh = quads([q[::-1] for q in strip], slot)
    sides = join([_side(right, slot, True), _side(left, slot, False)])
    return _outward(join([mesh, sides]))


def _side(points: np.ndarray, slot: str, right: bool) -> Mesh:
    middle = points.mean(axis=0)
    n = len(points)
    faces = [[middle, points[i], points[(i + 1) % n], points[(i + 1) % n]] for i in range(n)]
    return quads(faces, slot)


def _outward(mesh: Mesh) -> Mesh:
    """Turn every face of a roughly convex shape outwards."""
    middle = mesh.xyz.reshape(-1, 3).mean(axis=0)
    wrong = np.einsum("nk,nk->n", mesh.normal[:, 0], mesh.xyz.mean(axis=1) - middle) < 0
    xyz, uv, normal = mesh.xyz.copy(), mesh.uv.copy(), mesh.normal.copy()
    xyz[wrong], uv[wrong], normal[wrong] = xyz[wrong, ::-1], uv[wrong, ::-1], -normal[wrong]
    return Mesh(xyz, uv, normal, mesh.slot, mesh.slots)


@kind(
    "lorry",
    "A lorry with a box, a tilt or an open bed.",
    feet=lambda v: block(2.55, v.length_m),
    stuff={**_STUFF, "cargo": "lorry panel", "rail": "zinc"},
    length_m=number(8.5, "length", 4, 18),
    load=pick("box", "what it carries", "box", "bed", "container"),
)
def _lorry(v: Values, rng: np.random.Generator) -> Mesh:
    n, w = v.length_m, 2.45
    cab = [(0.0, 0.45), (0.0, 1.5), (0.22, 2.75), (1.9, 2.85), (1.95, 0.5)]
    parts = [moved(_hull(cab, w / 2, w / 2 - 0.06, "body"), (0, -n / 2, 0))]
    parts.append(moved(box((w - 0.25, 0.06, 0.95), "glass"), (0, -n / 2 + 0.08, 1.55)))
    parts += [
        box((0.04, 0.75, 0.75), "glass", (s * (w / 2 - 0.02), -n / 2 + 0.85, 1.6)) for s in (1, -1)
    ]
    parts.append(box((0.9, n - 0.6, 0.28), "trim", (0, 0.2, 0.62)))
    bed = n - 2.2
    y = n / 2 - bed / 2
    if v.load == "bed":
        parts.append(box((w, bed, 0.16), "cargo", (0, y, 0.95)))
        parts += [box((0.06, bed, 0.5), "cargo", (s * (w / 2 - 0.03), y, 1.1)) for s in (1, -1)]
    else:
        parts += _cargo_box(w + 0.06, bed, y)
    parts += _cab_details(w, -n / 2)
    for s in (1, -1):  # bars at the sides, flaps behind the wheels, lights at the end
        parts += [
            box((0.03, max(bed - 3.4, 0.3), 0.09), "rail", (s * (w / 2 - 0.05), y - 1.2, z))
            for z in (0.5, 0.72)
        ]
        parts.append(box((0.34, 0.02, 0.4), "trim", (s * (w / 2 - 0.2), n / 2 - 0.62, 0.28)))
        parts.append(box((0.3, 0.04, 0.12), "tail", (s * (w / 2 - 0.25), n / 2 + 0.01, 0.76)))
        parts.append(box((0.1, bed, 0.12), "trim", (s * 0.4, y, 0.84)))
    parts.append(box((w - 0.1, 0.1, 0.14), "rail", (0, n / 2 - 0.05, 0.5)))
    parts.append(box((0.5, 0.03, 0.12), "plate", (0, n / 2 + 0.01, 0.76)))
    for q in (-n / 2 + 1.2, n / 2 - 2.4, n / 2 - 1.2):
        parts += [moved(wheel(0.48, 0.3), (s * (w / 2 - 0.14), q, 0.48)) for s in (1, -1)]
    return join(parts)


def _cargo_box(w: float, bed: float, y: float) -> list[Mesh]:
    """A box of panels in a frame of rails, its doors with bars and hinges at the end."""
    low, high, end = 0.95, 2.55, y + bed / 2
    parts = [box((w, bed, high), "cargo", (0, y, low))]
    for s in (1, -1):
        x = s * w / 2
        parts += [box((0.05, bed + 0.02, 0.1), "rail", (x, y, low + z)) for z in (0.0, high - 0.09)]
        parts += [
            box((0.05, 0.09, high), "rail", (x, at, low)) for at in (y - bed / 2 + 0.03, end - 0.03)
        ]
        parts += [
            box((0.012, 0.02, high - 0.2), "rail", (x, at, low + 0.1))
            for at in np.arange(y - bed / 2 + 0.62, end - 0.3, 0.6)
        ]
        parts += [
            tube((s * d, end + 0.03, low), (s * d, end + 0.03, low + high), 0.018, "rail", sides=6)
            for d in (0.14, 0.62)
        ]
        parts += [
            box((0.2, 0.03, 0.05), "rail", (s * (w / 2 - 0.1), end + 0.01, low + z))
            for z in (0.3, 1.2, 2.1)
        ]
    parts.append(box((0.015, 0.02, high - 0.1), "trim", (0, end + 0.01, low)))
    parts += [
        box((w - 0.1, 0.05, 0.012), "rail", (0, at, low + high))
        for at in np.arange(y - bed / 2 + 0.6, end - 0.3, 1.2)
    ]
    return parts


def _cab_details(w: float, front: float) -> list[Mesh]:
    """What a lorry's cab has: bumper, grille, lamps, doors, mirrors, steps, a visor."""
    parts = [
        box((w, 0.22, 0.36), "trim", (0, front - 0.02, 0.38)),
        box((w - 0.4, 0.04, 0.03), "rail", (0, front - 0.03, 1.42)),
        box((w - 0.3, 0.24, 0.05), "trim", (0, front + 0.1, 2.56)),
        box((0.5, 0.03, 0.12), "plate", (0, front - 0.14, 0.46)),
    ]
    parts += [
        box((w - 0.9, 0.03, 0.05), "trim", (0, front - 0.015, z))
        for z in np.arange(0.86, 1.36, 0.1)
    ]
    for s in (1, -1):
        side = s * (w / 2 + 0.002)
        parts.append(box((0.36, 0.05, 0.2), "light", (s * (w / 2 - 0.28), front - 0.13, 0.5)))
        parts += [
            box((0.012, 0.018, 1.9), "trim", (side - s * 0.012, front + at, 0.62))
            for at in (0.42, 1.4)
        ]
        parts.append(box((0.03, 0.16, 0.04), "trim", (side, front + 1.2, 1.36)))
        parts.append(box((0.06, 0.5, 0.06), "rail", (s * (w / 2 - 0.02), front + 0.62, 0.42)))
        arm = (s * (w / 2 + 0.16), front + 0.12, 2.3)
        parts.append(tube((s * (w / 2 - 0.06), front + 0.16, 2.36), arm, 0.016, "trim", sides=5))
        parts.append(box((0.2, 0.07, 0.5), "trim", (arm[0], arm[1], 1.75)))
    return parts

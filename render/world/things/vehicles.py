"""Cars, vans, lorries, buses, bicycles, rail wagons; front towards -y before turning."""

import math
from dataclasses import dataclass

import numpy as np

from render.world.mesh import Mesh, box, extrude, join, lathe, moved, quads, tube
from render.world.things.feet import block
from render.world.things.kind import Values, kind, number, pick

__all__ = ["wheel"]

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


@dataclass(frozen=True, slots=True)
class _Form:
    """A car seen from the side: (distance from the front, height) of its lines, metres."""

    wide_m: float
    belt_m: tuple[tuple[float, float], ...]
    roof_m: tuple[tuple[float, float], ...]
    #: Where pillars part the side windows, and from where on the sides are sheet.
    pillars_m: tuple[float, ...]
    closed_m: float

    @property
    def long_m(self) -> float:
        return self.belt_m[-1][0]


_FORMS = {
    "car": _Form(
        1.78,
        (
            (0.0, 0.50),
            (0.04, 0.66),
            (0.3, 0.76),
            (1.15, 0.91),
            (3.3, 0.98),
            (4.0, 0.96),
            (4.28, 0.82),
        ),
        (
            (0.98, 0.86),
            (1.35, 1.13),
            (1.85, 1.39),
            (2.3, 1.45),
            (3.0, 1.42),
            (3.5, 1.21),
            (3.92, 0.93),
        ),
        (2.42, 3.30),
        9.0,
    ),
    "van": _Form(
        1.95,
        ((0.0, 0.55), (0.05, 0.82), (0.3, 1.02), (0.95, 1.18), (5.0, 1.22), (5.2, 1.2)),
        (
            (0.75, 1.10),
            (1.1, 1.52),
            (1.5, 1.95),
            (1.9, 2.10),
            (3.4, 2.15),
            (5.05, 2.12),
            (5.19, 1.2),
        ),
        (2.30,),
        2.30,
    ),
    "hatch": _Form(
        1.72,
        (
            (0.0, 0.50),
            (0.04, 0.68),
            (0.28, 0.80),
            (0.95, 0.93),
            (3.2, 1.0),
            (3.66, 0.98),
            (3.74, 0.8),
        ),
        (
            (0.78, 0.88),
            (1.12, 1.15),
            (1.55, 1.43),
            (2.0, 1.50),
            (2.9, 1.47),
            (3.35, 1.28),
            (3.66, 0.94),
        ),
        (2.2, 3.0),
        9.0,
    ),
}


def wheel(radius: float, width: float, rim: str = "rim") -> Mesh:
    """A wheel about the x axis, its middle at the origin."""
    r, w = radius, width / 2
    tyre = lathe(
        [(r * 0.62, -w), (r * 0.95, -w), (r, -w * 0.6), (r, w * 0.6), (r * 0.95, w), (r * 0.62, w)],
        "tyre",
        22,
    )
    hub = lathe(
        [(0.0, -w * 0.7), (r * 0.63, -w * 0.9), (r * 0.63, w * 0.9), (0.0, w * 0.7)], rim, 14
    )
    return moved(join([tyre, hub]), matrix=[[0, 0, 1], [0, 1, 0], [-1, 0, 0]])


@kind(
    "car",
    "A car or a van.",
    feet=lambda v: block(2.0, _FORMS[v.shape].long_m),
    variants=1,
    stuff=_STUFF,
    shape=pick("car", "which", "car", "hatch", "van"),
)
def _car(v: Values, rng: np.random.Generator) -> Mesh:
    form = _FORMS[v.shape]
    n, w = form.long_m, form.wide_m / 2
    parts = [_shell(form), _cabin(form)]
    for y in (0.80, n - 0.85):
        for s in (1, -1):
            parts.append(moved(wheel(0.325, 0.20), (s * (w - 0.07), y, 0.325)))
            parts.append(moved(_arch(), (s * (w - 0.012), y, 0.34)))
    for s in (1, -1):
        parts.append(box((0.30, 0.16, 0.12), "light", (s * (w - 0.40), 0.10, 0.60)))
        parts.append(box((0.22, 0.10, 0.18), "tail", (s * (w - 0.34), n - 0.05, 0.66)))
        foot = (s * (w - 0.10), form.roof_m[0][0] + 0.50, 1.02 if v.shape != "van" else 1.28)
        parts.append(tube(foot, np.add(foot, (s * 0.13, 0, 0.02)), 0.02, "trim", sides=5))
        parts.append(box((0.16, 0.08, 0.12), "body", np.add(foot, (s * 0.20, 0, -0.04)).tolist()))
        parts.append(box((0.02, n - 2.6, 0.07), "trim", (s * (w - 0.006), n / 2 - 0.05, 0.27)))
        for y in _doors(form):
            parts.append(box((0.008, 0.012, 0.56), "trim", (s * (w - 0.004), y, 0.36)))
            parts.append(box((0.03, 0.16, 0.03), "trim", (s * w, y - 0.16, 0.80)))
    parts.append(box((2 * w - 0.5, 0.06, 0.11), "trim", (0, 0.03, 0.40)))
    parts += [box((0.46, 0.03, 0.10), "plate", (0, y, 0.44)) for y in (-0.01, n + 0.01)]
    return moved(join(parts), (0, -n / 2, 0))


def _doors(form: _Form) -> tuple[float, ...]:
    """Where doors end at their back edges."""
    return tuple(y + 0.02 for y in form.pillars_m)


def _arch() -> Mesh:
    """The dark of a wheel arch, ending above the ground."""
    angle = np.linspace(-0.35, math.pi + 0.35, 19)
    outline = 0.385 * np.stack([np.cos(angle), np.sin(angle)], -1)
    disc = extrude(outline, -0.01, 0.01, "trim", "trim")
    return moved(disc, matrix=[[0, 0, 1], [1, 0, 0], [0, 1, 0]])


def _shell(form: _Form) -> Mesh:
    """The body up to its belt: sections along it, round at the shoulders and at both ends."""
    n = form.long_m
    y = n * 0.5 * (1 - np.cos(np.linspace(0, np.pi, 25)))
    top = np.interp(y, *np.array(form.belt_m).T)
    end = np.abs(2 * y / n - 1)
    half = form.wide_m / 2 * (1 - 0.16 * end**8 - 0.05 * end**3)
    low = 0.22 + 0.12 * end**8
    across = [(0.0, 0.0), (0.86, 0.0), (0.97, 0.16), (1.0, 0.45), (0.985, 0.75), (0.93, 0.94)]
    across += [(0.80, 1.0), (0.45, 1.015), (0.0, 1.02)]
    ribs = np.array(
        [
            [(a * w, s, lo + (t - lo) * b) for a, b in across]
            for s, w, lo, t in zip(y, half, low, top, strict=True)
        ]
    )
    return _skinned(ribs, np.full((24, 8), "body"))


def _cabin(form: _Form) -> Mesh:
    """Roof, pillars and panes: what is steep and between the pillars is glass."""
    roof = np.array(form.roof_m)
    y = np.unique(np.concatenate([np.linspace(roof[0, 0], roof[-1, 0], 25), _edges(form)]))
    top, belt = np.interp(y, *roof.T), np.interp(y, *np.array(form.belt_m).T) - 0.05
    top = np.maximum(top, belt + 0.02)
    low = form.wide_m / 2 * 0.92
    high = low - 0.24 * np.clip((top - belt) / 0.5, 0, 1)
    if form.closed_m < form.long_m:
        high = low - 0.10 * np.clip((top - belt) / 0.5, 0, 1)
    ribs = np.array(
        [
            [
                (low, s, b),
                (low + 0.12 * (h - low), s, b + 0.12 * (t - b)),
                (low + 0.88 * (h - low), s, b + 0.88 * (t - b)),
                (h - 0.04, s, t - 0.02),
                (0.72 * h, s, t + 0.01),
                (0.0, s, t + 0.02),
            ]
            for s, h, b, t in zip(y, high, belt, top, strict=True)
        ]
    )
    slots = np.full((len(y) - 1, 5), "body", dtype="<U5")
    middle = (y[1:] + y[:-1]) / 2
    tall = np.minimum(top[1:] - belt[1:], top[:-1] - belt[:-1]) > 0.22
    pillar = np.min(np.abs(middle[:, None] - np.array(form.pillars_m)), axis=1) < 0.05
    slots[tall & ~pillar & (middle < form.closed_m), 1] = "glass"
    steep = np.abs(np.diff(top) / np.diff(y)) > 0.33
    front = steep & (middle < y.mean())
    back = steep & (middle > y.mean()) & (form.closed_m > form.long_m)
    slots[front | back, 4] = "glass"
    return _skinned(ribs, slots)


def _edges(form: _Form) -> "np.ndarray":
    return np.array([y + s for y in form.pillars_m for s in (-0.05, 0.05)])


def _skinned(ribs: np.ndarray, slots: np.ndarray) -> Mesh:
    """Quads between neighbouring ribs, mirrored, with normals that turn smoothly; ends closed."""
    along, across = np.gradient(ribs, axis=0), np.gradient(ribs, axis=1)
    normal = np.cross(across, along)
    normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-9)
    parts = []
    for name in np.unique(slots):
        i, j = np.nonzero(slots == name)
        pick = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)]
        corners = np.stack([ribs[a, b] for a, b in pick], 1)
        bend = np.stack([normal[a, b] for a, b in pick], 1)
        order = np.array([[0, 1, 2], [0, 2, 3]])
        xyz, turned = corners[:, order].reshape(-1, 3, 3), bend[:, order].reshape(-1, 3, 3)
        flat = np.cross(xyz[:, 1] - xyz[:, 0], xyz[:, 2] - xyz[:, 0])
        keep = np.linalg.norm(flat, axis=1) > 1e-9
        wrong = np.sum(flat * turned.sum(axis=1), axis=1) < 0
        xyz[wrong], turned[wrong] = xyz[wrong, ::-1], turned[wrong, ::-1]
        xyz, turned = xyz[keep], turned[keep]
        uv = xyz[..., [1, 2]]
        half = Mesh(xyz, uv, turned, np.zeros(len(xyz), np.int32), (str(name),))
        parts += [half, moved(half, size=(-1.0, 1.0, 1.0))]
    for rib, way in ((ribs[0], -1), (ribs[-1], 1)):
        ring = np.concatenate([rib, rib[::-1] * [-1, 1, 1]])
        faces = [[ring.mean(axis=0), ring[k], ring[(k + 1) % len(ring)]] for k in range(len(ring))]
        cap = quads([[*face, face[2]] for face in faces], "body")
        wrong = cap.normal[:, 0, 1] * way < 0
        xyz, out = cap.xyz.copy(), cap.normal.copy()
        xyz[wrong], out[wrong] = xyz[wrong, ::-1], -out[wrong]
        parts.append(Mesh(xyz, cap.uv, out, cap.slot, cap.slots))
    return join(parts)


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
    "bus",
    "A bus.",
    feet=lambda v: block(2.6, v.length_m),
    stuff={**_STUFF, "stripe": "white paint"},
    length_m=number(11.5, "length", 5, 20),
)
def _bus(v: Values, rng: np.random.Generator) -> Mesh:
    n, w, h = v.length_m, 2.5, 3.0
    parts = [
        box((w, n, h - 0.45), "body", (0, 0, 0.42)),
        box((w - 0.2, n - 0.4, 0.3), "trim", (0, 0, 0.25)),
    ]
    parts.append(box((w + 0.02, n - 0.3, 0.98), "glass", (0, 0, 1.42)))
    parts.append(box((w - 0.3, n + 0.02, 1.25), "glass", (0, 0, 1.25)))
    for y in np.arange(-n / 2 + 1.6, n / 2 - 0.5, 1.45):
        parts.append(box((w + 0.05, 0.09, 1.0), "body", (0, y, 1.41)))
    parts.append(box((w + 0.03, n - 0.1, 0.12), "stripe", (0, 0, 1.02)))
    parts.append(box((w - 0.4, n - 1.2, 0.10), "stripe", (0, 0, h - 0.04)))
    parts += [box((1.5, 1.7, 0.28), "trim", (0, y, h + 0.02)) for y in (-n * 0.22, n * 0.2)]
    for y in (-n / 2 + 2.3, n / 2 - 3.0):
        parts += [moved(wheel(0.48, 0.3), (s * (w / 2 - 0.13), y, 0.48)) for s in (1, -1)]
    return join(parts)


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


@kind(
    "bicycle",
    "A bicycle leaning on nothing.",
    feet=lambda v: block(0.5, 1.75, 1.0),
    stuff={"frame": "car paint", "tyre": "rubber", "rim": "steel", "trim": "leather"},
)
def _bicycle(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    for y in (-0.52, 0.52):
        a = np.linspace(0, 2 * math.pi, 21)
        ring = np.stack([np.zeros(21), y + 0.33 * np.cos(a), 0.34 + 0.33 * np.sin(a)], -1)
        parts += [tube(ring[i], ring[i + 1], 0.018, "tyre", sides=5) for i in range(20)]
        parts += [tube((0, y, 0.34), ring[i], 0.003, "rim", sides=3) for i in range(0, 20, 2)]
    joints = [
        ((0, -0.52, 0.34), (0, -0.38, 0.92)),
        ((0, -0.40, 0.80), (0, 0.10, 0.84)),
        ((0, -0.42, 0.72), (0, 0.06, 0.30)),
        ((0, 0.12, 0.94), (0, 0.06, 0.30)),
        ((0, 0.52, 0.34), (0, 0.10, 0.80)),
        ((0, 0.52, 0.34), (0, 0.06, 0.30)),
    ]
    parts += [tube(a, b, 0.017, "frame", sides=6) for a, b in joints]
    parts.append(tube((-0.28, -0.34, 0.98), (0.28, -0.34, 0.98), 0.014, "rim", sides=6))
    parts.append(tube((0, -0.38, 0.92), (0, -0.35, 0.98), 0.015, "rim", sides=6))
    parts.append(box((0.14, 0.26, 0.06), "trim", (0, 0.14, 0.94)))
    return join(parts)

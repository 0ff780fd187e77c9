"""What stands on a slope in winter: a drag lift, snow guns, nets, snow-capped rocks."""

import itertools
import math

import numpy as np

from render.world.line import places_along, run_along
from render.world.mesh import Mesh, box, cylinder, grid_faces, join, lathe, moved, quads, tube
from render.world.things.feet import block as foot_block
from render.world.things.feet import blocks, disc, path
from render.world.things.kind import Values, kind, number, outline, vector

__all__: list[str] = []


def _along(points: np.ndarray, step: float) -> list[tuple[np.ndarray, float]]:
    """Places every `step` metres along a path, with the heading there in degrees."""
    legs = np.diff(points, axis=0)
    run = run_along(points)
    found = []
    for s in np.arange(0.0, run[-1] + 1e-9, step):
        leg = min(int(np.searchsorted(run, s, side="right")), len(legs)) - 1
        head = math.degrees(math.atan2(legs[leg, 1], legs[leg, 0]))
        found.append((places_along(points, run, s), head))
    return found


@kind(
    "drag lift",
    "A drag lift along a path over the slope: masts, two ropes, bars that hang from one of them.",
    draped=True,
    feet=lambda v: blocks(
        foot_block(0.5, 0.5, 3.0, tuple(p)) for p, _ in _along(np.asarray(v.path_m), v.step_m)
    ),
    stuff={"mast": "zinc", "rope": "iron", "bar": "black plastic", "foot": "concrete"},
    path_m=outline("points of its way", 2, start=((0, 0), (0, 40))),
    step_m=number(17.0, "distance between its masts", 3, 80),
    height_m=number(5.2, "height of the ropes", 2.5, 20),
)
def _drag_lift(v: Values, rng: np.random.Generator) -> Mesh:
    h, parts, ends = v.height_m, [], []
    for p, head in _along(np.asarray(v.path_m, float), v.step_m):
        mast = [
            cylinder(0.16, h + 0.5, "mast", (0, 0, 0), 0.11, 10),
            box((0.7, 0.7, 0.25), "foot"),
            box((0.14, 2.6, 0.16), "mast", (0, 0, h)),
        ]
        for side_ in (1, -1):
            mast.append(box((0.9, 0.06, 0.1), "mast", (0, side_ * 1.15, h - 0.14)))
            mast += [
                moved(cylinder(0.13, 0.07, "rope", sides=10), (x, side_ * 1.15 + 0.035, h - 0.26),
                      matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]])
                for x in (-0.36, -0.12, 0.12, 0.36)
            ]  # fmt: skip
        mast += [box((0.05, 0.34, 0.03), "mast", (0.2, 0, z)) for z in np.arange(0.6, h, 0.4)]
        parts.append(moved(join(mast), (*p, 0.0), head))
        side = 1.15 * np.array([-math.sin(math.radians(head)), math.cos(math.radians(head))])
        ends.append((p + side, p - side))
    for (a, b), (c, d) in itertools.pairwise(ends):
        for p, q in ((a, c), (b, d)):
            s = np.linspace(0, 1, 9)
            line = np.column_stack([p + (q - p) * s[:, None], h - 0.12 - 1.2 * s * (1 - s)])
            parts += [tube(m, n, 0.014, "rope", sides=4) for m, n in itertools.pairwise(line)]
        for share in (0.2, 0.7):
            x, y = a + (c - a) * share
            z = h - 0.12 - 1.2 * share * (1 - share)
            parts += [
                cylinder(0.07, 0.4, "bar", (x, y, z - 0.45), sides=8),
                tube((x, y, z), (x, y, z - 1.9), 0.012, "rope", sides=4),
                box((0.05, 0.9, 0.05), "bar", (x, y, z - 1.95)),
            ]
    return join(parts)


@kind(
    "snow gun",
    "A snow gun on its tower, blowing towards -y, with its hydrant and hose.",
    feet=lambda v: blocks(
        (foot_block(1.1, 1.6, 2.5, (0.0, 0.3)), foot_block(1.3, 0.8, 1.0, (0.95, 0.45)))
    ),
    stuff={"body": "#e0b23c", "tower": "zinc", "ring": "black plastic", "pad": "#c8443a"},
)
def _snow_gun(v: Values, rng: np.random.Generator) -> Mesh:
    drum = [(0.0, 0.0), (0.30, 0.0), (0.40, 0.12), (0.42, 0.85), (0.46, 0.9), (0.46, 0.98),
            (0.36, 0.98), (0.36, 0.5), (0.0, 0.5)]  # fmt: skip
    tilt = math.radians(-28)
    aim = np.array(
        [[1, 0, 0], [0, math.sin(tilt), -math.cos(tilt)], [0, math.cos(tilt), -math.sin(tilt)]]
    )
    body = moved(lathe(drum, "body", 18), (0, 0.45, 2.6), matrix=aim)
    ring = moved(lathe([(0.42, 0.93), (0.47, 0.93), (0.47, 0.99), (0.42, 0.99)], "ring", 18),
                 (0, 0.45, 2.6), matrix=aim)  # fmt: skip
    parts = [body, ring, cylinder(0.13, 2.5, "tower", (0, 0.1, 0), 0.1, 10)]
    parts += [cylinder(0.34, 1.5, "pad", (0, 0.1, 0.05), 0.34, 12)]
    parts.append(box((0.42, 0.3, 0.5), "body", (0, 0.55, 1.75)))
    parts += [cylinder(0.09, 0.9, "pad", (1.4, 0.4, 0), sides=8)]
    bend = [(1.4, 0.4, 0.8), (1.1, 0.5, 0.1), (0.6, 0.6, 0.05), (0.3, 0.5, 0.7), (0.15, 0.5, 1.8)]
    parts += [tube(p, q, 0.04, "ring", sides=6) for p, q in itertools.pairwise(bend)]
    return join(parts)


@kind(
    "safety net",
    "A net of bands between poles along a path, as beside a piste.",
    draped=True,
    feet=lambda v: path(v.path_m, 0.1, v.height_m),
    stuff={"net": "#d8502c", "pole": "#d8c23a"},
    path_m=outline("points of its way", 2, start=((-5, 0), (5, 0))),
    height_m=number(1.5, "height", 0.3, 5),
)
def _safety_net(v: Values, rng: np.random.Generator) -> Mesh:
    h, step = v.height_m, 1.9
    places = [p for p, _head in _along(np.asarray(v.path_m, float), step)]
    parts = [
        tube((*p, -0.2), (*(p + rng.normal(0, 0.04, 2)), h + 0.12), 0.018, "pole", sides=5)
        for p in places
    ]
    for p, q in itertools.pairwise(places):
        sag = float(rng.uniform(0.03, 0.14))
        s = np.linspace(0, 1, 7)
        drop = 4 * sag * s * (1 - s)
        levels = [0.06, *np.arange(0.22, h - 0.1, 0.26).tolist(), h]
        for k, z in enumerate(levels):
            line = np.column_stack([p + (q - p) * s[:, None], z - drop * z / h])
            r = 0.014 if k in (0, len(levels) - 1) else 0.007
            faces = [[a - [0, 0, r], b - [0, 0, r], b + [0, 0, r], a + [0, 0, r]]
                     for a, b in itertools.pairwise(line[::2])]  # fmt: skip
            parts += [quads(faces, "net"), quads([f[::-1] for f in faces], "net")]
        along = (q - p) / math.dist(p, q)
        for t, d in zip(s[1:-1], drop[1:-1], strict=True):
            x = p + (q - p) * t
            w = 0.007 * along
            face = [(*(x - w), 0.06), (*(x + w), 0.06), (*(x + w), h - d), (*(x - w), h - d)]
            parts += [quads([face], "net"), quads([face[::-1]], "net")]
    return join(parts)


@kind(
    "boulder",
    "A rock; the share of its top that snow or turf covers is its own slot.",
    variants=6,
    feet=lambda v: disc(0.5 * max(v.size_m[0], v.size_m[1]), v.size_m[2]),
    stuff={"rock": "rock", "cap": "rock"},
    size_m=vector((2.0, 1.5, 1.2), "length, width and height", 0.05),
)
def _boulder(v: Values, rng: np.random.Generator) -> Mesh:
    n, rings = 20, 12
    around, up = np.linspace(0, math.tau, n + 1), np.linspace(-0.35 * math.pi, math.pi / 2, rings)
    d = np.stack(
        [
            np.cos(up)[None] * np.cos(around)[:, None],
            np.cos(up)[None] * np.sin(around)[:, None],
            np.broadcast_to(np.sin(up)[None], (n + 1, rings)),
        ],
        -1,
    )
    r = np.ones(d.shape[:2])
    for _ in range(14):  # cut by planes, as rock breaks
        way = rng.normal(size=3)
        way /= np.linalg.norm(way)
        reach = d @ way
        flat = float(rng.uniform(0.62, 0.9))
        r = np.where(reach * r > flat, flat / np.maximum(reach, 1e-9), r)
    r *= 1 + 0.03 * np.sin(9 * d[..., 0] + 4) * np.sin(11 * d[..., 1])
    place = d * r[..., None] * np.array(v.size_m) * [0.5, 0.5, 0.8]
    mesh = quads(grid_faces(place), "rock")
    steep = mesh.normal[:, 0, 2] < 0.72
    return Mesh(mesh.xyz, mesh.uv, mesh.normal, np.where(steep, 0, 1).astype(np.int32),
                ("rock", "cap"))  # fmt: skip

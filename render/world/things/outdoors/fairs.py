"""What a fair brings to a field: booths, barriers, ruts, cables, cases, bales, bunting."""

import itertools
import math
from dataclasses import replace

import numpy as np

from render.world.line import places_along, run_along
from render.world.mesh import (
    Mesh,
    box,
    cylinder,
    ellipsoid,
    extrude,
    grid_faces,
    join,
    moved,
    quads,
    tube,
)
from render.world.things.feet import block, sized
from render.world.things.kind import Values, kind, number, outline, vector
from render.world.things.solids import timber

__all__: list[str] = []


def _boarded(
    a: tuple[float, float], b: tuple[float, float], high: float, low: float,
    rng: np.random.Generator,
) -> list[Mesh]:  # fmt: skip
    """A wall of upright boards from a to b, its outer side to the right of the way."""
    length, turn = math.dist(a, b), math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    count = max(1, round(length / 0.2))
    step = length / count
    boards = [
        timber((step - 0.006, 0.03, high - low), "side",
               ((k + 0.5) * step, 0.004 * (k % 2), low), rng)
        for k in range(count)
    ]  # fmt: skip
    rails = [box((length, 0.04, 0.09), "side", (length / 2, 0.035, z))
             for z in (low + 0.1, (low + high) / 2, high - 0.2)]  # fmt: skip
    return [moved(join([*boards, *rails]), (*a, 0.0), turn)]


@kind(
    "booth",
    "A fair booth with an open front and a striped roof; front towards -y.",
    feet=lambda v: block(v.width_m + 0.1, 3.3, 2.0, (0.0, 0.3)),
    variants=4,
    stuff={
        "cloth": "awning",
        "side": "booth paint",
        "inside": "warm inside",
        "goods": "flags",
        "bulb": "bulb",
        "frame": "zinc",
        "sign": "white paint",
        "mark": "red paint",
        "gas": "#3f5f6c",
        "box": "carton",
    },
    width_m=number(4.0, "width", 1.5, 12),
)
def _booth(v: Values, rng: np.random.Generator) -> Mesh:
    w, d, h = v.width_m, 2.6, 2.7
    parts = [
        box((w - 0.1, 0.04, h), "inside", (0, d / 2 - 0.06, 0)),
        box((w, 0.46, 0.92), "side", (0, -d / 2 + 0.25, 0)),
        box((w + 0.1, 0.62, 0.05), "frame", (0, -d / 2 + 0.22, 0.92)),
    ]
    parts += _boarded((w / 2, d / 2), (-w / 2, d / 2), h + 0.55, 0.12, rng)
    parts += [box((0.06, d - 0.1, h), "side", (s * (w / 2 - 0.04), 0, 0)) for s in (1, -1)]
    parts += _boarded((w / 2, -d / 2), (w / 2, d / 2), h - 0.05, 0.12, rng)
    parts += _boarded((-w / 2, d / 2), (-w / 2, -d / 2), h - 0.05, 0.12, rng)
    back = d / 2 + 0.02  # a door with a step, a flap, what is stored behind
    door = -w / 4
    parts += [
        box((0.9, 0.05, 2.0), "side", (door, back + 0.03, 0.15)),
        *(box((0.06, 0.03, 2.0), "frame", (door + s * 0.47, back + 0.05, 0.15)) for s in (1, -1)),
        box((0.04, 0.05, 0.14), "frame", (door + 0.36, back + 0.08, 1.1)),
        box((0.9, 0.3, 0.18), "box", (door, back + 0.3, 0)),
    ]
    for k in range(int(rng.integers(1, 4))):
        at = (w / 4 + 0.36 * k - 0.4, back + 0.3, 0.0)
        parts += [
            cylinder(0.15, 0.6, "gas", at, sides=12),
            cylinder(0.06, 0.16, "frame", (*at[:2], 0.6), sides=8),
        ]
    for k in range(int(rng.integers(1, 4))):
        size = tuple(float(q) for q in rng.uniform(0.3, 0.55, 3))
        parts.append(
            box(
                size,
                "box",
                (w / 2 - 0.4, back + 0.35, sum([0.4] * k)),
                turn_deg=float(rng.normal(0, 6)),
            )
        )
    parts.append(
        tube(
            (w / 2 - 0.1, back + 0.05, 2.2),
            (w / 2 - 0.1, back + 0.05, 0.05),
            0.02,
            "frame",
            sides=5,
        )
    )
    front, rear = (
        [(-w / 2 - 0.3, -d / 2 - 0.8, h - 0.2), (w / 2 + 0.3, -d / 2 - 0.8, h - 0.2)],
        [(w / 2 + 0.3, d / 2 + 0.2, h + 0.9), (-w / 2 - 0.3, d / 2 + 0.2, h + 0.9)],
    )
    parts.append(_sagging(np.array([*front, *rear]), 0.12))
    scallops = max(4, round((w + 0.6) / 0.5))
    left = -w / 2 - 0.3
    for k in range(scallops):  # a valance with rounded tongues
        x0, x1 = left + k * (w + 0.6) / scallops, left + (k + 1) * (w + 0.6) / scallops
        y, z = -d / 2 - 0.8, h - 0.2
        tongue = [
            (x0, y, z - 0.22),
            ((x0 + x1) / 2, y - 0.01, z - 0.4),
            (x1, y, z - 0.22),
            (x1, y, z),
        ]
        flat = [(p[0], p[2]) for p in tongue]
        parts.append(quads([tongue], "cloth", [flat]))
        parts.append(quads([[tongue[0], tongue[3], (x0, y, z), (x0, y, z)]], "cloth",
                           [[flat[0], flat[3], (x0, z), (x0, z)]]))  # fmt: skip
    post = -d / 2 - 0.74
    parts += [
        tube((x, post, 0), (x, post, h - 0.2), 0.025, "frame", sides=6) for x in (-w / 2, w / 2)
    ]
    parts.append(box((0.62 * w, 0.05, 0.5), "sign", (0, -d / 2 - 0.86, h - 0.12)))
    x = -0.26 * w
    while x < 0.26 * w:  # bars stand for words
        n = float(rng.choice([0.05, 0.1, 0.16]))
        parts.append(box((n, 0.02, 0.26), "mark", (x + n / 2, -d / 2 - 0.9, h)))
        x += n + float(rng.choice([0.05, 0.05, 0.18]))
    parts += [
        ellipsoid((0.06, 0.06, 0.06), "bulb", (x, -d / 2 - 0.84, h - 0.4), 6, 4)
        for x in np.linspace(-w / 2, w / 2, int(w * 2.2))
    ]
    tags = rng.uniform(0, 40, 60)
    for k in range(24):
        x, z = -w / 2 + 0.3 + (k % 8) * (w - 0.6) / 7, 1.15 + 0.5 * (k // 8)
        ball = ellipsoid((0.16, 0.12, 0.2), "goods", (x, d / 2 - 0.22, z), 8, 6)
        parts.append(replace(ball, uv=np.full_like(ball.uv, tags[k])))
    for k in range(9):
        x = -w / 2 + 0.4 + k * (w - 0.8) / 8
        thing = box((0.2, 0.16, float(rng.uniform(0.08, 0.3))), "goods", (x, -d / 2 + 0.2, 0.97))
        parts.append(replace(thing, uv=np.full_like(thing.uv, tags[30 + k])))
    return join(parts)


def _sagging(corners: np.ndarray, sag: float) -> Mesh:
    """Cloth over four corners (front left and right, rear right and left), hanging between ribs."""
    s, t = np.meshgrid(np.linspace(0, 1, 13), np.linspace(0, 1, 4), indexing="ij")
    a, b, c, d = corners
    u, v = s[..., None], t[..., None]
    place = a * (1 - u) * (1 - v) + b * u * (1 - v) + c * u * v + d * (1 - u) * v
    place[..., 2] -= sag * np.abs(np.sin(3 * np.pi * s)) * np.sin(np.pi * t) ** 0.5
    flat = np.stack([place[..., 0], t * math.dist(a, d)], -1)
    each = [(slice(None, -1), slice(None, -1)), (slice(1, None), slice(None, -1)),
            (slice(1, None), slice(1, None)), (slice(None, -1), slice(1, None))]  # fmt: skip
    faces = np.stack([place[k] for k in each], 2).reshape(-1, 4, 3)
    uv = np.stack([flat[k] for k in each], 2).reshape(-1, 4, 2)
    return quads(faces, "cloth", uv)


@kind(
    "crowd barrier",
    "A steel barrier for queues, along x.",
    feet=lambda v: block(v.length_m, 0.6, 1.1),
    stuff={"bar": "zinc"},
    length_m=number(2.3, "length", 0.8, 4),
)
def _crowd_barrier(v: Values, rng: np.random.Generator) -> Mesh:
    n, lean = v.length_m / 2 - 0.04, float(rng.normal(0, 0.02))
    ring = [
        (-n, 0.2),
        (n, 0.2),
        (n, 1.0),
        (n - 0.08, 1.08),
        (-n + 0.08, 1.08),
        (-n, 1.0),
        (-n, 0.2),
    ]
    parts = [
        tube((a[0], lean * a[1], a[1]), (b[0], lean * b[1], b[1]), 0.019, "bar", sides=6)
        for a, b in itertools.pairwise(ring)
    ]
    for x in np.linspace(-n, n, round(2 * n / 0.12) + 1)[1:-1]:
        parts.append(tube((x, lean * 0.2, 0.2), (x, lean, 1.07), 0.008, "bar", sides=4))
    for s in (1, -1):
        x = s * (n - 0.25)
        parts += [
            tube((x, lean * 0.2, 0.2), (x, 0, 0.03), 0.019, "bar", sides=6),
            box((0.05, 0.56, 0.025), "bar", (x, 0, 0)),
        ]
    return join(parts)


@kind(
    "ruts",
    "What wheels have pressed into soft ground along a path: two furrows with lips of soil.",
    draped=True,
    stuff={"soil": "soil"},
    path_m=outline("points of its way", 2, start=((0, 0), (12, 2))),
    track_m=number(1.8, "distance between the wheels", 0.2, 4),
    width_m=number(0.34, "width of a tyre", 0.03, 2),
)
def _ruts(v: Values, rng: np.random.Generator) -> Mesh:
    line = np.asarray(v.path_m, float)
    run = run_along(line)
    at = np.arange(0.0, run[-1], 0.22)
    p = places_along(line, run, at)
    p[:, 0] += 0.12 * np.sin(at / 2.3 + rng.uniform(0, 6))
    along = np.gradient(p, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    side = np.column_stack([-along[:, 1], along[:, 0]])
    w = v.width_m
    across = np.array([-0.85, -0.55, -0.42, 0.42, 0.55, 0.85]) * w
    parts = []
    for s in (1, -1):
        deep = np.clip(0.55 + 0.45 * np.sin(at / 3.1 + rng.uniform(0, 6)), 0.1, 1)[:, None]
        high = 0.004 + deep * np.array([0.0, 0.05, 0.012, 0.012, 0.05, 0.0]) * w / 0.34
        high = high * rng.uniform(0.75, 1.25, high.shape)
        off = s * v.track_m / 2 + across[None] + rng.normal(0, 0.012, high.shape)
        place = np.concatenate(
            [p[:, None] + side[:, None] * off[..., None], high[..., None]], axis=-1
        )
        faces = grid_faces(place)
        parts.append(quads(faces, "soil", faces[..., :2]))
    mesh = join(parts)
    if mesh.normal[..., 2].mean() < 0:
        mesh = replace(mesh, xyz=mesh.xyz[:, ::-1], uv=mesh.uv[:, ::-1], normal=-mesh.normal)
    return mesh


@kind(
    "ground cable",
    "A cable laid over the ground along a path, with slack.",
    draped=True,
    stuff={"cable": "rubber"},
    path_m=outline("points of its way", 2, start=((0, 0), (8, 1))),
    radius_m=number(0.016, "radius", 0.002, 0.3),
    strands=number(2, "how many lie side by side", 1, 12),
)
def _ground_cable(v: Values, rng: np.random.Generator) -> Mesh:
    line = np.asarray(v.path_m, float)
    run = run_along(line)
    at = np.linspace(0.0, run[-1], max(2, int(run[-1] / 0.35)))
    parts = []
    for k in range(int(v.strands)):
        a, b = rng.uniform(0, math.tau, 2)
        x, y = places_along(line, run, at).T
        x = x + 0.10 * np.sin(at / 0.9 + a) + 2.4 * k * v.radius_m
        y = y + 0.10 * np.sin(at / 1.3 + b) + 2.4 * k * v.radius_m
        p = np.column_stack([x, y, np.full(len(at), 0.8 * v.radius_m)])
        parts += [tube(m, n, v.radius_m, "cable", sides=5) for m, n in itertools.pairwise(p)]
    return join(parts)


@kind(
    "flight cases",
    "Cases and crates that showmen leave behind their stalls.",
    variants=5,
    feet=sized(0.1),
    stuff={"case": "black plastic", "edge": "steel", "box": "crate wood"},
    size_m=vector((1.9, 1.1, 1.3), "length, width and height", 0.5),
)
def _flight_cases(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    parts, at = [], -x / 2
    while at < x / 2 - 0.45:
        n, high = min(float(rng.uniform(0.5, 1.0)), x / 2 - at), 0.0
        while high < z - 0.35 and (high == 0.0 or rng.random() < 0.6):
            tall = float(rng.uniform(0.35, 0.6))
            deep = float(rng.uniform(0.6, 0.95)) * y
            slot = "case" if rng.random() < 0.65 else "box"
            middle = (at + n / 2, float(rng.normal(0, 0.03)), high)
            parts.append(box((n - 0.04, deep, tall - 0.01), slot, middle))
            for s, t in itertools.product((1, -1), (1, -1)):
                if slot == "case":
                    corner = (middle[0] + s * (n - 0.04) / 2, middle[1] + t * deep / 2, high)
                    parts.append(box((0.03, 0.03, tall - 0.01), "edge", corner))
            high += tall
        at += n
    return join(parts)


@kind(
    "cable ramp",
    "Covers over cables where people walk, along x: wedges of rubber, their lids yellow.",
    stuff={"side": "black plastic", "lid": "yellow paint"},
    length_m=number(3.0, "length", 0.5, 60),
)
def _cable_ramp(v: Values, rng: np.random.Generator) -> Mesh:
    count = max(1, round(v.length_m / 0.9))
    long, parts = v.length_m / count, []
    wedge = [(-0.25, 0.004), (0.25, 0.004), (0.16, 0.042), (-0.16, 0.042)]
    for k in range(count):
        x = (k + 0.5) * long - v.length_m / 2
        n = long / 2 - 0.008
        ends = [[(a, y, z) for y, z in wedge] for a in (-n, n)]
        faces = [[ends[0][i], ends[1][i], ends[1][(i + 1) % 4], ends[0][(i + 1) % 4]]
                 for i in (1, 2, 3)]  # fmt: skip
        piece = [quads([f[::-1] for f in faces], "side"), box((2 * n - 0.03, 0.26, 0.006), "lid",
                 (0, 0, 0.041))]  # fmt: skip
        piece += [quads([ends[1]], "side"), quads([ends[0][::-1]], "side")]
        at = (x, float(rng.normal(0, 0.012)), 0.0)
        parts.append(moved(join(piece), at, float(rng.normal(0, 1.2))))
    return join(parts)


@kind(
    "generator",
    "A generator in its housing on skids, long along x: louvres, doors, an exhaust, sockets.",
    feet=lambda v: block(3.3, 1.5, 1.9),
    stuff={
        "housing": "blue paint",
        "dark": "black plastic",
        "frame": "zinc",
        "mark": "white paint",
    },
)
def _generator(v: Values, rng: np.random.Generator) -> Mesh:
    parts = [
        box((3.0, 1.2, 1.35), "housing", (0, 0, 0.32)),
        box((3.06, 1.26, 0.06), "frame", (0, 0, 1.64)),
        cylinder(0.07, 0.32, "dark", (1.1, 0.2, 1.7), sides=10),
        box((0.5, 0.04, 0.24), "mark", (-0.1, -0.62, 1.2)),
    ]
    parts += [box((3.2, 0.16, 0.32), "frame", (0, y, 0)) for y in (-0.5, 0.5)]
    for side in (1, -1):
        for x in (-1.0, 0.95):
            parts += [
                box((0.62, 0.03, 0.035), "dark", (x, side * 0.605, z))
                for z in np.arange(0.6, 1.5, 0.09)
            ]
        parts += [box((0.02, 0.02, 1.2), "dark", (x, side * 0.6, 0.4)) for x in (-0.5, 0.4)]
        parts.append(box((0.05, 0.04, 0.16), "frame", (0.3, side * 0.61, 0.95)))
    parts.append(box((0.06, 0.9, 0.5), "dark", (-1.51, 0, 0.5)))
    for y in np.linspace(-0.3, 0.3, 4):
        parts.append(cylinder(0.05, 0.05, "mark", (-1.56, float(y), 0.7), sides=8))
    return join(parts)


@kind(
    "straw bales",
    "Bales of straw put down as seats or a wall, long along x, what fell off them about.",
    variants=4,
    feet=sized(0.15),
    stuff={"straw": "straw", "twine": "#a5713c"},
    size_m=vector((1.95, 0.48, 0.45), "length, width and height", 0.3),
)
def _straw_bales(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    parts, rows = [], max(1, round(z / 0.38))
    for row in range(rows):
        count = max(1, round(x / 0.97) - row)
        for k in range(count):
            n, d, h = (x / max(1, round(x / 0.97)) - 0.03, y - 0.02, z / rows - 0.006)
            flat = [(-n / 2, -d / 2), (n / 2, -d / 2), (n / 2, d / 2), (-n / 2, d / 2)]
            flat = [(a + float(rng.normal(0, 0.012)), b + float(rng.normal(0, 0.012)))
                    for a, b in flat]  # fmt: skip
            bale = [extrude(flat, 0.0, h, "straw", "straw")]
            bale += [box((0.012, d + 0.016, h + 0.006), "twine", (s * n * 0.26, 0, 0))
                     for s in (1, -1)]  # fmt: skip
            at = ((k + 0.5) * (n + 0.03) - count * (n + 0.03) / 2, float(rng.normal(0, 0.02)),
                  row * z / rows)  # fmt: skip
            parts.append(moved(join(bale), at, float(rng.normal(0, 2.5))))
    return join(parts)


@kind(
    "bunting",
    "Small flags on a cord between points (x, y, height), which hangs between them.",
    stuff={
        "cord": "white paint",
        "one": "#b8433a",
        "two": "#e4c04a",
        "three": "#3f7fa8",
        "four": "#e8e4da",
        "five": "#4f8a58",
    },
    path_m=outline("points", 2, 3, start=((0, 0, 3.5), (8, 0, 3.5))),
    gap_m=number(0.3, "distance between flags", 0.05, 5),
    sag_m=number(0.35, "how far each span hangs down", 0, 20),
)
def _bunting(v: Values, rng: np.random.Generator) -> Mesh:
    parts, sorts = [], ("one", "two", "three", "four", "five")
    for a, b in itertools.pairwise(np.asarray(v.path_m, float)):
        n = max(3, int(math.dist(a, b) / v.gap_m))
        s = np.linspace(0, 1, n + 1)
        line = a + (b - a) * s[:, None]
        line[:, 2] -= 4 * v.sag_m * s * (1 - s)
        parts += [tube(p, q, 0.006, "cord", sides=3) for p, q in itertools.pairwise(line[::2])]
        side = np.array([-(b - a)[1], (b - a)[0], 0.0]) / math.dist(a[:2], b[:2])
        for k, (p, q) in enumerate(itertools.pairwise(line)):
            low = (p + q) / 2 + side * float(rng.normal(0, 0.06)) - [0, 0, 0.27]
            left, right = p + 0.1 * (q - p), q - 0.1 * (q - p)
            slot = sorts[(k + int(rng.integers(2))) % 5]
            parts.append(quads([[left, low, right, right], [right, low, left, left]], slot))
    return join(parts)


@kind(
    "guy ropes",
    "Ropes from points (x, y, height) down to pegs beyond them, away from the thing's origin.",
    stuff={"rope": "#d8d2c0", "peg": "rusty iron", "mark": "#c8502e"},
    path_m=outline("points", 1, 3, start=((-2, -1.5, 2.6), (2, -1.5, 2.6))),
    reach_m=number(1.6, "how far beyond a point its peg stands", 0.2, 20),
)
def _guy_ropes(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    for p in np.asarray(v.path_m, float):
        out = p[:2] / max(math.hypot(*p[:2]), 1e-6)
        peg = np.array([*(p[:2] + out * v.reach_m * float(rng.uniform(0.85, 1.15))), 0.1])
        tight = p + (peg - p) * 0.8
        parts += [
            tube(p, peg, 0.012, "rope", sides=5),
            tube(tight, tight + (peg - p) * 0.05, 0.035, "mark", sides=5),
            tube(peg - [*(0.05 * out), 0.25], peg + [*(0.04 * out), 0.08], 0.02, "peg", sides=6),
        ]
    return join(parts)

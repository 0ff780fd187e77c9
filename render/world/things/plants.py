"""Trees, shrubs, hedges, pots: crowns are many small leaf faces round a few branch ends."""

import itertools
import math

import numpy as np

from render.world.mesh import Mesh, box, grid_faces, join, lathe, moved, quads, tube
from render.world.things.feet import Foot, disc, sized
from render.world.things.kind import Values, kind, number, pick, vector
from render.world.things.leaves import bloom, blossoms, leaves, sprays

__all__: list[str] = []


#: Who says that leaves are so small looks at them from near.
_NEAR_LEAF_M = 0.065

#: Width of a crown as a share of the height.
_WIDE = {"broad": 0.78, "round": 0.62, "slim": 0.24, "conifer": 0.42, "palm": 0.5, "bare": 0.6}


def _bare_m(v: Values) -> float:
    share = {"conifer": 0.08, "slim": 0.08}.get(v.species, 0.26)
    return float(v.trunk_m if v.trunk_m >= 0 else v.height_m * share)


def _tree_feet(v: Values) -> tuple[Foot, ...]:
    """The trunk, and the branches that reach into walls."""
    crown = v.crown_m or v.height_m * _WIDE[v.species]
    trunk = 0.03 * v.height_m + 0.05
    return disc(trunk, v.height_m) + disc(0.5 * crown, v.height_m, _bare_m(v))


@kind(
    "tree",
    "A tree.",
    feet=_tree_feet,
    variants=4,
    stuff={"leaf": "leaves", "bark": "bark", "snow": "lying snow"},
    species=pick("broad", "form of the crown", "broad", "round", "slim", "conifer", "palm", "bare"),
    height_m=number(9.0, "height", 0.2, 80),
    crown_m=number(0.0, "width of the crown; 0 follows the species", 0, 60),
    trunk_m=number(-1.0, "height of the bare trunk; -1 follows the species", -1, 30),
    leaf_m=number(0.0, "size of a leaf or a tuft; 0 follows the height", 0, 3),
    leaves=number(2400, "number of leaves or tufts", 10, 200000),
    snowy=number(0.0, "share of a conifer's boughs that snow lies on", 0, 1),
)
def _tree(v: Values, rng: np.random.Generator) -> Mesh:
    h = v.height_m
    crown = v.crown_m or h * _WIDE[v.species]
    bare = _bare_m(v)
    leaf = v.leaf_m or 0.030 * h**0.75 * 1.6
    girth = 0.018 * h + 0.03
    if v.species == "conifer":
        return _conifer(h, crown, bare, leaf, int(v.leaves), girth, v.snowy, rng)
    if v.species == "palm":
        return _palm(h, crown, girth, rng)
    parts = [_trunk(girth, bare, rng.spawn(1)[0])]
    middle = bare + (h - bare) * 0.48
    parts.append(tube((0, 0, bare), (0, 0, h * 0.86), girth * 0.8, "bark", girth * 0.12, 8))
    count = {"slim": 16}.get(v.species, 26)
    radii = np.array([crown / 2, crown / 2, (h - bare) * 0.52])
    tips = _scattered(count, rng) * radii * 0.70 + [0, 0, middle]
    for tip in tips:
        start = bare + (min(tip[2], h * 0.8) - bare) * rng.uniform(0.15, 0.5)
        parts.append(tube((0, 0, start), tip, girth * 0.34, "bark", girth * 0.06, 5))
    if v.species == "bare":
        for tip in tips:
            for _ in range(5):
                end = tip + rng.normal(0, 0.12, 3) * radii
                parts.append(
                    tube(tip * 0.75 + [0, 0, middle * 0.25], end, girth * 0.08, "bark", 0.01, 4)
                )
        return join(parts)
    size = radii * (0.40 if v.species != "slim" else 0.5)
    twigs = v.leaf_m == 0  # who says how large a leaf is means one
    count = round((0.5 if twigs else 1.0) * v.leaves)
    parts.append(_crown(tips, size, count, leaf, (0, 0, middle), rng, twigs=twigs))
    return join(parts)


def _trunk(girth: float, bare: float, rng: np.random.Generator) -> Mesh:
    """A trunk that widens into its roots, not quite round, up to where the crown begins."""
    n, high = 16, max(bare, 0.4)
    z = np.concatenate([[-0.2, 0.0, 0.07, 0.18, 0.36, 0.7], np.linspace(1.1, 1.0 + high, 5)])
    z = np.append(z[z < high - 0.05], high)
    a = np.linspace(0, math.tau, n + 1)
    roots = (
        0.55 + 0.45 * np.cos(5 * a + rng.uniform(0, 6)) + 0.3 * np.cos(2 * a + rng.uniform(0, 6))
    )
    flare = np.exp(-np.maximum(z, 0.0) / (1.3 * girth + 0.05))[None]
    round_ = 1 + 0.05 * np.cos(3 * a[:, None] + 1.3 * z) + 0.04 * np.cos(2 * a[:, None] - 0.8 * z)
    r = girth * (1 - 0.2 * np.clip(z, 0, None) / high) * round_ + girth * flare * (
        0.35 + 0.75 * roots[:, None]
    )
    place = np.stack(
        [r * np.cos(a)[:, None], r * np.sin(a)[:, None], np.broadcast_to(z, r.shape)], -1
    )
    flat = np.stack([np.broadcast_to(girth * a[:, None], r.shape), place[..., 2]], -1)
    return quads(grid_faces(place), "bark", grid_faces(flat))


def _scattered(count: int, rng: np.random.Generator) -> np.ndarray:
    """Points filling the unit ball evenly, more of them towards its skin, shape (count, 3)."""
    i = np.arange(count) + 0.5
    polar, around = np.arccos(1 - 2 * i / count), np.pi * (1 + 5**0.5) * i
    skin = np.stack(
        [np.sin(polar) * np.cos(around), np.sin(polar) * np.sin(around), np.cos(polar)], -1
    )
    return np.asarray(skin * rng.uniform(0.55, 1.0, (count, 1)) + rng.normal(0, 0.08, (count, 3)))


def _crown(
    tips: np.ndarray,
    size: np.ndarray,
    count: int,
    leaf: float,
    middle: tuple[float, float, float],
    rng: np.random.Generator,
    near: bool = False,
    twigs: bool = False,
) -> Mesh:
    """Leaves or twigs on puffs around branch ends, normals leaning outward from puff and crown."""
    which = rng.integers(0, len(tips), count)
    scale = rng.uniform(0.75, 1.2, len(tips))
    out = rng.normal(size=(count, 3))
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    out[:, 2] = np.where(rng.random(count) < 0.65, np.abs(out[:, 2]), out[:, 2])
    depth = rng.uniform(0.55, 1.05, (count, 1)) ** 0.5
    at = tips[which] + out * depth * size * scale[which, None]
    crown = at - np.asarray(middle)
    crown /= np.maximum(np.linalg.norm(crown, axis=1, keepdims=True), 1e-9)
    normal = 0.75 * out + 0.5 * crown + rng.normal(0, 0.25, (count, 3))
    size_m = leaf * rng.uniform(0.7, 1.3, count)
    if twigs:
        return sprays(at, normal, 1.2 * size_m, "leaf", rng)
    return leaves(at, normal, size_m, "leaf", rng, near=near)


def _conifer(
    h: float,
    crown: float,
    bare: float,
    leaf: float,
    count: int,
    girth: float,
    snow: float,
    rng: np.random.Generator,
) -> Mesh:
    """Boughs in whorls about a trunk: each has its own length, hangs, and carries its tufts.

    Lower boughs are older: longer, hanging more, and here and there one is gone; light from one
    side makes a tree fuller there.
    """
    parts = [tube((0, 0, -0.2), (0, 0, h * 0.97), girth * 0.8, "bark", 0.02, 8)]
    whorls = max(9, round(0.9 * h + 8))
    up = (np.arange(whorls) + rng.uniform(-0.3, 0.3, whorls)) / whorls
    each = rng.integers(5, 8, whorls)
    s = np.repeat(up, each)
    bough = rng.uniform(0, math.tau, whorls).repeat(each) + rng.normal(0, 0.25, len(s))
    bough += np.concatenate([np.arange(k) * math.tau / k for k in each])
    full = rng.uniform(0, math.tau)
    reach = crown / 2 * (1 - s) ** rng.uniform(0.75, 1.0) * (1 + 0.18 * np.cos(bough - full))
    reach *= rng.uniform(0.68, 1.12, len(s)) * np.where(rng.random(len(s)) < 0.07, 0.35, 1.0)
    reach += 0.02 * h * (1 - s)
    droop = rng.uniform(0.15, 0.3) + 0.3 * (1 - s) + rng.normal(0, 0.07, len(s))
    which = rng.choice(len(s), count, p=(reach + 0.1 * crown) / (reach + 0.1 * crown).sum())
    out = np.sqrt(rng.uniform(0.02, 1.0, count))
    a = bough[which] + rng.normal(0, 0.16, count) * (1.1 - 0.5 * out)
    r = reach[which] * out
    way = np.stack([np.cos(a), np.sin(a), np.zeros(count)], -1)
    at = way * r[:, None]
    hang = droop[which] * (out - 0.45 * out**2)  # tips rise again
    at[:, 2] = bare + (h - bare) * s[which] - hang * reach[which] + rng.normal(0, 0.006 * h, count)
    normal = way * 0.8 + [0, 0, 0.75] + rng.normal(0, 0.2, (count, 3))
    size = leaf * rng.uniform(0.8, 1.5, count)
    if snow == 0:
        return join([*parts, leaves(at, normal, size, "leaf", rng, 1.6)])
    apart = rng.spawn(1)[0]  # so that the tree is the same with and without
    laden = apart.random(len(s))[which] < snow
    white = laden & (out > 0.3) & (apart.random(count) < 0.8)
    flat = 0.25 * normal + [0, 0, 1.0]
    return join([
        *parts,
        leaves(at[~white], normal[~white], size[~white], "leaf", rng, 1.6),
        leaves(at[white] + [0, 0, 0.12 * leaf], flat[white], 1.15 * size[white], "snow", apart),
    ])  # fmt: skip


def _palm(h: float, crown: float, girth: float, rng: np.random.Generator) -> Mesh:
    bend = rng.uniform(0.02, 0.08) * h
    z = np.linspace(0, h * 0.9, 9)
    x = bend * (z / h) ** 2
    parts = [
        tube((x[i], 0, z[i]), (x[i + 1], 0, z[i + 1]), girth, "bark", girth * 0.97, 9)
        for i in range(8)
    ]
    faces = []
    for k in range(18):
        angle, lift = 2 * math.pi * k / 18 + rng.uniform(-0.1, 0.1), rng.uniform(0.1, 0.9)
        length = crown * rng.uniform(0.45, 0.6)
        s = np.linspace(0, 1, 9)
        r = length * s * math.cos(lift * 0.8)
        up = length * (math.sin(lift) * s - 0.85 * s**2.2)
        line = np.stack([x[-1] + r * math.cos(angle), r * math.sin(angle), z[-1] + up], -1)
        side = np.array([-math.sin(angle), math.cos(angle), 0.0])
        width = 0.16 * length * np.sin(np.pi * (0.12 + 0.88 * s)) + 0.01
        for i in range(8):
            for sign in (1, -1):
                edge = side * sign
                down = np.array([0, 0, -0.35])
                a, b = line[i], line[i + 1]
                faces.append([a, b, b + (edge + down) * width[i + 1], a + (edge + down) * width[i]])
    return join(
        [*parts, quads(faces, "leaf", np.tile(rng.uniform(0, 40, (len(faces), 1, 2)), (1, 4, 1)))]
    )


@kind(
    "shrub",
    "A shrub, a tuft or a bed of flowers.",
    feet=sized(),
    variants=3,
    stuff={"leaf": "leaves", "flower": "flowers"},
    size_m=vector((1.4, 1.4, 1.1), "width, depth, height", 0.02),
    leaf_m=number(0.10, "size of a leaf", 0.002),
    leaves=number(700, "number of leaves", 4, 100000),
    flowers=number(0, "number of flowers", 0, 20000),
)
def _shrub(v: Values, rng: np.random.Generator) -> Mesh:
    radii = np.array(v.size_m) / [2, 2, 1]
    puffs = np.abs(_scattered(14, rng) * [1, 1, 0]) * np.sign(rng.normal(size=(14, 3))) + [0, 0, 0]
    puffs[:, 2] = rng.uniform(0.15, 0.65, 14)
    out = rng.normal(size=(int(v.leaves), 3))
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    which = rng.integers(0, 14, int(v.leaves))
    at = (puffs[which] * 0.62 + out * 0.38 * rng.uniform(0.6, 1, (len(out), 1))) * radii
    at[:, 2] = np.abs(at[:, 2])
    normal = out + [0, 0, 0.4]
    size = v.leaf_m * rng.uniform(0.7, 1.3, len(at))
    near = v.leaf_m <= _NEAR_LEAF_M
    count = len(at) if near else (len(at) + 1) // 2  # a twig stands for two leaves
    if near:
        parts = [leaves(at, normal, size, "leaf", rng, 1.5, near=True)]
    else:
        parts = [sprays(at[:count], normal[:count], 1.3 * size[:count], "leaf", rng)]
    if v.flowers:
        top = rng.choice(count, int(v.flowers), replace=int(v.flowers) > count)
        lifted = at[top] + [0, 0, 0.35 * v.leaf_m] + out[top] * 0.05 * radii
        parts.append(blossoms(lifted, normal[top] + [0, 0, 1], 1.1 * v.leaf_m, "flower", rng))
    return join(parts)


@kind(
    "hedge",
    "A clipped hedge, long side along x.",
    feet=sized(),
    variants=2,
    stuff={"leaf": "hedge leaves", "inside": "hedge inside"},
    size_m=vector((4.0, 0.8, 1.2), "length, thickness, height", 0.05),
    leaf_m=number(0.09, "size of a leaf", 0.005),
    dense=number(150.0, "leaves per square metre", 5, 2000),
)
def _hedge(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    faces = [
        ((0, 0, 1), x, y),
        ((0, 1, 0), x, z),
        ((0, -1, 0), x, z),
        ((1, 0, 0), y, z),
        ((-1, 0, 0), y, z),
    ]
    at, normal = [], []
    for n, a, b in faces:
        count = max(4, int(a * b * v.dense))
        s = rng.uniform(-0.5, 0.5, (count, 2))
        p = np.empty((count, 3))
        if n[2]:
            p[:, 0], p[:, 1], p[:, 2] = s[:, 0] * x, s[:, 1] * y, z
        elif n[1]:
            p[:, 0], p[:, 1], p[:, 2] = s[:, 0] * x, n[1] * y / 2, (s[:, 1] + 0.5) * z
        else:
            p[:, 0], p[:, 1], p[:, 2] = n[0] * x / 2, s[:, 0] * y, (s[:, 1] + 0.5) * z
        at.append(p + np.array(n) * rng.normal(0, 0.03, (count, 1)))
        normal.append(np.tile(n, (count, 1)) + rng.normal(0, 0.35, (count, 3)))
    where, out = np.concatenate(at), np.concatenate(normal)
    inside = box((x - 0.08, y - 0.08, z - 0.05), "inside")
    some = rng.permutation(len(where))[: (len(where) + 1) // 2]  # a twig stands for two leaves
    size = 1.3 * v.leaf_m * rng.uniform(0.7, 1.3, len(some))
    return join([inside, sprays(where[some], out[some], size, "leaf", rng)])


@kind(
    "garden",
    "A kitchen garden in a fence, with its gate towards -y: beds in rows, a path of slabs.",
    feet=sized(0.2),
    variants=3,
    draped=True,
    stuff={
        "fence": "white wood",
        "bed": "soil",
        "path": "paving",
        "leaf": "leaves",
        "flower": "flowers",
    },
    size_m=vector((7.0, 5.0, 0.9), "width, depth, height of the fence", 0.3),
)
def _garden(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, h = v.size_m[0] / 2, v.size_m[1] / 2, v.size_m[2]
    parts = []
    gate = 0.6
    sides = [((-x, -y), (-gate, -y)), ((gate, -y), (x, -y)), ((-x, y), (-x, -y)), ((x, -y), (x, y))]
    for a, b in (np.array(side) for side in sides):
        count = max(2, int(math.dist(a, b) / 0.22))
        for s in (np.arange(count) + 0.5) / count:
            parts.append(box((0.07, 0.03, h), "fence", (*(a + (b - a) * s), 0.0)))
        for z in (0.25 * h, 0.75 * h):
            parts.append(tube((*a, z), (*b, z), 0.025, "fence", sides=4))
    for k in range(max(2, int(v.size_m[1] / 0.55))):
        parts.append(
            box((0.5, 0.42, 0.05), "path", (rng.uniform(-0.04, 0.04), -y + 0.3 + 0.55 * k, 0))
        )
    for side in (-1, 1):
        for k in range(rows := max(1, int(v.size_m[1] / 1.2))):
            at = np.array([side * (x / 2 + 0.2), -y + v.size_m[1] * (k + 0.5) / rows, 0.0])
            parts.append(box((x - 1.0, 0.75, 0.12), "bed", at.tolist()))
            tall, many = rng.uniform(0.12, 0.5), int(90 * x)
            spread = rng.uniform(-0.5, 0.5, (many, 3)) * [x - 1.1, 0.62, tall]
            spread[:, 0] = np.round(spread[:, 0] / 0.3) * 0.3 + rng.normal(0, 0.05, many)
            slot = "flower" if rng.random() < 0.25 else "leaf"
            up = rng.normal(0, 0.5, (many, 3)) + [0, 0, 0.8]
            where = at + spread + [0, 0, 0.12 + tall / 2]
            parts.append(leaves(where, up, rng.uniform(0.08, 0.16, many), slot, rng))
    return join(parts)


@kind(
    "pot",
    "A plant pot with what grows in it.",
    feet=lambda v: disc(0.2),
    variants=5,
    stuff={
        "pot": "terracotta",
        "soil": "soil",
        "leaf": "leaves",
        "bark": "bark",
        "flower": "flowers",
    },
    plant=pick("ball", "what grows", "ball", "cone", "bush", "grass", "flowers", "none"),
    pot_m=vector((0.30, 0.28), "width and height of the pot", 0.01),
    height_m=number(0.6, "height of the plant above the pot", 0.0, 10),
    width_m=number(0.4, "width of the plant", 0.0, 10),
    leaf_m=number(0.022, "size of a leaf", 0.001),
    leaves=number(1500, "number of leaves", 4, 100000),
)
def _pot(v: Values, rng: np.random.Generator) -> Mesh:
    r, h = v.pot_m[0] / 2, v.pot_m[1]
    profile = [
        (0, 0),
        (r * 0.66, 0),
        (r * 0.93, h * 0.80),
        (r, h * 0.80),
        (r * 1.02, h),
        (r * 0.90, h),
        (r * 0.88, h * 0.9),
    ]
    parts = [
        lathe(profile, "pot", 32),
        moved(lathe([(r * 0.89, 0), (0, 0.012)], "soil", 24), (0, 0, h * 0.9)),
    ]
    n, w, tall = int(v.leaves), v.width_m / 2, v.height_m
    if v.plant == "none":
        return join(parts)
    if v.plant in ("ball", "cone", "bush"):
        parts += _clipped(v.plant, n, w, tall, h, v.leaf_m, rng)
    elif v.plant == "grass":
        parts.append(moved(_blades(n // 6, w, tall, rng), (0, 0, h * 0.9)))
    else:
        parts.append(moved(_posy(n, w, tall, v.leaf_m, rng), (0, 0, h * 0.9)))
    return join(parts)


def _clipped(
    form: str, n: int, w: float, tall: float, foot: float, leaf: float, rng: np.random.Generator
) -> list[Mesh]:
    out = rng.normal(size=(n, 3))
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    depth = rng.uniform(0.6, 1.0, (n, 1)) ** 0.4
    if form == "cone":
        t = 1 - np.sqrt(rng.uniform(0, 1, n))
        a = rng.uniform(0, 2 * np.pi, n)
        flat = np.stack([np.cos(a), np.sin(a), np.full(n, 0.35)], -1)
        at = flat * (w * (1 - t) ** 0.9 * depth[:, 0])[:, None]
        at[:, 2] = foot + 0.02 + t * tall
        return [
            tube((0, 0, foot * 0.8), (0, 0, foot + tall * 0.7), 0.012, "bark", 0.004),
            leaves(
                at,
                flat + rng.normal(0, 0.2, (n, 3)),
                leaf * rng.uniform(0.7, 1.3, n),
                "leaf",
                rng,
                1.7,
                near=True,
            ),
        ]
    if form == "bush":
        tips = _scattered(12, rng) * [w * 0.6, w * 0.6, tall * 0.3] + [0, 0, foot + tall * 0.55]
        crown = _crown(
            tips,
            np.array([w * 0.5, w * 0.5, tall * 0.28]),
            n,
            leaf,
            (0, 0, foot + tall / 2),
            rng,
            near=True,
        )
        stems = [tube((0, 0, foot * 0.85), p, 0.008, "bark", 0.003, 5) for p in tips]
        return [*stems, crown]
    centre = foot + tall - w
    at = out * w * depth + [0, 0, centre]
    stem = tube((0, 0, foot * 0.8), (0, 0, centre), 0.014, "bark", 0.010, 8)
    return [
        stem,
        leaves(
            at,
            out + rng.normal(0, 0.2, (n, 3)),
            leaf * rng.uniform(0.7, 1.3, n),
            "leaf",
            rng,
            1.7,
            near=True,
        ),
    ]


def _blades(n: int, w: float, tall: float, rng: np.random.Generator) -> Mesh:
    faces = []
    for _ in range(max(n, 4)):
        a, lean = rng.uniform(0, 2 * math.pi), rng.uniform(0.1, 1.0)
        d = np.array([math.cos(a), math.sin(a), 0.0])
        side = np.array([-d[1], d[0], 0.0]) * 0.005
        foot = d * rng.uniform(0, 0.2) * w
        points = [
            foot
            + d * lean * w * s**2
            + [0, 0, tall * rng.uniform(0.9, 1.0) * (s - 0.35 * lean * s**3)]
            for s in (0, 0.35, 0.7, 1.0)
        ]
        faces += [
            [p - side, p + side, q + side * 0.6, q - side * 0.6]
            for p, q in itertools.pairwise(points)
        ]
    return quads(faces, "leaf", np.tile(rng.uniform(0, 40, (len(faces), 1, 2)), (1, 4, 1)))


def _posy(n: int, w: float, tall: float, leaf: float, rng: np.random.Generator) -> Mesh:
    a, r = rng.uniform(0, 2 * np.pi, n), w * np.sqrt(rng.uniform(0, 1, n))
    z = tall * (1 - 0.45 * (r / w) ** 2) * rng.uniform(0.35, 0.85, n)
    at = np.stack([r * np.cos(a), r * np.sin(a), z], -1)
    up = at / np.linalg.norm(at, axis=1, keepdims=True) + [0, 0, 0.6]
    green = leaves(at, up, leaf * rng.uniform(0.7, 1.3, n), "leaf", rng, 1.8, near=True)
    k = max(n // 8, 3)
    a, r = rng.uniform(0, 2 * np.pi, k), w * np.sqrt(rng.uniform(0, 1, k))
    top = np.stack([r * np.cos(a), r * np.sin(a), tall * (1 - 0.45 * (r / w) ** 2)], -1)
    facing = np.stack([0.5 * np.cos(a) * r / w, 0.5 * np.sin(a) * r / w, np.ones(k)], -1)
    facing += rng.normal(0, 0.25, (k, 3))
    return join([green, *(bloom(p, f, leaf * 0.9, rng) for p, f in zip(top, facing, strict=True))])

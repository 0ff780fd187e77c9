"""What lies on the ground: puddles, covers, litter, towels; signs that carry no words."""

import itertools
import math

import numpy as np

from render.world.line import run_along
from render.world.mesh import (
    Mesh,
    box,
    ellipsoid,
    extrude,
    grid_faces,
    join,
    lathe,
    moved,
    quads,
    sheet,
    tube,
)
from render.world.things.feet import block, disc, sized
from render.world.things.figures import PLAIN
from render.world.things.kind import Values, kind, number, pick, vector, yes
from render.world.things.people import RIDERS, figure

__all__ = ["BAGS", "beach_bag"]


@kind(
    "puddle",
    "A puddle of rain with a shore of no shape.",
    variants=3,
    draped=True,
    stuff={"water": "puddle", "shore": "wet ground", "damp": "damp ground"},
    size_m=vector((2.0, 1.0), "length and width", 0.1),
)
def _puddle(v: Values, rng: np.random.Generator) -> Mesh:
    angle = np.linspace(0, math.tau, 41)[:-1]
    waves = np.zeros(len(angle))
    for k in range(1, 7):
        waves += rng.uniform(0.03, 0.22) / k * np.cos(k * angle + rng.uniform(0, math.tau))
    shore = (1 + waves)[:, None] * np.stack([np.cos(angle), np.sin(angle)], -1)
    around = shore * np.array(v.size_m) / 2
    # ground dries from its rim, which is ragged: damp, then wet, then water
    ragged = 1 + 0.05 * rng.uniform(-1, 1, (3, len(angle), 1))
    return join(
        [
            sheet(around * 1.42 * ragged[0], 0.032, "damp"),
            sheet(around * 1.20 * ragged[1], 0.034, "shore"),
            sheet(around * ragged[2], 0.037, "water"),
        ]
    )


@kind(
    "manhole",
    "A cover of iron in a ring of stone, or the grating of a drain, long along x.",
    stuff={"cover": "cast iron", "ring": "granite", "dark": "black plastic"},
    shape=pick("round", "which", "round", "drain"),
)
def _manhole(v: Values, rng: np.random.Generator) -> Mesh:
    if v.shape == "drain":
        bars = [
            box((0.035, 0.26, 0.006), "cover", (x, 0, 0.024)) for x in np.linspace(-0.2, 0.2, 7)
        ]
        rim = box((0.52, 0.36, 0.02), "cover", (0, 0, 0))
        return join([rim, box((0.44, 0.28, 0.002), "dark", (0, 0, 0.0205)), *bars])
    lid = lathe([(0.0, 0.036), (0.30, 0.036), (0.30, 0.0)][::-1], "cover", 28)
    ring = lathe([(0.30, 0.033), (0.36, 0.033), (0.36, 0.0)][::-1], "ring", 28)
    ribs = [box((0.5, 0.025, 0.008), "cover", (0, y, 0.036)) for y in np.linspace(-0.15, 0.15, 5)]
    return join([lid, ring, *ribs])


@kind(
    "litter",
    "Small flat things strewn over an oval, most in its middle: leaves, weed, scraps of paper.",
    variants=4,
    draped=True,
    stuff={"piece": "dead leaves"},
    size_m=vector((2.0, 0.6), "length and width", 0.1),
    pieces=number(60, "how many", 1, 5000),
    piece_m=number(0.05, "size of one", 0.002, 1),
)
def _litter(v: Values, rng: np.random.Generator) -> Mesh:
    n = int(v.pieces)
    angle, reach = rng.uniform(0, math.tau, n), rng.uniform(0, 1, n) ** 0.7
    at = 0.5 * reach[:, None] * np.stack([np.cos(angle), np.sin(angle)], -1) * v.size_m
    turn = rng.uniform(0, math.tau, n)
    along = np.stack([np.cos(turn), np.sin(turn)], -1)
    half = 0.5 * v.piece_m * rng.uniform(0.6, 1.4, (n, 1))
    wide = half * rng.uniform(0.3, 0.8, (n, 1))
    side = np.stack([-along[:, 1], along[:, 0]], -1) * wide
    flat = np.stack([at - along * half, at - side, at + along * half, at + side], 1)
    high = 0.034 + np.broadcast_to(rng.uniform(0.0, 0.006, (n, 1, 1)), (n, 4, 1))
    tag = np.repeat(rng.uniform(0.0, 40.0, (n, 1, 2)), 4, axis=1)
    return quads(np.concatenate([flat, high], -1), "piece", tag)


#: What people carry to a beach, and its slots.
BAGS = {"bag": "cloth", "tote": "cream awning", "basket": "rope", "pack": "#2f3a33"}
_BAG_SIZES = {
    "bag": (0.24, 0.13, 0.12),
    "tote": (0.21, 0.07, 0.19),
    "basket": (0.2, 0.15, 0.15),
    "pack": (0.15, 0.12, 0.23),
}


def beach_bag(rng: np.random.Generator) -> Mesh:
    """A holdall, a tote, a basket or a pack that somebody has put down."""
    slot = str(rng.choice(list(BAGS)))
    wide, deep, high = rng.uniform(0.8, 1.15, 3) * _BAG_SIZES[slot]
    n = 12 if slot == "basket" else 8
    angle = np.arange(n) * math.tau / n + math.pi / n
    ring = np.stack([np.cos(angle), np.sin(angle)], -1)
    ring = np.sign(ring) * np.abs(ring) ** 0.6 * (wide, deep)
    levels = np.array([0.0, 0.25, 0.7, 1.0]) * 2 * high
    bulge = np.array([0.86, 1.05, 1.0, 0.72 if slot in ("tote", "pack") else 0.9])
    slump = rng.normal(0, 0.02, (4, 2)) * levels[:, None] / 0.3
    around = (ring[:, None] * bulge[:, None] + slump)[[*range(n), 0]]
    up = np.broadcast_to(levels[:, None], (n + 1, 4, 1))
    side = quads(grid_faces(np.concatenate([around, up], axis=-1)), slot)
    top = levels[-1]
    lid = extrude(0.98 * ring * bulge[-1] + slump[-1], top - 0.03, top - 0.012, slot, slot)
    arc = np.linspace(0, math.pi, 7)
    strap = [(0.6 * wide * math.cos(t), 0.0, top - 0.02 + 0.5 * high * math.sin(t)) for t in arc]
    straps = [tube(p, q, 0.011, slot, sides=5) for p, q in itertools.pairwise(strap)]
    return join([side, lid, *straps])


@kind(
    "towel",
    "A towel laid out, and what came with it: a bag, shoes, a bottle, a book, a ball.",
    variants=8,
    feet=sized(0.5),
    stuff={
        "cloth": "towel",
        **BAGS,
        "shoe": "rubber",
        "box": "blue paint",
        "lid": "white paint",
        "ball": "red paint",
    },
    size_m=vector((0.9, 1.8, 0.3), "width, length and height of what lies there", 0.1),
)
def _towel(v: Values, rng: np.random.Generator) -> Mesh:
    x, y = v.size_m[0], v.size_m[1]
    u, w = np.meshgrid(np.linspace(-x / 2, x / 2, 7), np.linspace(-y / 2, y / 2, 11), indexing="ij")
    a, b, c = rng.uniform(0, math.tau, 3)
    high = 0.03 + 0.012 * np.sin(4.1 * u + 2.3 * w + a) * np.sin(3.2 * w + b)
    high += 0.02 * np.clip(np.abs(2 * w / y) - 0.8, 0, 1) * (1 + np.sin(5 * u + c))
    bent = u + 0.02 * np.sin(3 * w + a)
    grid = np.stack([bent, w + 0.02 * np.sin(4 * u + b), high], -1)
    flat = np.stack([w, u], -1) + rng.uniform(0, 3, 2)
    parts = [quads(grid_faces(grid), "cloth", grid_faces(flat))]
    beside = float(rng.choice([-1.0, 1.0])) * (x / 2 + 0.22)
    if rng.random() < 0.7:
        parts.append(moved(beach_bag(rng), (beside, y * 0.32, 0.0), float(rng.uniform(0, 360))))
    if rng.random() < 0.35:
        parts.append(
            box((0.42, 0.28, 0.28), "box", (beside, -y * 0.1, 0.0), turn_deg=float(90 * a))
        )
        parts.append(
            box((0.44, 0.3, 0.06), "lid", (beside, -y * 0.1, 0.28), turn_deg=float(90 * a))
        )
    for s in (0.0, 0.13):
        parts.append(
            ellipsoid((0.045, 0.13, 0.04), "shoe", (beside * 0.9 + s, -y * 0.42, 0.03), 10, 5)
        )
    if rng.random() < 0.5:
        parts.append(box((0.15, 0.22, 0.025), "lid", (0.1, y * 0.1, 0.045), turn_deg=float(50 * b)))
    if rng.random() < 0.3:
        parts.append(ellipsoid((0.13, 0.13, 0.13), "ball", (-beside, -y * 0.3, 0.13), 16, 8))
    return join(parts)


@kind(
    "deck chair",
    "A folding chair of cloth, and who sits in it, facing -y before turning.",
    variants=6,
    feet=lambda v: block(0.7, 1.1, 1.35, (0.0, -0.15)),
    stuff={**RIDERS, "cloth": "towel", "frame": "white paint"},
    taken=yes(True, "someone sits in it, in shorts"),
)
def _deck_chair(v: Values, rng: np.random.Generator) -> Mesh:
    """Its cloth lies under the thighs and behind the back of a figure that sits."""
    line = np.array([(-0.40, 0.41), (-0.12, 0.375), (0.13, 0.37), (0.17, 0.60), (0.34, 1.08)])
    wide = np.array([[-0.28], [0.28]])
    left, right = (
        np.concatenate([np.broadcast_to(w, (len(line), 1)), line], axis=-1) for w in wide
    )
    cloth = np.stack([left[:-1], right[:-1], right[1:], left[1:]], axis=1)
    lap = run_along(line)
    u = np.stack([lap[:-1], lap[:-1], lap[1:], lap[1:]], axis=1)
    v_across = np.broadcast_to([-0.28, 0.28, 0.28, -0.28], u.shape)
    parts = [quads(cloth, "cloth", np.stack([u, v_across], axis=-1) + rng.uniform(0, 3, 2))]
    for x in (-0.29, 0.29):
        parts += [
            tube((x, -0.41, 0.42), (x, 0.42, 0.0), 0.018, "frame", sides=6),
            tube((x, 0.35, 1.10), (x, -0.34, 0.0), 0.018, "frame", sides=6),
        ]
    for y, z in ((-0.41, 0.42), (0.35, 1.10), (0.42, 0.02)):
        parts.append(tube((-0.3, y, z), (0.3, y, z), 0.018, "frame", sides=6))
    if v.taken:
        parts.append(figure("sit", PLAIN, rng, shorts=True))
    return join(parts)


@kind(
    "sign",
    "A sign on a post, with shapes and no words, facing -y.",
    feet=lambda v: disc(0.08),
    stuff={"post": "zinc", "face": "white paint", "rim": "red paint", "mark": "blue paint"},
    shape=pick("round", "form of its face", "round", "triangle", "panel"),
)
def _sign(v: Values, rng: np.random.Generator) -> Mesh:
    post = tube((0, 0.03, 0), (0, 0.03, 2.75), 0.03, "post", sides=8)
    if v.shape == "panel":
        outline = np.array([(-0.45, -0.3), (0.45, -0.3), (0.45, 0.3), (-0.45, 0.3)])
    else:
        turns = np.arange(24 if v.shape == "round" else 3) / (24 if v.shape == "round" else 3)
        angle = math.tau * turns + math.pi / 2
        outline = 0.36 * np.stack([np.cos(angle), np.sin(angle)], -1)
    plates = [
        _upright(outline, 0.012, "rim", 0.0),
        _upright(0.82 * outline, 0.006, "face", -0.012),
        _upright(0.42 * outline[:, ::-1] * [1, -1], 0.004, "mark", -0.018),
    ]
    return join([post, *(moved(plate, (0, 0, 2.38)) for plate in plates)])


def _upright(outline: np.ndarray, thick: float, slot: str, y: float) -> Mesh:
    flat = extrude(outline, 0.0, thick, slot, slot)
    return moved(flat, (0, y, 0), matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]])

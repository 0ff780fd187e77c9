"""Who is not alone outdoors: people who stand and talk, someone with a dog, someone with a pram."""

import itertools
import math
from dataclasses import replace

import numpy as np

from render.world.mesh import Mesh, ellipsoid, join, lathe, moved, tube
from render.world.things.feet import Foot, block, disc
from render.world.things.figures import few_faces, outfit_of
from render.world.things.kind import Gait, Values, kind, number, pick
from render.world.things.people import DRESSED, figure, posed, stepping, two_steps_m

__all__: list[str] = []

#: People who talk stand so far from their middle, two and three of them.
_APART_M = (0.42, 0.51)
#: Where a dog goes, beside and before who leads it, and where a pram's middle is.
_DOG_AT, _PRAM_M = (0.55, -0.45), 0.98
_POSE = pick("any", "how they hold themselves", "any", "stand", "walk")
_HEIGHT = number(1.72, "height of the person", 0.4, 2.6)
_STRIDE = number(0.0, "which part of two steps is done, at a walk", 0, 1)


@kind(
    "company",
    "Two or three people who stand together and talk, one in four times with a child.",
    variants=3,
    feet=lambda v: disc(0.76 * v.height_m / 1.72, 1.1 * v.height_m),
    stuff={
        **DRESSED,
        **{f"{slot}{k}": DRESSED[slot] for k in (2, 3) for slot in ("top", "bottom", "hair")},
    },
    height_m=number(1.72, "height of the tallest, about", 0.4, 2.6),
)
def _company(v: Values, rng: np.random.Generator) -> Mesh:
    count = int(rng.integers(2, 4))
    parts = []
    for k in range(count):
        each = rng.spawn(1)[0]
        worn = outfit_of(each, bool(each.random() < 0.4), bool(each.random() < 0.3), False)
        child = k == count - 1 and each.random() < 0.25
        tall = v.height_m * float(each.uniform(0.62, 0.78) if child else each.uniform(0.93, 1.0))
        if child:
            worn = replace(worn, bag="", pack=False, woman=0.0)
        worn = replace(worn, build=0.0 if child or worn.pack else 0.5 * worn.build)
        one = figure("stand", worn, each, height_m=tall)
        if k:
            one = one.painted(**{slot: f"{slot}{k + 1}" for slot in ("top", "bottom", "hair")})
        one = moved(one, size=tall / 1.75)
        one = moved(one, (0.0, _APART_M[count - 2], 0.0))
        parts.append(moved(one, turn_deg=360 * k / count + float(each.uniform(-14, 14))))
    return join(parts)


def _with_dog(v: Values) -> tuple[Foot, ...]:
    size = v.height_m / 1.72
    return (*disc(0.27 * size, v.height_m), *block(0.42, 1.35, 0.8, _DOG_AT))


@kind(
    "dog walker",
    "Someone who leads a dog, facing -y before turning.",
    variants=2,
    feet=_with_dog,
    stuff={**DRESSED, "coat": "leather", "lead": "iron"},
    gait=Gait(stepping, two_steps_m),
    pose=_POSE,
    height_m=_HEIGHT,
    stride=_STRIDE,
)
def _dog_walker(v: Values, rng: np.random.Generator) -> Mesh:
    walks = v.pose == "walk" or (v.pose == "any" and rng.random() < 0.6)
    worn = replace(outfit_of(rng.spawn(1)[0], False, False, False), build=0.0, woman=0.0)
    size = v.height_m / 1.75
    at = posed("walk" if walks else "stand", rng, v.stride, v.height_m)
    held = at.chest + [0.27, -0.24, -0.30]
    at = replace(
        at,
        elbows=np.stack([at.chest + [0.24, 0.0, -0.22], at.elbows[1]]),
        hands=np.stack([held, at.hands[1]]),
    )
    tall = float(rng.uniform(0.72, 1.1))
    dog = moved(_dog(v.stride if walks else None), (*_DOG_AT, 0.0), size=tall)
    hand = size * (held + [0.0, -0.02, -0.05])
    collar = np.array([_DOG_AT[0], _DOG_AT[1] - 0.30 * tall, 0.50 * tall])
    share = np.linspace(0, 1, 8)[:, None]
    line = hand + (collar - hand) * share
    line[:, 2] -= 0.35 * (share * (1 - share))[:, 0]  # it hangs
    lead = [tube(a, b, 0.007, "lead", sides=4) for a, b in itertools.pairwise(line)]
    person = moved(few_faces(at, worn), size=size)
    return join([person, dog, *lead])


def _dog(stride: float | None) -> Mesh:
    """A dog 0.5 m tall at its shoulders, facing -y; where its legs are at that share of a step."""
    swing = 0.0 if stride is None else 0.10 * math.sin(2 * math.tau * stride)
    parts = [
        ellipsoid((0.095, 0.30, 0.11), "coat", (0.0, 0.03, 0.40), 14, 8),
        ellipsoid((0.11, 0.15, 0.145), "coat", (0.0, -0.16, 0.40), 14, 8),
        tube((0.0, -0.22, 0.45), (0.0, -0.36, 0.58), 0.075, "coat", 0.06, 10),
        ellipsoid((0.07, 0.10, 0.075), "coat", (0.0, -0.40, 0.62), 12, 8),
        tube((0.0, -0.44, 0.61), (0.0, -0.57, 0.575), 0.045, "coat", 0.03, 8),
        ellipsoid((0.03, 0.022, 0.022), "shoe", (0.0, -0.57, 0.585), 8, 5),
        tube((0.0, 0.30, 0.44), (0.0, 0.46, 0.62), 0.022, "coat", 0.012, 6),
        lathe([(0.079, -0.02), (0.079, 0.02)], "lead", 12),
    ]
    parts[-1] = moved(parts[-1], (0.0, -0.30, 0.52))
    for side in (-1, 1):
        parts.append(ellipsoid((0.014, 0.035, 0.055), "coat", (0.075 * side, -0.38, 0.63), 8, 5))
        for y, phase in ((-0.18, side), (0.24, -side)):
            knee = np.array([0.07 * side, y + 0.5 * swing * phase, 0.21])
            paw = np.array([0.07 * side, y + swing * phase + 0.01, 0.02])
            parts += [
                tube((0.07 * side, y, 0.40), knee, 0.05, "coat", 0.03, 8),
                tube(knee, paw, 0.028, "coat", 0.024, 8),
                ellipsoid((0.032, 0.048, 0.024), "coat", (paw + [0, -0.02, 0.002]).tolist(), 8, 5),
            ]
    return join(parts)


@kind(
    "pram",
    "Someone who pushes a pram, facing -y before turning.",
    variants=2,
    feet=lambda v: (*disc(0.27, v.height_m), *block(0.6, 1.25, 1.1, (0.0, 0.07 - _PRAM_M))),
    stuff={**DRESSED, "tub": "dark cloth", "frame": "steel", "tyre": "rubber", "inside": "paper"},
    gait=Gait(stepping, two_steps_m),
    pose=_POSE,
    height_m=_HEIGHT,
    stride=_STRIDE,
)
def _pram(v: Values, rng: np.random.Generator) -> Mesh:
    drawn = rng.spawn(1)[0]
    walks = v.pose == "walk" or (v.pose == "any" and rng.random() < 0.6)
    worn = outfit_of(drawn, bool(drawn.random() < 0.4), False, False)
    worn = replace(worn, pack=False, build=0.0, woman=0.0)
    size = v.height_m / 1.75
    at = posed("walk" if walks else "stand", rng, v.stride, v.height_m)
    grips = np.array([(side * 0.19, -0.42, 1.0 / size) for side in (1, -1)])
    elbows = np.array([(side * 0.25, at.chest[1] - 0.08, at.chest[2] - 0.23) for side in (1, -1)])
    person = few_faces(replace(at, hands=grips + [0, 0.01, 0.04], elbows=elbows), worn)
    return join([moved(person, size=size), _carriage(-0.42 * size)])


def _carriage(handle_y: float) -> Mesh:
    """A pram, its handle 1 m high at that y, pushed towards -y."""
    y = -_PRAM_M
    parts = [
        tube((-0.24, handle_y, 1.0), (0.24, handle_y, 1.0), 0.016, "tyre", sides=8),
        ellipsoid((0.21, 0.40, 0.16), "tub", (0.0, y, 0.70), 16, 8),
        ellipsoid((0.18, 0.36, 0.07), "inside", (0.0, y - 0.02, 0.80), 14, 6),
        ellipsoid((0.225, 0.24, 0.27), "tub", (0.0, y + 0.20, 0.80), 14, 8),
    ]
    for side in (-1, 1):
        x = 0.22 * side
        parts += [
            tube((x, handle_y, 1.0), (x, y + 0.1, 0.55), 0.013, "frame", sides=6),
            tube((x, y + 0.1, 0.55), (x, y - 0.36, 0.14), 0.013, "frame", sides=6),
            tube((x, y - 0.2, 0.58), (x, y + 0.36, 0.16), 0.013, "frame", sides=6),
        ]
        for along, radius in ((-0.36, 0.14), (0.36, 0.16)):
            rim = [(0.6 * radius, -0.018), (radius, -0.018), (radius, 0.018), (0.6 * radius, 0.018)]
            wheel = lathe([*rim, rim[0]], "tyre", 20)
            hub = lathe([(0.0, -0.012), (0.62 * radius, 0.0), (0.0, 0.012)], "frame", 12)
            upright = [[0, 0, 1], [0, 1, 0], [-1, 0, 0]]
            parts.append(moved(join([wheel, hub]), (1.2 * x, y + along, radius), matrix=upright))
    return join(parts)

"""People: standing, walking, sitting, at work; every copy dressed anew.

From afar a figure of few faces does; `near` people have a face, hands and cloth with folds.
"""

import math
from dataclasses import replace

import numpy as np

from render.world.mesh import Mesh, box, join, moved, quads, tube
from render.world.things.bodies import Pose, body_mesh
from render.world.things.feet import Foot, block, disc
from render.world.things.figures import PLAIN, Outfit, bag_on, few_faces, outfit_of
from render.world.things.kind import Gait, Values, kind, number, pick, yes
from render.world.things.worn.heads import HEAD_STUFF, HEAD_WORDS, head_mesh, looks_of

__all__ = ["DRESSED", "RIDERS", "figure", "posed", "rider", "skier", "stepping", "two_steps_m"]

#: What people are made of, by slot.
DRESSED = {
    "skin": "skin",
    "hair": "hair",
    "top": "cloth",
    "bottom": "dark cloth",
    "shoe": "leather",
    "bag": "leather",
    **HEAD_STUFF,
    "bib": "canvas",
    "shirt": "shirt",
    "hat": "canvas",
    "pack": "dark cloth",
}

#: What children that ride on something are made of, as slots of it.
RIDERS = {slot: DRESSED[slot] for slot in ("skin", "hair", "top", "bottom", "shoe")}
#: The turned-up tip of a ski, from above and from below: side, y, height of the corners.
_TIP = (
    ((-1, -0.725, 0.025), (-1, -0.92, 0.09), (1, -0.92, 0.09), (1, -0.725, 0.025)),
    ((1, -0.725, 0.005), (1, -0.92, 0.09), (-1, -0.92, 0.09), (-1, -0.725, 0.005)),
)

#: Bodies by height, from memory after Snyder et al. 1977, "Anthropometry of infants, children, and
#: youths to age 18": a head from chin to crown is 17.8 cm at 0.87 m, 19.6 at 1.18 m, 22.5 at
#: 1.75 m; legs are 43, 45.5 and 48 % of the height.
_HEAD_M = ((0.4, 0.154), (0.87, 0.178), (1.18, 0.196), (1.5, 0.212), (1.75, 0.225), (2.6, 0.27))
_LEGS = ((0.4, 0.37), (0.87, 0.43), (1.18, 0.455), (1.5, 0.473), (1.75, 0.48), (2.6, 0.48))

#: From which height on a face is a grown-up's, and how tall a child of six is (from memory).
_GROWN_M, _SIX_M = 1.55, 1.16

#: How far a leg swings to either side at a walk, rad, and the leg's length at 1.75 m of height.
_SWING, _LEG_M = 0.42, 0.85
#: The same of who runs, and how much longer than at a walk two steps are (3.3 m; from memory).
_RUNS, _LEAP = 0.70, 2.4
#: Shoulder to elbow and elbow to wrist at 1.75 m; with them a hanging wrist is 85 cm up, as it is
#: in Gordon et al. 1989 (from memory).
_ARM_M = (0.295, 0.26)


def stepping(v: Values, share: float | None) -> Values:
    """Whoever is on the way walks or runs, at that share of two steps; who waits on it stands."""
    if v.pose not in ("any", "stand", "walk", "run"):
        return v
    pose = "stand" if share is None else "run" if v.pose == "run" else "walk"
    return Values({**v, "pose": pose, "stride": share or 0.0})


def two_steps_m(v: Values) -> float:
    """Way of two steps: each as long as the feet are apart, and longer by the leap of who runs."""
    leap = _LEAP if v.pose == "run" else 1.0
    leg = _LEG_M * _grown(v.height_m)[1]
    return float(leap * 4 * leg * math.sin(_SWING) * v.height_m / 1.75)


def _feet(v: Values) -> tuple[Foot, ...]:
    """A circle about who stands; whoever sits has legs before them."""
    size = v.height_m / 1.75
    if v.pose == "sit":
        return block(0.5 * size, 0.85 * size, 0.76 * v.height_m, (0.0, -0.25 * size))
    return disc(0.27 * size, v.height_m)


@kind(
    "person",
    "A person, facing -y before turning.",
    feet=_feet,
    variants=6,
    stuff=DRESSED,
    gait=Gait(stepping, two_steps_m),
    height_m=number(1.72, "height", 0.4, 2.6),
    pose=pick(
        "any",
        "how they hold themselves",
        *("any", "stand", "walk", "run"),
        *("sit", "work", "wave"),
    ),
    stride=number(0.0, "which part of two steps is done, at a walk", 0, 1),
    near=yes(False, "a modelled face, hands and folds, for people within some 10 m"),
    **HEAD_WORDS,
    look_deg=number(0.0, "head turned to its left, of people who are near", -70, 70),
    apron=yes(False, "a joiner's apron, of people who are near"),
    skirt=yes(False, "a skirt or a long coat"),
    bag=yes(False, "a bag"),
    plain=yes(False, "neither skirt nor bag by chance: players, bathers, skiers"),
    shorts=yes(False, "bare legs under shorts, of people who are not near: players, bathers"),
)
def _person(v: Values, rng: np.random.Generator) -> Mesh:
    pose = v.pose
    if pose == "any":
        pose = str(rng.choice(["stand", "walk", "walk", "stand"]))
    skirt_by_chance = bool(rng.random() < 0.3 and pose != "sit")
    bag_by_chance = bool(rng.random() < 0.25)
    skirt = v.skirt or (skirt_by_chance and not v.plain)
    bag = v.bag or (bag_by_chance and not v.plain and v.height_m > 1.4)
    if v.near:
        mesh = _near(v, pose, rng)
    else:
        drawn = rng.spawn(1)[0]  # outfits leave poses as they were
        bag = bag and (v.bag or bool(drawn.spawn(1)[0].random() < 0.7))
        worn = outfit_of(drawn, skirt, bag, pose == "sit")
        if v.plain:
            worn = replace(PLAIN, bag=worn.bag, hair=worn.hair, build=0.5 * worn.build)
        worn = replace(worn, over="coat" if skirt and v.plain else worn.over)
        mesh = figure(pose, worn, rng, v.stride, v.shorts, v.height_m)
    return moved(mesh, size=v.height_m / 1.75)


@kind(
    "skier",
    "A skier, facing -y before turning; follows the slope.",
    feet=lambda v: disc(0.9 * v.height_m / 1.75, v.height_m),
    variants=6,
    follows=True,
    stuff={**RIDERS, "ski": "red paint", "pole": "iron"},
    height_m=number(1.72, "height", 0.4, 2.6),
)
def _skier(v: Values, rng: np.random.Generator) -> Mesh:
    return moved(skier(rng, v.height_m), size=v.height_m / 1.75)


def _near(v: Values, pose: str, rng: np.random.Generator) -> Mesh:
    """A figure 1.75 m tall with face, hands and folds."""
    at = posed(pose, rng, v.stride, v.height_m)
    face, chance = rng.spawn(2)
    child = float(np.clip((_GROWN_M - v.height_m) / (_GROWN_M - _SIX_M), 0.0, 1.0))
    looks = looks_of(v, chance, child)
    wide, deep = rng.uniform(0.97, 1.03, 2)
    nod = math.radians(12.0 if pose == "work" else rng.uniform(-2, 3))
    c, s = math.cos(nod), math.sin(nod)
    tip = np.array([[1.0, 0, 0], [0, c, -s], [0, s, c]])
    pivot = np.array([0.0, 0.024, -0.17])  # a neck bends where it leaves the collar
    own = head_mesh(1, looks, face)
    big = at.head_size
    head = moved(own, (-pivot * big).tolist(), size=(wide * big, deep * big, big))
    head = moved(moved(head, matrix=tip), (at.head + pivot * big).tolist(), turn_deg=v.look_deg)
    return join(
        [head, body_mesh(at, v.skirt, rng, v.apron), *(bag_on(at, "shoulder") if v.bag else [])]
    )


def figure(
    pose: str,
    worn: Outfit,
    rng: np.random.Generator,
    stride: float = 0.0,
    shorts: bool = False,
    height_m: float = 1.75,
) -> Mesh:
    """A figure 1.75 m tall of few faces, facing -y, feet on the ground.

    Its proportions are those of somebody `height_m` tall.
    """
    return few_faces(posed(pose, rng, stride, height_m), worn, shorts)


def rider(rng: np.random.Generator, apart: float = 1.0) -> Mesh:
    """A child 1.15 m tall that sits on the origin, its knees so many times as far apart."""
    at = posed("sit", rng, height_m=1.15)
    wide = np.array([apart, 1.0, 1.0])
    child = few_faces(replace(at, knees=at.knees * wide, ankles=at.ankles * wide), PLAIN)
    return moved(moved(child, (0, 0, 0.1 - at.hip_m)), size=1.15 / 1.75)


def skier(rng: np.random.Generator, height_m: float = 1.75) -> Mesh:
    """A figure 1.75 m tall on skis, knees bent, poles held back, facing -y."""
    at = posed("work", rng)
    low, lean = 0.13, np.array([0.0, -0.10, 0.0])
    ankles = at.ankles * [1.2, 0.0, 0.0] + [0.0, 0.03, 0.10]
    knees = np.array([[a[0], -0.24, 0.47] for a in ankles])
    hands = np.array([[s * 0.30, -0.38, 0.90 - low] for s in (1, -1)])
    elbows = np.array([[s * 0.29, -0.06, 0.98 - low] for s in (1, -1)])
    down = np.array([0.0, 0.0, low])
    at = replace(
        at, hip_m=at.hip_m - low, chest=at.chest - down + lean, head=at.head - down + lean,
        shoulders=at.shoulders - down + lean, knees=knees, ankles=ankles, hands=hands,
        elbows=elbows,
    )  # fmt: skip
    at = _of_height(at, height_m, False)
    ankles, hands = at.ankles, at.hands
    parts = [few_faces(at, PLAIN)]
    for ankle, hand in zip(ankles, hands, strict=True):
        ski = [
            box((0.09, 1.45, 0.02), "ski", (ankle[0], 0.0, 0.005)),
            quads(
                [[(ankle[0] + s * 0.045, y, z) for s, y, z in corners] for corners in _TIP], "ski"
            ),
        ]
        pole = hand + np.array([0.0, 0.62, 0.22 - hand[2]])
        parts += [*ski, tube(hand + [0, -0.06, 0.06], pole, 0.011, "pole", sides=5)]
    return join(parts)


def _grown(height_m: float) -> tuple[float, float]:
    """How many times as large a head, and as long a leg, as the same share of a grown-up's."""
    head, legs = (
        np.interp(height_m, *np.array(table).T).item() / share
        for table, share in ((_HEAD_M, 0.225 * height_m / 1.75), (_LEGS, 0.48))
    )
    return head, legs


def _of_height(at: Pose, height_m: float, sits: bool) -> Pose:
    """The pose with the proportions of a height: children have large heads and short legs."""
    head, legs = _grown(height_m)
    short = (1 - legs) * (at.hip_m - 0.07)
    down = np.array([0.0, 0.0, 0.0 if sits else short])
    foot = np.array([0.0, 0.0, at.hip_m if sits else 0.07])
    scale = np.array([1.0, legs, legs])
    up = np.array([0.0, 0.0, (1 - legs) * 0.85 + 0.117 * (1 - head)])  # crowns stay where they are
    return replace(
        at,
        hip_m=at.hip_m - float(down[2]),
        chest=at.chest - down,
        head=at.head - down + up,
        knees=foot + (at.knees - foot) * scale,
        ankles=foot + (at.ankles - foot) * scale,
        shoulders=at.shoulders - down,
        elbows=at.elbows - down,
        hands=at.hands - down,
        head_size=head,
    )


def posed(pose: str, rng: np.random.Generator, stride: float = 0.0, height_m: float = 1.75) -> Pose:
    """Joints of a pose; of a walk at that share of two steps, the left leg foremost at 0."""
    hip = 0.92 if pose != "sit" else 0.50
    swing = {"walk": _SWING, "run": _RUNS, "stand": 0.05, "wave": 0.07, "work": 0.1}.get(pose, 0.0)
    lifts = np.zeros(2)
    if pose in ("walk", "run"):
        swing *= math.cos(math.tau * stride)
        lifts = np.maximum(-math.sin(math.tau * stride) * np.array([1, -1]), 0)  # coming forward
    if pose == "run":  # heels come up high, also of the leg that is behind
        lifts = 1.5 * lifts + np.maximum(-swing * np.array([1, -1]), 0)
    lean = {"walk": 0.03, "run": 0.10, "work": 0.13}.get(pose, 0.0)
    chest = np.array([0.0, -lean, hip + 0.44 - 0.5 * lean * lean])
    legs = np.array(
        [
            _leg_joints(side, hip, swing * side, pose == "sit", float(lift))
            for side, lift in zip((1, -1), lifts, strict=True)
        ]
    )
    arms = np.array([_arm_joints(side, chest, -swing * side, pose, rng) for side in (1, -1)])
    drop = float(legs[:, 1, 2].min()) - 0.07  # whoever strides stands lower
    head = chest + [0.0, -0.035 - 0.25 * lean, 0.276 - drop]
    legs[..., 2] -= drop
    arms[..., 2] -= drop
    chest = chest - [0.0, 0.0, drop]
    at = Pose(hip - drop, chest, head, legs[:, 0], legs[:, 1], arms[:, 0], arms[:, 1], arms[:, 2])
    return _of_height(at, height_m, pose == "sit")


def _leg_joints(
    side: int, hip: float, swing: float, sits: bool, lift: float
) -> tuple[np.ndarray, np.ndarray]:
    """Knee and ankle; a leg that comes forward bends by `lift`."""
    x = 0.095 * side
    if sits:
        return np.array([x * 1.2, -0.44, hip + 0.02]), np.array([x * 1.2, -0.46, 0.09])
    knee = np.array([x * 1.02, -0.43 * math.sin(swing) - 0.02, hip - 0.43 * math.cos(swing)])
    bend = swing - (0.10 if swing > 0 else 0.45) * abs(swing) - 0.8 * lift
    ankle = knee + np.array([0, -0.42 * math.sin(bend - 0.05), -0.42 * math.cos(bend - 0.05)])
    ankle[2] = max(ankle[2], 0.07)
    return knee, ankle


def _arm_joints(
    side: int, chest: np.ndarray, swing: float, pose: str, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Shoulder, elbow and hand."""
    shoulder = chest + [0.176 * side, 0.004, 0.032]
    if pose == "wave" and side > 0:
        return shoulder, shoulder + [0.18, -0.05, 0.22], shoulder + [0.14, -0.10, 0.48]
    if pose == "work":
        ahead = 0.05 * side * swing / abs(swing)
        return (
            shoulder,
            shoulder + [0.07 * side, -0.10 + ahead, -0.25],
            shoulder + [-0.05 * side, -0.33 + ahead, -0.37],
        )
    if pose == "sit" and rng.random() < 0.7:
        elbow = shoulder + [0.06 * side, -0.10, -0.25]
        return shoulder, elbow, shoulder + [-0.04 * side, -0.36, -0.24]
    # one at a time: a hand in a trouser pocket, a hand that holds something up to be looked at
    habit = rng.random() if pose in ("stand", "walk") else 1.0
    if habit < (0.3 if pose == "stand" else 0.12 * (side > 0)):
        return shoulder, shoulder + [0.075 * side, 0.062, -0.285], _pocket(side, chest)
    if side > 0 and habit < (0.42 if pose == "stand" else 0.22):
        elbow = shoulder + [0.05, 0.01, -0.285]
        return shoulder, elbow, elbow + [-0.09, -0.22, 0.10]
    swing *= 0.6 + 0.7 * habit if pose == "walk" else 1.0
    upper, lower = _ARM_M
    elbow = shoulder + [0.030 * side, 0.03 - upper * math.sin(swing), -upper * math.cos(swing)]
    low = 1.3 * swing + (1.4 if pose == "run" else 0.34)
    hand = elbow + [-0.018 * side, -lower * math.sin(low), -lower * math.cos(low)]
    return shoulder, elbow, hand


def _pocket(side: int, chest: np.ndarray) -> np.ndarray:
    """Where the wrist of a hand in a pocket is."""
    return np.array([0.160 * side, 0.004, chest[2] - 0.445])

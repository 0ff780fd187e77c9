"""Figures of few faces for people who are not near, and what each of them wears and carries.

Shares of hats, packs and coats are ours, after looking at pictures of streets.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from render.world.mesh import Mesh, box, ellipsoid, grid_faces, join, lathe, moved, quads, tube
from render.world.things.bodies import Pose

__all__ = ["BAGS", "HAIR", "PLAIN", "Outfit", "bag_on", "few_faces", "outfit_of"]

#: Radius and height above the hip of a trunk, and of a jacket and a coat over it.
_TRUNK = (
    *((0.168, -0.07), (0.168, 0.02), (0.148, 0.17), (0.158, 0.34), (0.166, 0.42)),
    *((0.158, 0.47), (0.130, 0.52), (0.090, 0.56), (0.050, 0.59)),
)
_OVER = ((0.166, 0.20), (0.172, 0.36), (0.174, 0.44), (0.160, 0.50), (0.118, 0.545))
_HEMS = {"jacket": ((0.178, -0.09), (0.176, 0.03)), "coat": ((0.184, -0.06), (0.176, 0.05))}
_COLLAR = ((0.118, 0.54), (0.078, 0.575), (0.068, 0.615))
#: A skirt and the skirt of a dress.
_SKIRT = ((0.225, -0.47), (0.205, -0.26), (0.180, -0.04), (0.152, 0.14))
_TAILS = ((0.224, -0.44), (0.212, -0.22), (0.202, -0.04), (0.190, 0.10))
#: A trunk is so many times as wide and as deep as the radii above.
_WIDE, _DEEP = 1.15, 0.72
#: Heights and half widths of what shows between the lapels, metres above the hip.
_LAPELS = (
    *((0.26, 0.006), (0.36, 0.026), (0.44, 0.046), (0.50, 0.056), (0.545, 0.058), (0.575, 0.050)),
)


#: What people carry beside a pack.
BAGS = ("shoulder", "satchel", "tote", "shopper")
#: How hair is worn from afar, and how often who wears a skirt and others wear it.
HAIR = ("short", "bob", "long", "tail", "bun", "bald")
_HAIR_OF = ((0.08, 0.26, 0.30, 0.20, 0.16, 0.0), (0.60, 0.06, 0.10, 0.08, 0.06, 0.10))


@dataclass(frozen=True, slots=True, kw_only=True)
class Outfit:
    """What a figure wears and carries.

    Attributes
    ----------
    over : str
        "dress", "skirt", "coat", "jacket", or "" for a pullover over trousers.
    short : bool
        Sleeves end above the elbows.
    hat : str
        "cap", "brim", "wool", or "" for none.
    pack : bool
        On the back.
    bag : str
        One of `BAGS`, or "" for none.
    scarf : bool
    hem : float
        How many times as long a skirt, a dress or a coat is.
    hair : str
        One of `HAIR`.
    build, woman : float
        From -1, slim, to 1, stout; from 0 to 1, hips wider than shoulders.
    """

    over: str = ""
    short: bool = False
    hat: str = ""
    pack: bool = False
    bag: str = ""
    scarf: bool = False
    hem: float = 1.0
    hair: str = "short"
    build: float = 0.0
    woman: float = 0.0


#: Trousers and a pullover: riders, players, skiers.
PLAIN = Outfit()


def outfit_of(rng: np.random.Generator, skirt: bool, bag: bool, sits: bool) -> Outfit:
    """Draw an outfit; `skirt` asks for a dress, a skirt or a long coat."""
    over, sleeve, hat, pack, carried = rng.random(5).tolist()
    if skirt:
        worn = "dress" if over < 0.3 else "skirt" if over < 0.65 else "coat"
    else:
        worn = "jacket" if over < 0.45 else ""
    scarf, hem, woman = rng.random(3).tolist()
    return Outfit(
        over=worn,
        short=worn in ("", "dress", "skirt") and sleeve < 0.4,
        hat="cap" if hat < 0.09 else "brim" if hat < 0.17 else "wool" if hat < 0.24 else "",
        pack=not (bag or sits) and pack < 0.22,
        bag="" if not bag else BAGS[0] if sits else BAGS[int(carried * len(BAGS))],
        scarf=scarf < (0.2 if worn in ("coat", "jacket") else 0.05),
        hem=0.78 + 0.42 * hem,
        hair=str(rng.choice(HAIR, p=_HAIR_OF[0 if skirt else 1])),
        build=float(np.clip(rng.normal(0.1, 0.55), -1.0, 1.3)),
        woman=1.0 if skirt else float(woman < 0.4),
    )


def few_faces(at: Pose, worn: Outfit, shorts: bool = False) -> Mesh:
    """A figure in that pose.  Slots: skin, hair, top, bottom, shoe; shirt, hat, bag, pack."""
    parts: list[Mesh] = []
    bare = worn.over in ("dress", "skirt")
    cloth = "bottom" if worn.over == "coat" else "top"
    for k in range(2):
        leg = join(_leg(at, k, bool(worn.over)))
        parts += [leg.painted(bottom="skin") if bare else leg, *_arm(at, k, cloth, worn.short)]
        if shorts:
            parts += _bared(at, k)
    if worn.over in _HEMS:
        parts += _coat(at, worn.over, cloth, worn.hem)
    else:
        parts.append(_trunk(at, _TRUNK, "top"))
    if bare:
        parts.append(_hung(at, _SKIRT, "top" if worn.over == "dress" else "bottom", worn.hem))
    if worn.bag:
        parts += bag_on(at, worn.bag)
    if worn.pack:
        parts += _pack(at)
    return join([*_head(at, worn), _built(join(parts), at, worn)])


def _built(body: Mesh, at: Pose, worn: Outfit) -> Mesh:
    """The body as broad as somebody is built: most at the waist, women's least at the shoulders."""
    if worn.build == 0.0 and worn.woman == 0.0:
        return body
    xyz = body.xyz.copy()
    up = np.clip((xyz[..., 2] - at.hip_m) / 0.5, 0.0, 1.0)
    waist = 1 - np.abs(2 * np.clip((xyz[..., 2] - at.hip_m + 0.25) / 0.7, 0.0, 1.0) - 1)
    wide = 1 + worn.build * (0.05 + 0.06 * waist) + worn.woman * (0.02 - 0.09 * up)
    xyz[..., 0] *= wide
    xyz[..., 1] *= 1 + worn.build * (0.06 + 0.12 * waist)
    return replace(body, xyz=xyz)


def _trunk(at: Pose, profile: Sequence[tuple[float, float]], slot: str, more: float = 0.0) -> Mesh:
    """A profile about the trunk, leaning as the chest does."""
    body = lathe(profile, slot, 18, smooth=True)
    body = moved(body, (0, 0, 0), size=(_WIDE + more, _DEEP + 2 * more, 1.0))
    shear = np.eye(3)
    shear[1, 2] = at.chest[1] / 0.44
    return moved(moved(body, matrix=shear), (0, 0, at.hip_m))


def _hung(at: Pose, profile: Sequence[tuple[float, float]], slot: str, hem: float) -> Mesh:
    """Cloth that hangs from the hip round both legs, deeper the further they stride."""
    profile = [(r, z * hem if z < 0 else z) for r, z in profile]
    more = max(0.0, (float(np.abs(at.knees[:, 1]).max()) + 0.09) / 0.21 - 0.82)
    cone = lathe(profile, slot, 16, smooth=True)
    xyz = cone.xyz.copy()
    xyz[..., 1] *= 0.82 + more * np.clip((0.08 - xyz[..., 2]) / 0.4, 0.0, 1.0)
    return moved(replace(cone, xyz=xyz), (0, 0, at.hip_m))


def _coat(at: Pose, over: str, cloth: str, hem: float) -> list[Mesh]:
    """A jacket or a coat, its collar, and what it leaves to be seen at the neck."""
    profile = (*_HEMS[over], *_OVER)
    parts = [_trunk(at, profile, cloth, 0.01), _trunk(at, _COLLAR, cloth)]
    if over == "coat":
        parts.append(_hung(at, _TAILS, cloth, hem))
    lean = at.chest[1] / 0.44
    radii, heights = np.array((*profile, *_COLLAR[1:])).T
    rows = []
    for z, half in _LAPELS:
        deep = (_DEEP + 0.02) * float(np.interp(z, heights, radii)) + 0.006
        rows.append([(x, lean * z - deep * np.sqrt(1 - (x / 0.17) ** 2), at.hip_m + z)
                     for x in (-half, half)])  # fmt: skip
    shown = "shirt" if over == "jacket" else "top"
    parts.append(quads(grid_faces(np.array(rows).transpose(1, 0, 2)), shown))
    low = profile[0][1] + 0.01
    edge = [(z, (_DEEP + 0.02) * float(np.interp(z, heights, radii)) + 0.004) for z in (low, 0.26)]
    parts.append(
        quads(
            [[(x, lean * z - deep, at.hip_m + z)
              for x, (z, deep) in ((-0.006, edge[0]), (0.006, edge[0]), (0.006, edge[1]),
                                   (-0.006, edge[1]))]],
            "shoe",
        )
    )  # fmt: skip
    return parts


def bag_on(at: Pose, sort: str) -> list[Mesh]:
    """One of `BAGS`: on the left, or hanging from the right hand, as the left one may wave."""
    hip, hand = at.hip_m, at.hands[1]
    if sort == "shopper":
        low = hand - [0.0, 0.0, 0.57]
        ends = [low + [0.0, y, 0.34] for y in (-0.09, 0.09)]
        handles = [tube(end, hand - [0, 0, 0.07], 0.012, "hat", sides=4) for end in ends]
        return [box((0.11, 0.30, 0.34), "hat", low.tolist()), *handles]
    if sort == "satchel":
        line = [(0.215, -0.04, 0.07), (0.05, -0.135, 0.30), (-0.10, -0.07, 0.53),
                (-0.09, 0.07, 0.52), (0.06, 0.135, 0.28), (0.215, 0.09, 0.07)]  # fmt: skip
        strap = [np.array([x, y + (at.chest[1] * z / 0.44), hip + z]) for x, y, z in line]
        bands = [tube(a, b, 0.012, "shoe", sides=4) for a, b in itertools.pairwise(strap)]
        return [box((0.08, 0.25, 0.19), "shoe", (0.235, 0.03, hip - 0.02)), *bands]
    large = sort == "tote"
    size, slot = ((0.08, 0.33, 0.36), "pack") if large else ((0.09, 0.27, 0.18), "bag")
    low = np.array([0.255, 0.09, hip + (-0.10 if large else 0.14)])
    shoulder = at.shoulders[0] + [-0.05, 0.0, 0.055]
    ends = [low + [0.0, y, size[2]] for y in (-0.08, 0.08)]
    straps = [tube(end, shoulder, 0.010, slot, sides=4) for end in ends]
    return [box(size, slot, low.tolist()), *straps]


def _pack(at: Pose) -> list[Mesh]:
    """A pack on the back, its pocket and its straps over the shoulders."""
    middle = at.chest + [0.0, 0.19 - 0.1 * at.chest[1], -0.13]
    parts = [
        ellipsoid((0.15, 0.09, 0.22), "pack", middle.tolist(), 10, 6),
        ellipsoid((0.11, 0.05, 0.10), "pack", (middle + [0.0, 0.06, -0.09]).tolist(), 8, 4),
    ]
    for side in (-1, 1):
        ring = [(0.09, 0.13, -0.02), (0.105, 0.03, 0.105), (0.11, -0.11, 0.04), (0.12, -0.10, -0.2)]
        line = [at.chest + [side * x, y, z] for x, y, z in ring]
        parts += [tube(a, b, 0.018, "pack", sides=4) for a, b in itertools.pairwise(line)]
    return parts


def _limb(points: list[np.ndarray], radii: list[float], slots: Sequence[str]) -> list[Mesh]:
    parts = [
        tube(a, b, r, slot, s, 10)
        for a, b, r, s, slot in zip(
            points[:-1], points[1:], radii[:-1], radii[1:], slots, strict=True
        )
    ]
    parts += [
        ellipsoid((r, r, r), slot, p.tolist(), 10, 6)
        for p, r, slot in zip(points[1:-1], radii[1:-1], slots[1:], strict=True)
    ]
    return parts


def _bared(at: Pose, k: int) -> list[Mesh]:
    """Skin over a leg from above the knee down to the foot."""
    start, knee, ankle = at.hips()[k], at.knees[k], at.ankles[k]
    hem = start + 0.6 * (knee - start)
    return _limb([hem, knee, ankle], [0.076, 0.064, 0.048], ("skin", "skin"))


def _leg(at: Pose, k: int, covered: bool) -> list[Mesh]:
    start, knee, ankle = at.hips()[k], at.knees[k], at.ankles[k]
    parts = _limb([start, knee, ankle], [0.086, 0.062, 0.046], ("bottom", "bottom"))
    foot = ellipsoid(
        (0.048, 0.135, 0.048), "shoe", (ankle[0], ankle[1] - 0.06, ankle[2] - 0.035), 10, 6
    )
    if covered:
        return [*parts, foot]
    return [*parts, foot, ellipsoid((0.086, 0.088, 0.09), "bottom", start.tolist(), 10, 6)]


def _arm(at: Pose, k: int, cloth: str, short: bool) -> list[Mesh]:
    hand = at.hands[k]
    shoulder = at.shoulders[k] - [0.06 * (at.shoulders[k][0] - at.chest[0]), 0.0, 0.02]
    lower = "skin" if short else cloth
    parts = _limb([shoulder, at.elbows[k], hand], [0.054, 0.043, 0.032], (cloth, lower))
    # from the neck down to the arm: a shoulder slopes
    neck = at.chest + [0.25 * (shoulder[0] - at.chest[0]), 0.0, 0.115]
    slope = tube(neck, shoulder, 0.040, cloth, 0.057, 10)
    grip = ellipsoid((0.034, 0.042, 0.058), "skin", (hand + [0, -0.01, -0.04]).tolist(), 10, 6)
    return [*parts, slope, ellipsoid((0.057, 0.060, 0.057), cloth, shoulder.tolist(), 10, 6), grip]


def _head(at: Pose, worn: Outfit) -> list[Mesh]:
    neck = at.chest + [0, 0.0, 0.10]
    big = at.head_size
    top = np.array([0.0, at.chest[1] - 0.02, at.head[2] + 0.034 * big])
    throat = np.array([0.0, top[1] + 0.01, top[2] - 0.09 * big])
    head = [_skull(worn.hair, bool(worn.hat)), *_hat(worn.hat)]
    parts = [
        tube(neck, throat, 0.055, "skin", 0.051, 12),
        moved(join(head), top.tolist(), size=big),
    ]
    if worn.scarf:
        ring = [(0.074, 0.0), (0.100, 0.022), (0.097, 0.055), (0.062, 0.078)]
        parts.append(moved(lathe(ring, "hat", 12, smooth=True), (neck - [0, 0, 0.02]).tolist()))
    return parts


def _hat(hat: str) -> list[Mesh]:
    """What sits on a head, about its middle."""
    if not hat:
        return []
    if hat == "wool":
        profile = [(0.089, 0.020), (0.094, 0.055), (0.082, 0.10), (0.05, 0.135), (0.0, 0.148)]
        slot = "bottom"
    elif hat == "cap":
        profile = [(0.088, 0.035), (0.088, 0.07), (0.072, 0.112), (0.0, 0.130)]
        slot = "hat"
    else:
        profile = [(0.172, 0.036), (0.09, 0.050), (0.086, 0.10), (0.07, 0.135), (0.0, 0.14)]
        slot = "hat"
    parts = [moved(lathe(profile, slot, 12, smooth=True), (0, 0.012, 0), size=(1.0, 1.12, 1.0))]
    if hat == "cap":
        peak = ellipsoid((0.07, 0.075, 0.012), slot, (0.0, -0.115, 0.04), 12, 4)
        parts.append(peak)
    return parts


#: Of which radii and where hair is, beside what lies on the skull.
_HANGS = {
    "long": ((0.072, 0.045, 0.130), (0.0, 0.070, -0.055)),
    "bob": ((0.094, 0.082, 0.095), (0.0, 0.034, -0.020)),
    "tail": ((0.026, 0.032, 0.110), (0.0, 0.118, -0.040)),
    "bun": ((0.042, 0.040, 0.040), (0.0, 0.092, 0.068)),
}


def _skull(hair: str, covered: bool) -> Mesh:
    """Head, ears and hair of few faces about the middle of the head."""
    parts = [
        ellipsoid((0.076, 0.092, 0.112), "skin", (0.0, 0.0, 0.0), 18, 11),
        ellipsoid((0.014, 0.022, 0.02), "skin", (0.0, -0.092, -0.012), 7, 5),
    ]
    parts += [
        ellipsoid((0.010, 0.018, 0.026), "skin", (s * 0.077, 0.004, -0.01), 6, 5) for s in (1, -1)
    ]
    cap = ellipsoid(
        (0.083, 0.098, 0.10), "hair", (0, 0.016, 0.028), *((14, 8) if covered else (18, 11))
    )
    keep = cap.xyz.mean(axis=1)
    front = (keep[:, 1] < -0.035) & (keep[:, 2] < 0.052)
    stay = ~(front | (keep[:, 2] < -0.055))
    if hair == "bald":  # a wreath of it
        stay &= (keep[:, 2] < 0.055) & (keep[:, 1] > -0.02)
    parts.append(Mesh(cap.xyz[stay], cap.uv[stay], cap.normal[stay], cap.slot[stay], cap.slots))
    if hair in _HANGS and not (covered and hair == "bun"):
        radii, at = _HANGS[hair]
        parts.append(ellipsoid(radii, "hair", at, 12, 8))
    return join(parts)

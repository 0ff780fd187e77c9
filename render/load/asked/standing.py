"""The places that stand for a thing wished sharp, by name: what is looked at on site."""

import math

import numpy as np

from render.load.asked.wish import Wish
from render.optics.solving.targets import Target

__all__ = ["nearest_and_farthest", "standing_for", "whole_of"]


def standing_for(
    wish: Wish, targets: list[Target], names: tuple[str, ...]
) -> list[tuple[str, Target]]:
    """Targets by which a wish is checked, with their names; those of a row have them already."""
    middle = targets[len(targets) // 2]
    match wish.kind:
        case "row" if names:
            ends = list(zip(names, targets, strict=True))
        case "row":
            ends = [("first", targets[0]), ("middle", middle), ("last", targets[-1])]
        case "ground" | "wall":  # both ends with as many targets, side by side or one over another
            edge = 2 if len(targets) == 4 else math.isqrt(len(targets))
            ways = [_between(targets[:edge]), _between(targets[-edge:])]
            near, far = sorted(ways, key=lambda target: target.depth_m)
            if len(targets) == 4:
                middle = _between([near, far])
            ends = [("near", near), ("middle", middle), ("far", far)]
        case "face":
            return [(wish.name, _middle(targets))]
        case _:
            return [(wish.name, middle)]
    return [(f"{whole_of(wish.name)}{end}", target) for end, target in ends]


def whole_of(name: str) -> str:
    """What stands before the names of the places of one thing: "the row's ", "wall, "."""
    return "the row's " if name == "row" else f"{name}, "


def _middle(targets: list[Target]) -> Target:
    """The middle of corners: where the eyes of a face are."""
    places = np.array([[t.slope_x * t.depth_m, t.slope_y * t.depth_m, t.depth_m] for t in targets])
    return Target.at(*(float(part) for part in places.mean(0)), name=targets[0].name)


def nearest_and_farthest(targets: list[Target]) -> tuple[Target, Target]:
    """The two of a thing's places at its ends in depth."""
    by_depth = sorted(targets, key=lambda target: target.depth_m)
    return by_depth[0], by_depth[-1]


def _between(targets: list[Target]) -> Target:
    """The middle one of targets on a line or, of an even number, what lies between the two."""
    one, other = targets[(len(targets) - 1) // 2], targets[len(targets) // 2]
    return Target(
        (one.slope_x + other.slope_x) / 2,
        (one.slope_y + other.slope_y) / 2,
        2.0 / (1.0 / one.depth_m + 1.0 / other.depth_m),
        name=one.name,
    )

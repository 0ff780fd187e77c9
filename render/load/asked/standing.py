"""The places that stand for a thing wished sharp, by name: what is looked at on site."""

import math

import numpy as np

from render.load.asked.wish import Wish
from render.optics.solving.targets import Target

__all__ = ["nearest_and_farthest", "standing_for", "whole_of"]

#: Where a wall is looked at: not on its very edges, where a pixel may show what is behind (ours).
_ALONG_WALL, _UP_WALL = np.linspace(0.02, 0.98, 49), np.linspace(0.02, 0.98, 49)


def standing_for(
    wish: Wish,
    targets: list[Target],
    names: tuple[str, ...],
    view: tuple[float, float, float, float],
) -> list[tuple[str, Target]]:
    """Targets by which a wish is checked, with their names; those of a row have them already.

    A wall is checked within what the frame shows of it.

    Parameters
    ----------
    view : (left, top, right, bottom)
        Slopes of the frame's edges.
    """
    middle = targets[len(targets) // 2]
    match wish.kind:
        case "row" if names:
            ends = list(zip(names, targets, strict=True))
        case "row":
            ends = [("first", targets[0]), ("middle", middle), ("last", targets[-1])]
        case "wall":
            ends = _on_wall(targets, view)
        case "ground":  # both ends with as many targets, side by side
            edge = math.isqrt(len(targets))
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


def _on_wall(
    corners: list[Target], view: tuple[float, float, float, float]
) -> list[tuple[str, Target]]:
    """Half-way up a wall near both ends and in between, as far as the frame shows it."""
    foot, top, last_foot, _ = (np.array(corner.place_m) for corner in corners)
    along, up = np.meshgrid(_ALONG_WALL, _UP_WALL, indexing="ij")
    places = foot + along[..., None] * (last_foot - foot) + up[..., None] * (top - foot)
    ahead = places[..., 2] > 0
    x, y = np.moveaxis(places[..., :2] / np.where(ahead, places[..., 2], 1.0)[..., None], -1, 0)
    left, upper, right, lower = view
    shown = ahead & (x > left) & (x < right) & (y > upper) & (y < lower)
    columns = np.flatnonzero(shown.any(1))
    if not len(columns):
        return []
    found = []
    for column in columns[[0, len(columns) // 2, -1]]:
        rows = np.flatnonzero(shown[column])
        place = places[column, rows[len(rows) // 2]]
        found.append(Target.at(*(float(part) for part in place), name=corners[0].name))
    first, middle, last = found
    near, far = sorted((first, last), key=lambda target: target.depth_m)
    return [("near", near), ("middle", middle), ("far", far)]


def whole_of(name: str) -> str:
    """What stands before the names of the places of one thing: "the row's ", "wall, "."""
    return "the row's " if name == "row" else f"{name}, "


def _middle(targets: list[Target]) -> Target:
    """The middle of corners: where the eyes of a face are."""
    middle = np.mean([target.place_m for target in targets], axis=0)
    return Target.at(*(float(part) for part in middle), name=targets[0].name)


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

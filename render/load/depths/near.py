"""Things near the lens that a shot names, put into the depth of its picture."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import DepthMap
from render.depth.near.along import thing_along
from render.depth.outline import box_outline, inside_outline
from render.errors import InputError
from render.load.depths.spots import region_by_spots
from render.optics.camera import Camera
from render.scene.scene import Scene
from render.shot.depthkeys import DepthKeys, NearWish
from render.units import round_metres
from render.words import length_words, percent

__all__ = ["near_outside", "near_region", "with_near"]

#: How far a distance is off that somebody guesses by eye (ours).
_ROUGH = 0.2
_FOOT = 0.05  # of a thing's height in the picture


def with_near(
    depth: DepthMap, keys: DepthKeys, light: NDArray[np.float32], camera: Camera
) -> DepthMap:
    """Depth with the near things that a shot names; what is said is no longer unsaid.

    Raises
    ------
    InputError
        If one cannot be cut out, unless the shot goes on without.
    """
    if not keys.near:
        return depth
    nearest = np.full(depth.depth_m.shape, np.inf, np.float32)
    remarks, found = [], 0
    for number, wish in enumerate(keys.near, 1):
        if wish.shape == "none":
            continue
        try:
            region, said = near_region(wish, light, camera)
        except InputError as error:
            refused = f"near thing {number}: {error}"
            if not keys.go_on:
                raise InputError(f"{refused} (or go on without it: --go-on)") from None
            remarks.append(f"left out: {refused}")
            continue
        remarks += _too_far(wish.distance_m, region, depth, number)
        nearest[region] = np.minimum(nearest[region], np.float32(wish.distance_m))
        found += 1
        remarks.append(
            f"near thing {number}, {length_words(wish.distance_m)} away, takes "
            f"{percent(float(region.mean()))} of the whole picture{said}"
        )
    here = np.isfinite(nearest)
    uncertainty = depth.uncertainty
    if here.any():
        uncertainty = np.where(here, np.float32(_ROUGH), np.float32(depth.uncertainty))
    counted = f", with {found} near thing{'s' if found > 1 else ''}" if found else ""
    return replace(
        depth,
        depth_m=np.where(here, nearest, depth.depth_m),
        how=f"{depth.how}{counted}",
        uncertainty=uncertainty,
        remarks=(*depth.remarks, *remarks),
        unsaid=replace(depth.unsaid, near=False),
        near=here if found else None,
    )


def near_outside(keys: DepthKeys, scene: Scene, near: NDArray[np.bool_] | None) -> list[str]:
    """Which near things the planned frame shows nothing of, though the whole picture does."""
    if near is None:
        return []
    frame = scene.frame
    said = []
    for number, wish in enumerate(keys.near, 1):
        here = near & (scene.depth_m == np.float32(wish.distance_m))
        if here.any() and not here[frame.rows, frame.columns].any():
            said.append(f"near thing {number} lies outside the frame of this lens")
    return said


def _thick(
    wish: NearWish, places: list[tuple[float, float]], region: NDArray[np.bool_], camera: Camera
) -> str:
    """How thick a stroke's thing is as it came out, which tells at once where it took too much."""
    height, width = region.shape
    line = np.array(places)
    length_px = float(np.hypot(*np.diff(np.clip(line, 0, (width, height)), axis=0).T).sum())
    across_px = max(1.0, float(region.sum()) / max(length_px, 1.0))
    return f", about {round_metres(wish.distance_m * across_px / camera.focal_px, 1)} thick"


def _too_far(said_m: float, region: NDArray[np.bool_], depth: DepthMap, number: int) -> list[str]:
    """What to say where the depth has something nearer at the thing's foot than the thing."""
    rows = np.flatnonzero(region.any(axis=1))
    if not rows.size:
        return []
    lowest = rows[-1] - max(1, round(_FOOT * (rows[-1] - rows[0])))
    there_m = float(np.nanmedian(depth.depth_m[lowest:][region[lowest:]]))
    if not said_m > (1.0 + _ROUGH) * there_m:
        return []
    what = "the ground at its foot is" if depth.unsaid.standing else "what the depth has there is"
    return [
        f"near thing {number} is said to be {length_words(said_m)} away, but "
        f"{what} {length_words(there_m)} "
        "away and would hide it: say how far it is anew, or where the camera stands"
    ]


def near_region(
    wish: NearWish, light: NDArray[np.float32], camera: Camera
) -> tuple[NDArray[np.bool_], str]:
    """Pixels of a near thing, shape (H, W), and what more is said of them."""
    places = [spot.at(camera.width_px, camera.height_px) for spot in wish.spots]
    if wish.shape == "stroke":
        region = thing_along(light, places)
        return region, _thick(wish, places, region, camera)
    if wish.shape == "spot":
        return region_by_spots(wish, light)
    corners = box_outline(*places[0], *places[1]) if wish.shape == "box" else places
    return inside_outline(camera.height_px, camera.width_px, corners), ""

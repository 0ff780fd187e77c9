"""Things near the lens that a shot names, put into the depth of its picture."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.depth.cutout import thing_at
from render.depth.depthmap import DepthMap
from render.depth.near.along import thing_along
from render.depth.outline import box_outline, inside_outline
from render.errors import InputError
from render.optics.camera import Camera
from render.shot.depthkeys import DepthKeys, NearWish
from render.words import metres, percent

__all__ = ["near_region", "with_near"]

#: How far a distance is off that somebody guesses by eye (ours).
_ROUGH = 0.2


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
            region = near_region(wish, light, camera)
        except InputError as error:
            said = f"near thing {number}: {error}"
            if not keys.go_on:
                raise InputError(f"{said} (or go on without it: --go-on)") from None
            remarks.append(f"left out: {said}")
            continue
        nearest[region] = np.minimum(nearest[region], np.float32(wish.distance_m))
        found += 1
        remarks.append(
            f"near thing {number}, {metres(wish.distance_m)} away, takes "
            f"{percent(float(region.mean()))} of the picture: "
            "hingeline depth --show paints it"
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
    )


def near_region(wish: NearWish, light: NDArray[np.float32], camera: Camera) -> NDArray[np.bool_]:
    """Pixels of a near thing, shape (H, W)."""
    places = [spot.at(camera.width_px, camera.height_px) for spot in wish.spots]
    if wish.shape == "stroke":
        return thing_along(light, places)
    if wish.shape == "spot":
        return thing_at(light, places[0])
    corners = box_outline(*places[0], *places[1]) if wish.shape == "box" else places
    return inside_outline(camera.height_px, camera.width_px, corners)

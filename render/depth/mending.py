"""Depth mended: holes filled, edges moved on to the picture's edges, flying pixels removed.

All of it works in inverse depth and lets the picture's colours decide (joint filtering: J. Kopf
et al., "Joint bilateral upsampling", 2007): a pixel at a step is given to the side it looks
like, never left between near and far.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import DepthMap
from render.depth.kernels import enlarge_by_colour, fill_by_colour, mark_steps, snap_steps
from render.depth.sampling import reduced, reduced_size
from render.errors import InputError
from render.words import percent

__all__ = ["mend"]

_REACH_PX = 24.0  # of the fine search for known neighbours of a hole
_SNAP_PX = 4
_COARSE_PX = 512
_STEP_SHARE = 0.12
_SOFTNESS = 0.06
_FILLED_UNCERTAINTY = 0.3


def mend(
    depth: DepthMap,
    picture: NDArray[np.float32],
    *,
    sky: NDArray[np.bool_] | None = None,
) -> DepthMap:
    """Mend a depth map by its picture.

    Parameters
    ----------
    depth : DepthMap
        NaN are holes.
    picture : ndarray, shape (H, W, 3), float32
        Linear light.
    sky : ndarray of bool, shape (H, W), optional
        What is put at infinity.

    Returns
    -------
    DepthMap
        Without holes; its remarks say what was done.

    Raises
    ------
    InputError
        If picture and depth differ in size.
    """
    if picture.shape[:2] != depth.depth_m.shape:
        raise InputError("the depth must be as large as the picture to be mended by it")
    light = np.ascontiguousarray(picture, np.float32)
    inverse = np.reciprocal(depth.depth_m)
    holes = np.isnan(inverse)
    some = inverse[:: max(1, inverse.shape[0] // 200), :: max(1, inverse.shape[1] // 200)]
    known = some[some > 0]
    least = 0.05 * float(np.median(known)) if known.size else 0.0
    steps = np.empty(inverse.shape, bool)
    mark_steps(inverse, np.float32(least), np.float32(_STEP_SHARE), steps)
    snapped = np.empty_like(inverse)
    snap_steps(inverse, steps, light, _SNAP_PX, _SOFTNESS, snapped)
    moved = float(np.mean(np.abs(snapped - inverse) > _STEP_SHARE * np.maximum(snapped, inverse)))
    filled = _filled(snapped, holes, light) if holes.any() else snapped
    if sky is not None:
        filled[sky] = 0
    with np.errstate(divide="ignore"):
        depth_m = np.reciprocal(filled, out=filled)
    remarks = [f"{percent(moved)} of the pixels were given to the other side of an edge"]
    if holes.any():
        remarks.append(f"{percent(float(holes.mean()))} had no depth and were filled")
    uncertainty = depth.uncertainty
    if holes.any():
        uncertainty = np.where(holes, np.float32(_FILLED_UNCERTAINTY), np.float32(uncertainty))
    return replace(
        depth,
        depth_m=depth_m,
        how=f"{depth.how}, mended",
        uncertainty=uncertainty,
        remarks=(*depth.remarks, *remarks),
    )


def _filled(
    inverse: NDArray[np.float32], holes: NDArray[np.bool_], light: NDArray[np.float32]
) -> NDArray[np.float32]:
    """Fill holes from near around; what is too far inside, from a coarse copy."""
    fine = np.empty_like(inverse)
    fill_by_colour(inverse, holes, light, _REACH_PX, 1.0, _SOFTNESS, fine)
    left = np.isnan(fine)
    if left.any():
        small_light = np.ascontiguousarray(reduced(light, _COARSE_PX))
        known = reduced((~holes).astype(np.float32), _COARSE_PX)
        total = reduced(np.where(holes, np.float32(0), inverse), _COARSE_PX)
        empty = known < 0.2
        with np.errstate(divide="ignore", invalid="ignore"):
            coarse = np.where(empty, np.float32(np.nan), total / known)
        rows, columns = reduced_size(inverse.shape[0], inverse.shape[1], _COARSE_PX)
        whole = np.empty((rows, columns), np.float32)
        fill_by_colour(coarse, empty, small_light, float(rows + columns), 1.0, _SOFTNESS, whole)
        whole = np.where(np.isnan(whole), np.nanmedian(whole), whole).astype(np.float32)
        large = np.empty_like(inverse)
        enlarge_by_colour(whole, small_light, light, _SOFTNESS, large)
        fine[left] = large[left]
    return fine

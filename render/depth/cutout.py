"""The outline of a thing found from a spot inside it (GrabCut, C. Rother et al. 2004, OpenCV)."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_fill_holes, label

from render.depth.kernels import enlarge_by_colour
from render.depth.sampling import coded, reduced
from render.depth.ways import ways_from
from render.errors import InputError
from render.extras import needed

__all__ = ["outline_around", "thing_at"]

_Cell = tuple[int, int]

_GRID_PX = 320
_ROUNDS = 6


def thing_at(
    picture: NDArray[np.float32],
    spot_px: tuple[float, float],
    *,
    more_px: Sequence[tuple[float, float]] = (),
    less_px: Sequence[tuple[float, float]] = (),
    box_px: tuple[float, float, float, float] | None = None,
    size_share: float = 0.3,
) -> NDArray[np.bool_]:
    """Region of the thing around a spot.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear light.
    spot_px : tuple of 2 floats
        A place inside the thing.
    more_px, less_px : sequences of (x, y)
        Further places that belong to the thing, and places that do not.
    box_px : tuple of 4 floats, optional
        Left, top, right, bottom that hold all of the thing.
    size_share : float
        Without a box: the thing is looked for within this share of the long side around the spot
        and the places that belong to it.

    Returns
    -------
    ndarray of bool, shape (H, W)

    Raises
    ------
    InputError
        If OpenCV is not installed, the spot lies outside, or nothing stands out around it.
    """
    height, width = picture.shape[:2]
    x, y = spot_px
    if not (0 <= x < width and 0 <= y < height):
        raise InputError(f"the spot ({x:.0f}, {y:.0f}) lies outside the {width} x {height} px")
    reach = size_share * max(height, width) / 2
    own = np.array([spot_px, *more_px], float)
    low, high = own.min(axis=0) - reach, own.max(axis=0) + reach
    left, top, right, bottom = box_px or (low[0], low[1], high[0], high[1])
    if not (left <= x <= right and top <= y <= bottom):
        raise InputError(f"the spot ({x:.0f}, {y:.0f}) lies outside its own box")
    cut = (slice(max(0, int(top)), int(bottom) + 1), slice(max(0, int(left)), int(right) + 1))
    part = np.ascontiguousarray(picture[cut], np.float32)
    small = np.ascontiguousarray(reduced(part, _GRID_PX))
    scale = small.shape[1] / part.shape[1], small.shape[0] / part.shape[0]
    inside, outside = (
        [
            (int((down - cut[0].start) * scale[1]), int((across - cut[1].start) * scale[0]))
            for across, down in places
            if cut[1].start <= across < cut[1].stop and cut[0].start <= down < cut[0].stop
        ]
        for places in ([spot_px, *more_px], less_px)
    )
    if np.ptp(coded(small).reshape(-1, 3), axis=0).max() < 0.02:
        raise InputError(f"the picture is plain around ({x:.0f}, {y:.0f}): no thing stands out")
    mask = _segmented(small, inside, outside)
    parts, _ = label(mask)
    region = np.isin(parts, [at for at in (parts[place] for place in inside) if at])
    region = region if outside else binary_fill_holes(region)
    if not 0.002 <= region.mean() <= 0.9:
        raise InputError(
            f"no thing stands out around ({x:.0f}, {y:.0f}): draw its outline or a tighter box"
        )
    share = np.empty(part.shape[:2], np.float32)
    enlarge_by_colour(region.astype(np.float32), small, part, 0.08, share)
    found = np.zeros((height, width), bool)
    found[cut] = share > 0.5
    return found


def outline_around(
    region: NDArray[np.bool_], *, most_corners: int = 48
) -> list[tuple[float, float]]:
    """Corners of a region's outline, px, as few as follow it within a hundredth of its size.

    The line is thinned by the method of D. H. Douglas and T. K. Peucker (1973).

    Raises
    ------
    InputError
        If OpenCV is not installed.
    """
    cv2 = needed("cv2", "finding the outline of a thing from a spot")
    lines, _ = cv2.findContours(region.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    longest = max(lines, key=cv2.contourArea)
    slack = 0.01 * max(np.ptp(longest[:, 0, 0]), np.ptp(longest[:, 0, 1]), 1)
    corners = cv2.approxPolyDP(longest, slack, True)
    while len(corners) > most_corners:
        slack *= 1.3
        corners = cv2.approxPolyDP(longest, slack, True)
    return [(float(x) + 0.5, float(y) + 0.5) for x, y in corners[:, 0]]


def _segmented(
    small: NDArray[np.float32], inside: list[_Cell], outside: list[_Cell]
) -> NDArray[np.bool_]:
    """GrabCut from what is nearer to the places inside than to border and places outside."""
    cv2 = needed("cv2", "finding the outline of a thing from a spot")
    code = np.asarray(np.round(255 * coded(small)), np.uint8)
    height, width = code.shape[:2]
    border = np.ones((height, width), bool)
    border[1:-1, 1:-1] = False
    off = border.copy()
    for cell in outside:
        off[cell] = True
    from_border = ways_from(small, *np.nonzero(off), nearest=True)
    from_spot = ways_from(small, *np.array(inside, np.intp).T, nearest=True)
    mask = np.where(from_spot < from_border, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    mask[border] = cv2.GC_BGD
    rows, columns = np.ogrid[:height, :width]
    for cells, sure in ((outside, cv2.GC_BGD), (inside, cv2.GC_FGD)):
        for row, column in cells:
            near = np.hypot(rows - row, columns - column) <= max(1.5, 0.01 * max(height, width))
            mask[near] = sure
    background, foreground = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.setRNGSeed(1)
    cv2.grabCut(code, mask, None, background, foreground, _ROUNDS, cv2.GC_INIT_WITH_MASK)
    return np.asarray((mask == cv2.GC_FGD) | (mask == cv2.GC_PR_FGD))

"""The outline of a thing found from a spot inside it (GrabCut, C. Rother et al. 2004, OpenCV)."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_fill_holes, label

from render.depth.kernels import enlarge_by_colour
from render.depth.sampling import coded, reduced
from render.depth.ways import ways_from
from render.errors import InputError
from render.extras import needed

__all__ = ["thing_at"]

_GRID_PX = 320
_ROUNDS = 6


def thing_at(
    picture: NDArray[np.float32],
    spot_px: tuple[float, float],
    *,
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
    box_px : tuple of 4 floats, optional
        Left, top, right, bottom that hold all of the thing.
    size_share : float
        Without a box: the thing is looked for within this share of the long side around the spot.

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
    left, top, right, bottom = box_px or (x - reach, y - reach, x + reach, y + reach)
    if not (left <= x <= right and top <= y <= bottom):
        raise InputError(f"the spot ({x:.0f}, {y:.0f}) lies outside its own box")
    cut = (slice(max(0, int(top)), int(bottom) + 1), slice(max(0, int(left)), int(right) + 1))
    part = np.ascontiguousarray(picture[cut], np.float32)
    small = np.ascontiguousarray(reduced(part, _GRID_PX))
    scale = small.shape[1] / part.shape[1], small.shape[0] / part.shape[0]
    place = int((y - cut[0].start) * scale[1]), int((x - cut[1].start) * scale[0])
    if np.ptp(coded(small).reshape(-1, 3), axis=0).max() < 0.02:
        raise InputError(f"the picture is plain around ({x:.0f}, {y:.0f}): no thing stands out")
    mask = _segmented(small, place)
    parts, _ = label(mask)
    at = parts[place]
    region = binary_fill_holes(parts == at) if at else np.zeros(mask.shape, bool)
    if not 0.002 <= region.mean() <= 0.9:
        raise InputError(
            f"no thing stands out around ({x:.0f}, {y:.0f}): draw its outline or a tighter box"
        )
    share = np.empty(part.shape[:2], np.float32)
    enlarge_by_colour(region.astype(np.float32), small, part, 0.08, share)
    found = np.zeros((height, width), bool)
    found[cut] = share > 0.5
    return found


def _segmented(small: NDArray[np.float32], place: tuple[int, int]) -> NDArray[np.bool_]:
    """GrabCut from what is nearer to the spot than to the border, along the picture."""
    cv2 = needed("cv2", "finding the outline of a thing from a spot")
    code = np.asarray(np.round(255 * coded(small)), np.uint8)
    height, width = code.shape[:2]
    border = np.ones((height, width), bool)
    border[1:-1, 1:-1] = False
    from_border = ways_from(small, *np.nonzero(border), nearest=True)
    from_spot = ways_from(small, np.array([place[0]]), np.array([place[1]]), nearest=True)
    mask = np.where(from_spot < from_border, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    mask[border] = cv2.GC_BGD
    rows, columns = np.ogrid[:height, :width]
    disc = np.hypot(rows - place[0], columns - place[1]) <= max(1.5, 0.01 * max(height, width))
    mask[disc] = cv2.GC_FGD
    background, foreground = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.setRNGSeed(1)
    cv2.grabCut(code, mask, None, background, foreground, _ROUNDS, cv2.GC_INIT_WITH_MASK)
    return np.asarray((mask == cv2.GC_FGD) | (mask == cv2.GC_PR_FGD))

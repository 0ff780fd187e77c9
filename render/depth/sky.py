"""The sky of a picture: outlined by hand, or guessed from the colours along the top edge."""

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from render.depth.ground import ground_plane
from render.depth.kernels import enlarge_by_colour
from render.depth.sampling import coded, enlarged, reduced
from render.optics.camera import Camera, Vantage

__all__ = ["SkyGuess", "guess_sky"]

_GRID_PX = 384
_TOP_SHARE = 0.02  # of the height: where colours are taken
_TOLERANCE = 0.07  # in roots of light, from the nearest colour of the top edge ...
_PALING = 0.4  # ... growing by this over the height: skies pale towards the horizon
_STEP = 0.035  # change between neighbours beyond which the sky ends


@dataclass(frozen=True, slots=True, eq=False)
class SkyGuess:
    """What looks like sky.

    Attributes
    ----------
    region : ndarray of bool, shape (H, W)
    share : float
        Of the picture.
    remark : str
        How it was found, for the person to check.
    """

    region: NDArray[np.bool_]
    share: float
    remark: str


def guess_sky(
    picture: NDArray[np.float32],
    camera: Camera | None = None,
    vantage: Vantage | None = None,
) -> SkyGuess:
    """Guess the sky from the colours along the top edge; stated, so that it can be overruled.

    Sky is what hangs together with the top edge, is smooth, is like a colour found there (less
    strictly lower down), and is bright or blue. With a vantage nothing below the horizon is sky.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear light.
    camera, vantage : optional
        Where known, they cut the guess off at the horizon.
    """
    small = np.ascontiguousarray(reduced(picture, _GRID_PX))
    colours = coded(small)
    height, width = colours.shape[:2]
    top = colours[: max(1, round(_TOP_SHARE * height))].reshape(-1, 3)
    step = np.max(
        [scipy.ndimage.gaussian_gradient_magnitude(colours[..., c], 1.0) for c in range(3)], axis=0
    )
    tolerance = _TOLERANCE + _PALING * np.linspace(0, 1, height)[:, None]
    alike = _distance_to(colours, _usual_colours(top)) < tolerance
    bright = colours.mean(axis=2)
    blue = colours[..., 2] - colours[..., 0]
    skyish = (bright > 0.62) | ((blue > 0.04) & (bright > 0.25))
    candidates = alike & skyish & (step < _STEP)
    parts, _ = scipy.ndimage.label(candidates)
    touching = np.unique(parts[: max(1, round(_TOP_SHARE * height))])
    region = np.isin(parts, touching[touching > 0])
    # up to the edge itself
    region = scipy.ndimage.binary_dilation(region, iterations=3, mask=alike & skyish)
    if camera is not None and vantage is not None:
        region &= _above_horizon(camera.resized(width, height), vantage)
    region = scipy.ndimage.binary_fill_holes(region) & alike
    full = _sharpened(region, small, picture)
    share = float(full.mean())
    said = (
        "the sky was found by its colour along the top edge: check it, or outline it yourself"
        if share > 0
        else "no sky was found along the top edge"
    )
    return SkyGuess(full, share, said)


def _usual_colours(top: NDArray[np.float32]) -> NDArray[np.float32]:
    """Colours of the top edge thinned to at most 64, spread over its brightness."""
    order = np.argsort(top.mean(axis=1), kind="stable")
    spread = np.linspace(0, len(order) - 1, min(64, len(order))).astype(int)
    return np.asarray(top[order[spread]])


def _distance_to(colours: NDArray[np.float32], some: NDArray[np.float32]) -> NDArray[np.float64]:
    from scipy.spatial import cKDTree  # most commands find no sky

    distance, _ = cKDTree(some).query(colours.reshape(-1, 3))
    return np.asarray(distance).reshape(colours.shape[:2])


def _above_horizon(camera: Camera, vantage: Vantage) -> NDArray[np.bool_]:
    down = ground_plane(vantage)
    columns, rows = camera.grid()
    return np.asarray((down[1] * rows + down[2])[:, None] + down[0] * columns < 0)


def _sharpened(
    region: NDArray[np.bool_], small: NDArray[np.float32], picture: NDArray[np.float32]
) -> NDArray[np.bool_]:
    """Bring a region to the picture's own size, its edge on the picture's edge."""
    share = np.empty(picture.shape[:2], np.float32)
    if share.shape == region.shape:
        return region
    light = np.ascontiguousarray(picture, np.float32)
    enlarge_by_colour(region.astype(np.float32), small, light, 0.08, share)
    near = enlarged(region.astype(np.float32), picture.shape[0], picture.shape[1])
    return np.asarray((share > 0.5) & (near > 0.02))

"""The sun in penumbrae: where it is looked at again, and shared with neighbours."""

import numpy as np
from numpy.typing import NDArray

from render.filters import maximum_filter
from render.threads import each_share
from render.trace.build import Built
from render.trace.columns import LUMINANCE, SUN_RAYS, SUNLIGHT, SUNLIT, Eye
from render.trace.kernels.penumbra import (
    NEAREST,
    RAYS,
    SEEN,
    TOLD,
    look_for_shade,
    nearest_shade,
    sun_shared,
)
from render.trace.rays import over_rows
from render.world.surfaces.tables import addressed

__all__ = ["NO_SUN", "sun_seen"]

#: Nothing is known of the sun beyond each pixel's own rays.
NO_SUN = np.zeros((0, 0), np.float32)
#: How far rays are shared, as a share of the width of the sun's image; how far along the light,
#: as a share of the distance to what shades; and at most so many pixels away.
_REACH, _ALONG, _MOST_PX = 0.25, 0.1, 7
#: Blur of so many px shows no stipple of a penumbra.
_BLURRED_PX = 6.0
#: A pixel may lie in a penumbra if rays around it disagree, so many pixels across.
_AROUND_PX = 7


def sun_seen(
    built: Built,
    sums: NDArray[np.float32],
    surface: NDArray[np.float32],
    blur_px: NDArray[np.float32],
    eye: Eye,
) -> NDArray[np.float32]:
    """Share of the sun that the first surface of each pixel sees, with what neighbours know of it.

    Parameters
    ----------
    sums, surface : ndarray, shape (H, W, columns), float32
        As in `render.trace.columns`, all samples taken.
    blur_px : ndarray, shape (H, W), float32
        What a lens lays on each pixel at least, 0 without a lens.

    Returns
    -------
    ndarray, shape (H, W), float32
        0 to 1; -1 where the pixel's own rays are all that is known, as all over the picture where
        the array is empty.
    """
    told = np.empty((*sums.shape[:2], TOLD), np.float32)

    def tell(first: int, last: int) -> None:
        here, out = sums[first:last], told[first:last]
        full = here[..., SUNLIGHT : SUNLIGHT + 3] @ np.array(LUMINANCE, np.float32)
        rays = here[..., SUN_RAYS]
        out[..., NEAREST] = np.inf
        out[..., RAYS] = np.where(full > 0, rays, 0)
        out[..., SEEN] = rays * np.minimum(here[..., SUNLIT] / np.maximum(full, 1e-12), 1)

    each_share(len(told), tell)
    lit = maximum_filter((told[..., SEEN] > 0.001).view(np.uint8), _AROUND_PX)
    dark = maximum_filter((told[..., SEEN] < told[..., RAYS] - 0.001).view(np.uint8), _AROUND_PX)
    todo = (lit & dark).view(np.bool_) & (told[..., RAYS] > 0) & (blur_px < _BLURRED_PX)
    if not todo.any():
        return NO_SUN
    wide = 2 * built.light.sun_tan * _REACH
    asked = np.zeros_like(todo)  # as on a chessboard
    asked[::2, ::2], asked[1::2, 1::2] = todo[::2, ::2], todo[1::2, 1::2]
    scene = (built.world, built.surfaces, built.light, len(todo), eye, surface, wide, asked, told)
    over_rows(look_for_shade, *scene)
    nearest, out = np.empty(todo.shape, np.float32), np.empty(todo.shape, np.float32)
    each_share(len(todo), lambda a, b: nearest_shade(surface, todo, told, nearest, a, b))
    light = addressed(built.light)
    shared = (light, eye, surface, wide, _ALONG, _MOST_PX, todo, told, nearest, out)
    each_share(len(todo), lambda a, b: sun_shared(*shared, a, b))
    return out

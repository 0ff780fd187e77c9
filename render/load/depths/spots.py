"""Things that a shot names by a spot: cut out, and what further spots changed."""

import numpy as np
from numpy.typing import NDArray

from render.depth.cutout import thing_by_spots
from render.shot.depthkeys import NearWish, ThingWish
from render.words import percent

__all__ = ["region_by_spots"]


def region_by_spots(
    wish: NearWish | ThingWish, light: NDArray[np.float32]
) -> tuple[NDArray[np.bool_], str]:
    """Pixels of the thing at a wish's spot, and what its further spots added and took away.

    The words finish a sentence about the thing; empty where there is one spot alone.

    Raises
    ------
    InputError
        As `render.depth.cutout.thing_by_spots`.
    """
    height, width = light.shape[:2]
    spot, more, less = (
        [each.at(width, height) for each in part] for part in (wish.spots, wish.more, wish.less)
    )
    region, alone = thing_by_spots(light, spot[0], more_px=more, less_px=less)
    if not (more or less):
        return region, ""
    added, lost = float((region & ~alone).mean()), float((alone & ~region).mean())
    return region, f" (further spots: {percent(added)} added, {percent(lost)} taken away)"

"""Things that a shot names by a spot: cut out, and what further spots changed."""

import numpy as np
from numpy.typing import NDArray

from render.depth.cutout import Cutout, cutout_by_spots
from render.errors import InputError
from render.shot.depthkeys import NearWish, ThingWish
from render.words import percent

__all__ = ["in_doubt", "region_by_spots"]


def region_by_spots(
    wish: NearWish | ThingWish, light: NDArray[np.float32]
) -> tuple[NDArray[np.bool_], str]:
    """Pixels of the thing at a wish's spot, and what its further spots added and took away.

    The words finish a sentence about the thing; empty where there is one spot alone.

    Raises
    ------
    InputError
        As `render.depth.cutout.cutout_by_spots`, and where one spot may mean a thing or what
        stands about it as well.
    """
    height, width = light.shape[:2]
    spot, more, less = (
        [each.at(width, height) for each in part] for part in (wish.spots, wish.more, wish.less)
    )
    cut = cutout_by_spots(light, spot[0], more_px=more, less_px=less)
    region, alone = cut.region, cut.alone
    if doubt := in_doubt(cut):
        raise InputError(
            f'{doubt}: add a spot of what it is or is not, as "... with 55%,40%" or '
            '"... without 55%,40%", or draw a box or an outline'
        )
    if not (more or less):
        return region, ""
    added, lost = float((region & ~alone).mean()), float((alone & ~region).mean())
    return region, f" (further spots: {percent(added)} added, {percent(lost)} taken away)"


def in_doubt(cut: Cutout) -> str:
    """What one spot may mean, where that is a thing or all that stands about it; else empty."""
    if not cut.doubtful:
        return ""
    whole = percent(float(cut.region.mean()))
    return f"a spot alone may mean all that takes {whole} of the picture or a part of it"

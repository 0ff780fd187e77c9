"""A camera on a wide roof: how much of the frame that roof fills, and what lies beyond."""

import math
from collections.abc import Callable

import numpy as np

from render.load.maps.mapscene import place_of
from render.load.plan import NO_FOCUS
from render.optics.lens import FocusSpot
from render.shot.shot import Shot
from render.trace.aim import spot_at
from render.trace.build import Built
from render.trace.trace import View, eye_numbers
from render.words import length_words

__all__ = ["focus_beyond", "own_roof_words"]

_ROWS = 120
#: A roof that fills less of the frame than this is not worth a word.
_WORTH_SAYING = 0.05


def own_roof_words(shot: Shot, built: Built, view: View) -> list[str]:
    """Say how much of the frame the camera's own roof fills, and where its edge is.

    Counted on the middle column.
    """
    own = _own(shot, view)
    if own is None:
        return []
    share = sum(own(spot) for spot in _column(built, view)) / _ROWS
    edge = place_of(shot).roof_edge(view.heading_deg)
    if share < _WORTH_SAYING or edge is None:
        return []
    return [
        f"your own roof fills the lower {100 * share:.0f} % of the frame: from just behind "
        f'its edge that way, --at "{edge[0]:.6f}, {edge[1]:.6f}", the view is free'
    ]


def focus_beyond(shot: Shot, built: Built, view: View) -> tuple[FocusSpot, str]:
    """What is sharp where nobody says: the frame's middle, unless the camera's own roof is there.

    Then the nearest thing that the middle column shows beyond that roof.

    Returns
    -------
    spot, note
    """
    middle = spot_at(built, view, view.width_px / 2, view.height_px / 2)
    own = _own(shot, view)
    if own is None or not own(middle):
        return middle, f"{NO_FOCUS}: the middle of the frame"
    beyond = [s for s in _column(built, view) if math.isfinite(s.depth_m) and not own(s)]
    if not beyond:
        return middle, (
            f"{NO_FOCUS}: the middle of the frame, which is your own roof, "
            f"{length_words(middle.depth_m)} along the axis"
        )
    spot = min(beyond, key=lambda s: s.depth_m)
    return spot, (
        f"{NO_FOCUS}, and your own roof is in the middle of the frame: the nearest thing "
        f"beyond it, {length_words(spot.depth_m)} along the axis"
    )


def _own(shot: Shot, view: View) -> Callable[[FocusSpot], bool] | None:
    """Whether a spot shows the building under the camera; None where there is none."""
    from shapely.geometry import Point

    place = place_of(shot)
    if not place.roofs or min(roof.low_m for roof in place.roofs) > view.at_m[2]:
        return None
    eye = eye_numbers(view, view.camera())
    block = place.block_over().buffer(0.05)

    def shows_own(spot: FocusSpot) -> bool:
        if not math.isfinite(spot.depth_m):
            return False
        ray = np.array([spot.slope_x, spot.slope_y, 1.0]) @ np.reshape(eye[3:12], (3, 3))
        x, y, _ = np.array(eye[:3]) + spot.depth_m * ray
        return bool(block.covers(Point(float(x), float(y))))

    return shows_own


def _column(built: Built, view: View) -> list[FocusSpot]:
    """What the middle column of the frame shows, from the top."""
    rows = (np.arange(_ROWS) + 0.5) * view.height_px / _ROWS
    return [spot_at(built, view, view.width_px / 2, float(y)) for y in rows]

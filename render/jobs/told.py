"""What is said and drawn beside a preview, as plain numbers; places are shares of the frame."""

from typing import Any

import numpy as np

from render.depth.ground import horizon_row
from render.jobs.prepare import Prepared
from render.jobs.summary import setting_words
from render.optics.blur import BlurField
from render.optics.lens import FocusDistance, FocusSpot
from render.optics.plane import focus_lens
from render.sheets.overlay import band_regions

__all__ = ["band_handles", "band_outlines", "told"]

#: JSON has no infinity: the sky is as far as this.
_VERY_FAR_M = 1e9
#: Where the band can be taken hold of, across the frame.
_HANDLES = (0.12, 0.5, 0.88)

Ring = list[list[float]]


def told(prepared: Prepared) -> dict[str, Any]:
    """Everything that follows from the setting alone."""
    scene, setting, frame = prepared.scene, prepared.setting, prepared.scene.frame
    whole, focus, vantage = scene.camera, prepared.setting.focus, scene.vantage
    spot = distance_m = None
    if isinstance(focus, FocusSpot):
        x, y = whole.positions((focus.slope_x, focus.slope_y))
        spot = [float(x - frame.left) / frame.width, float(y - frame.top) / frame.height]
        distance_m = min(focus.depth_m, _VERY_FAR_M)
    elif isinstance(focus, FocusDistance):
        distance_m = min(focus.depth_m, _VERY_FAR_M)
    return {
        "words": setting_words(prepared),
        "depth": prepared.depth_how,
        "notes": list(prepared.notes),
        "frame": [
            frame.left / whole.width_px,
            frame.top / whole.height_px,
            frame.width / whole.width_px,
            frame.height / whole.height_px,
        ],
        "shape": frame.width / frame.height,
        "whole_shape": whole.width_px / whole.height_px,
        "lens": setting.focal_mm,
        "f": setting.f_number,
        "tilt": setting.tilt_deg,
        "swing": setting.swing_deg,
        "rise": setting.rise_mm,
        "shift": setting.lateral_mm,
        "focus": spot,
        "focus_m": distance_m,
        "extension_mm": focus_lens(setting).extension_mm,
        "height": vantage and vantage.height_m,
        "pitch": vantage and vantage.pitch_deg,
        "roll": vantage and vantage.roll_deg,
        "horizon": vantage and horizon_row(whole, vantage) / whole.height_px,
    }


def band_outlines(field: BlurField, coc_mm: float) -> list[list[Ring]]:
    """Outlines of what is sharp: for each region its outline and its holes."""
    width, height = field.camera.width_px, field.camera.height_px
    return [
        [
            [[round(float(x) / width, 4), round(float(y) / height, 4)] for x, y in ring]
            for ring in region
        ]
        for region in band_regions(field, coc_mm)
    ]


def band_handles(field: BlurField) -> Ring:
    """Places on the sharpest line, left, middle and right; fewer where the line leaves the frame.

    The sharpest row of a column counts if the plane of sharp focus is crossed there.
    """
    height, width = field.defocus.shape
    handles = []
    for share in _HANDLES:
        column = field.defocus[:, int(share * width)]
        crossings = np.flatnonzero(np.signbit(column[1:]) != np.signbit(column[:-1]))
        if len(crossings):
            row = crossings[np.argmin(np.abs(column[crossings]))]
            handles.append([share, (float(row) + 1.0) / height])
    return handles

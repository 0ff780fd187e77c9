"""What is said and drawn beside a preview, as plain numbers; places are shares of the frame.

The frame itself is given in shares of what a shot's places are counted in.
"""

from typing import Any

import numpy as np

from render.depth.ground import horizon_row
from render.load.prepared import Prepared
from render.optics.blur import BlurField, defocus
from render.optics.camera import Window
from render.optics.lens import FocusDistance, FocusSpot
from render.optics.plane import FocusedLens, focus_lens
from render.sheets.overlay import band_regions, near_outlines
from render.tell.light import light_known
from render.tell.summary import credit_words, setting_record, setting_words

__all__ = ["band_handles", "band_outlines", "counted_in", "preview_record", "spot_words"]

#: JSON has no infinity: the sky is as far as this.
_VERY_FAR_M = 1e9
#: Where the band can be taken hold of, across the frame.
_HANDLES = (0.12, 0.5, 0.88)

Ring = list[list[float]]


def preview_record(prepared: Prepared) -> dict[str, Any]:
    """Everything that follows from the setting alone."""
    scene, setting, frame = prepared.scene, prepared.setting, prepared.scene.frame
    whole, vantage = scene.camera, scene.vantage
    counted, lens = counted_in(prepared), focus_lens(setting)
    spot, distance_m = _focus_mark(prepared, lens)
    on_axis = float(lens.sharp_inverse_depth(np.zeros(2)))
    coc_px = prepared.coc_mm * whole.focal_px / lens.extension_mm
    return {
        "words": setting_words(prepared),
        "setting": setting_record(prepared),
        "limits": _limits(prepared),
        "depth": prepared.depth_how,
        "guessed": prepared.guessed,
        "notes": [*prepared.notes, *filter(None, [credit_words(prepared)])],
        "frame": [
            (frame.left - counted.left) / counted.width,
            (frame.top - counted.top) / counted.height,
            frame.width / counted.width,
            frame.height / counted.height,
        ],
        "shape": frame.width / frame.height,
        "whole_shape": counted.width / counted.height,
        "lens": setting.focal_mm,
        "f": setting.f_number,
        "tilt": setting.tilt_deg,
        "swing": setting.swing_deg,
        "rise": setting.rise_mm,
        "shift": setting.lateral_mm,
        "focus": spot,
        "focus_m": distance_m,
        "axis_m": min(1.0 / on_axis, _VERY_FAR_M) if on_axis > 0 else None,
        "extension_mm": lens.extension_mm,
        "coc_percent": 100.0 * coc_px / frame.height,
        "height": vantage and vantage.height_m,
        "pitch": vantage and vantage.pitch_deg,
        "roll": vantage and vantage.roll_deg,
        "horizon": vantage and (horizon_row(whole, vantage) - counted.top) / counted.height,
        "near": [
            [[round(x, 4), round(y, 4)] for x, y in line] for line in near_outlines(prepared.near)
        ],
        "light_known": light_known(prepared),
    }


def _focus_mark(prepared: Prepared, lens: FocusedLens) -> tuple[list[float] | None, float | None]:
    """Where the focus is marked in the frame, and the distance there, m.

    A focus that is no spot is marked where the plane of sharp focus crosses the frame's middle;
    where it crosses nothing there, it has a distance on the axis alone.
    """
    scene, frame, focus = prepared.scene, prepared.scene.frame, prepared.setting.focus
    if isinstance(focus, FocusSpot):
        x, y = scene.camera.positions((focus.slope_x, focus.slope_y))
        spot = [float(x - frame.left) / frame.width, float(y - frame.top) / frame.height]
        return spot, min(focus.depth_m, _VERY_FAR_M)
    row = _crossing(prepared, lens, 0.5)
    if row is not None:  # between two rows, each of which is a range of depths
        column = frame.left + frame.width // 2
        rows = frame.top + np.array([row, row + 1])
        inverse = 1.0 / scene.depth_m[rows, column].astype(float)
        off = defocus(lens, scene.camera.slopes(np.full(2, column + 0.5), rows + 0.5), inverse)
        there = float(inverse[0] + (inverse[1] - inverse[0]) * off[0] / (off[0] - off[1]))
        depth_m = 1.0 / there if there > 0 else _VERY_FAR_M
        return [0.5, (row + 1.0) / frame.height], min(depth_m, _VERY_FAR_M)
    if isinstance(focus, FocusDistance):
        return None, min(focus.depth_m, _VERY_FAR_M)
    on_axis = float(lens.sharp_inverse_depth(np.zeros(2)))
    return None, min(1.0 / on_axis, _VERY_FAR_M) if on_axis > 0 else _VERY_FAR_M


def _crossing(prepared: Prepared, lens: FocusedLens, share: float) -> int | None:
    """The sharpest row of a column of the frame at which the plane of sharp focus is crossed."""
    scene, frame = prepared.scene, prepared.scene.frame
    column = frame.left + min(int(share * frame.width), frame.width - 1)
    rows = np.arange(frame.top, frame.top + frame.height)
    with np.errstate(divide="ignore"):
        inverse = 1.0 / scene.depth_m[frame.rows, column].astype(float)
    slopes = scene.camera.slopes(np.full(len(rows), column + 0.5), rows + 0.5)
    blurred = defocus(lens, slopes, inverse)
    crossings = np.flatnonzero(np.signbit(blurred[1:]) != np.signbit(blurred[:-1]))
    if not len(crossings):
        return None
    return int(crossings[np.argmin(np.abs(blurred[crossings]))])


def _limits(prepared: Prepared) -> dict[str, float] | None:
    """How far the named lens can be turned; None where no lens is named."""
    lens = prepared.limits
    if lens is None:
        return None
    return {
        "tilt": lens.tilt_limit_deg,
        "swing": lens.tilt_limit_deg if lens.axis_turns else 0.0,
        "shift": lens.shift_limit_mm,
        "widest": lens.widest_f_number,
        "smallest": lens.smallest_f_number,
    }


def counted_in(prepared: Prepared) -> Window:
    """Where places of a shot are counted: the whole picture, or the frame of a demo scene."""
    if prepared.file is None:
        return prepared.scene.frame
    return Window(0, 0, prepared.scene.camera.width_px, prepared.scene.camera.height_px)


def spot_words(prepared: Prepared, x_px: float, y_px: float) -> str:
    """A place of the whole picture as a shot's spot: "50%,62%"."""
    counted = counted_in(prepared)
    x, y = (x_px - counted.left) / counted.width, (y_px - counted.top) / counted.height
    return f"{100 * x:.2f}%,{100 * y:.2f}%"


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


def band_handles(prepared: Prepared) -> Ring:
    """Places on the sharpest line, left, middle and right; fewer where the line leaves the frame.

    The sharpest row of a column counts if the plane of sharp focus is crossed there.
    """
    lens, height = focus_lens(prepared.setting), prepared.scene.frame.height
    rows = [(share, _crossing(prepared, lens, share)) for share in _HANDLES]
    return [[share, (row + 1.0) / height] for share, row in rows if row is not None]

"""What the picture itself adds: haze, small things, where the band lies; and its colours.

Common practice, no study behind it; together it is a twentieth of the score. Colour and contrast
are told and not scored: they change with the hour, and moved the score by 0.1 % of its variance.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.judge.samples import Samples
from render.judge.weights import RULES
from render.scene.scene import Scene

__all__ = ["Colour", "Picture", "colour_of", "picture_cues"]

Floats = NDArray[np.float64]

#: Linear Rec. 709 / sRGB primaries to XYZ, D65 (IEC 61966-2-1).
_TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
_COLOUR_PIXELS = 60_000  # enough for a mean and two percentiles
_CONTRAST_FLOOR = 2.0**-12  # darker counts as this dark, as a fraction of the 95th percentile


@dataclass(frozen=True, slots=True)
class Colour:
    """What does not depend on the lens: mean CIELAB chroma and contrast in stops, or NaN."""

    chroma: float
    contrast_stops: float


@dataclass(frozen=True, slots=True)
class Picture:
    """Marks of the picture; NaN where a thing could not be measured.

    Attributes
    ----------
    mark : float
        Mean of the marks that could be measured.
    chroma : float
        Mean CIELAB chroma outside the sky.
    contrast_stops : float
        From the 5th to the 95th percentile of luminance, log2.
    band_from_top : float
        Middle of the band from the top, fraction of picture height.
    transmission : float
        Of the air to the far tenth of the scene (Koschmieder's law).
    small_things : int or None
        Small known things inside the sharp band.
    measured : tuple of str
        Names of the marks that entered the mean.
    """

    mark: float
    chroma: float
    contrast_stops: float
    band_from_top: float
    transmission: float
    small_things: int | None
    measured: tuple[str, ...]


def colour_of(
    scene: Scene, samples: Samples, rendered: NDArray[np.float32] | None = None
) -> Colour:
    """Measure colour and contrast of the frame, outside the sky; NaN where it shows no detail.

    Parameters
    ----------
    rendered : ndarray, shape (h, w, 3), optional
        The frame as it will be shown (linear light), to be measured in place of the sharp picture.

    Raises
    ------
    InputError
        If `rendered` is not as large as the frame.
    """
    frame = scene.frame
    light = scene.picture[frame.rows, frame.columns]
    if rendered is not None and rendered.shape != light.shape:
        raise InputError(
            f"the rendered picture is {rendered.shape[1]} x {rendered.shape[0]} px, the planned "
            f"frame {frame.width} x {frame.height}: judge a rendering of this frame"
        )
    if rendered is None and samples.blank:
        return Colour(math.nan, math.nan)
    light = light if rendered is None else rendered
    step = max(1, math.ceil(math.sqrt(frame.width * frame.height / _COLOUR_PIXELS)))
    half = step // 2 if min(frame.width, frame.height) > step // 2 else 0
    seen = np.isfinite(scene.depth_m[frame.rows, frame.columns][half::step, half::step])
    pixels = np.asarray(light[half::step, half::step], float)
    pixels = pixels[seen] if np.any(seen) else pixels.reshape(-1, 3)
    luminance = pixels @ _TO_XYZ[1]
    bright = float(np.quantile(luminance, 0.95))
    if bright <= 0:
        return Colour(0.0, 0.0)
    dark = max(float(np.quantile(luminance, 0.05)), bright * _CONTRAST_FLOOR)
    return Colour(_mean_chroma(np.clip(pixels, 0.0, 1.0)), math.log2(bright / dark))


def picture_cues(
    samples: Samples,
    colour: Colour,
    from_top: float,
    visual_range_m: float | None = None,
    small_things: int | None = None,
) -> Picture:
    """Mark the picture's cues.

    Parameters
    ----------
    from_top : float
        Middle of what is sharp, from the top, as a share of the picture's height.
    visual_range_m : float, optional
        Meteorological visual range (2 % contrast), metres; haze is not marked without it.
    small_things : int, optional
        Small known things (people, cars) counted in the sharp band.
    """
    transmission = _transmission(samples, visual_range_m)
    marks: dict[str, float] = {
        "haze": _ramp(transmission, RULES.haze_none, RULES.haze_full),
        "place of the band": math.nan if samples.blank else _place(from_top),
        "small things": math.nan if small_things is None else small_things / RULES.things_full,
    }
    known = {name: min(1.0, mark) for name, mark in marks.items() if not math.isnan(mark)}
    return Picture(
        mark=float(np.mean(list(known.values()))) if known else RULES.picture_unknown,
        chroma=colour.chroma,
        contrast_stops=colour.contrast_stops,
        band_from_top=from_top,
        transmission=transmission,
        small_things=small_things,
        measured=tuple(known),
    )


def _mean_chroma(pixels: Floats) -> float:
    """Mean C*ab of linear sRGB pixels, shape (N, 3) (CIE 15, CIELAB with its own white)."""
    ratio = (pixels @ _TO_XYZ.T) / _TO_XYZ.sum(axis=1)
    cube = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio * (29 / 6) ** 2 / 3 + 4 / 29)
    a, b = 500.0 * (cube[:, 0] - cube[:, 1]), 200.0 * (cube[:, 1] - cube[:, 2])
    return float(np.hypot(a, b).mean())


def _transmission(samples: Samples, visual_range_m: float | None) -> float:
    """``exp(-3.912 z90 / V)``, Koschmieder's law with the 2 % contrast visual range."""
    if visual_range_m is None:
        return math.nan
    far = 1.0 / float(np.quantile(samples.inverse[samples.seen], 0.1))
    return math.exp(-3.912 * far / visual_range_m)


def _ramp(value: float, none: float, full: float) -> float:
    if math.isnan(value):
        return value
    return min(1.0, max(0.0, (value - none) / (full - none)))


def _place(from_top: float) -> float:
    if from_top < RULES.place_low:
        return max(0.0, from_top / RULES.place_low)
    return min(1.0, max(0.0, (1.0 - from_top) / (1.0 - RULES.place_high)))

"""Light on the sensor: exposure values, meters, filters, close-up and fall-off.

Blur follows the engraved f-number; exposure follows the effective one, or the T-stop.
"""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import SettingError
from render.optics.plane import FocusedLens

__all__ = [
    "MARKED_ISO",
    "MARKED_SHUTTER",
    "REFLECTED_K",
    "SUNNY_F_NUMBER",
    "WHOLE_STOPS",
    "effective_f_number",
    "exposure_value",
    "light_falloff",
    "magnification",
    "marked_iso",
    "marked_shutter_s",
    "metered_exposure_lx_s",
    "nd_density",
    "nd_stops",
    "saturation_exposure_lx_s",
    "shutter_s",
    "sunny_exposure_value",
]

#: Whole stops as marked.
WHOLE_STOPS = (1.0, 1.4, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0, 16.0, 22.0, 32.0)
#: Reflected-light meter constant; ISO 2720 allows 10.6 to 13.4 (read in secondary pages).
REFLECTED_K = 12.5
#: F-number at a shutter time of 1/ISO for conditions of daylight, and what that rule would make
#: of a room by day (about EV 8) and by lamps (about EV 6): common practice, no source.
SUNNY_F_NUMBER = {
    "snow or sand": 22.0,
    "sun": 16.0,
    "hazy sun": 11.0,
    "bright cloud": 8.0,
    "overcast": 5.6,
    "open shade": 4.0,
    "window light": 1.4,
    "lamplight": 0.7,
}
#: Shutter times in thirds of a stop by the name on the camera, seconds: common practice, no source.
MARKED_SHUTTER: dict[str, float] = {
    **{
        f"1/{part} s": 1.0 / part
        for part in (
            *(32000, 25000, 20000, 16000, 12800, 10000, 8000, 6400, 5000, 4000, 3200, 2500),
            *(2000, 1600, 1250, 1000, 800, 640, 500, 400, 320, 250, 200, 160, 125, 100, 80),
            *(60, 50, 40, 30, 25, 20, 15, 13, 10, 8, 6, 5, 4, 3),
        )
    },
    **{
        f"{time_s:g} s": time_s
        for time_s in (
            *(0.4, 0.5, 0.6, 0.8, 1.0, 1.3, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0, 6.0, 8.0),
            *(10.0, 13.0, 15.0, 20.0, 25.0, 30.0),
        )
    },
}
#: Speeds in thirds of a stop (ISO 12232 names the series from 10 to 102400; from memory).
MARKED_ISO = (
    *(50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000),
    *(2500, 3200, 4000, 5000, 6400, 8000, 10000, 12800, 16000, 20000, 25600, 32000, 40000),
    *(51200, 64000, 80000, 102400),
)


def marked_shutter_s(time_s: float) -> float:
    """The time nearest to `time_s`, in stops, that a shutter can be set to.

    Beyond 30 s there are no marks (the shutter is held open by hand): whole seconds.

    >>> 1 / marked_shutter_s(1 / 3265), marked_shutter_s(0.26), marked_shutter_s(45.4)
    (3200.0, 0.25, 45.0)
    """
    if not (math.isfinite(time_s) and time_s > 0):
        raise SettingError(f"a shutter time must be a number above 0 s, not {time_s!r}")
    if time_s > 33.0:
        return float(round(time_s))
    return min(MARKED_SHUTTER.values(), key=lambda marked: abs(math.log(marked / time_s)))


def marked_iso(iso: float) -> int:
    """The marked speed nearest to `iso` in stops.

    >>> marked_iso(130), marked_iso(395), marked_iso(1e6)
    (125, 400, 102400)
    """
    return min(MARKED_ISO, key=lambda marked: abs(math.log(marked / iso)))


def magnification(lens: FocusedLens) -> float:
    """Image size over object size on the axis, ``v/f - 1``; negative is beyond infinity."""
    return lens.extension_mm / lens.focal_mm - 1.0


def effective_f_number(
    f_number: float, magnification: float, pupil_magnification: float = 1.0
) -> float:
    """F-number that sets the exposure: ``N (1 + m/p)``.

    Parameters
    ----------
    magnification : float
        m = v/f - 1.
    pupil_magnification : float
        Exit over entrance pupil: above 1 for retrofocus wide angles, below 1 for telephotos.

    Examples
    --------
    >>> effective_f_number(4, 0.5)
    6.0
    """
    if not pupil_magnification > 0:
        raise SettingError(f"pupil magnification must be above 0, not {pupil_magnification!r}")
    factor = 1.0 + magnification / pupil_magnification
    if not (f_number > 0 and factor > 0):
        raise SettingError("the f-number must be above 0 and the lens in front of the sensor")
    return f_number * factor


def exposure_value(f_number: float, shutter_time_s: float, iso: float = 100.0) -> float:
    """Scene brightness EV100 that this exposure suits: ``log2(N^2 / t) - log2(ISO / 100)``.

    At ISO 100 it is the exposure value of the camera setting itself.

    Examples
    --------
    >>> round(exposure_value(16, 1 / 100), 2)
    14.64
    """
    for name, value in (("f_number", f_number), ("shutter time", shutter_time_s), ("ISO", iso)):
        if not (math.isfinite(value) and value > 0):
            raise SettingError(f"{name} must be a number above 0, not {value!r}")
    return math.log2(f_number * f_number / shutter_time_s) - math.log2(iso / 100.0)


def shutter_s(ev100: float, f_number: float, iso: float = 100.0) -> float:
    """Shutter time for a scene of `ev100` at this f-number and speed, s."""
    if not (math.isfinite(ev100) and f_number > 0 and iso > 0):
        raise SettingError("a shutter time needs a finite EV and an f-number and ISO above 0")
    return float(f_number * f_number / 2.0**ev100 * 100.0 / iso)


def sunny_exposure_value(condition: str) -> float:
    """EV100 of a condition of daylight by the sunny-16 rule, ``log2(100 N^2)``.

    Common practice, no source.

    Raises
    ------
    SettingError
        If the condition is not one of `SUNNY_F_NUMBER`.
    """
    try:
        f_number = SUNNY_F_NUMBER[condition.strip().lower()]
    except KeyError:
        known = ", ".join(f'"{name}"' for name in SUNNY_F_NUMBER)
        raise SettingError(f'condition "{condition}" is not known: choose {known}') from None
    return exposure_value(f_number, 1.0 / 100.0)


def metered_exposure_lx_s(iso: float, meter_k: float = REFLECTED_K, q: float = 0.65) -> float:
    """Exposure that a metered mid-tone gives the sensor: ``q K / S``, lx s (q from memory)."""
    return q * meter_k / iso


def saturation_exposure_lx_s(iso: float) -> float:
    """Exposure at which the sensor clips: ``78 / S`` (ISO 12232, from memory)."""
    return 78.0 / iso


def nd_stops(metered_s: float, wanted_s: float) -> float:
    """Stops of neutral density that turn the metered shutter time into the wanted one."""
    if not (metered_s > 0 and wanted_s > 0):
        raise SettingError("shutter times must be above 0 s")
    return math.log2(wanted_s / metered_s)


def nd_density(stops: float) -> float:
    """Optical density of so many stops: 0.301 each (marked 0.3)."""
    return stops * math.log10(2.0)


def light_falloff(lens: FocusedLens, slopes: ArrayLike) -> NDArray[np.float64]:
    """Light at a pixel relative to the picture's axis: ``(n.D) / (n_z |D|^4)``.

    The cos^4 law without tilt; checked against an integral over the aperture (3e-4 at f/22).
    Vignetting by the mount is not in it.

    Parameters
    ----------
    slopes : array_like, shape (..., 2)

    Returns
    -------
    ndarray, shape (...), float64
    """
    q = np.asarray(slopes, float)
    nx, ny, nz = lens.axis
    along = q[..., 0] * nx + q[..., 1] * ny + nz
    length_squared = 1.0 + np.sum(q * q, axis=-1)
    return np.asarray(along / nz / length_squared**2)

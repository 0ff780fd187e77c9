"""Circle of confusion, hyperfocal distance and depth of field of the untilted lens.

Distances are measured from the lens centre, not from the sensor. The tilted lens has a wedge
instead of two parallel planes: `render.optics.band`.
"""

import math
import re

from render.decimals import pointed
from render.errors import LensError, SettingError
from render.optics.camera import Sensor
from render.words import focal_words, length_words

__all__ = [
    "USUAL_COC",
    "circle_of_confusion_mm",
    "depth_of_field_m",
    "hyperfocal_m",
]

#: Where nobody says what passes for sharp.
USUAL_COC = "diagonal/1500"

_DIAGONAL = re.compile(r"diagonal\s*/\s*(\d+(?:\.\d+)?)")
_PIXELS = re.compile(r"(\d+(?:\.\d*)?|\.\d+)\s*px")
_MILLIMETRES = re.compile(r"(\d+(?:\.\d*)?|\.\d+)\s*(?:mm)?")

#: Traditional for 36 x 24 mm, and 1/1000 inch of cinema; both from memory.
_TRADITIONAL_MM, _TRADITIONAL_DIAGONAL_MM = 0.030, math.hypot(36.0, 24.0)
_CINEMA_MM = 0.0254


def circle_of_confusion_mm(convention: str, sensor: Sensor, width_px: int | None = None) -> float:
    """Diameter on the sensor up to which blur still passes for sharp.

    Parameters
    ----------
    convention : str
        "traditional" (0.030 mm on 36 x 24 mm, in proportion to the diagonal), "cinema"
        (0.001 inch), "diagonal/1500" (any divisor; 1730 is common too), "2 px" (pixels of the
        shown picture), or a diameter such as "0.025 mm". The conventions are from memory.
    sensor : Sensor
    width_px : int or None
        Pixels across the shown picture; only "px" needs it.

    Returns
    -------
    float
        Diameter, mm.

    Raises
    ------
    SettingError
        If the text is none of these, the diameter is 0, or pixels are asked for without a picture.

    Examples
    --------
    >>> round(circle_of_confusion_mm("diagonal/1500", Sensor()), 4)
    0.0288
    """
    text = pointed(convention.strip().lower())
    circle = math.nan
    if text == "traditional":
        circle = _TRADITIONAL_MM * sensor.diagonal_mm / _TRADITIONAL_DIAGONAL_MM
    elif text == "cinema":
        circle = _CINEMA_MM
    elif match := _DIAGONAL.fullmatch(text):
        divisor = float(match[1])
        circle = sensor.diagonal_mm / divisor if divisor > 0 else math.nan
    elif match := _PIXELS.fullmatch(text):
        if width_px is None:
            raise LensError(
                f'circle of confusion "{convention}": there is no picture to count pixels in; '
                'give mm, such as "0.03 mm"'
            )
        circle = float(match[1]) * sensor.width_mm / width_px
    elif match := _MILLIMETRES.fullmatch(text):
        circle = float(match[1])
    if not (math.isfinite(circle) and circle > 0):
        raise SettingError(
            f'circle of confusion "{convention}" is not understood: write "traditional", "cinema", '
            '"diagonal/1500", "2 px" or "0.03 mm"'
        )
    return circle


def hyperfocal_m(focal_mm: float, f_number: float, coc_mm: float) -> float:
    """Nearest focus distance whose far limit is infinity: ``H = f^2 / (N c) + f``, m.

    Handbooks drop the last f. Follows from the limits 1/s ± c N / (f v) with v = s f / (s - f).

    Examples
    --------
    >>> round(hyperfocal_m(50, 8, 0.03), 3)
    10.467
    """
    _check(focal_mm=focal_mm, f_number=f_number, coc_mm=coc_mm)
    return (focal_mm * focal_mm / (f_number * coc_mm) + focal_mm) / 1000.0


def depth_of_field_m(
    focal_mm: float, f_number: float, coc_mm: float, focus_m: float
) -> tuple[float, float]:
    """Near and far limit of sharpness without tilt, m; the far one may be ``inf``.

    ``near = s (H - f) / (H + s - 2 f)``, ``far = s (H - f) / (H - s)``.

    Raises
    ------
    SettingError
        If a value is not above 0, or the focus is not beyond the focal length.
    """
    hyperfocal = hyperfocal_m(focal_mm, f_number, coc_mm)
    focal_m = focal_mm / 1000.0
    if not focus_m > focal_m:
        raise LensError(
            f"a {focal_words(focal_mm)} lens cannot focus at {length_words(focus_m)}: "
            "the distance must be more than the focal length"
        )
    span = hyperfocal - focal_m
    if math.isinf(focus_m):
        return span, math.inf
    near = focus_m * span / (hyperfocal + focus_m - 2 * focal_m)
    far = focus_m * span / (hyperfocal - focus_m) if focus_m < hyperfocal else math.inf
    return near, far


def _check(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise SettingError(f"{name} must be a number above 0, not {value!r}")

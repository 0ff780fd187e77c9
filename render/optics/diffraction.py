"""Diffraction: how far stopping down helps."""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import SettingError

__all__ = ["airy_diameter_mm", "best_f_number", "diffraction_mtf", "f_number_where_airy_is"]

#: Green light, mm.
GREEN_MM = 0.55e-3


def airy_diameter_mm(effective_f_number: float, wavelength_mm: float = GREEN_MM) -> float:
    """Diameter of the first dark ring, ``2.44 lambda N`` (exact factor 2.4393, first zero of J1).

    Examples
    --------
    >>> round(airy_diameter_mm(8), 4)
    0.0107
    """
    return 2.44 * wavelength_mm * effective_f_number


def f_number_where_airy_is(
    coc_mm: float, magnification: float = 0.0, wavelength_mm: float = GREEN_MM
) -> float:
    """Engraved f-number at which the Airy disc is as wide as the circle of confusion."""
    if not (coc_mm > 0 and magnification > -1):
        raise SettingError("the circle of confusion must be above 0 and the magnification above -1")
    return coc_mm / (2.44 * wavelength_mm * (1.0 + magnification))


def best_f_number(focus_spread_mm: float, wavelength_mm: float = GREEN_MM) -> float:
    """F-number with the least blur and diffraction together over a focus spread.

    Minimises ``(dv / 2N)^2 + (2.44 lambda N)^2``: ``N = sqrt(dv / (4.88 lambda))``. Adding the
    two squared is a usual estimate, not physics (from memory).

    Parameters
    ----------
    focus_spread_mm : float
        Difference of the extensions that the nearest and the farthest point want.
    """
    if not focus_spread_mm >= 0:
        raise SettingError(f"a focus spread must be 0 mm or more, not {focus_spread_mm!r}")
    return math.sqrt(focus_spread_mm / (4.88 * wavelength_mm))


def diffraction_mtf(share_of_cutoff: ArrayLike) -> NDArray[np.float64]:
    """Contrast that a perfect lens with a round iris leaves at a frequency.

    ``2/pi (acos s - s sqrt(1 - s^2))``, s = frequency times lambda N; 0 from s = 1 on
    (J. W. Goodman, "Introduction to Fourier Optics", incoherent transfer function of a circular
    pupil, from memory).

    Parameters
    ----------
    share_of_cutoff : array_like
        At least 0.

    Examples
    --------
    >>> round(float(diffraction_mtf(0.5)), 3)
    0.391
    """
    s = np.clip(np.asarray(share_of_cutoff, float), 0, 1)
    return np.asarray(2 / math.pi * (np.arccos(s) - s * np.sqrt(1 - s * s)))

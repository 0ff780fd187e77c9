"""Diffraction: how far stopping down helps."""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["airy_diameter_mm", "diffraction_mtf"]

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

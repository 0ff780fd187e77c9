"""Glare: how far light strays in a lens, evenly as a veil and along the iris's spikes."""

import math

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.optics.iris import iris_corners
from render.optics.lens import Iris

__all__ = ["check_veil", "strayed", "veiled"]

#: More than this no lens veils that anybody would use.
_MOST_VEIL = 0.3
#: Radians beside a spike from where the mean of its fringes serves: 3 % off, of what is no spike.
_FAR_BESIDE = 20.0


def check_veil(index: float) -> float:
    """Return a veiling glare index, a share.

    Raises
    ------
    SettingError
        If it does not lie between 0 and 30 %.
    """
    if not 0 <= index <= _MOST_VEIL:
        raise SettingError(
            f"a veiling glare index lies between 0 and {100 * _MOST_VEIL:.0f} %, "
            f"not {100 * index:g} %: good lenses have 1 to 3 %"
        )
    return index


def veiled(light: NDArray[np.float32], index: float) -> NDArray[np.float32]:
    """Spread a share of a picture's light evenly over it.

    ``(1 - g) E + g mean(E)``: a small black patch in an even field then reads ``g`` of the field,
    which is how the index is defined; a field alone keeps its light. That strayed light falls
    evenly is our reading: the index says nothing of where it falls.

    Parameters
    ----------
    light : ndarray, shape (H, W, 3), float32
        Linear light.
    index : float
        The veiling glare index g, a share.

    References
    ----------
    ISO 9358:1994, *Veiling glare of image forming systems*: the integral (black area) method
    (from memory).
    """
    mean = light.mean(axis=(0, 1), dtype=np.float64)
    return np.asarray((1 - index) * light + index * mean, np.float32)


def strayed(
    x: NDArray[np.float64], y: NDArray[np.float64], spread: float, iris: Iris
) -> NDArray[np.float64]:
    """Share of a point's light that diffraction throws on a pixel far from it.

    Fraunhofer's pattern of a polygon is a sum over its edges; where the fringes between edges
    are finer than pixels and colours, their intensities add up:
    ``L^2 cos^2(theta) / (4 pi^2 A r^2) sinc^2(t L / lambda f)`` for an edge of length L, theta and
    t the angle and the distance from its normal. So each edge throws two spikes along its
    normal. Across the spike it is averaged over the pixel, in closed form. Of a rounded blade
    each piece throws its spike over the angles of its arc; a disc throws evenly,
    ``lambda N / (pi^3 r^3)``.

    Parameters
    ----------
    x, y : ndarray
        Offsets right and down, px, none of them (0, 0).
    spread : float
        lambda N, px.

    References
    ----------
    S.-W. Lee, R. Mittra, "Fourier transform of a polygonal shape function and its application
    in electromagnetics", IEEE Trans. Antennas Propag. 31, 1983, 99 (from memory); the averaging
    is derived here.
    """
    r2 = x * x + y * y
    edges = _edges(iris)
    if edges is None:
        return np.asarray(spread / (math.pi**3 * r2**1.5))
    normals, lengths, area, half_turn = edges
    total = np.zeros(np.broadcast_shapes(x.shape, y.shape))
    for (right, down), length in zip(normals, lengths, strict=True):
        along, across = x * right + y * down, x * down - y * right
        wide = 1.0 + 2.0 * half_turn * np.abs(along)
        pace = math.pi * length / (2.0 * spread)
        ridge = 0.5 / np.maximum((pace * across) ** 2, 0.25)  # far beside it, the mean of sinc^2
        on_it = pace * (np.abs(across) - wide / 2) < _FAR_BESIDE
        first = pace * (across[on_it] - wide[on_it] / 2)
        last = pace * (across[on_it] + wide[on_it] / 2)
        ridge[on_it] = (_sinc2_integral(last) - _sinc2_integral(first)) / (last - first)
        total += length**2 * along**2 / (4 * math.pi**2 * area * r2**2) * ridge
    return total


def _sinc2_integral(u: NDArray[np.float64]) -> NDArray[np.float64]:
    """Integral of ``(sin v / v)^2`` from 0 to u: ``Si(2u) - sin^2(u) / u``."""
    from scipy.special import sici  # every command reads what may be asked of glare

    safe = np.where(np.abs(u) < 1e-9, 1.0, u)
    return np.where(np.abs(u) < 1e-9, u, sici(2 * u)[0] - np.sin(u) ** 2 / safe)


def _edges(
    iris: Iris,
) -> tuple[NDArray[np.float64], NDArray[np.float64], float, float] | None:
    """Normals, lengths and area of the outline in the unit circle; half the turn of a piece.

    None for a disc.
    """
    corners = iris_corners(iris)
    if len(corners) == 0:
        return None
    after = np.roll(corners, -1, axis=0)
    steps = after - corners
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    normals = np.stack([steps[:, 1], -steps[:, 0]], axis=-1) / lengths[:, None]
    area = 0.5 * abs(np.sum(corners[:, 0] * after[:, 1] - corners[:, 1] * after[:, 0]))
    half_turn = 0.0
    if iris.roundness > 0:  # the pieces of a blade lie close; between blades is a corner
        turn = np.arccos(np.clip(np.sum(normals * np.roll(normals, -1, axis=0), axis=1), -1, 1))
        half_turn = 0.5 * float(np.min(turn))
    return normals, lengths, float(area), half_turn

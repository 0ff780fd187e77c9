"""Stray light against published closed forms."""

import math

import numpy as np
import pytest
from scipy.special import j0, j1

from render.errors import SettingError
from render.optics.glare import check_veil, strayed, veiled
from render.optics.iris import iris_corners
from render.optics.lens import Iris

COLOURS = np.linspace(0.92, 1.08, 7)


def test_a_black_patch_reads_the_index() -> None:
    """ISO 9358 (from memory): luminance of a small black patch over that of the field round it."""
    light = np.ones((100, 100, 3), np.float32)
    light[50, 50] = 0
    seen = veiled(light, 0.03)

    np.testing.assert_allclose(seen[50, 50] / seen[0, 0], 0.03, rtol=2e-4)
    assert seen.mean(dtype=float) == pytest.approx(light.mean(dtype=float), rel=1e-6)


def test_a_disc_throws_as_much_outside_as_rayleigh_found() -> None:
    """1 - E(v) = J0^2(v) + J1^2(v), v = pi r / lambda N (Born and Wolf 8.5.2, from memory)."""
    offsets = np.arange(-150.0, 151.0)
    x, y = np.meshgrid(offsets, offsets)
    r = np.hypot(x, y)
    for radius in (40.0, 60.0):
        v = math.pi * np.array([radius, 140.0]) / 0.7
        near, far = j0(v) ** 2 + j1(v) ** 2
        ring = (r >= radius) & (r < 140)
        found = strayed(x[ring], y[ring], 0.7, Iris()).sum()
        assert found == pytest.approx(float(near - far), rel=0.02)


@pytest.mark.parametrize("iris", [Iris(), Iris(5, 18.0), Iris(6), Iris(9, 3.0, 0.5)])
def test_what_falls_on_pixels_is_what_falls_outside(iris: Iris) -> None:
    """Summed over rings it is ``lambda N P / (pi^2 A) (1/r - 1/R)``, P round the outline.

    P. P. Clark, J. W. Howard, E. R. Freniere, "Asymptotic approximation to the encircled energy
    function for arbitrary aperture shapes", Applied Optics 23, 1984, 353 (from memory), with the
    outline inscribed in a circle of radius 1: lambda f / R is 2 lambda N.
    """
    corners = iris_corners(iris) if iris.blades else _circle()
    after = np.roll(corners, -1, axis=0)
    round_it = np.hypot(*(after - corners).T).sum()
    area = 0.5 * abs(np.sum(corners[:, 0] * after[:, 1] - corners[:, 1] * after[:, 0]))
    offsets = np.arange(-150.0, 151.0)
    x, y = np.meshgrid(offsets, offsets)
    r = np.hypot(x, y)
    ring = (r >= 30) & (r < 140)
    found = strayed(x[ring], y[ring], 0.4, iris).sum()

    law = 0.4 * round_it / (math.pi**2 * area) * (1 / 30 - 1 / 140)
    assert found == pytest.approx(law, rel=0.02)


def _circle() -> np.ndarray:
    angles = np.linspace(0, 2 * math.pi, 3600, endpoint=False)
    return np.stack([np.cos(angles), np.sin(angles)], axis=-1)


@pytest.mark.parametrize("blades", [5, 6, 7])
def test_spikes_are_those_of_fraunhofers_pattern(blades: int) -> None:
    """Of the polygon, all its edges with their phases, averaged over the pixel and a colour.

    A(k) = sum over corners of (e_n x e_n-1) / ((k.e_n)(k.e_n-1)) exp(-i k.c_n), another form than
    ours: S.-W. Lee, R. Mittra, 1983 (from memory).
    """
    iris, spread = Iris(blades, 11.0), 0.6
    corners = iris_corners(iris)
    ours, theirs = [], []
    for turn in range(0, 180, 6):
        x, y = (round(30 * f(math.radians(turn))) for f in (math.cos, math.sin))
        ours.append(strayed(np.array([float(x)]), np.array([float(y)]), spread, iris)[0])
        theirs.append(np.mean([_pattern(corners, spread * c, x, y) for c in COLOURS]))

    assert np.sum(ours) == pytest.approx(np.sum(theirs), rel=0.05)
    assert np.corrcoef(np.log(ours), np.log(theirs))[0, 1] > 0.98


def _pattern(corners: np.ndarray, spread: float, x: float, y: float) -> float:
    """Share of a pixel, by 20 x 20 places in it."""
    inside = (np.arange(20) + 0.5) / 20 - 0.5
    k = np.stack(np.meshgrid(x + inside, y + inside), axis=-1) * math.pi / spread
    after, before = np.roll(corners, -1, axis=0) - corners, corners - np.roll(corners, 1, axis=0)
    total = np.zeros(k.shape[:2], complex)
    for corner, e, b in zip(corners, after, before, strict=True):
        cross = e[0] * b[1] - e[1] * b[0]
        total += cross / ((k @ e) * (k @ b)) * np.exp(-1j * (k @ corner))
    n = len(corners)
    area = 0.5 * n * math.sin(2 * math.pi / n)
    return float(np.mean(np.abs(total) ** 2) / (4 * math.pi**2 * area) * (math.pi / spread) ** 2)


@pytest.mark.parametrize("index", [-0.01, 0.5, math.nan])
def test_an_index_that_is_none_is_refused(index: float) -> None:
    """In a sentence that says what lenses have."""
    with pytest.raises(SettingError, match="good lenses have"):
        check_veil(index)

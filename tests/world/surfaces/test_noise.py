"""What textures are mixed from: bounded, smooth, repeatable, fading with the footprint."""

import numpy as np
import pytest

from render.world.surfaces.material import Material, material_row
from render.world.surfaces.noise import cell, clouded, covered, fade, mix, noise, scale
from tests.steps import opened


def test_cells_have_numbers_of_their_own() -> None:
    """Even over [0, 1), another for another seed, the same for the same cell."""
    found = np.array([[opened(cell)(i, j, 1) for i in range(-20, 20)] for j in range(-20, 20)])

    assert np.all((found >= 0) & (found < 1))
    np.testing.assert_allclose(np.histogram(found, 4, (0, 1))[0] / found.size, 0.25, atol=0.04)
    assert opened(cell)(3, -7, 1) == opened(cell)(3, -7, 1) != opened(cell)(3, -7, 2)


def test_noise_is_smooth_and_bounded() -> None:
    """Between -1 and 1; a hundredth of a period on it has changed by less than a tenth."""
    u = np.linspace(-5, 5, 2001)
    along = np.array([opened(noise)(x, 0.3 * x, 4) for x in u])

    assert np.all(np.abs(along) <= 1)
    assert np.abs(np.diff(along)).max() < 0.1
    assert along.std() > 0.2


def test_detail_fades_with_the_footprint() -> None:
    """All of it while the footprint is a quarter of the period, none when it is as wide."""
    assert opened(fade)(0.25, 1.0) == 1.0
    assert opened(fade)(0.9, 1.0) == 0.0
    assert 0 < opened(fade)(0.5, 1.0) < 1
    assert opened(clouded)(0.3, 0.7, 1.0, 2.0, 1) == 0.0
    assert abs(opened(clouded)(0.3, 0.7, 1.0, 0.01, 1)) < 1.5


def test_a_line_covers_its_share_of_the_footprint() -> None:
    """A line 0.2 wide under a footprint of 1: a fifth; half of it beyond the footprint's edge."""
    assert opened(covered)(0.0, 0.2, 1.0) == pytest.approx(0.2)
    assert opened(covered)(0.5, 0.2, 1.0) == pytest.approx(0.1)
    assert opened(covered)(0.7, 0.2, 1.0) == 0.0
    assert opened(covered)(0.05, 0.2, 0.001) == pytest.approx(1.0)


def test_colours_are_mixed_and_scaled() -> None:
    """From the first at 0 to the second at 1, and no farther."""
    row = material_row(Material(colour="#ff0000", second="#0000ff"))
    out = np.empty(9)

    opened(mix)(row.ctypes.data, 0.25, out)
    opened(scale)(2.0, out)
    np.testing.assert_allclose(out[:3], [1.5, 0, 0.5])
    opened(mix)(row.ctypes.data, 7.0, out)
    np.testing.assert_allclose(out[:3], [0, 0, 1])

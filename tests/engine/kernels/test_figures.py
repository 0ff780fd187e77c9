"""Single blur figures as the kernels draw them, against sums over many small points."""

import math

import numpy as np
import pytest

from render.engine.kernels.figures import spread_ellipse, spread_polygon, spread_small
from render.engine.kernels.tables import Optic
from render.engine.layers import half_disc
from tests.steps import opened

SIZE = 24


def _ones() -> tuple[np.ndarray, int, int]:
    """One part of light 1: its colours, where they begin, how many."""
    return np.ones(8, np.float32), 0, 1


def _summed(slab: np.ndarray) -> np.ndarray:
    """Row differences to values."""
    return np.cumsum(slab.reshape(SIZE, SIZE + 2, 4), axis=1)[:, :SIZE, 3]


def _covered(inside) -> np.ndarray:
    """Share of an even figure that falls into each cell, from 20 x 20 points to a cell."""
    t = (np.arange(20 * SIZE) + 0.5) / 20
    x, y = np.meshgrid(t, t)
    figure = inside(x, y).astype(float).reshape(SIZE, 20, SIZE, 20).sum((1, 3))
    return figure / figure.sum()


@pytest.mark.parametrize(("a", "b", "c"), [(16.0, 0.0, 16.0), (30.0, 9.0, 20.0), (3.0, -1.0, 5.0)])
def test_an_ellipse_is_spread_evenly(a, b, c):
    """Every cell gets the share of the ellipse that lies in it."""
    slab = np.zeros(SIZE * (SIZE + 2) * 4, np.float32)
    x, y = np.float32(11.3), np.float32(12.8)
    opened(spread_ellipse)(
        slab, 0, SIZE, x, y, np.float32(a), np.float32(b), np.float32(c), half_disc(), *_ones()
    )
    det = a * c - b * b
    wanted = _covered(
        lambda u, v: (c * (u - x) ** 2 - 2 * b * (u - x) * (v - y) + a * (v - y) ** 2) <= det
    )

    np.testing.assert_allclose(_summed(slab), wanted, atol=0.25 / (math.pi * math.sqrt(det)))
    assert _summed(slab).sum() == pytest.approx(1, abs=1e-4)


def test_a_figure_over_the_border_keeps_what_lies_inside():
    """Cells inside the buffer get the same as in the open; nothing is written outside."""
    slab = np.zeros(SIZE * (SIZE + 2) * 4, np.float32)
    opened(spread_ellipse)(
        slab, 0, SIZE, np.float32(1.0), np.float32(22.5), np.float32(25.0), np.float32(3.0),
        np.float32(16.0), half_disc(), *_ones(),
    )  # fmt: skip

    values = _summed(slab)
    assert 0.4 < values.sum() < 0.6
    assert values.min() > -1e-6


def test_a_polygon_is_spread_evenly():
    """A turned pentagon: every cell gets the share of it that lies in it."""
    angle = np.radians(17) + 2 * math.pi / 5 * np.arange(5)
    outline = np.stack([np.cos(angle), np.sin(angle)], -1).astype(np.float32)
    one = np.float32(1.0)
    optic = Optic(*np.zeros(16, np.float32))._replace(  # 7 px per unit of defocus; no tilt
        radius=np.float32(7.0), tilt_y=one, axis_z=one
    )
    slab = np.zeros(SIZE * (SIZE + 2) * 4, np.float32)
    x, y = np.float32(12.2), np.float32(11.6)
    opened(spread_polygon)(
        slab, 0, SIZE, optic, outline, 5, -one, x, y, x, y, one, one, one,
        np.zeros((SIZE, 3), np.float32), *_ones(),
    )  # fmt: skip

    def inside(u, v):
        turned = (np.arctan2(v - y, u - x) - np.radians(17)) % (2 * math.pi / 5) - math.pi / 5
        return np.hypot(u - x, v - y) * np.cos(turned) <= 7 * math.cos(math.pi / 5)

    wanted = _covered(inside)
    np.testing.assert_allclose(_summed(slab), wanted, atol=0.25 * wanted.max())
    assert _summed(slab).sum() == pytest.approx(1, abs=1e-4)


def test_a_keystoned_polygon_is_drawn_as_uneven_as_rays_fall():
    """Tilted: the centre of light is that of (1 - k b)^3 over the lens plane, not the figure's."""
    angle = 2 * math.pi / 48 * np.arange(48)
    outline = np.stack([np.cos(angle), np.sin(angle)], -1).astype(np.float32)
    k, one = np.float32(0.06), np.float32(1.0)
    optic = Optic(*np.zeros(16, np.float32))._replace(
        radius=np.float32(8.0), tilt_y=one, axis_z=one, keystone=k / 2
    )  # keystone counts (1 - d), and d is -1
    slab = np.zeros(SIZE * (SIZE + 2) * 4, np.float32)
    x = y = np.float32(12.0)
    opened(spread_polygon)(
        slab, 0, SIZE, optic, outline, len(outline), -one, x, y, x, y, one, one, one,
        np.zeros((SIZE, 3), np.float32), *_ones(),
    )  # fmt: skip
    values = _summed(slab)
    t = np.linspace(-1, 1, 1001)
    across, down = np.meshgrid(t, t)
    b = down[np.hypot(across, down) <= 1]
    true = 12.0 + 8.0 * np.mean(b / (1 - k * b))
    even = 12.0 + 8.0 * np.average(b / (1 - k * b), weights=(1 - k * b) ** -3)
    row = (values.sum(axis=1) * (np.arange(SIZE) + 0.5)).sum() / values.sum()

    assert abs(even - true) > 0.3
    assert row == pytest.approx(true, abs=0.1 * abs(even - true))


@pytest.mark.parametrize(("right", "down"), [(0.0, 0.0), (0.1, -0.05)])
def test_the_small_kernel_has_the_moments_of_the_figure(right: float, down: float) -> None:
    """3 x 3 weights: sum 1, its centre, and a/4, b/4 and c/4 as second moments about it."""
    slab = np.zeros(SIZE * (SIZE + 2) * 4, np.float32)
    a, b, c = 0.9, 0.2, 0.6
    opened(spread_small)(
        slab,
        0,
        SIZE,
        10,
        11,
        np.float32(a),
        np.float32(b),
        np.float32(c),
        np.float32(right),
        np.float32(down),
        np.float32(1.0),
        *(np.float32(1.0),) * 4,
    )
    values = slab.reshape(SIZE, SIZE + 2, 4)[:, :SIZE, 3].astype(float)
    y, x = np.indices(values.shape)
    moments = [
        (values * m).sum()
        for m in (
            *(1 + 0 * x, x - 10, y - 11),
            *((x - 10 - right) ** 2, (x - 10 - right) * (y - 11 - down), (y - 11 - down) ** 2),
        )
    ]

    np.testing.assert_allclose(moments, [1, right, down, a / 4, b / 4, c / 4], atol=1e-6)


def test_the_small_kernel_moves_no_farther_than_it_can_without_taps_below_0():
    """A small figure far off its pixel: weights sum to 1, none is below 0."""
    slab, tiny = np.zeros(SIZE * (SIZE + 2) * 4, np.float32), np.float32(0.04)
    opened(spread_small)(
        slab, 0, SIZE, 10, 11, tiny, np.float32(0.0), tiny, np.float32(0.4), np.float32(-0.4),
        *(np.float32(1.0),) * 5,
    )  # fmt: skip
    values = slab.reshape(SIZE, SIZE + 2, 4)[:, :SIZE, 3]

    assert values.sum() == pytest.approx(1, abs=1e-6)
    assert values.min() >= -1e-7

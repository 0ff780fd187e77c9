"""Light shared eight pixels side by side, against one pixel after another."""

import numpy as np
from numpy.typing import NDArray

from render.trace.columns import DEPTH, LUMINANCE, Eye
from render.trace.smoothing import Smoother

Numbers = NDArray[np.float64]

SHAPE = (19, 21)  # no whole number of eights
EYE = Eye(*[0.0] * 12, 40.0, 10.0, 9.0, 0.025)
REACH = 0.8


def _picture(rng: np.random.Generator) -> tuple[NDArray[np.float32], Numbers, Numbers, Numbers]:
    """Two faces and a corner of sky; sums of two rays, their number, and nearness."""
    surface = np.zeros((*SHAPE, 5), np.float32)
    surface[..., :3] = (0.0, 0.0, -1.0)
    surface[:, 12:, :3] = (0.6, 0.0, -0.8)
    surface[..., DEPTH] = 5 + 0.02 * np.arange(SHAPE[1])
    surface[:4, :9, :3], surface[:4, :9, DEPTH] = 0, np.inf
    rays = rng.uniform(0.1, 1, (*SHAPE, 2, 3))
    sums = np.zeros((*SHAPE, 5))
    sums[..., :3], sums[..., 3] = rays.sum(axis=2), 2
    sums[..., 4] = ((rays @ LUMINANCE) ** 2).sum(axis=2)
    nearness = rng.uniform(0.3, 3.0, SHAPE)
    sky = ~np.isfinite(surface[..., DEPTH])
    sums[sky], nearness[sky] = 0, 0
    return surface, sums, sums[..., 3], nearness


def _alike(surface: Numbers, here: tuple[int, int], there: tuple[int, int]) -> tuple[float, float]:
    """How alike two pixels are, and the square of the distance between their places."""
    (i, j), (y, x) = here, there
    z, other = surface[i, j, DEPTH], surface[y, x, DEPTH]
    u, v = j + 0.5 - EYE.centre_x, i + 0.5 - EYE.centre_y
    way = np.array([(u + x - j) * other - u * z, (v + y - i) * other - v * z, 0]) * EYE.slope
    way[2] = other - z
    same, off = surface[i, j, :3] @ surface[y, x, :3], surface[i, j, :3] @ way
    fit = 1 - (off / (0.7 * (abs(y - i) + abs(x - j)) * z * EYE.slope)) ** 2
    return (max(same**8 * fit, 0.0) if same > 0.5 else 0.0), float(way @ way)


def _around(here: tuple[int, int], apart: int, seen: Numbers) -> list[tuple[int, int, int]]:
    """Neighbours that have seen something, with their weights; the pixel itself is none."""
    found = []
    for a in (-1, 0, 1):
        for b in (-1, 0, 1):
            y, x = here[0] + a * apart, here[1] + b * apart
            if (a or b) and 0 <= y < SHAPE[0] and 0 <= x < SHAPE[1] and seen[y, x] > 0:
                found.append((y, x, (2 - abs(a)) * (2 - abs(b))))
    return found


def _twin(surface: Numbers, sums: Numbers, nearness: Numbers, levels: int) -> Numbers:
    weight, light, far = sums[..., 3], np.zeros((*SHAPE, 4)), np.zeros(SHAPE)
    pixels = [(int(i), int(j)) for i, j in np.argwhere(weight > 0)]
    for at in pixels:
        around = [(at, 1.0)]
        around += [((y, x), _alike(surface, at, (y, x))[0]) for y, x, _ in _around(at, 1, weight)]
        total = sum(k * weight[one] for one, k in around)
        first = sum(k * (sums[one][:3] @ LUMINANCE) for one, k in around)
        second = sum(k * sums[one][4] for one, k in around)
        far[at] = REACH * total / sum(k * nearness[one] for one, k in around)
        light[at][:3] = sums[at][:3] / weight[at]
        light[at][3] = max(second / total - (first / total) ** 2, 0) / weight[at]
    for level in range(levels):
        before, apart = light.copy(), 1 << level
        for at in pixels:
            beside = _around(at, 1, weight)
            noise = 4 * before[at][3] + sum(k * before[y, x, 3] for y, x, k in beside)
            noise /= 4 + sum(k for _, _, k in beside)
            total = 4 * weight[at]
            colour, spread = total * before[at][:3], total**2 * before[at][3]
            for y, x, k in _around(at, apart, weight):
                alike, square = _alike(surface, at, (y, x))
                close = max(1 - square / min(far[at], far[y, x]) ** 2, 0)
                if apart == 1:
                    close = max(close, 1 - ((y - at[0]) ** 2 + (x - at[1]) ** 2) / 1.8**2)
                step = (before[y, x, :3] - before[at][:3]) @ LUMINANCE
                fit = max(1 - step**2 / (36 * noise + 1e-8), 0) if apart > 2 else 1.0
                k *= fit**2 * weight[y, x] * alike * close
                total, colour = total + k, colour + k * before[y, x, :3]
                spread += k**2 * before[y, x, 3]
            light[at] = *(colour / total), spread / total**2
    return light


def test_eight_side_by_side_share_what_one_after_another_would() -> None:
    """Three levels, two faces, sky, and the picture's edges; to within rounding."""
    surface, sums, rays, nearness = _picture(np.random.default_rng(3))
    given = (sums.astype(np.float32), rays.astype(np.float32), 3)
    smoother = Smoother(surface, EYE)
    got = smoother.shared(*given, nearness=nearness.astype(np.float32), reach=REACH)

    np.testing.assert_allclose(got, _twin(surface.astype(float), sums, nearness, 3), atol=2e-6)
    # what was shared before leaves nothing behind
    assert not smoother.shared(np.zeros_like(given[0]), np.zeros_like(given[1]), 1).any()

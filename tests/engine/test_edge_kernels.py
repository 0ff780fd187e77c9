"""Compiled edge loops against slow and obvious ones."""

import numpy as np

from render.engine import edge_kernels as kernels


def _slow_edges(iz: np.ndarray, r: np.ndarray) -> np.ndarray:
    """The definition, pair by pair."""
    h, w = iz.shape
    flags = np.zeros((h, w), np.uint8)
    bits = {(0, -1): 4, (0, 1): 8, (-1, 0): 16, (1, 0): 32}

    def at(i: int, j: int) -> float:
        return float(iz[min(max(i, 0), h - 1), min(max(j, 0), w - 1)])

    for i in range(h):
        for j in range(w):
            for di in (-1, 0, 1):
                for dj in (-1, 0, 1):
                    if not (0 <= i + di < h and 0 <= j + dj < w):
                        continue
                    here, there = at(i, j), at(i + di, j + dj)
                    step = abs(here - there)
                    on, back = (
                        abs(at(i + 2 * di, j + 2 * dj) - there),
                        abs(here - at(i - di, j - dj)),
                    )
                    if (
                        abs(r[i, j] - r[i + di, j + dj]) > np.float32(0.3)
                        and step > 0.01 * max(here, there)
                        and step > 2.5 * min(on, back)
                    ):
                        flags[i, j] |= 1 | bits.get((di, dj), 0) if here > there else 2
    return flags


def _steps(seed: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    iz = (np.linspace(0.02, 0.2, 13)[:, None] + np.zeros(17)).astype(np.float32)
    iz[:2] = 0  # sky
    for _ in range(4):
        i, j = rng.integers(0, 9), rng.integers(0, 13)
        iz[i : i + 4, j : j + 3] = rng.uniform(0.2, 0.5)
    return iz, 20 * (iz - np.float32(0.1))


def test_edges_are_found_as_defined():
    """The quick loop flags the pixels that the slow one flags; sky and slopes included."""
    for seed in range(4):
        iz, r = _steps(seed)
        flags = np.empty(iz.shape, np.uint8)
        kernels.find_edges(iz, r, flags, 0, 13)
        np.testing.assert_array_equal(flags, _slow_edges(iz, r))


def _parted(picture: np.ndarray, iz: np.ndarray, gain: float) -> tuple[np.ndarray, np.ndarray]:
    r = np.float32(gain) * iz
    flags, index = np.empty(iz.shape, np.uint8), np.empty(iz.shape, np.int32)
    h, w = iz.shape
    kernels.find_edges(iz, r, flags, 0, h)
    kernels.mark_rows(iz, r, flags, np.float32(gain), 0, h)
    kernels.mark_columns(iz, r, flags, np.float32(gain), 0, w)
    record = np.zeros((kernels.assign_rows(flags, index), 13), np.float32)
    nothing, none = np.zeros((0, 0, 3), np.float32), np.zeros((0, 0), np.float32)
    kernels.part_edges(picture, iz, r, nothing, none, flags, index, record, 0, h)
    kernels.fill_rows(iz, r, flags, np.float32(gain), index, record, 0, h)
    kernels.fill_columns(iz, r, flags, np.float32(gain), index, record, 0, w)
    kernels.settle_records(picture, iz, nothing, none, flags, index, record, 0, h)
    return index, record


def test_near_and_far_share_add_up_to_the_picture():
    """Whatever the mixture, near light + far light is the pixel's own light."""
    rng = np.random.default_rng(2)
    for seed in range(3):
        iz, _ = _steps(seed)
        picture = rng.uniform(0, 1, (*iz.shape, 3)).astype(np.float32)
        index, record = _parted(picture, iz, 20.0)
        rows, columns = np.nonzero(index >= 0)
        both = record[index[rows, columns]]
        filled = (both[:, 5:8] == 0).all(axis=1)
        near = both[:, 0:3] + both[:, 5:8]
        np.testing.assert_allclose(near, picture[rows, columns], atol=1e-6)
        assert filled.any()


def test_a_mixed_edge_pixel_is_parted_in_its_true_shares():
    """A pixel 70 % white post, 30 % black wall is found so; black lies behind the post."""
    iz = np.full((9, 12), 0.05, np.float32)
    picture = np.zeros((9, 12, 3), np.float32)
    iz[:, 6:] = 0.5
    picture[:, 6:] = 1.0
    picture[:, 6] = 0.7
    index, record = _parted(picture, iz, 20.0)

    at_edge, inside = record[index[4, 6]], record[index[4, 8]]
    np.testing.assert_allclose(at_edge[[0, 3, 4]], [0.7, 0.7, 0.5], atol=1e-6)
    np.testing.assert_allclose(at_edge[[5, 8]], [0.0, 0.05], atol=1e-6)
    np.testing.assert_allclose(inside[[0, 3, 8, 9, 12]], [1, 1, 0.05, 0, 1], atol=1e-6)

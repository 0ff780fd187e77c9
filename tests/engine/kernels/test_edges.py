"""Depth edges: the compiled loops against slow ones."""

import numpy as np

from render.engine.kernels.edges import assign_rows, average_hidden, find_edges
from render.engine.kernels.tables import FAR_IZ, HIDDEN_SHARE, RECORD

RNG = np.random.default_rng(11)


def _slow_edge(iz: np.ndarray, r: np.ndarray, i: int, j: int, di: int, dj: int) -> int:
    """The rule in plain words: radius, then depth, must jump more than the surface runs on."""
    h, w = iz.shape
    if not (0 <= i + di < h and 0 <= j + dj < w) or (di, dj) == (0, 0):
        return 0
    here, there = float(iz[i, j]), float(iz[i + di, j + dj])
    step = abs(here - there)
    if abs(float(r[i, j]) - float(r[i + di, j + dj])) <= 0.3 or step <= 0.01 * max(here, there):
        return 0
    on = iz[min(max(i + 2 * di, 0), h - 1), min(max(j + 2 * dj, 0), w - 1)]
    back = iz[min(max(i - di, 0), h - 1), min(max(j - dj, 0), w - 1)]
    if step <= 2.5 * min(abs(float(on) - there), abs(here - float(back))):
        return 0
    return 1 if here > there else -1


def _slow_flags(iz: np.ndarray, r: np.ndarray) -> np.ndarray:
    flags = np.zeros(iz.shape, np.uint8)
    bits = {(0, -1): 4, (0, 1): 8, (-1, 0): 16, (1, 0): 32}
    for i, j in np.ndindex(iz.shape):
        for di in (-1, 0, 1):
            for dj in (-1, 0, 1):
                side = _slow_edge(iz, r, i, j, di, dj)
                if side > 0:
                    flags[i, j] |= 1 | bits.get((di, dj), 0)
                elif side < 0:
                    flags[i, j] |= 2
    return flags


def test_edges_are_found_where_the_slow_loop_finds_them() -> None:
    """On odd sizes, with sky, single pixels and slopes."""
    iz = np.full((23, 37), 0.05, np.float32) + 0.002 * np.arange(37, dtype=np.float32)
    iz[4:15, 6:19] = 0.4
    iz[9, 30] = 0.9
    iz[:2] = 1e-7
    iz += RNG.normal(0, 1e-4, iz.shape).astype(np.float32) * (iz > 1e-6)
    r = (30 * (iz - 0.1)).astype(np.float32)
    flags = np.empty(iz.shape, np.uint8)

    find_edges(iz, r, flags, 0, 23)

    wanted = _slow_flags(iz, r)
    assert (wanted & 1).any()
    np.testing.assert_array_equal(flags, wanted)


def test_rows_in_parts_are_the_whole() -> None:
    """Threads that take runs of rows find the same."""
    iz = RNG.random((20, 15), dtype=np.float32)
    r = 10 * iz
    whole, parts = np.empty((20, 15), np.uint8), np.empty((20, 15), np.uint8)

    find_edges(iz, r, whole, 0, 20)
    for start, stop in ((0, 7), (7, 8), (8, 20)):
        find_edges(iz, r, parts, start, stop)

    np.testing.assert_array_equal(parts, whole)


def test_flagged_pixels_are_numbered_in_reading_order() -> None:
    """-1 stands for all others."""
    flags = np.zeros((3, 4), np.uint8)
    flags[0, 2], flags[2, 0], flags[2, 3] = 1, 2, 64
    index = np.empty((3, 4), np.int32)

    count = assign_rows(flags, index)

    assert count == 3
    assert [index[0, 2], index[2, 0], index[2, 3]] == [0, 1, 2]
    assert (index == -1).sum() == 9


def test_fillings_are_averaged_over_a_ring_as_the_slow_loop_does() -> None:
    """Only over fillings, and only where the ring is a pixel wide; the others stay as they are."""
    flags = np.where(RNG.random((19, 27)) < 0.8, 64, 0).astype(np.uint8)
    flags[:, 4] |= 1
    index = np.empty(flags.shape, np.int32)
    record = RNG.random((assign_rows(flags, index), RECORD), dtype=np.float32)
    record[:, HIDDEN_SHARE] **= 3
    sums = record[:, FAR_IZ:].copy()

    average_hidden(flags, index, record, sums, np.float32(0.8), 0, 19)

    wanted, wide = record[:, FAR_IZ:].astype(float), 0
    for i, j in np.argwhere(flags == 64):
        ring = 0.8 * float(record[index[i, j], HIDDEN_SHARE]) ** (-2 / 3) - 1
        if ring < 1:
            continue
        angles = np.pi * (np.arange(8) / 4 + 1 / 8)
        met = [(i, j)]
        for down, across in zip(ring * np.sin(angles), ring * np.cos(angles), strict=True):
            place = i + round(down), j + round(across)
            if min(place) >= 0 and place[0] < 19 and place[1] < 27 and flags[place] == 64:
                met.append(place)
        wide += 1
        wanted[index[i, j]] = np.mean([record[index[at], FAR_IZ:] for at in met], axis=0)
    assert 50 < wide < (flags == 64).sum()
    np.testing.assert_allclose(sums, wanted, rtol=1e-5)

"""Samples go where surfaces meet or light steps, and a lens shows it."""

import numpy as np
from numpy.typing import NDArray

from render.trace.columns import BRIGHT, LEAST, MOST, SOFT, SOFT_RAYS, SUMS
from render.trace.sampling import (
    edges,
    every_nth,
    few,
    glanced_at,
    more,
    set_side_by_side,
    soft_rays_by,
    thin_things,
)

SHAPE = (21, 31)
SHARP = np.zeros(SHAPE, np.float32)
WHOLE = np.zeros(SHAPE, np.bool_)


def _two_halves() -> NDArray[np.int64]:
    key = np.ones(SHAPE, np.int64)
    key[:, 15:] = 2
    return key


def _bright(least: float, most: float) -> NDArray[np.float32]:
    bright = np.zeros((*SHAPE, BRIGHT), np.float32)
    bright[..., LEAST], bright[..., MOST] = least, most
    return bright


def test_edges_are_the_pixels_on_either_side() -> None:
    """Also across a corner."""
    wanted = np.zeros(SHAPE, np.bool_)
    wanted[:, 14:16] = True
    np.testing.assert_array_equal(edges(_two_halves()), wanted)

    key = np.ones(SHAPE, np.int64)
    key[10, 10] = 2
    assert edges(key).sum() == 9
    assert edges(key)[9, 9]


def test_one_sample_does_amid_one_surface_in_one_light_or_in_wide_blur() -> None:
    """Two pixels from an edge, or from a step of light, it does not."""
    taken = few(_two_halves(), _bright(0.5, 0.5), SHARP, 4, 16)
    assert (taken[:, 13:17] == 4).all()
    assert (taken[:, :12] == 1).all()

    lit = _bright(0.5, 0.5)
    lit[10, 20] += 0.02
    assert (few(np.ones(SHAPE, np.int64), lit, SHARP, 4, 16) == 4).sum() == 25
    assert (few(_two_halves(), lit, SHARP + 30, 4, 16) == 1).all()


def test_more_are_taken_the_farther_samples_lie_apart() -> None:
    """None in even light; twice as many as were asked for only at an edge in focus."""
    key = _two_halves()
    for apart, shares in ((0.02, "none"), (0.05, "8"), (0.12, "8"), (0.2, "16"), (0.4, "32")):
        taken = [where for *_, where in more(key, _bright(0.2, 0.2 + apart), SHARP, 4, 16, WHOLE)]
        inside = [bool(where[10, 3]) for where in taken]
        edge = [bool(where[10, 15]) for where in taken]
        count = {"none": 0, "8": 1, "16": 2, "32": 2}[shares]
        assert inside == [n < count for n in range(3)]
        assert edge == [n < (3 if shares == "32" else count) for n in range(3)]
    torn = _bright(0.1, 0.1)
    torn[10, 15, MOST] = 0.9
    blurs = (0.0, 1.5, 2.5, 5.0)
    steps = [sum(w[10, 15] for *_, w in more(key, torn, SHARP + b, 4, 16, WHOLE)) for b in blurs]
    assert steps == [3, 2, 1, 0]
    assert [step[:2] for step in more(key, torn, SHARP, 4, 16, WHOLE)] == [
        (4, 8),
        (8, 16),
        (16, 32),
    ]


def test_wide_blur_takes_more_where_all_differs() -> None:
    """A crowd: until what its disc averages over leaves less than 0.005 of the eye's range."""
    key, crowd = _two_halves(), _bright(0.2, 0.6)
    sd = 0.4 / 2.059
    for blur, steps in ((3.0, 2), (9.0, 1), (12.5, 0)):
        found = more(key, crowd, SHARP + blur, 4, 16, WHOLE)
        assert [bool(where[10, 3]) for *_, where in found] == [n < steps for n in range(3)]
        left = sd / np.sqrt(np.pi * blur**2 * (4, 8, 16)[steps])
        assert left < 0.005 or steps == 2
    assert not any(
        where[10, 3] for *_, where in more(key, _bright(0.2, 0.3), SHARP + 5, 4, 16, WHOLE)
    )


def test_blur_of_a_few_px_asks_for_no_more_than_it_averages_out() -> None:
    """Pixels that step by 0.1: 4 samples in a disc of 3 px radius, 2 in that of 5, 1 in that of 7.

    Steps of lines along rows or columns, which pixels miss together, ask for more of them.
    """
    rough = _bright(0.5, 0.5)
    rough[::2, ::2, LEAST] += 0.1
    key = np.ones(SHAPE, np.int64)
    left = np.sqrt(0.1**2 / 4 / np.pi)  # half steps each way, on half of the pixels, in a disc
    assert (few(key, rough, SHARP + 2.9, 4, 16) == 4).all()
    for blur in (3.0, 4.5, 5.0, 7.0):
        taken = few(key, rough, SHARP + blur, 4, 16)[10, 8:22]
        by_left = (left / blur > 0.005) + 2 * (left / blur > 0.00707) + 1
        assert (taken == by_left).all()

    lines, chess = _bright(0.5, 0.5), _bright(0.5, 0.5)
    lines[::2, :, LEAST] += 0.05
    chess[::2, ::2, LEAST] += 0.05 / np.sqrt(2)
    chess[1::2, 1::2, LEAST] += 0.05 / np.sqrt(2)
    inner = (slice(8, 12), slice(8, 22))
    for rough, wanted in ((lines, True), (lines.transpose(1, 0, 2), True), (chess, False)):
        surface = np.ones(rough.shape[:2], np.int64)
        blur = np.full(surface.shape, 5, np.float32)
        assert ((few(surface, rough, blur, 4, 16)[inner] > 1) == wanted).all()


def test_rows_take_turns() -> None:
    """Each pixel in one of three turns, its row's."""
    where = np.random.default_rng(5).random(SHAPE) < 0.5
    turns = [every_nth(where, n, 3) for n in (1, 2, 3)]
    assert (np.sum(turns, axis=0) == where).all()
    for n, turn in enumerate(turns):
        assert {int(row) % 3 for row in np.nonzero(turn)[0]} == {n}


def test_a_glance_goes_where_samples_agree_and_a_lens_is_sharp() -> None:
    """What it finds makes every pixel along a line take all that are there."""
    assert glanced_at(_bright(0.5, 0.6), SHARP + 1.9, 16).all()
    assert not glanced_at(_bright(0.5, 0.7), SHARP, 16).any()
    assert not glanced_at(_bright(0.5, 0.5), SHARP + 2, 16).any()

    before, bright = np.zeros(SHAPE, np.float32), _bright(0.2, 0.2)
    bright[10, 15, MOST], bright[10, 16, MOST], before[10, 16] = 0.6, 0.6, 0.41
    thin = thin_things(before, bright, 16)
    assert list(zip(*np.nonzero(thin), strict=True)) == [(10, 15)]
    one_surface = np.ones(SHAPE, np.int64)
    taken = [where for *_, where in more(one_surface, bright, SHARP, 4, 16, thin)]
    assert [int(where.sum()) for where in taken] == [2, 2, 2]


def test_more_goes_to_none_that_has_not_taken_the_first_few() -> None:
    """A pixel's samples follow each other without a gap."""
    rng = np.random.default_rng(3)
    key = np.kron(rng.integers(0, 3, (7, 11)), np.ones((3, 3), np.int64))[: SHAPE[0], : SHAPE[1]]
    centre = _bright(0.5, 0.5)
    blur = rng.uniform(0, 14, SHAPE).astype(np.float32)
    had = few(key, centre, blur, 4, 16) == 4
    spread = centre.copy()
    spread[..., MOST] += np.where(had, rng.uniform(0, 0.5, SHAPE), 0).astype(np.float32)
    for *_, where in more(key, spread, blur, 4, 16, WHOLE):
        assert not (where & ~had).any()
        had = where


def test_soft_rays_go_where_a_lens_is_sharp() -> None:
    """A half from 3 px on, a quarter from 6, twice as many in focus; in all 1.3 times at most."""
    blur = np.full((10, 10), 8.0, np.float32)
    blur[:4], blur[4:6], blur[6:8] = 0.5, 2.0, 4.0
    alike, leaves = np.ones(blur.shape, np.int64), np.zeros(blur.shape, np.bool_)
    rays = soft_rays_by(blur, 4, alike, leaves, True)
    assert [rays[row, 0] for row in (0, 4, 6, 8)] == [8, 4, 2, 1]

    assert (soft_rays_by(np.zeros_like(blur), 3, alike, leaves, True) == 4).all()


def test_a_thin_thing_takes_more_soft_rays_unless_there_are_many_or_they_are_leaves() -> None:
    """A dash finds one to share with, a line two; a band two pixels wide five."""
    key, sharp = _two_halves(), np.zeros(SHAPE, np.float32)
    key[4:6, 5], key[1:-1, 25], key[:, 9:11] = 3, 4, 5
    rays = soft_rays_by(sharp, 2, key, WHOLE, False)
    assert (rays[4:6, 5] == 6).all()
    assert (rays[1:-1, 25] == 6).all()
    assert rays.sum() == 2 * rays.size + 4 * (2 + SHAPE[0] - 2)

    assert (soft_rays_by(sharp, 2, key, (key > 2) & (key < 5), False) == 2).all()
    assert (soft_rays_by(sharp + 8, 2, key, WHOLE, False) == 2).all()
    many = np.arange(key.size, dtype=np.int64).reshape(SHAPE) + 1
    assert (soft_rays_by(sharp, 2, many, WHOLE, False) == 2).all()
    assert (soft_rays_by(sharp, 2, 0 * many, WHOLE, False) == 2).all()


def test_brightness_counts_soft_light_as_the_neighbourhood_has_it() -> None:
    """Light sent plus matt times the mean soft ray, as its square root; noise is averaged."""
    sums, bright = np.zeros((*SHAPE, SUMS), np.float32), _bright(0.05, 0.5)
    sums[..., SOFT_RAYS] = 2
    noise = np.random.default_rng(0).uniform(0, 0.8, (*SHAPE, 1))
    sums[..., SOFT : SOFT + 3] = 2 * noise
    set_side_by_side(sums, bright)

    np.testing.assert_allclose(bright[..., LEAST], np.sqrt(0.05 + 0.5 * 0.4), atol=0.05)
    np.testing.assert_array_equal(bright[..., LEAST], bright[..., MOST])

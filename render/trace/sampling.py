"""Where a picture takes how many samples: by surfaces that meet, by light, by a lens' blur.

Borders were chosen on market, village, hall and fair (640 px, against 64 samples) as those that
bring the least error for the samples they take (README.md).
``key`` (H, W) i64, ``bright`` (H, W, BRIGHT) f32: columns of `render.trace.columns`; ``blur_px``
(H, W) f32: least blur that a lens lays on a pixel or the eight around it, 0 without a lens.
"""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from render.filters import maximum_filter, minimum_filter, uniform_filter
from render.threads import each_share
from render.trace.columns import GUESS, LEAST, LUMINANCE, MOST, SOFT, SOFT_RAYS

__all__ = [
    *("edges", "few", "glanced_at", "more", "near_edges", "set_side_by_side", "soft_rays_by"),
    *("every_nth", "thin_things"),
]

#: Brightness as the eye sees it, 0 to 1, for at most 16 samples a pixel; more of them are there to
#: tell finer steps, in proportion. Amid steps below the first of these a
#: pixel takes one sample; one whose samples lie farther apart than the second, or at the edge of
#: a surface where any does beside it by the third, takes more; all beyond the fourth, or at such
#: an edge beyond the fifth; and twice as many where an edge tears its own apart by the last.
_EVEN, _UNEVEN, _EDGED, _ROUGH, _SPLIT, _TORN = 0.01, 0.03, 0.10, 0.16, 0.15, 0.25
#: Where a lens lays less blur than this, px, one sample a pixel is not enough; nor the first few
#: where surfaces meet; nor half of all; nor all of them, but twice as many (measured: README.md).
_WIDE_PX, _SOFT_PX, _MILD_PX, _SHARP_PX = 10.0, 3.0, 2.0, 1.2
#: Unless what samples differ by is more than the disc of blur averages out: a crowd in its seats.
#: What may be left of it, as the eye sees it, and how far around the differences are looked at.
_LEFT, _AROUND_PX = 0.005, 9
#: What may be left where pixels have one sample each, by the steps between them; and what one
#: would leave where each takes a second one, in a row this place in the pixel, in the next another.
_LEFT_BY_ONE, _LEFT_FOR_TWO = 0.005, 0.00707
#: Share by which steps either way differ by chance alone, so near together.
_BY_CHANCE = 0.25
#: Mean range of four values in standard deviations (d2 of control charts, ISO 7870-2).
_RANGE_OF_FOUR = 2.059

#: From these blurs on, px, a lens takes the noise of soft light out, and such a share of the usual
#: rays will do, the last that is reached.
_CALM = ((3.0, 0.5), (6.0, 0.25))
#: Below this blur, px, it shows how far soft light is shared: there go the rays that are left of
#: so many times the usual number, at most so many times the usual.
_BARE_PX, _SOFT_BUDGET, _SOFT_MOST = 1.2, 1.3, 2.0


#: A pixel takes more soft rays where so many around it or more show other surfaces; so many times
#: the usual in all, unless that were more than such a share of all usual rays.
_UNLIKE, _ALONE_MOST, _ALONE_BUDGET = 5, 3.0, 0.08
#: Soft light is guessed from so many pixels each way: one pixel's few rays are noisy.
_GUESS_PX = 9


def set_side_by_side(sums: NDArray[np.float32], bright: NDArray[np.float32]) -> None:
    """After the first sample: guess soft light, and say how bright that sample is with it."""
    luminance = np.empty(sums.shape[:2], np.float32)

    def gather(first: int, last: int) -> None:
        luminance[first:last] = sums[first:last, :, SOFT : SOFT + 3] @ np.array(
            LUMINANCE, np.float32
        )

    def guess(first: int, last: int) -> None:
        here = bright[first:last]
        here[..., GUESS] = soft[first:last] / np.maximum(rays[first:last], 1e-3)
        light = here[..., LEAST] + here[..., MOST] * here[..., GUESS]
        here[..., LEAST] = here[..., MOST] = np.sqrt(np.clip(light, 0, 1))

    each_share(len(sums), gather)
    soft, rays = (uniform_filter(it, _GUESS_PX) for it in (luminance, sums[..., SOFT_RAYS]))
    each_share(len(sums), guess)


def soft_rays_by(
    blur_px: NDArray[np.float32],
    usual: int,
    key: NDArray[np.int64],
    leaves: NDArray[np.bool_],
    one_lens: bool,
) -> NDArray[np.uint8]:
    """How many soft rays each pixel takes, where `usual` would do for all.

    Of one lens, blur takes noise out, and hides how far soft light is shared: what it saves goes
    where it is least. A pixel of a thin thing finds few neighbours to share with and takes
    more, unless such pixels are many, or `leaves` (H, W), among which nobody sees their noise.
    """
    shares = np.ones(blur_px.shape, np.float32)
    if one_lens:
        for from_px, share in _CALM:
            shares[blur_px >= from_px] = share
        bare = blur_px < _BARE_PX
        left = _SOFT_BUDGET - shares[~bare].sum() / shares.size
        shares[bare] = min(max(left / max(bare.mean(), 1e-6), 1.0), _SOFT_MOST)
    alone = (_unlike(key) >= _UNLIKE) & (key > 0) & ~leaves & (blur_px < _CALM[0][0])
    more = min(_ALONE_BUDGET / max(alone.mean(), 1e-6), _ALONE_MOST - 1.0)
    shares[alone] = np.maximum(shares[alone], 1 + math.floor(more * usual) / max(usual, 1))
    rays: NDArray[np.uint8] = np.ceil(shares * usual - 1e-6).astype(np.uint8)
    return rays


def _unlike(key: NDArray[np.int64]) -> NDArray[np.uint8]:
    """How many of the eight pixels around it show another surface than a pixel does."""
    found = np.zeros(key.shape, np.uint8)
    for here, there in _pairs(key.shape):
        step = key[here] != key[there]
        found[here] += step
        found[there] += step
    return found


def _pairs(shape: tuple[int, ...]) -> Iterator[tuple[tuple[slice, slice], tuple[slice, slice]]]:
    """Each pixel beside each of its eight neighbours, once, as slices of a picture."""
    height, width = shape
    for down, right in ((0, 1), (1, 0), (1, 1), (1, -1)):
        here = (slice(0, height - down), slice(max(0, -right), width - max(0, right)))
        yield here, (slice(down, height), slice(max(0, right), width - max(0, -right)))


def edges(key: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Pixels that show another surface than one of the eight around them."""
    found = np.zeros(key.shape, np.bool_)
    for here, there in _pairs(key.shape):
        step = key[here] != key[there]
        found[here] |= step
        found[there] |= step
    return found


def near_edges(depth: NDArray[np.float32], reach: int) -> NDArray[np.bool_]:
    """Pixels at most so far from a depth edge."""
    from scipy import ndimage  # squares as large as blur: seldom asked for

    with np.errstate(divide="ignore"):
        inverse = np.where(np.isfinite(depth), 1 / depth, 0).astype(np.float32)
    far = minimum_filter(inverse, 3)
    edge = (inverse - far) > 0.02 * inverse + 1e-6
    near: NDArray[np.bool_] = ndimage.maximum_filter(edge.astype(np.uint8), 2 * reach + 1) > 0
    return near


def few(
    key: NDArray[np.int64],
    bright: NDArray[np.float32],
    blur_px: NDArray[np.float32],
    first: int,
    samples: int,
) -> NDArray[np.uint8]:
    """How many of the first few samples pixels take: all, two, or their centre's alone.

    One will do in wide blur, amid one surface in one light, or in blur that averages out what
    pixels differ by; two in blur that averages out almost all of that.
    """
    centre = bright[..., LEAST]
    steps = maximum_filter(centre, 5) - minimum_filter(centre, 5)
    wanted: NDArray[np.bool_] = (steps * _finer(samples) >= _EVEN) | maximum_filter(edges(key), 3)
    left = _left_by_one(centre * _finer(samples), blur_px)
    wanted &= (blur_px < _WIDE_PX) & ((blur_px < _SOFT_PX) | (left > _LEFT_BY_ONE**2))
    taken = np.where(wanted, np.uint8(first), np.uint8(1))
    if first > 2:
        taken[wanted & (blur_px >= _SOFT_PX) & (left <= _LEFT_FOR_TWO**2)] = 2
    return taken


def every_nth(where: NDArray[np.bool_], n: int, of: int) -> NDArray[np.bool_]:
    """Of those pixels the ones in the n-th of every `of` rows, from 1 on."""
    found = np.zeros_like(where)
    found[n - 1 :: of] = where[n - 1 :: of]
    return found


def _left_by_one(centre: NDArray[np.float32], blur_px: NDArray[np.float32]) -> NDArray[np.float32]:
    """Variance that one sample a pixel would leave after blur, from the steps between pixels.

    What pixels miss at random a disc averages over all its pixels.  Of a line along a row (steps
    down, hardly any across) a row of pixels misses the same all along, and a disc has but few
    rows: of rows r apart from its middle 2 sqrt(R^2 - r^2) pixels of pi R^2, squared and summed.
    """
    across, down = np.zeros_like(centre), np.zeros_like(centre)
    across[:, :-1], down[:-1] = np.diff(centre, axis=1) ** 2, np.diff(centre, axis=0) ** 2
    across, down = uniform_filter(across, _AROUND_PX), uniform_filter(down, _AROUND_PX)
    both, radius = across + down, np.maximum(blur_px, 0.5)
    lined = np.maximum(np.abs(across - down) - _BY_CHANCE * both, 0) / (1 - _BY_CHANCE)
    by_rows = 16 / (3 * math.pi**2 * radius)
    left: NDArray[np.float32] = ((both - lined) / (math.pi * radius**2) + lined * by_rows) / 4
    return left


def glanced_at(
    bright: NDArray[np.float32], blur_px: NDArray[np.float32], samples: int
) -> NDArray[np.bool_]:
    """Pixels whose other places are looked through: a lens would show what their samples miss.

    Those that will take all samples anyway are not.
    """
    apart = (bright[..., MOST] - bright[..., LEAST]) * _finer(samples)
    return (blur_px < _MILD_PX) & (apart < _ROUGH)


def thin_things(
    before: NDArray[np.float32], bright: NDArray[np.float32], samples: int
) -> NDArray[np.bool_]:
    """Pixels in which a glance has found what their samples, `before` (H, W) apart, have not."""
    apart = bright[..., MOST] - bright[..., LEAST]
    return (apart * _finer(samples) >= _UNEVEN) & (apart > before)


def more(
    key: NDArray[np.int64],
    bright: NDArray[np.float32],
    blur_px: NDArray[np.float32],
    first: int,
    samples: int,
    thin: NDArray[np.bool_],
) -> list[tuple[int, int, NDArray[np.bool_]]]:
    """What follows the first few samples: from which to which, and where.

    thin (H, W) bool: of `thin_things`; pixels along a line show it or don't by chance, so all of
    them take as many.
    """
    apart = (bright[..., MOST] - bright[..., LEAST]) * _finer(samples)
    edge, beside = edges(key), maximum_filter(apart, 3)
    some = min(2 * first, samples)
    uneven = (apart >= _UNEVEN) | (edge & (beside >= _EDGED))
    rough = (apart >= _ROUGH) | (edge & (beside >= _SPLIT))
    torn = (edge | maximum_filter(thin, 3)) & (apart >= _TORN)
    blurred = (apart >= _UNEVEN) & (blur_px >= _MILD_PX)
    left = _left_by_blur(apart, blur_px)
    return [
        (first, some, (uneven & (blur_px < _SOFT_PX)) | (blurred & (left > first * _LEFT**2))),
        (some, samples, (rough & (blur_px < _MILD_PX)) | (blurred & (left > some * _LEFT**2))),
        (samples, 2 * samples, torn & (blur_px < _SHARP_PX)),
    ]


def _left_by_blur(apart: NDArray[np.float32], blur_px: NDArray[np.float32]) -> NDArray[np.float32]:
    """Variance that one sample a pixel would leave after blur, from the range of the first few."""
    variance = uniform_filter((apart / _RANGE_OF_FOUR) ** 2, _AROUND_PX)
    return np.asarray(variance / (math.pi * np.maximum(blur_px, 0.5) ** 2))


def _finer(samples: int) -> float:
    """How many times smaller the steps are that so many samples are there to tell."""
    return max(1.0, samples / 16)

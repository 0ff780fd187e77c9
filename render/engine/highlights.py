"""Lamps and glints of a picture that clips: how bright they may have been, where blur shows it."""

import math

import numpy as np
import scipy
from numpy.typing import NDArray

from render.errors import SettingError
from render.optics.blur import BlurField
from render.optics.camera import Window

__all__ = ["lift_highlights", "where_blurred"]

#: From this share of full scale on, linear, a channel counts as clipped: the noise of a JPEG keeps
#: the weakest channel of small lamps some codes below it (README.md).
_CLIPPED = 0.9
#: Round a lamp it is darker than this share of full scale, on average (ours); none is lifted where
#: it is brighter, all where it is darker by a third.
_DARK_ROUND = 0.45
#: A wider look round: light above `_BRIGHT` that does not clip tells of things in the sun or of a
#: pale sky, whose specks are no lamps. Up to the first share of such pixels a spot is lifted in
#: full, from the second on not at all (fair 8 % on average, village 26 %, roofs by day 74 %).
_BRIGHT = 0.6
_BRIGHT_SHARES = (0.1, 0.2)
#: A bright spot: all channels reach this share of full scale.
_BRIGHT_SPOT = 0.5
#: Distances from a spot, px: its rim holds its colour, beyond lies what is round it.
_RIM_PX, _ROUND_PX = 1.5, (2.5, 5.0)
#: A rim that stands out less than this has no colour to tell.
_FAINT = 0.03
#: A patch of pixels: its number, rows and columns.
_Spot = tuple[int, slice, slice]
#: Diagonals of the frame to a circle of confusion; up to one circle nothing is lifted, from
#: three on all is.
_CIRCLES = 1500.0


def lift_highlights(picture: NDArray[np.float32], stops: float) -> NDArray[np.float32]:
    """Give small clipped spots the light that the sensor could not hold, so that they open.

    A spot is a patch of pixels in which all three channels have reached 90 % of full scale, no
    larger than 1 % of the picture's height (3 px at least) either way. It stands out if it is
    dark round it, and if hardly anything in its wider surroundings is bright without clipping:
    a lamp or a glint does, a ledge, a tile or a speck of sky in the sun does not. Such a spot
    carries ``2 ** stops`` times full light in its strongest channel; less as it stands out
    less, and no more than the picture's other bright spots make likely (`_likely_stops`). Its
    hue is that by which the unclipped pixels of its rim, which mix it with what is round it,
    differ from there. No channel loses light. All other pixels stay as they are.
    How bright a clipped lamp was is not in the picture: the number of stops is a guess.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear light of a whole picture, 1 where it clips, before it is made smaller.

    Returns
    -------
    ndarray, shape (H, W, 3), float32
        The picture itself where there is nothing to lift.

    Raises
    ------
    SettingError
        If `stops` does not lie between 0 and 10.
    """
    if not 0 <= stops <= 10:
        raise SettingError(f"highlights can be lifted by 0 to 10 stops, not {stops!r}")
    clipped = picture.min(axis=2) >= _CLIPPED
    if not stops or not clipped.any():
        return picture
    size = max(3, round(0.01 * picture.shape[0]))
    labels, spots = _spots(clipped, size)
    stops = min(stops, _likely_stops(picture, clipped, 2 * size)) if spots else 0.0
    if not stops:
        return picture
    calm = _calm(picture, clipped, 12 * size + 1)
    lifted = picture.copy()
    for number, rows, columns in spots:
        share = calm[(rows.start + rows.stop) // 2, (columns.start + columns.stop) // 2]
        if share <= 0:
            continue
        window = _grown(rows), _grown(columns)
        spot, light = labels[window] == number, picture[window]
        standing, hue = _stands_out(light, spot, clipped[window])
        gain = 2.0 ** (stops * float(share) * standing)
        lifted[window][spot] = np.maximum(light[spot], np.maximum(1.0, gain * hue))
    return lifted if np.any(lifted != picture) else picture


def where_blurred(
    recorded: NDArray[np.float32], lifted: NDArray[np.float32], field: BlurField, frame: Window
) -> NDArray[np.float32]:
    """The lifted picture where the lens blurs it, the recorded one where it is in focus.

    Nothing changes up to the circle of confusion (the frame's diagonal / 1500), all is lifted
    from three circles on: a sharp lamp is as large as it was taken.

    Parameters
    ----------
    recorded, lifted : ndarray, shape (H, W, 3), float32
    field : BlurField
        Of the same picture.
    """
    rows, columns = np.nonzero((lifted != recorded).any(axis=2))
    mm = field.lens.aperture_radius_mm * field.px_per_mm
    circle_px = np.hypot(frame.width, frame.height) / _CIRCLES
    circles = 2.0 * mm * np.abs(field.defocus[rows, columns]) / circle_px
    share = np.clip((circles - 1.0) / 2.0, 0.0, 1.0).astype(np.float32)[:, None]
    mixed = recorded.copy()
    before = recorded[rows, columns]
    mixed[rows, columns] = before + share * (lifted[rows, columns] - before)
    return mixed


def _spots(where: NDArray[np.bool_], size: int) -> tuple[NDArray[np.int32], list[_Spot]]:
    """Patches of a mask, numbered from 1, and those of them that are no larger than `size`."""
    labels, _ = scipy.ndimage.label(where, np.ones((3, 3)))
    return labels, [
        (number, rows, columns)
        for number, (rows, columns) in enumerate(scipy.ndimage.find_objects(labels), 1)
        if max(rows.stop - rows.start, columns.stop - columns.start) <= size
    ]


def _likely_stops(picture: NDArray[np.float32], clipped: NDArray[np.bool_], size: int) -> float:
    """How many stops above full scale a bright spot that clips lies, by those that do not.

    Of lamps at night most that are bright clip; of white things in the sun one in a hundred or
    a thousand does, and then only just. Where the peaks of bright spots thin out as a power of
    brightness (Pareto), of those beyond x a share c = (x / clipped)^a clips, and the mean of
    these lies at a / (a - 1) of where they clip: derived here.
    """
    labels, spots = _spots(picture.min(axis=2) >= _BRIGHT_SPOT, size)
    clip = set(np.unique(labels[clipped]).tolist())
    share = sum(number in clip for number, *_ in spots) / max(len(spots), 1)
    power = math.log(share) / math.log(_BRIGHT_SPOT / _CLIPPED) if share else math.inf
    if power <= 1:
        return math.inf
    return math.log2(1 + 1 / (power - 1))


def _calm(
    picture: NDArray[np.float32], clipped: NDArray[np.bool_], size: int
) -> NDArray[np.float64]:
    """How far hardly anything bright that does not clip lies in a square round each pixel, 0..1."""
    counted = ~scipy.ndimage.binary_dilation(clipped, np.ones((3, 3)), iterations=2)
    bright = counted & (picture.max(axis=2) > _BRIGHT)
    known = scipy.ndimage.uniform_filter(counted.astype(np.float32), size)
    share = scipy.ndimage.uniform_filter(bright.astype(np.float32), size) / np.maximum(known, 1e-3)
    low, high = _BRIGHT_SHARES
    return np.asarray(np.clip((high - share) / (high - low), 0.0, 1.0), np.float64)


def _stands_out(
    light: NDArray[np.float32], spot: NDArray[np.bool_], clipped: NDArray[np.bool_]
) -> tuple[float, NDArray[np.float64]]:
    """How far a spot stands out from what is round it, 0..1, and its hue, 1 at most."""
    away = scipy.ndimage.distance_transform_edt(~spot)
    rim = (away > 0) & (away < _RIM_PX) & ~clipped
    beyond = (away > _ROUND_PX[0]) & (away <= _ROUND_PX[1]) & ~clipped
    white = np.ones(3)
    if not beyond.any():
        return 0.0, white
    bright = float(light[beyond].max(axis=1).mean())
    standing = min(max((_DARK_ROUND - bright) / (_DARK_ROUND / 3), 0.0), 1.0)
    whole = rim & (light.max(axis=2) < _CLIPPED)
    told = light[whole if whole.any() else rim]
    more = np.maximum(told - np.median(light[beyond], axis=0), 0.0).mean(axis=0) if len(told) else 0
    most = float(np.max(more))
    return standing, white if most < _FAINT else np.asarray(more / most, np.float64)


def _grown(span: slice) -> slice:
    """A spot's rows or columns, with what is round it."""
    more = int(_ROUND_PX[1])
    return slice(max(0, span.start - more), span.stop + more)

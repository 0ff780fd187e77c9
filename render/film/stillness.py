"""Whether a camera stood still: the shift of a whole picture against another, by its phases."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.scene.resize import averaged

__all__ = ["Stillness", "shift_px", "stillness"]

#: Longer side at which pictures are compared.
_SIDE_PX = 640
#: Pictures whose phases agree less than so many times the best of chance cannot tell (ours).
_OVER_CHANCE = 1.6


@dataclass(frozen=True, slots=True)
class Stillness:
    """How far a camera moved between the first and other frames.

    Attributes
    ----------
    most_px : float
        Largest shift of the picture, or of at least half of its quarters, px of the full size.
    frame : int
        Which of the compared frames moved most.
    sure : bool
        False where too little structure agrees to tell.
    width_px : int
        Of a frame.
    """

    most_px: float
    frame: int
    sure: bool
    width_px: int


def shift_px(one: NDArray[np.float32], other: NDArray[np.float32]) -> tuple[float, float, float]:
    """Shift right and down that takes `one` to `other`, and how well their phases agree.

    Phase correlation (C. D. Kuglin, D. C. Hines, 1975, from memory) of brightness under a Hann
    window, the peak refined by a parabola through its neighbours.

    Parameters
    ----------
    one, other : ndarray, shape (H, W), float32

    Returns
    -------
    right_px, down_px, agreement : float
        Agreement is the height of the peak: 1 for a picture shifted whole, about 0 for another.
    """
    height, width = one.shape
    window = np.outer(np.hanning(height), np.hanning(width)).astype(np.float32)
    spectra = [np.fft.rfft2((each - each.mean()) * window) for each in (one, other)]
    cross = spectra[1] * np.conj(spectra[0])
    size = np.abs(cross)
    # Where there is hardly any light at a frequency, its phase is noise.
    cross = np.where(size > 1e-4 * size.max(), cross / np.maximum(size, 1e-20), 0)
    weight = np.count_nonzero(cross) / cross.size
    peak = np.fft.irfft2(cross, one.shape)
    row, column = np.unravel_index(int(np.argmax(peak)), peak.shape)
    agreement = float(peak[row, column] / max(weight, 1e-9))
    down = _refined(peak[:, column], int(row))
    right = _refined(peak[row, :], int(column))
    return right, down, agreement


def stillness(frames: Iterable[NDArray[np.float32]]) -> Stillness:
    """Compare frames with the first of them, whole and by quarters: a zoom leaves no shift whole.

    Parameters
    ----------
    frames : iterable of ndarray, each (H, W, 3) float32
        Linear light; each is let go of as soon as it was made small.
    """
    small = []
    scale, width = 1.0, 0
    for frame in frames:
        height, width = frame.shape[:2]
        scale = max(1.0, max(height, width) / _SIDE_PX)
        small.append(_brightness(frame, round(height / scale), round(width / scale)))
    most, at, sure = 0.0, 0, False
    for number, frame in enumerate(small[1:], 1):
        moved = []
        for part in _parts(frame.shape[0], frame.shape[1]):
            right, down, agreement = shift_px(small[0][part], frame[part])
            if agreement >= _OVER_CHANCE * _chance(small[0][part].size):
                moved.append(scale * float(np.hypot(right, down)))
        if len(moved) < 3:
            continue
        sure = True
        shift = float(np.median(moved))
        if shift > most:
            most, at = shift, number
    return Stillness(most, at, sure, width)


def _parts(height: int, width: int) -> list[tuple[slice, slice]]:
    """The whole picture and its four quarters."""
    rows = (slice(0, height // 2), slice(height // 2, height))
    columns = (slice(0, width // 2), slice(width // 2, width))
    return [(slice(0, height), slice(0, width)), *((r, c) for r in rows for c in columns)]


def _chance(count: int) -> float:
    """Largest of so many agreements that are all chance: sqrt(2 ln n / n), as Gaussian noise."""
    return float(np.sqrt(2 * np.log(count) / count))


def _brightness(frame: NDArray[np.float32], height: int, width: int) -> NDArray[np.float32]:
    small = averaged(frame, height, width)
    return np.asarray(np.sqrt(small @ np.array([0.25, 0.65, 0.1], np.float32)), np.float32)


def _refined(line: NDArray[np.float64], at: int) -> float:
    """Place of the peak on a line that runs round, between -n/2 and n/2."""
    n = len(line)
    before, here, after = line[at - 1], line[at], line[(at + 1) % n]
    bend = before - 2 * here + after
    place = at + (0.5 * (before - after) / bend if bend < 0 else 0.0)
    return float(place - n if place > n / 2 else place)

"""Grain like that of the source: measured there, and given back where blur took it away."""

from dataclasses import dataclass, replace

import numpy as np
import scipy
from numpy.typing import NDArray

from render.engine.photograph import Photograph
from render.optics.blur import BlurField
from render.scene.colour import Encoding

__all__ = ["Grain", "coded", "match_grain", "measure_grain"]

#: Noise is measured in squares of this many pixels, in steps of brightness this many codes wide.
_BLOCK = 8
_STEP = 16.0
#: The smoothest share of a step's squares is taken for noise alone, and so many must be there.
_SMOOTHEST = 0.1
_FEWEST = 40
#: Codes at which a channel clips hold no noise to measure.
_LOWEST, _HIGHEST = 2.0, 252.0
#: Correlation is followed so far, px; what is this much alike two pixels on is structure, not noise
#: (photographs from telephones: 0.37 to 0.44; waves of 6 px: 0.6).
_LAG, _STRUCTURE = 3, 0.55
#: From one step of brightness to the next, variance of the light grows no faster than so many
#: times the light itself.
_BEND = 1.3
#: In codes the noisiest brightness has no more than so many times the noise of the calmest (ours:
#: photons' noise is nearly even in gamma-coded values, and shadows full of texture read as more).
_WIDEST = 2.5
#: Grain lies in squares of this many pixels, each rolled by chance out of one.
_TILE = 256
#: Radii for which the grain that blur takes away is worked out, px; below the first none is.
_RADII = (0.15, 0.3, 0.5, 0.7, 1.0, 1.4, 2.0, 3.0, 5.0, 9.0, 18.0)


@dataclass(frozen=True, slots=True, eq=False)
class Grain:
    """Noise of a picture, in 8-bit codes.

    Attributes
    ----------
    codes : ndarray, shape (n,)
        Brightnesses at which it was measured, rising.
    sigma : ndarray, shape (n, 3)
        Standard deviation there, by channel.
    correlation : ndarray, shape (7, 7)
        With the pixel up to 3 rows and columns away; 1 in the middle.
    channels : ndarray, shape (3, 3)
        Correlation between the channels.
    """

    codes: NDArray[np.float64]
    sigma: NDArray[np.float64]
    correlation: NDArray[np.float64]
    channels: NDArray[np.float64]

    def at(self, codes: NDArray[np.float32], channel: int) -> NDArray[np.float32]:
        """Standard deviation at these codes, 8-bit codes; none where the channel clips."""
        sigma = np.interp(codes, self.codes, self.sigma[:, channel])
        open_ = np.clip((255.0 - codes) / (255.0 - _HIGHEST), 0.0, 1.0)
        return np.asarray(sigma * open_, np.float32)


def coded(light: NDArray[np.float32], encoding: Encoding) -> NDArray[np.float32]:
    """Light in 8-bit codes, with their fractions."""
    return np.asarray(encoding.codes(light, 16), np.float32) / np.float32(257.0)


def measure_grain(light: NDArray[np.float32], encoding: Encoding) -> Grain | None:
    """Noise of a picture by brightness and channel; None where no part of it is smooth enough.

    A noise level function from one picture, as by Liu, Freeman, Szeliski and Kang (2006): squares
    are freed of their plane, and at each brightness the lower envelope of what varies is noise.
    Here that is the smoothest tenth, freed of the bias that choosing it brings (the mean of the
    lowest tenth of a chi-square distribution whose degrees of freedom the noise's own correlation
    gives). Correlation with the neighbours and between channels is that of the same squares.

    Parameters
    ----------
    light : ndarray, shape (H, W, 3), float32
    encoding : Encoding
        How it was coded: noise is measured in the codes that people see.
    """
    blocks = _blocks(coded(light, encoding))
    level = blocks.mean(axis=2)
    rest = _without_plane(blocks)
    spread = (rest**2).sum(axis=2) / (_BLOCK**2 - 3)
    middles = (np.arange(256 / _STEP) + 0.5) * _STEP
    envelope = np.full((len(middles), 3), np.nan)
    chosen: list[tuple[int, int, NDArray[np.intp]]] = []
    for channel in range(3):
        values, varied = level[:, channel], spread[:, channel]
        usable = (values > _LOWEST) & (values < _HIGHEST) & (varied > 1e-6)
        for number, middle in enumerate(middles):
            members = np.flatnonzero(usable & (np.abs(values - middle) <= _STEP / 2))
            if len(members) < _FEWEST:
                continue
            count = max(4, int(_SMOOTHEST * len(members)))
            calm = members[np.argsort(varied[members], kind="stable")[:count]]
            envelope[number, channel] = varied[calm].mean()
            chosen.append((number, channel, calm))
    known = np.isfinite(envelope).any(axis=1)
    if not known.any():
        return None
    per_code = _light_per_code(middles, encoding)
    envelope = _physical(envelope * per_code**2, encoding.light(_grey(middles))) / per_code**2
    smooth = np.zeros(len(rest), bool)
    for number, channel, calm in chosen:
        smooth[calm[spread[calm, channel] <= 2 * envelope[number, channel]]] = True
    if not smooth.any():
        return None
    correlation, channels, whole, freedom = _correlations(rest[smooth])
    if (correlation[_LAG, _LAG + 2] + correlation[_LAG + 2, _LAG]) / 2 > _STRUCTURE:
        return None
    sigma = np.sqrt(envelope[known] * whole / _lowest_mean(freedom))
    sigma = np.minimum(sigma, _WIDEST * sigma.min(axis=0))
    return Grain(middles[known], sigma, correlation, channels)


def match_grain(
    shot: Photograph,
    field: BlurField,
    grain: Grain,
    encoding: Encoding,
    seed: int,
    *,
    bits: int,
    grey: bool = False,
) -> Photograph:
    """Give every pixel the noise that its blur figure took away, no more.

    A figure of radius r passes the share ``(2 J1(2 pi r f) / (2 pi r f)) ** 2`` of the noise of
    frequency f (an even disc's transfer function, e.g. Goodman, Introduction to Fourier Optics);
    the rest, with the spectrum that it had in the source, is added. What rounding to `bits` will
    add is left out. In focus nothing changes.

    Parameters
    ----------
    field : BlurField
        Of the photograph's own frame.
    seed : int
        The same seed gives the same grain.
    grey : bool
        All channels are one: they get the same grain.
    """
    rng = np.random.default_rng(seed)
    height, width = shot.light.shape[:2]
    bank, lost = _bank(grain, rng)
    if grey:
        bank[...] = bank[..., :1]
    starts = rng.integers(0, _TILE, (-(-height // _TILE), -(-width // _TILE), 2))
    radius = np.abs(field.radius_px())
    light = shot.light.copy()
    rounding = 1.0 / 12.0 if bits == 8 else 0.0
    for row in range(0, height, _TILE):
        for column in range(0, width, _TILE):
            part = (slice(row, row + _TILE), slice(column, column + _TILE))
            blurred = radius[part] > _RADII[0]
            if not blurred.any():
                continue
            begins = starts[row // _TILE, column // _TILE]
            before = coded(light[part], encoding)
            noise = _laid(bank, begins, radius[part])
            taken = np.interp(np.log(np.maximum(radius[part], 1e-6)), np.log(_RADII), lost)
            after = before.copy()
            for channel in range(3):
                sigma = grain.at(before[..., channel], channel)
                variance = np.maximum(sigma**2 * taken - rounding, 0.0)
                scale = np.sqrt(variance / np.maximum(taken, 1e-9))
                after[..., channel] += np.where(blurred, scale * noise[..., channel], 0.0)
            added = encoding.light(np.clip(after, 0, 255) / 255) - encoding.light(before / 255)
            light[part] = np.maximum(light[part] + np.where(blurred[..., None], added, 0), 0)
    return replace(shot, light=light)


def _blocks(codes: NDArray[np.float32]) -> NDArray[np.float64]:
    """Squares of a picture, shape (n, 3, pixels); some 30,000, evenly spread, or all."""
    rows, columns = codes.shape[0] // _BLOCK, codes.shape[1] // _BLOCK
    cut = codes[: rows * _BLOCK, : columns * _BLOCK]
    squares = cut.reshape(rows, _BLOCK, columns, _BLOCK, 3).transpose(0, 2, 4, 1, 3)
    every = max(1, int(np.sqrt(rows * columns / 30_000)))
    return np.asarray(squares[::every, ::every], np.float64).reshape(-1, 3, _BLOCK**2)


def _grey(codes: NDArray[np.float64]) -> NDArray[np.float32]:
    """Pixels of these codes in all channels."""
    return np.repeat(codes[:, None, None] / 255.0, 3, axis=2).astype(np.float32)


def _light_per_code(codes: NDArray[np.float64], encoding: Encoding) -> NDArray[np.float64]:
    """How much light one code more is, shape (n, 3)."""
    more, less = (encoding.light(_grey(codes + step)) for step in (0.5, -0.5))
    return np.asarray((more - less)[:, 0], np.float64)


def _physical(variance: NDArray[np.float64], light: NDArray[np.float32]) -> NDArray[np.float64]:
    """Take texture out of an envelope: what noise of photons and of reading cannot be.

    Its variance is a straight line over light that rises (Foi, Trimeche, Katkovnik and Egiazarian
    2008); a camera's tone curve bends that a little. So from dark to bright it never falls, and
    never rises `_BEND` times faster than the light from step to step. Steps and channels that were
    not seen are filled.
    """
    held = variance.copy()
    held[np.isnan(held)] = np.inf
    for number in range(1, len(held)):
        grown = held[number - 1] * _BEND * light[number, 0] / light[number - 1, 0]
        held[number] = np.minimum(held[number], grown)
    for number in range(len(held) - 2, -1, -1):
        held[number] = np.minimum(held[number], held[number + 1])
    lowest = held.min(axis=1, keepdims=True)
    return np.where(np.isfinite(held), held, lowest)


def _without_plane(blocks: NDArray[np.float64]) -> NDArray[np.float64]:
    down, across = np.mgrid[:_BLOCK, :_BLOCK].reshape(2, -1) - (_BLOCK - 1) / 2
    plane, _ = np.linalg.qr(np.stack([np.ones(_BLOCK**2), down, across], axis=1))
    return np.asarray(blocks - (blocks @ plane) @ plane.T, np.float64)


def _correlations(
    rest: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], float, float]:
    """Correlation with the neighbours and between channels, of noise that lost its plane.

    Returns
    -------
    correlation : ndarray, shape (7, 7)
        All channels together, with what the plane took put back: the mean products of what is
        left are linear in those of the noise itself, and few enough to be solved for.
    channels : ndarray, shape (3, 3)
    whole : float
        The noise's variance, as a share of what was left per degree of freedom.
    freedom : float
        Degrees of freedom of a square's variance (Satterthwaite).
    """
    scale = np.sqrt((rest**2).mean(axis=(0, 2), keepdims=True))
    even = rest / np.maximum(scale, 1e-9)
    channels = np.einsum("ncp,ndp->cd", even, even) / (len(even) * _BLOCK**2)
    seen = np.einsum("ncp,ncq->pq", even, even) / (3 * len(even))
    down, across = np.mgrid[:_BLOCK, :_BLOCK].reshape(2, -1)
    dy, dx = np.subtract.outer(down, down), np.subtract.outer(across, across)
    lags = [(y, x) for y in range(_LAG + 1) for x in range(-_LAG, _LAG + 1) if y or x >= 0]
    pairs = [((dy == y) & (dx == x) | (dy == -y) & (dx == -x)).astype(float) for y, x in lags]
    left = _without_plane(np.eye(_BLOCK**2))
    shown = [left @ pair @ left for pair in pairs]
    matrix = [[float((pair * one).sum() / pair.sum()) for one in shown] for pair in pairs]
    means = [float((pair * seen).sum() / pair.sum()) for pair in pairs]
    products = np.linalg.solve(np.array(matrix), np.array(means))
    table = np.zeros((2 * _LAG + 1, 2 * _LAG + 1))
    for (y, x), product in zip(lags, products, strict=True):
        table[_LAG + y, _LAG + x] = table[_LAG - y, _LAG - x] = product / products[0]
    spread = np.trace(seen) / (_BLOCK**2 - 3)
    freedom = float(np.trace(seen) ** 2 / (seen**2).sum())
    return table, channels, float(products[0] / spread), freedom


def _lowest_mean(freedom: float) -> float:
    """Mean of the lowest tenth of a chi-square distribution, divided by its mean."""
    border = scipy.special.chdtri(freedom, 1.0 - _SMOOTHEST)
    return float(scipy.special.gammainc(freedom / 2 + 1, border / 2) / _SMOOTHEST)


def _bank(
    grain: Grain, rng: np.random.Generator
) -> tuple[NDArray[np.float32], NDArray[np.float64]]:
    """For each radius a square of the noise that it takes away, and its share of all variance.

    Returns
    -------
    bank : ndarray, shape (radii, _TILE, _TILE, 3)
        Of variance `lost`, from the same white noise.
    lost : ndarray, shape (radii,)
    """
    kernel = np.zeros((_TILE, _TILE))
    lag = np.arange(-_LAG, _LAG + 1)
    kernel[lag[:, None], lag[None, :]] = grain.correlation
    spectrum = np.maximum(np.fft.rfft2(kernel).real, 0.0)
    down, across = np.fft.fftfreq(_TILE)[:, None], np.fft.rfftfreq(_TILE)[None, :]
    frequency = np.hypot(down, across)
    white = np.fft.rfft2(rng.standard_normal((3, _TILE, _TILE)))
    values, vectors = np.linalg.eigh(grain.channels)
    mix = vectors * np.sqrt(np.maximum(values, 0.0)) @ vectors.T
    coloured = np.einsum("cd,dyx->cyx", mix, white)
    total = _power(spectrum)
    bank = np.empty((len(_RADII), _TILE, _TILE, 3), np.float32)
    lost = np.empty(len(_RADII))
    for number, radius in enumerate(_RADII):
        x = np.maximum(2 * np.pi * radius * frequency, 1e-9)
        gone = spectrum * np.maximum(1.0 - (2 * scipy.special.j1(x) / x) ** 2, 0.0)
        lost[number] = _power(gone) / total
        field = np.fft.irfft2(coloured * np.sqrt(gone / total), s=(_TILE, _TILE))
        bank[number] = field.transpose(1, 2, 0)
    lost[0] = 0.0
    bank[0] = 0.0
    return bank, lost


def _power(spectrum: NDArray[np.float64]) -> float:
    """Mean of a half spectrum over all frequencies."""
    whole = spectrum.copy()
    whole[:, 1:-1] *= 2.0
    return float(whole.sum() / _TILE**2)


def _laid(
    bank: NDArray[np.float32], begins: NDArray[np.int64], radius: NDArray[np.float32]
) -> NDArray[np.float32]:
    """Noise for a square's radii: between those of the bank by the logarithm of the radius."""
    place = np.interp(
        np.log(np.maximum(radius, 1e-6)), np.log(_RADII), np.arange(len(_RADII), dtype=float)
    )
    lower = np.minimum(place.astype(np.intp), len(_RADII) - 2)
    share = (place - lower).astype(np.float32)[..., None]
    rows = ((begins[0] + np.arange(radius.shape[0])) % _TILE)[:, None]
    columns = ((begins[1] + np.arange(radius.shape[1])) % _TILE)[None, :]
    mixed = (1 - share) * bank[lower, rows, columns] + share * bank[lower + 1, rows, columns]
    return np.asarray(mixed, np.float32)

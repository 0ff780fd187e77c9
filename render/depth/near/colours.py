"""The colours of a region as a mixture of normal distributions (as in GrabCut, Rother 2004)."""

import warnings
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Colours", "by_shade"]

Floats = NDArray[np.float64]

_MOST = 4000  # samples are enough
_LEAST_EACH = 20  # samples to a part of the mixture
_NOISE = 0.0006  # variance that every colour has, in roots of light
_SEED = 1
_SHADES = 48  # of each channel, in roots of light: finer than the noise


@dataclass(frozen=True, slots=True, eq=False)
class Colours:
    """Parts of a mixture: share, mean (3,), inverse covariance (3, 3), log of its norm."""

    parts: tuple[tuple[float, Floats, Floats, float], ...]

    @classmethod
    def of(cls, samples: Floats, most_parts: int) -> "Colours":
        """Colours of samples (N, 3), parted by k-means."""
        from scipy.cluster.vq import kmeans2

        rng = np.random.default_rng(_SEED)
        some = samples[rng.permutation(len(samples))[:_MOST]]
        count = min(most_parts, max(1, len(some) // _LEAST_EACH), len(np.unique(some, axis=0)))
        if count > 1:
            with warnings.catch_warnings():  # an empty part is left out below
                warnings.simplefilter("ignore", UserWarning)
                _, label = kmeans2(
                    some, count, minit="++", seed=np.random.default_rng(_SEED), iter=12
                )
        else:
            label = np.zeros(len(some), int)
        parts: list[tuple[float, Floats, Floats, float]] = []
        for number in range(count):
            own = some[label == number]
            if len(own) < 4 and count > 1:
                continue
            spread = np.atleast_2d(np.cov(own.T, bias=True)) + _NOISE * np.eye(3)
            norm = -0.5 * float(np.linalg.slogdet(spread)[1])
            share = len(own) / len(some)
            parts.append((share, own.mean(axis=0), np.asarray(np.linalg.inv(spread), float), norm))
        return cls(tuple(parts))

    def likelihood(self, light: Floats) -> Floats:
        """Logarithm of the density at colours (..., 3), but for a constant."""
        terms = []
        for share, mean, inverse, norm in self.parts:
            off = light - mean
            terms.append(
                np.log(share) + norm - 0.5 * np.einsum("...i,ij,...j->...", off, inverse, off)
            )
        return np.asarray(np.logaddexp.reduce(terms, axis=0))


def by_shade(value: Callable[[Floats], Floats], coded: NDArray[np.float32]) -> Floats:
    """A value of every pixel's colour (h, w), looked up in a table of colours."""
    step = (np.arange(_SHADES) + 0.5) / _SHADES
    table = value(np.stack(np.meshgrid(step, step, step, indexing="ij"), axis=-1))
    shade = np.minimum((coded * _SHADES).astype(np.intp), _SHADES - 1)
    return np.asarray(table[shade[..., 0], shade[..., 1], shade[..., 2]])

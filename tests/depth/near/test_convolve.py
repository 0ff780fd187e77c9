"""The network's inner loop against the plain sum."""

import numpy as np

from render.depth.near.convolve import convolved


def test_a_convolution_is_the_plain_sum_and_nothing_below_zero() -> None:
    """Against the definition, written out with numpy, on random numbers."""
    rng = np.random.default_rng(3)
    padded = rng.normal(size=(5, 8, 11)).astype(np.float32)
    weights = rng.normal(size=(5, 3, 3, 8)).astype(np.float32)
    bias = rng.normal(size=8).astype(np.float32)
    out = np.empty((8, 6, 9), np.float32)

    convolved(padded, weights, bias, out)

    windows = np.lib.stride_tricks.sliding_window_view(padded.astype(float), (3, 3), axis=(1, 2))
    plain = np.einsum("cyxij,cijk->kyx", windows, weights.astype(float)) + bias[:, None, None]
    np.testing.assert_allclose(out, np.maximum(plain, 0), atol=1e-4)
    assert 0.2 < float(np.mean(out == 0)) < 0.8

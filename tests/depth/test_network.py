"""What a depth network is given, and what is made of its answer."""

import numpy as np
import pytest

from render.depth.network import NetworkUse, network_depth, network_input
from render.errors import InputError


def _codes() -> np.ndarray:
    codes = np.zeros((60, 80, 3), np.float32)
    codes[:, 40:] = (0.9, 0.6, 0.3)
    return codes


USE = NetworkUse(16, 12, "relative inverse", mean=(0.1, 0.1, 0.1), std=(0.5, 0.5, 0.5))


def test_the_answer_comes_back_at_the_pictures_size_along_its_edges():
    """Normalised input goes in, and the enlarged answer keeps the picture's edge sharp."""
    given = network_input(USE, _codes())

    assert given.shape == (1, 3, 12, 16)
    np.testing.assert_allclose(given[0, :, 0, 0], -0.2, atol=1e-6)
    np.testing.assert_allclose(given[0, :, 0, -1], [1.6, 1.0, 0.4], atol=1e-6)
    depth = network_depth("net", USE, given.mean(axis=1, keepdims=True), _codes() ** 2.2)
    assert depth.shape == (60, 80)
    np.testing.assert_allclose(depth[:, :39], -0.2, atol=0.02)
    np.testing.assert_allclose(depth[:, 41:], 1.0, atol=0.02)


@pytest.mark.parametrize(
    ("gives", "answer", "sentence"),
    [
        ("metres", np.linspace(-1, 1, 192).reshape(1, 1, 12, 16), "0 or below"),
        ("relative", np.ones(16), r"gives \(16,\), not one number per pixel"),
        ("relative", np.ones((12, 16)), "all one value"),
        ("relative", np.full((12, 16), np.nan), "not numbers"),
    ],
)
def test_answers_that_are_no_depth_are_refused(gives, answer, sentence):
    """Negative metres, no plane, one value and no numbers are told apart."""
    with pytest.raises(InputError, match=sentence):
        network_depth("net", NetworkUse(16, 12, gives), answer, _codes())


@pytest.mark.parametrize(
    "values",
    [
        {"width_px": 4},
        {"gives": "disparity"},
        {"std": (0.0, 1.0, 1.0)},
        {"mean": (float("nan"), 0.0, 0.0)},
    ],
)
def test_impossible_uses_are_refused(values):
    """A size, kind or normalisation that cannot be is refused where it is stated."""
    with pytest.raises(InputError):
        NetworkUse(**{"width_px": 16, "height_px": 12, "gives": "relative", **values})

"""What the small network says of a square."""

import io

import numpy as np
import pytest

from render.depth.near.insides import SIDE, Square, likelihood, network_from, shipped_network


def _disc(radius: float) -> np.ndarray:
    y, x = np.mgrid[:SIDE, :SIDE] + 0.5
    return np.hypot(x - SIDE / 2, y - SIDE / 2) < radius


def test_a_square_knows_its_places_and_what_lies_in_the_picture() -> None:
    """A square over the picture's corner: a quarter of it lies inside, the spot in its middle."""
    square = Square((0.0, 0.0), 64.0)

    assert square.inside(100, 100).mean() == pytest.approx(0.25)
    rows, columns = np.nonzero(square.spots([(8.0, 4.0)]))
    assert (rows.mean() + 0.5, columns.mean() + 0.5) == (64 + 8, 64 + 16)


def test_a_disc_is_told_from_its_ground_and_spots_are_heeded() -> None:
    """What lies outside the picture belongs to nothing; a spot taken away lowers its place."""
    disc = _disc(30)
    code = np.where(disc, 0.7, 0.3) * np.ones((3, 1, 1), np.float32)
    code += np.random.default_rng(1).normal(0, 0.02, code.shape)
    nothing, held = np.zeros((SIDE, SIDE), np.float32), np.ones((SIDE, SIDE), np.float32)
    held[:50] = 0
    spot = Square((64.0, 64.0), 128.0).spots([(64.0, 64.0)])
    away = Square((64.0, 64.0), 128.0).spots([(80.0, 64.0)])

    found = likelihood(code, held, spot, nothing, nothing)
    less = likelihood(code, held, spot, away, found)

    assert not found[:50].any()
    assert ((found > 0.5) == disc)[50:].mean() > 0.97
    assert less[64, 80] < 0.5 < found[64, 80]


def test_weights_are_read_as_they_are_written() -> None:
    """A network through a file and back says the same."""
    shipped, file = shipped_network(), io.BytesIO()
    np.savez(file, **shipped.weights)
    file.seek(0)
    planes = np.random.default_rng(2).normal(size=(7, SIDE, SIDE)).astype(np.float32)

    np.testing.assert_array_equal(network_from(file)(planes), shipped(planes))

"""Cutting a thing out along a stroke."""

import numpy as np
import pytest
from numpy.typing import NDArray

from render.depth.near.along import thing_along
from render.errors import InputError


def _street(width: int = 300, height: int = 200) -> NDArray[np.float32]:
    """Blocks of many colours, a person's height apart."""
    rng = np.random.default_rng(4)
    blocks = rng.uniform(0.2, 0.7, (height // 10, width // 10, 3)).astype(np.float32)
    return np.repeat(np.repeat(blocks, 10, axis=0), 10, axis=1)


def _overlap(one: NDArray[np.bool_], other: NDArray[np.bool_]) -> float:
    return float((one & other).sum() / (one | other).sum())


@pytest.mark.parametrize("thick", [3, 8, 16])
def test_a_rail_is_cut_out_along_a_rough_stroke(thick: int) -> None:
    """A dark rail over a street of many colours, the stroke two pixels off its middle."""
    picture, rail = _street(), np.zeros((200, 300), bool)
    rail[120 : 120 + thick] = True
    picture[rail] = (0.03, 0.03, 0.04)

    found = thing_along(picture, [(8, 118 + thick / 2), (150, 122 + thick / 2), (293, 120)])

    assert _overlap(found, rail) > 0.8


def test_both_sides_of_a_lit_post_belong_to_it() -> None:
    """A round post is bright on one side and dark on the other, and both are found."""
    picture, post = _street(), np.zeros((200, 300), bool)
    post[:, 140:156] = True
    shade = np.linspace(0.75, 0.08, 16).astype(np.float32)
    picture[:, 140:156] = shade[None, :, None]

    found = thing_along(picture, [(145, 3), (146, 196)])

    assert _overlap(found, post) > 0.85


def test_a_plain_board_is_taken_whole() -> None:
    """A parapet is wider than the finest strip, and has no edge inside but the sensor's noise."""
    picture, board = _street(480, 320), np.zeros((320, 480), bool)
    board[200:275] = True
    picture[board] = (0.5, 0.48, 0.44)
    noise = np.random.default_rng(3).normal(0, 0.004, picture.shape).astype(np.float32)

    found = thing_along(picture + noise, [(5, 236), (240, 239), (476, 237)])

    assert _overlap(found, board) > 0.95


def test_a_stroke_that_ends_beside_the_frame_goes_on_to_it() -> None:
    """Nobody draws to the last pixel."""
    picture = _street()
    picture[120:128] = 0.02

    found = thing_along(picture, [(6, 124), (294, 124)])

    assert found[122:126, 0].all()
    assert found[122:126, -1].all()


@pytest.mark.parametrize("line", [[(5.0, 5.0)], [(5.0, 5.0), (5.5, 5.0)]])
def test_a_stroke_without_length_is_refused(line: list[tuple[float, float]]) -> None:
    """One place is no stroke."""
    with pytest.raises(InputError, match="two places"):
        thing_along(_street(), line)


def test_a_stroke_outside_is_refused() -> None:
    """Nothing can be cut out where there is no picture."""
    with pytest.raises(InputError, match="outside"):
        thing_along(_street(), [(400.0, 5.0), (500.0, 5.0)])


def test_a_large_picture_gets_its_own_pixels_back() -> None:
    """Followed on a smaller copy, the rail of a picture of 2400 px comes back at full size."""
    picture, rail = _street(2400, 400), np.zeros((400, 2400), bool)
    rail[200:212] = True
    picture[rail] = 0.02

    found = thing_along(picture, [(20, 204), (2380, 207)])

    assert found.shape == rail.shape
    assert _overlap(found, rail) > 0.8

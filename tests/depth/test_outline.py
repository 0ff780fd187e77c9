"""Outlines and the pixels inside them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.depth.outline import box_outline, inside_outline, lowest_place
from render.errors import InputError


@given(st.floats(1, 40), st.floats(1, 25), st.floats(2, 30), st.floats(2, 20))
def test_a_box_holds_exactly_the_centres_inside(left, top, width, height):
    """A pixel is inside a box if its centre is."""
    left, top, width, height = (value + 0.0137 for value in (left, top, width, height))
    inside = inside_outline(30, 50, box_outline(left, top, left + width, top + height))

    x, y = np.arange(50) + 0.5, np.arange(30) + 0.5
    expected = np.outer((y > top) & (y < top + height), (x > left) & (x < left + width))
    np.testing.assert_array_equal(inside, expected)


def test_a_disc_of_many_corners_has_its_area():
    """The pixels inside a round outline make up its area within 1 %."""
    turn = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    disc = np.stack([60 + 40 * np.cos(turn), 50 + 40 * np.sin(turn)], axis=1)

    assert inside_outline(100, 120, disc).sum() == pytest.approx(np.pi * 1600, rel=0.01)


def test_an_outline_may_leave_the_picture():
    """A triangle that reaches out on three sides fills the rest of the rows it crosses."""
    inside = inside_outline(10, 10, [(-50, 20), (60, 20), (5, -90)])

    assert inside.all()


@pytest.mark.parametrize("bad", [[(1, 1), (5, 5)], [(1, 1), (5, float("nan")), (3, 3)]])
def test_an_outline_without_corners_is_refused(bad):
    """Two corners, or one that is no number, are no outline."""
    with pytest.raises(InputError, match="corner"):
        inside_outline(10, 10, bad)


def test_an_outline_off_the_picture_is_refused():
    """An outline that holds no pixel is refused by its place."""
    with pytest.raises(InputError, match=r"\(50, 50\) holds no pixel"):
        inside_outline(10, 10, box_outline(50, 50, 60, 60))


def test_a_thing_stands_at_the_middle_of_its_lowest_row():
    """The foot of a region is the lower edge of its lowest row, in the middle."""
    inside = inside_outline(20, 20, box_outline(4, 3, 10, 15))

    assert lowest_place(inside) == (7.0, 15.0)

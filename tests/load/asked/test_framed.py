"""What of a wish the frame does not hold."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from render.load.asked.framed import unseen, unseen_words
from render.load.asked.wish import parse_wish
from tests.load.asked.test_site import SEEN, STANDING


@pytest.mark.parametrize(
    ("kind", "text", "where"),
    [
        ("point", "10 m, 1.6 m", ""),
        ("point", "3 m, 0 m", "below the frame"),
        ("point", "10 m, 9 m, left 6 m", "left of and above the frame"),
        ("point", "10 m, 1.6 m, right 6 m", "right of the frame"),
        ("ground", "4 m to 60 m", "partly below the frame"),
        ("ground", "8 m to 60 m", ""),
    ],
)
def test_what_the_frame_does_not_hold_is_told(kind: str, text: str, where: str) -> None:
    """A place outside the view is named by its side; a patch with one end outside, in part."""
    assert unseen(STANDING, parse_wish(kind, text)) == where


def _discs(name: str, slopes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Two round pots 8 m away, one in the middle and one that the left edge cuts."""
    x = {"whole pot": 0.0, "cut pot": -0.4}[name]
    return np.where(np.hypot(slopes[:, 0] - x, slopes[:, 1]) < 0.1, 8.0, np.inf)


def test_what_an_edge_cuts_is_told_with_how_much() -> None:
    """Half a pot that shows beyond the left edge is told, by name also as the end of a row."""
    things = {"whole pot": (0.0, 0.0, 8.0), "cut pot": (-0.39 * 8, 0.0, 8.0)}
    site = replace(SEEN, things=things, depths_of=_discs, view=(-0.4, -0.2667, 0.4, 0.2667))
    cut, row = parse_wish("point", "cut pot"), parse_wish("row", "row=cut pot to whole pot")

    assert unseen(site, parse_wish("point", "whole pot")) == ""
    assert unseen(site, cut) == "partly left of the frame, 50 % of it"
    told = unseen_words(site, [row], 0.95)
    assert (
        told[0]
        == "cut pot lies partly left of the frame, 50 % of it: turn, shift or step back to see it"
    )
    assert told[1].startswith("row lies partly left of the frame once it is focused, when the view")
    assert "5.0 % narrower" in told[1]
    assert unseen_words(site, [row], 1.0) == told[:1]

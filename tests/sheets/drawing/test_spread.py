"""Plates of words are spread so that none lies on another."""

import itertools

from hypothesis import given
from hypothesis import strategies as st

from render.sheets.drawing.spread import Placed, Plate, spread

PLACES = st.tuples(st.floats(0, 400), st.floats(0, 300))


def _apart(a: tuple[Plate, Placed], b: tuple[Plate, Placed]) -> bool:
    across = abs(a[1].x - b[1].x) - (a[0].width + b[0].width) / 2
    down = abs(a[1].y - b[1].y) - (a[0].height + b[0].height) / 2
    return max(across, down) > -1e-6


@given(spots=st.lists(PLACES, min_size=1, max_size=9))
def test_no_plate_lies_on_another_or_outside(spots: list[tuple[float, float]]) -> None:
    """Nine numbers on one spot or anywhere: each keeps its own place inside the drawing."""
    plates = [Plate(spot, 14.0, 15.0, 6.0) for spot in spots]
    placed = spread(plates, 400, 300)

    for a, b in itertools.combinations(list(zip(plates, placed, strict=True)), 2):
        assert _apart(a, b)
    for place in placed:
        assert 7 <= place.x <= 393
        assert 7.5 <= place.y <= 292.5


def test_a_lone_plate_stays_beside_its_spot_and_needs_no_line() -> None:
    """Above and to the right, as near as it was told to stay clear."""
    (place,) = spread([Plate((200, 150), 14.0, 15.0, 6.0)], 400, 300)

    assert place.x > 200
    assert place.y < 150
    assert not place.led


def test_plates_that_crowd_are_led_away() -> None:
    """Where long words of one spot do not all fit beside it, a line leads to some."""
    placed = spread([Plate((200, 150), 120.0, 15.0, 6.0)] * 6, 400, 300)

    assert any(place.led for place in placed)


def test_a_drawing_too_small_for_all_still_places_all() -> None:
    """What cannot be clear hides as little as it can, inside."""
    placed = spread([Plate((10, 10), 18.0, 15.0, 4.0)] * 5, 20, 20)

    assert len(placed) == 5
    assert all(place.x == 10.0 or 9 <= place.x <= 11 for place in placed)

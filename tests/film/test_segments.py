"""Segments of a film."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.film.segments import cut, time_words


@given(st.integers(1, 500), st.integers(1, 60))
def test_segments_cover_every_frame_once(frames: int, length: int) -> None:
    """In order, none longer than the length."""
    found = cut(frames, length)

    assert [k for each in found for k in range(each.start, each.stop)] == list(range(frames))
    assert [each.number for each in found] == list(range(len(found)))
    assert all(each.stop - each.start <= length for each in found)


@pytest.mark.parametrize(
    ("seconds", "words"), [(40, "40 s"), (720, "12 min"), (12000, "3 h 20 min")]
)
def test_times_are_said_as_people_do(seconds: float, words: str) -> None:
    """Seconds, minutes, hours."""
    assert time_words(seconds) == words

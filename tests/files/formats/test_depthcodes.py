"""Coding depth in 16 bits, and saying so in the file."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import InputError, OutputError
from render.files.formats.depthcodes import Coding, coding_for, read_note, whole_codes


@given(st.floats(0.3, 20000), st.sampled_from(["metres", "inverse", "ray"]))
def test_codes_are_within_half_a_step(farthest: float, kind: str) -> None:
    """Every value comes back within half a step; sky and holes come back exactly."""
    values = np.array([[farthest, farthest / 7, farthest / 2, np.nan, np.inf]], np.float32)
    if kind == "inverse":
        values[0, 4] = 0
    coding = coding_for(values, kind, None)
    again = coding.values(whole_codes(values, coding))

    np.testing.assert_allclose(again[0, :3], values[0, :3], atol=coding.scale * 0.51)
    assert np.isnan(again[0, 3])
    assert again[0, 4] == values[0, 4]


def test_steps_of_metres_are_round_numbers() -> None:
    """212 m fit in steps of 5 mm, 700 m in steps of 2 cm: numbers that people can read."""
    assert coding_for(np.array([[212.0]]), "metres", None).scale == 0.005
    assert coding_for(np.array([[700.0]]), "metres", None).scale == 0.02
    assert coding_for(np.array([[60.0]]), "millimetres", None).scale == 1.0


def test_what_does_not_fit_is_refused() -> None:
    """Millimetres reach 65 m in 16 bits; beyond that another form is named."""
    with pytest.raises(OutputError, match="float TIFF"):
        coding_for(np.array([[212000.0]]), "millimetres", None)


def test_the_note_is_read_back() -> None:
    """What a file says of itself is what was written, and other text is not ours."""
    coding = Coding("disparity", 0.25, 0, 65535, 0.2)

    assert read_note(coding.note) == coding
    for other in (None, "", "a caption", "{not json", '{"a": 1}', "[1]"):
        assert read_note(other) is None


@pytest.mark.parametrize(
    "note", ['{"depth": "x", "kind": "feet"}', '{"depth": 1, "kind": "metres", "scale": 0}']
)
def test_damaged_notes_are_refused(note: str) -> None:
    """A note with an unknown kind or a scale of 0 isn't believed."""
    with pytest.raises(InputError):
        read_note(note)


def test_what_is_nearer_than_a_step_is_not_lost() -> None:
    """A value that would round to the code of "not known" is kept at the nearest step."""
    values = np.array([[0.001, 100.0]], np.float32)
    coding = coding_for(values, "metres", None)

    assert coding.values(whole_codes(values, coding))[0, 0] == np.float32(coding.scale)

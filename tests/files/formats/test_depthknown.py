"""What a depth file tells of how its depth was known."""

import numpy as np
import pytest

from render.depth.depthmap import Unsaid
from render.depth.ground import Slope
from render.errors import InputError
from render.files.formats.depthknown import Known, known_of, written_known
from render.optics.camera import Camera, Vantage

NUMBERS = np.arange(1, 13, dtype=np.float32).reshape(3, 4)
KNOWN = Known(
    Unsaid(near=True, named_share=0.0),
    Vantage(12.0, 30.0, 1.0, Slope(4.0, 90.0)),
    Camera(4, 3, 5.0),
    NUMBERS > 7,
)


def test_what_is_known_comes_back_with_its_own_numbers_only() -> None:
    """All fields come back, in any byte order; other numbers or another shape have no record."""
    said = written_known(KNOWN, NUMBERS)

    found = known_of(said, NUMBERS.astype(">f4"))

    assert found is not None
    assert (found.unsaid, found.vantage, found.camera) == (
        KNOWN.unsaid,
        KNOWN.vantage,
        KNOWN.camera,
    )
    np.testing.assert_array_equal(found.named, KNOWN.named)
    assert known_of(said, NUMBERS + 1) is None
    assert known_of(said, NUMBERS.reshape(4, 3)) is None
    assert found.vantage_for(Camera(4, 3, 6.0)) is None


@pytest.mark.parametrize(
    "harm", [{"named": "!"}, {"vantage": {"height_m": 2}}, {"camera": 3}, {"unsaid": None}]
)
def test_a_damaged_record_is_refused(harm: dict[str, object]) -> None:
    """What is ours and cannot be read is said in a sentence."""
    with pytest.raises(InputError, match="damaged"):
        known_of(written_known(KNOWN, NUMBERS) | harm, NUMBERS)

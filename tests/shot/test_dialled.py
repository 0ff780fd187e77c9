"""A dialled focus is written and read with the lens that it was dialled on."""

from render.shot.dialled import ExtensionOf, extension_words
from render.shot.shot import Shot, merged


def test_a_ring_is_that_of_the_lens_it_was_set_on() -> None:
    """Through another lens it is noted with the one before, and as such written back."""
    solved = merged(Shot(), {"lens": "45", "focus": "extension 45.1 mm"}, "")
    other = merged(solved, {"lens": "90"}, "")

    assert other.lens.focus == ExtensionOf(45.1, 45)
    assert dict(other.written)["focus"] == "extension 45.100000 mm of 45 mm"
    unnamed = merged(merged(Shot(), {"focus": "extension 45.1 mm"}, ""), {"lens": "90"}, "")
    assert "is kept for another lens: give --focus" in unnamed.ring
    assert merged(Shot(), {"focus": extension_words(45.1, 44.65)}, "").lens.focus == ExtensionOf(
        45.1, 44.65
    )

"""Lengths that came without a unit."""

from render.shot.bare import bare_words
from render.shot.shot import Shot, merged
from render.units import told_in


def test_of_all_lengths_those_without_a_unit_are_named_where_feet_are_told() -> None:
    """In one note, as they were typed; other numbers are none, and in metres nobody needs it."""
    given = {"height": "12", "mark": ("50%,90% 30 map", "9%,9% 8 ft"), "focus": "40 ft", "f": "4"}
    shot = merged(Shot(picture="a.png"), given, "{name}")
    with told_in("feet"):
        (said,) = bare_words(shot)

    typed = '--height 12, --mark "50%,90% 30 map"'
    assert said.startswith(f"read as metres, since no unit was typed: {typed}; feet are")
    assert not bare_words(shot)

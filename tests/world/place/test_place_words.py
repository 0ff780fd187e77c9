"""How the heights of a place's buildings are counted out."""

from render.units import told_in
from render.world.place.buildings.footprints import Counts
from render.world.place.place_words import counts_words


def test_guesses_are_told_with_their_range_in_the_readers_units() -> None:
    """One height, a range of them, and none; the unit is said once where both share it."""
    some = Counts(1, 2, 3, (2.8, 8.0), 0, 0, 0)

    assert counts_words(some) == (
        "6 buildings: 1 height given, 2 from storeys of 3 m, 3 guessed at 2.8 to 8 m"
    )
    with told_in("feet"):
        assert "3 guessed at 9.19 to 26.2 ft" in counts_words(some)
    assert counts_words(Counts(0, 0, 0, (0, 0), 0, 0, 0)) == "no buildings within reach"

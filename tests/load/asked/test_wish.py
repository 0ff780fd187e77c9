"""What should be sharp, as it is written."""

import pytest

from render.errors import HingelineError
from render.load.asked.wish import parse_wish


def test_a_wish_has_the_name_it_was_given_or_its_own_words() -> None:
    """In metres a decimal comma is one, between places it parts them."""
    pond = parse_wish("point", "pond=8 m, 0,5 m, left 1,25 m")

    assert (pond.name, pond.text) == ("pond", "8 m, 0.5 m, left 1.25 m")
    assert parse_wish("row", "40,30 to 60,45").name == "row 40,30 to 60,45"


def test_an_empty_wish_is_refused() -> None:
    """A name without a place is answered with how places are written."""
    with pytest.raises(HingelineError, match="write"):
        parse_wish("point", "door=")

"""Heights of buildings from tags, and guesses by the stated rule."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.world.place.heights import parse_length_m, parse_levels, standing_of

_NUMBERS = st.integers(1, 8000).map(lambda n: n / 10)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("12", 12.0),
        ("12 m", 12.0),
        ("12.5m", 12.5),
        ("12,5 m", 12.5),
        ("40'", 12.192),
        ("40 ft", 12.192),
        ("12'6\"", 3.81),
        ("12 ft 6 in", 3.81),
        ("250 cm", 2.5),
        ("0.3 km", 300.0),
        ("about 12", None),
        ("-3", None),
        ("12 m;14 m", None),
        ("", None),
        ("nan", None),
    ],
)
def test_lengths_in_their_own_units(text: str, metres: float | None) -> None:
    """The international foot is 0.3048 m (1959 agreement); what is no length is None."""
    assert parse_length_m(text) == (None if metres is None else pytest.approx(metres))


@given(_NUMBERS, st.sampled_from(["", " m", "m", " metres"]))
def test_metres_are_read_as_written(value: float, unit: str) -> None:
    """Any number, with or without its unit."""
    assert parse_length_m(f"{value:g}{unit}") == pytest.approx(value)


@given(st.integers(0, 900), st.integers(0, 11))
def test_feet_and_inches(feet: int, inches: int) -> None:
    """Twelve inches make a foot."""
    assert parse_length_m(f"{feet}'{inches}\"") == pytest.approx((feet + inches / 12) * 0.3048)


@given(st.text(max_size=12))
def test_no_text_is_too_odd(text: str) -> None:
    """Whatever a tag holds, the answer is a length from 0, or None."""
    for found in (parse_length_m(text), parse_levels(text)):
        assert found is None or (math.isfinite(found) and found >= 0)


def test_storeys_of_a_list() -> None:
    """The most of "3;5", halves too."""
    assert parse_levels("3;5") == 5
    assert parse_levels("2.5") == 2.5
    assert parse_levels("two") is None


def test_the_given_height_is_the_top_with_the_roof() -> None:
    """`height` 12 with a roof of 4 leaves walls of 8 m."""
    tags = {"building": "yes", "height": "12", "roof:shape": "gabled", "roof:height": "4"}

    s = standing_of(tags, 100, 4, 1)

    assert (s.low_m, s.eaves_m, s.top_m, s.how, s.roof) == (0, 8, 12, "given", "gabled")


def test_storeys_leave_the_roof_out() -> None:
    """Three storeys are walls of 9 m; one of the roof is 3 m more."""
    tags = {"building": "house", "building:levels": "3", "roof:shape": "hipped", "roof:levels": "1"}

    s = standing_of(tags, 100, 4, 1)

    assert (s.eaves_m, s.top_m, s.how) == (9, 12, "storeys")


def test_parts_may_begin_above_the_ground() -> None:
    """`min_height` and `building:min_level` leave room below."""
    by_metres = standing_of({"building:part": "yes", "height": "30", "min_height": "12"}, 50, 3, 1)
    by_levels = standing_of(
        {"building:part": "yes", "building:levels": "8", "building:min_level": "2"}, 50, 3, 1
    )

    assert (by_metres.low_m, by_metres.top_m) == (12, 30)
    assert (by_levels.low_m, by_levels.top_m) == (6, 24)


@pytest.mark.parametrize(
    ("use", "area", "top"), [("garage", 20, 2.8), ("apartments", 400, 13.0), ("yes", 900, 10.0)]
)
def test_guesses_go_by_use_then_by_footprint(use: str, area: float, top: float) -> None:
    """A height that nothing says is the table's."""
    s = standing_of({"building": use}, area, 8, 0.9)

    assert (s.top_m, s.how) == (top, "guessed")


def test_a_small_house_without_a_word_gets_a_gable_and_a_block_none() -> None:
    """The guessed roof is said to be one; blocks and odd outlines stay flat."""
    house = standing_of({"building": "house"}, 110, 4.5, 0.95)
    block = standing_of({"building": "apartments", "building:levels": "6"}, 600, 8, 0.95)
    odd = standing_of({"building": "house"}, 110, 4.5, 0.5)

    assert (house.roof, house.roof_guessed) == ("gabled", True)
    assert (block.roof, odd.roof) == ("flat", "flat")


@pytest.mark.parametrize(
    ("shape", "drawn"),
    [("dome", "pyramidal"), ("gambrel", "gabled"), ("mansard", "hipped"), ("butterfly", "flat")],
)
def test_shapes_that_are_not_drawn_fall_back(shape: str, drawn: str) -> None:
    """Each to its nearest, or flat."""
    assert standing_of({"building": "yes", "roof:shape": shape}, 100, 4, 1).roof == drawn


@pytest.mark.parametrize("height", ["4000", "0", "many", "1e9"])
def test_heights_that_cannot_be_are_passed_over(height: str) -> None:
    """Storeys take over, and the slip is counted."""
    s = standing_of({"building": "yes", "height": height, "building:levels": "4"}, 400, 9, 0.9)

    assert (s.top_m, s.how, s.refused) == (12, "storeys", True)


def test_a_carport_is_a_roof_with_air_below() -> None:
    """`building=roof` is open at the foot."""
    s = standing_of({"building": "roof", "height": "4"}, 60, 3, 1)

    assert s.top_m == 4
    assert 2 < s.low_m < s.eaves_m <= 4


@given(
    st.sampled_from(["yes", "house", "roof", "church", "garage"]),
    st.sampled_from(["flat", "gabled", "hipped", "pyramidal", "skillion", "onion", ""]),
    st.floats(1, 5000),
    st.floats(0.5, 40),
    st.floats(0.3, 1),
    st.dictionaries(
        st.sampled_from(["height", "min_height", "roof:height", "building:levels", "roof:angle"]),
        st.sampled_from(["0", "1", "3", "12", "40'", "300", "x", "2.5", "90"]),
    ),
)
def test_walls_never_stand_on_their_heads(
    use: str, shape: str, area: float, half: float, filled: float, more: dict[str, str]
) -> None:
    """Whatever the tags: underside below eaves, eaves not above the top, all finite."""
    tags = {"building": use, **({"roof:shape": shape} if shape else {}), **more}

    s = standing_of(tags, area, half, filled)

    assert 0 <= s.low_m < s.eaves_m <= s.top_m < 2000

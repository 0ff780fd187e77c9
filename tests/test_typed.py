"""What people type, in words and units, as numbers."""

import doctest
from types import ModuleType

import pytest

import render.decimals
import render.typed
import render.units
import render.words
from render.errors import SettingError
from render.typed import (
    length_m,
    parse_direction,
    parse_duration_s,
    parse_f_number,
    parse_height_m,
    parse_millimetres,
    parse_pitch,
    parse_place,
    parse_seconds,
    parse_size_mm,
)
from render.units import told_in
from tests.lengths import LENGTHS_M, NO_LENGTHS


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        ("tilt", "up 8", -8),
        ("tilt", "8 down", 8),
        ("tilt", "lens up 8°", -8),
        ("tilt", "0", 0),
        ("swing", "left 2.5°", -2.5),
        ("swing", "right3", 3),
        ("tilt", "down 3° 30'", 3.5),
        ("swing", "right 1 deg 15 min", 1.25),
        ("tilt", "8°30′36″ up", -8.51),
        ("rise", "up 6 mm", 6),
        ("rise", "fall 6", -6),
        ("lateral", "left 4", -4),
    ],
)
def test_directions_are_read_in_words(kind: str, text: str, value: float) -> None:
    """A movement is a word and a number, in either order, and carries the frame's sign."""
    assert parse_direction(kind, text) == value


@pytest.mark.parametrize(
    "text", ["8", "-8", "left 8", "up 3° 60'", "up down 8", "up", "", "up eight"]
)
def test_a_tilt_without_one_clear_direction_is_refused(text: str) -> None:
    """A number without its word would be a guess, so it is refused with the spelling wanted."""
    with pytest.raises(SettingError, match='write "down 3", "up 3" or "0"'):
        parse_direction("tilt", text)


@pytest.mark.parametrize("text", ["up 90", "down 95", "up 1000"])
def test_a_tilt_of_a_right_angle_or_more_is_refused(text: str) -> None:
    """No lens can be turned so far."""
    with pytest.raises(SettingError, match="less than 90°"):
        parse_direction("tilt", text)


@pytest.mark.parametrize(
    ("text", "value"), [("f/2.8", 2.8), ("F4", 4), ("5.6", 5.6), (".95", 0.95)]
)
def test_f_numbers_are_read(text: str, value: float) -> None:
    """The engraved and the plain form are read alike."""
    assert parse_f_number(text) == value


@pytest.mark.parametrize("text", ["0", "f/0", "-2", "wide", "nan"])
def test_impossible_f_numbers_are_refused(text: str) -> None:
    """An f-number is a number above 0."""
    with pytest.raises(SettingError, match="above 0"):
        parse_f_number(text)


def test_heights_places_sizes_and_pitches_are_read_with_their_units() -> None:
    """Units may be written or left out; storeys are 3 m (common practice, no source)."""
    assert parse_height_m("12") == 12.0
    for text, metres in LENGTHS_M.items():
        assert parse_height_m(text) == length_m(text) == pytest.approx(metres)
    assert parse_place("31%") == (0.31, True)
    assert parse_place("-8 %") == (-0.08, True)
    assert parse_place("412 px") == (412.0, False)
    assert parse_size_mm("36 x 24 mm") == (36.0, 24.0)
    assert [parse_pitch(t) for t in ("12", "down 12° 30'", "up 3", "-3", "0")] == [
        12,
        12.5,
        -3,
        -3,
        0,
    ]


@pytest.mark.parametrize(
    ("read", "text"),
    [
        *((parse_height_m, text) for text in NO_LENGTHS),
        (parse_place, "middle"),
        (parse_size_mm, "36"),
        (parse_size_mm, "0x24"),
        (parse_pitch, "left 3"),
        (parse_pitch, "up -3"),
    ],
)
def test_unreadable_values_are_refused(read, text: str) -> None:  # type: ignore[no-untyped-def]
    """Every reader refuses what it does not understand, naming the text."""
    with pytest.raises(SettingError, match="write"):
        read(text)


def test_what_is_asked_for_comes_first_in_the_unit_that_is_told() -> None:
    """Whoever is told lengths in feet is not asked for metres."""
    for text in ("banana", "0"):
        with told_in("feet"), pytest.raises(SettingError, match="write feet"):
            parse_height_m(text)


def test_a_shift_is_called_as_its_option() -> None:
    """Nobody knows the inner name of sideways shift."""
    with pytest.raises(SettingError, match='shift "4" needs one direction'):
        parse_direction("lateral", "4")


@pytest.mark.parametrize(
    ("read", "text", "said"),
    [
        (parse_height_m, "-3", "must be above 0: write metres"),
        (parse_height_m, "0 m", "must be above 0: write metres"),
        (parse_height_m, "10 mm", "is a length on lens or sensor: write metres"),
        (parse_height_m, "12 stories tall", "is not a length: write metres.*4 storeys"),
        (parse_height_m, "1,500 m", r"1,500 may be 1\.500 or 1500"),
        (parse_height_m, "1" * 400, "must be above 0"),
        (parse_pitch, "95", "less than 90° up or down"),
        (parse_pitch, "up 90", "less than 90° up or down"),
        (parse_millimetres, "-45", "must be above 0: write millimetres"),
        (parse_millimetres, "2 m", "is not a length in mm: write millimetres"),
    ],
)
def test_a_wrong_length_is_told_what_is_wrong(read, text: str, said: str) -> None:  # type: ignore[no-untyped-def]
    """Sign, unit and comma each have their own sentence."""
    with pytest.raises(SettingError, match=said):
        read(text)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        *(("4", 4.0), ("4 s", 4.0), ("250 ms", 0.25), ("1/50 s", 0.02), ("2 min", 120.0)),
        *(("0", 0.0), ("1 h 30 min", 5400.0), ("1h30", 5400.0), ("1:30 h", 5400.0)),
        *(("1:30:00", 5400.0), ("00:20", 20.0), ("1:30", 90.0), ("2m5.5s", 125.5)),
    ],
)
def test_times_are_read(text: str, seconds: float) -> None:
    """Seconds, parts of a second, minutes; several units, and clocks."""
    assert parse_seconds(text) == pytest.approx(seconds)


@pytest.mark.parametrize(
    "text", ["soon", "-2 s", "1/0 s", "3 days", "", "1:75", "5 m", "30 min 1 h", "4 4"]
)
def test_what_is_no_time_is_refused(text: str) -> None:
    """With an example."""
    with pytest.raises(SettingError, match="write seconds"):
        parse_seconds(text)


def test_film_has_its_own_sizes_and_a_bare_one_is_asked_about() -> None:
    """Sheets in inches and roll film in cm by name; 4x5 alone could be either and is refused."""
    assert parse_size_mm("4x5 in") == parse_size_mm('5 x 4"') == (127.0, 101.6)
    assert parse_size_mm("6x7 cm") == (69.5, 56.0)
    assert parse_size_mm("4x5 mm") == (4.0, 5.0)
    assert parse_size_mm("3x2 in") == pytest.approx((76.2, 50.8))
    with pytest.raises(SettingError, match=r'write "8x10 in" for film of 254 x 203\.2'):
        parse_size_mm("8x10")


def test_time_spans_are_read_in_seconds_minutes_and_hours() -> None:
    """Whoever has "10 min" has 600 s; nothing and no time at all are refused."""
    assert [parse_duration_s(t) for t in ("2", "90 s", "10 min", "1.5 h")] == [2, 90, 600, 5400]
    for text in ("", "0", "-1", "soon"):
        with pytest.raises(SettingError, match=r"no time span|is not a time"):
            parse_duration_s(text)


@pytest.mark.parametrize("module", [render.decimals, render.typed, render.units, render.words])
def test_examples_hold(module: ModuleType) -> None:
    """The examples in the docstrings of all that reads and writes numbers hold."""
    tried = doctest.testmod(module)
    assert tried.failed == 0
    assert tried.attempted > 0

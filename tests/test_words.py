"""Numbers as people read and write them."""

import math
import shlex

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.typed import (
    parse_direction,
)
from render.words import (
    blur_words,
    lateral_words,
    marked_f_number,
    percent,
    rise_words,
    scale_words,
    shell_word,
    spell_f_number,
    swing_words,
    tilt_words,
)


@given(st.integers(1, 2000).map(lambda n: n / 100))
def test_words_read_back_as_the_same_number(amount: float) -> None:
    """What is said can be given back as an option."""
    assert parse_direction("tilt", tilt_words(-amount)) == -amount
    assert parse_direction("swing", swing_words(amount)) == amount
    assert parse_direction("rise", rise_words(-amount)) == -amount
    assert parse_direction("lateral", lateral_words(amount)) == amount


def test_f_numbers_carry_their_engraved_names() -> None:
    """The exact third stops are spelled as lenses are engraved (ISO 517 series, from memory)."""
    exact = [2 ** (k / 6) for k in (6, 7, 8, 9, 15, 21, 24)]

    spelled = [spell_f_number(n) for n in exact]

    assert spelled == ["f/2", "f/2.2", "f/2.5", "f/2.8", "f/5.6", "f/11", "f/16"]


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (134.99, "1:130"),
        (135.01, "1:140"),
        (99.6, "1:100"),
        (9.96, "1:10"),
        (9.94, "1:9.9"),
        (1.0, "1:1.0"),
        (0.42, "1:0.42"),
        (1240, "1:1200"),
    ],
)
def test_a_scale_is_said_with_two_digits(value: float, words: str) -> None:
    """A scale has two digits, also where rounding adds one."""
    assert scale_words(value) == words


@given(f_number=st.floats(1, 64))
def test_the_nearest_engraved_stop_is_within_a_sixth(f_number: float) -> None:
    """The marked f-number, and the name engraved for it, are each at most a sixth of a stop off."""
    marked = marked_f_number(f_number)
    assert abs(2 * math.log2(marked / f_number)) < 1 / 6 + 1e-9
    named = float(spell_f_number(marked).removeprefix("f/"))
    assert abs(2 * math.log2(named / marked)) < 1 / 6


def test_blur_too_small_to_measure_is_none() -> None:
    """No number like 1.9e-09."""
    assert blur_words(1.9e-9) == "0 %"
    assert blur_words(0.1492) == "0.15 %"


def test_shares_never_come_in_powers_of_ten() -> None:
    """Two digits that mean something, whole per cents from ten on."""
    shares = (0.0, 0.00123, 0.0995, 0.0996, 0.123, 0.996, 1.0, 12.0)

    assert [percent(share) for share in shares] == [
        *("0 %", "0.12 %", "10 %", "10 %", "12 %", "100 %", "100 %", "1200 %"),
    ]


def test_a_word_of_a_command_line_is_read_alike_by_every_shell() -> None:
    """In double quotes, which cmd knows alone; only what they don't hold is quoted otherwise."""
    assert shell_word("extension") == "extension"
    assert shell_word("the row's first=15%,75%") == '"the row\'s first=15%,75%"'
    assert shell_word(r"C:\My pictures\roof.jpg") == r'"C:\My pictures\roof.jpg"'
    assert shell_word("") == '""'
    for strange in ('5" pot', "$HOME", "a`b"):
        assert shlex.split(shell_word(strange)) == [strange]

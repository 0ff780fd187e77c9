"""Lengths on site in metres or feet."""

import os

import pytest

from render.errors import SettingError
from render.typed import length_m
from render.units import UNITS_SETTING, parse_units, spoken_in, told_in, units_told
from render.words import length_words


@pytest.mark.parametrize("length", [0.01, 0.2, 0.91, 0.92, 3.0, 99.97, 1200.0, 1609.0, 1610.0, 9e4])
def test_what_is_told_in_feet_can_be_read_back(length: float) -> None:
    """To the three digits that are told; the international foot is 0.3048 m exactly (1959)."""
    with told_in("feet"):
        said = length_words(length)

    assert length_m(said) == pytest.approx(length, rel=0.006)
    assert said.split()[1] in ("in", "ft", "mi")


def test_units_hold_for_a_while_and_for_what_begins_meanwhile(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Processes that begin meanwhile hear of it; what the environment says already wins."""
    monkeypatch.delenv(UNITS_SETTING, raising=False)
    with spoken_in("feet"):
        assert (units_told(), os.environ[UNITS_SETTING]) == ("feet", "feet")
    with spoken_in(None):
        assert units_told() == "metres"
    monkeypatch.setenv(UNITS_SETTING, "metres")
    with spoken_in("feet"):
        assert units_told() == "metres"
        with told_in("feet"):
            assert units_told() == "feet"
    assert units_told() == "metres"


def test_other_units_are_refused() -> None:
    """In one sentence."""
    assert parse_units(" Feet") == "feet"
    with pytest.raises(SettingError, match='units "yards": write metres or feet'):
        parse_units("yards")

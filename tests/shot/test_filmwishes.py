"""What is asked of a film, in words."""

from fractions import Fraction

import pytest

from render.errors import SettingError
from render.shot.filmwishes import ShutterWish, read_rate, read_shutter


def test_rates_are_read_as_fractions() -> None:
    """23.976 and 29.97 are short for 24000/1001 and 30000/1001."""
    assert read_rate("25") == 25
    assert read_rate("24000/1001") == Fraction(24000, 1001)
    assert read_rate("23.976") == Fraction(24000, 1001)
    assert read_rate("29.97") == Fraction(30000, 1001)
    assert read_rate("12.5") == Fraction(25, 2)


def test_shutters_are_angles_or_times() -> None:
    """Degrees of the interval, or seconds of the source."""
    assert read_shutter("180°") == read_shutter("180 deg") == ShutterWish(angle_deg=180.0)
    assert read_shutter("1/2 s") == ShutterWish(seconds=0.5)


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (read_rate, "fast"),
        (read_rate, "0"),
        (read_rate, "25/0"),
        (read_shutter, "0°"),
        (read_shutter, "180"),
        (read_shutter, "0 s"),
    ],
)
def test_nonsense_is_refused(read: object, text: str) -> None:
    """One sentence with an example."""
    with pytest.raises(SettingError, match=r"write|lies|smaller|open|runs"):
        read(text)  # type: ignore[operator]

"""Words that only a real place understands."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.shot.placekeys import AboveRoof, read_height, read_latitude_longitude


@pytest.mark.parametrize(
    ("text", "height"),
    [
        ("roof", AboveRoof(1.6)),
        ("on the roof", AboveRoof(1.6)),
        ("roof + 2.5 m", AboveRoof(2.5)),
        ("roof plus 1 storey", AboveRoof(3.0)),
        ("4 storeys", 12.0),
        ("12", 12.0),
    ],
)
def test_heights_from_the_ground_or_from_the_roof(text: str, height: float | AboveRoof) -> None:
    """Standing on a roof is 1.6 m unless more is said."""
    assert read_height(text) == height


@pytest.mark.parametrize("text", ["roof 3", "roof - 2 m", "roof + tall", "attic", ""])
def test_heights_that_are_none(text: str) -> None:
    """One sentence each."""
    with pytest.raises(SettingError):
        read_height(text)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("52.1,8.5", (52.1, 8.5)),
        ("52.1, -8.5", (52.1, -8.5)),
        ("52.1 N, 8.5 W", (52.1, -8.5)),
        ("33.9 S 151.2 E", (-33.9, 151.2)),
        ("8.5 E, 52.1 N", (52.1, 8.5)),
        ("52.1°N; 8.5°E", (52.1, 8.5)),
    ],
)
def test_latitude_comes_first_unless_letters_say_otherwise(
    text: str, place: tuple[float, float]
) -> None:
    """Decimal degrees, with or without the four directions."""
    assert read_latitude_longitude(text) == pytest.approx(place)


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_every_place_on_earth_can_be_written(latitude: float, longitude: float) -> None:
    """Signed, to six decimals."""
    found = read_latitude_longitude(f"{latitude:.6f}, {longitude:.6f}")

    assert found == pytest.approx((latitude, longitude), abs=1e-6)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("52.1", "latitude and longitude"),
        ("here, there", "latitude and longitude"),
        ("151.2, -33.9", "other way round"),
        ("95, 200", "a latitude is -90 to 90"),
        ("52 N, 8 N", "no latitude and longitude"),
    ],
)
def test_places_that_are_none(text: str, says: str) -> None:
    """One sentence, with a hint where the numbers are swapped."""
    with pytest.raises(SettingError, match=says):
        read_latitude_longitude(text)

"""The colour scale of blur is even, honest in grey, and doubles in equal steps."""

import numpy as np
import pytest

from render.sheets.drawing.colourmap import HIGHEST, LOWEST, blur_colours, scale_place


def test_each_doubling_is_one_equal_step() -> None:
    """1c, 2c, 4c ... lie evenly on the scale, its ends at 0 and 1."""
    places = scale_place([0.5, 1, 2, 4, 8, 16, 32])

    np.testing.assert_allclose(np.diff(places), 1 / 6)
    assert (scale_place(LOWEST), scale_place(HIGHEST)) == (0, 1)


def test_more_blur_is_always_lighter() -> None:
    """On one grey, lightness rises with blur: the map survives a grey print."""
    multiples = np.geomspace(LOWEST, HIGHEST, 60)
    rgb = blur_colours(multiples, np.full(60, 110.0)) / 255.0
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    luminance = linear @ (0.2126, 0.7152, 0.0722)

    assert np.all(np.diff(luminance) >= 0)
    assert luminance[-1] > 10 * luminance[0]


@pytest.mark.parametrize(
    ("place", "published"), [(0, (0, 34, 78)), (127, (124, 123, 120)), (255, (254, 232, 56))]
)
def test_colours_are_those_published(place: int, published: tuple[int, int, int]) -> None:
    """Ends and middle of the table are those of Nunez, Anderton and Renslow's supplement."""
    multiple = LOWEST * (HIGHEST / LOWEST) ** (place / 255)
    shown = blur_colours(multiple, 0.0) / 0.74

    np.testing.assert_allclose(shown, published, atol=3)

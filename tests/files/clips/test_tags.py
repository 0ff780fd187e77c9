"""What colour tags say, by the standards that number them."""

from dataclasses import replace

import numpy as np
import pytest

from render.errors import InputError
from render.files.clips.tags import (
    ColourTags,
    as_written,
    clip_encoding,
    matrix_weights,
    settled,
)
from render.scene.colour import ADOBE_RGB, DISPLAY_P3, SRGB


@pytest.mark.parametrize(
    ("transfer", "coded", "light"),
    [
        (1, 0.5, 0.25959),  # BT.709-6, 1.2: ((0.5 + 0.099) / 1.099)^(1/0.45)
        (1, 0.045, 0.01),  # its straight part, 4.5 L
        (8, 0.5, 0.5),
        (13, 0.5, 0.2140),  # IEC 61966-2-1
        (16, 0.508078421517399, 0.01),  # ST 2084: 100 cd/m2
        (18, 0.75, 0.26496256042100724),  # BT.2100-2 table 5: reference white of BT.2408
        (4, 0.5, 0.5**2.2),
    ],
)
def test_curves_are_those_of_their_standards(transfer: int, coded: float, light: float) -> None:
    """A tag's curve takes a code to the light that its standard states, and back."""
    curve = clip_encoding(ColourTags(1, transfer, 1, False)).curves[0]

    assert float(curve.decode(coded)) == pytest.approx(light, rel=2e-4)
    assert float(curve.encode(light)) == pytest.approx(coded, abs=2e-4)


@pytest.mark.parametrize("tags", [(1, 1), (5, 5), (6, 6), (9, 9)])
def test_luma_weights_follow_from_the_primaries(tags: tuple[int, int]) -> None:
    """The weights of BT.709 and BT.2020 are the luminance of their primaries, in four digits."""
    primaries, matrix = tags
    kr, kb = matrix_weights(ColourTags(primaries, 1, matrix, False))
    told = {1: (0.2126, 0.0722), 5: (0.299, 0.114), 6: (0.299, 0.114), 9: (0.2627, 0.0593)}

    assert (kr, kb) == told[matrix]
    if matrix in (1, 9):  # BT.601's come from other primaries, of 1953
        from render.scene.colour import primaries_to_xyz

        xy = {1: ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))}
        xy[9] = ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046))
        luminance = primaries_to_xyz(*xy[matrix], (0.3127, 0.3290))[1]
        np.testing.assert_allclose((luminance[0], luminance[2]), (kr, kb), atol=6e-5)


def test_what_a_clip_does_not_say_follows_its_size_and_is_told() -> None:
    """High definition is BT.709, less is BT.601; a clip that says all is told nothing."""
    unsaid = ColourTags(2, 2, 2, False)

    assert settled(unsaid, 1080)[0] == ColourTags(1, 1, 1, False)
    assert settled(unsaid, 480)[0] == ColourTags(6, 1, 6, False)
    assert settled(unsaid, 576)[0] == ColourTags(5, 1, 5, False)
    assert "BT.709" in settled(unsaid, 1080)[1]
    assert settled(ColourTags(9, 16, 9, False), 1080)[1] == ""


@pytest.mark.parametrize("tags", [(3, 1, 1), (1, 9, 1), (1, 1, 10)])
def test_tags_that_are_not_understood_are_refused(tags: tuple[int, int, int]) -> None:
    """Unknown primaries, a logarithm, a constant-luminance matrix: one sentence each."""
    with pytest.raises(InputError):
        settled(ColourTags(*tags, False), 1080)


def test_stills_keep_their_code_values_in_a_clip() -> None:
    """SRGB and Display P3 are tagged as such; other primaries are converted, and that is said."""
    assert as_written(SRGB)[0] == ColourTags(1, 13, 1, False)
    assert as_written(DISPLAY_P3)[0].primaries == 12
    assert as_written(SRGB)[2] == ""
    assert "Adobe RGB" in as_written(ADOBE_RGB)[2]


def test_a_profile_whose_maker_rounded_otherwise_is_the_same_colour_space() -> None:
    """The most common sRGB profile is 0.0002 off in XYZ: nothing is converted, nothing told."""
    rounded = tuple(tuple(value + 2e-4 for value in row) for row in SRGB.to_xyz)

    assert as_written(replace(SRGB, name="by another maker", to_xyz=rounded))[1:] == (SRGB, "")

"""Tone curves and primaries against the standards that define them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import InputError
from render.scene.colour import (
    ADOBE_RGB,
    DISPLAY_P3,
    LINEAR_SRGB,
    PROPHOTO,
    SRGB,
    SRGB_CURVE,
    Encoding,
    ParametricCurve,
    TableCurve,
    primaries_to_xyz,
    srgb_to_linear,
)

ENCODINGS = [SRGB, ADOBE_RGB, DISPLAY_P3, PROPHOTO, LINEAR_SRGB]


def test_srgb_curve_is_that_of_the_standard() -> None:
    """IEC 61966-2-1: straight up to 0.04045, then ((x + 0.055) / 1.055) ** 2.4."""
    coded = np.array([0.0, 0.02, 0.04045, 0.0405, 0.2, 0.5, 0.735356983052449, 1.0])
    wanted = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)

    # The standard's two parts miss each other by 2.4e-9 where they meet.
    np.testing.assert_allclose(srgb_to_linear(coded), wanted, atol=3e-9)
    assert srgb_to_linear(0.5) == pytest.approx(0.2140411, abs=1e-7)
    assert float(SRGB_CURVE.encode(0.0031308)) == pytest.approx(0.04045, abs=1e-5)


def test_srgb_matrix_is_that_of_the_standard() -> None:
    """IEC 61966-2-1 gives linear sRGB to XYZ (D65) to four decimals."""
    matrix = primaries_to_xyz((0.64, 0.33), (0.30, 0.60), (0.15, 0.06), (0.3127, 0.3290))
    wanted = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]

    np.testing.assert_allclose(matrix, wanted, atol=6e-5)


def test_display_p3_matrix_is_that_of_its_profiles() -> None:
    """The D50 columns found in the Display P3 profile of phone pictures (rXYZ, gXYZ, bXYZ)."""
    wanted = [
        [0.51512, 0.29198, 0.15710],
        [0.24120, 0.69225, 0.06657],
        [-0.00105, 0.04189, 0.78407],
    ]

    np.testing.assert_allclose(DISPLAY_P3.to_xyz, wanted, atol=2e-5)


def test_prophoto_matrix_and_knee_are_those_of_the_standard() -> None:
    """ISO 22028-2 (ROMM RGB): matrix to D50 XYZ, straight below 1/512."""
    wanted = [[0.7977, 0.1352, 0.0313], [0.2880, 0.7119, 0.0001], [0.0, 0.0, 0.8249]]

    np.testing.assert_allclose(PROPHOTO.to_xyz, wanted, atol=6e-5)
    assert float(PROPHOTO.curves[0].encode(1 / 512)) == pytest.approx(16 / 512, rel=1e-6)


@pytest.mark.parametrize("encoding", ENCODINGS, ids=lambda e: e.name)
def test_white_is_the_white_of_profiles(encoding: Encoding) -> None:
    """Equal red, green and blue make D50, whatever white the primaries were given with."""
    np.testing.assert_allclose(np.sum(encoding.to_xyz, axis=1), [0.9642, 1.0, 0.8249], atol=3e-4)


def test_wide_colours_land_where_a_colour_engine_puts_them() -> None:
    """Display P3 (200, 100, 50) is sRGB (214.89, 92.59, 30.70) by littleCMS 2, 16-bit route."""
    light = DISPLAY_P3.light(np.array([[[200, 100, 50]]], np.uint8))
    srgb = SRGB_CURVE.encode(light @ DISPLAY_P3.matrix_to(SRGB).T) * 255

    # The profiles that littleCMS was given hold the primaries to 1/65536.
    np.testing.assert_allclose(srgb[0, 0], [214.89, 92.59, 30.70], atol=0.3)


@pytest.mark.parametrize("encoding", ENCODINGS, ids=lambda e: e.name)
@pytest.mark.parametrize("bits", [8, 16])
def test_every_code_value_comes_back(encoding: Encoding, bits: int) -> None:
    """Code value to float32 light and back changes none of the 256 or 65,536 values."""
    dtype = np.uint8 if bits == 8 else np.uint16
    codes = np.arange(1 << bits, dtype=dtype).reshape(-1, 16, 1).repeat(3, axis=2)

    np.testing.assert_array_equal(encoding.codes(encoding.light(codes), bits), codes)


@given(st.floats(0, 1), st.sampled_from([8, 16]), st.sampled_from(ENCODINGS[:4]))
def test_coding_by_table_is_coding_by_formula(light: float, bits: int, encoding: Encoding) -> None:
    """The table of float patterns gives the nearest code value, to a quarter of a step."""
    exact = float(encoding.curves[0].encode(np.float32(light))) * ((1 << bits) - 1)
    found = encoding.codes(np.full((1, 1, 3), light, np.float32), bits)[0, 0, 0]

    assert abs(int(found) - exact) < 0.8


def test_light_outside_the_range_is_clipped() -> None:
    """Light below 0 is black and light above 1 is white; float keeps both."""
    light = np.array([[[-1.0, 0.5, 7.0]]], np.float32)

    assert SRGB.codes(light, 8).tolist() == [[[0, 188, 255]]]
    np.testing.assert_allclose(LINEAR_SRGB.light(light), light)


def test_channels_may_have_curves_of_their_own() -> None:
    """Three different curves are applied to their own channels."""
    curves = (ParametricCurve(1.0), ParametricCurve(2.0), ParametricCurve(3.0))
    encoding = Encoding("odd", curves, SRGB.to_xyz)
    codes = np.full((3, 2, 3), 51, np.uint8)

    light = encoding.light(codes)
    np.testing.assert_allclose(light[1, 1], [0.2, 0.04, 0.008], rtol=1e-6)
    np.testing.assert_array_equal(encoding.codes(light, 8), codes)


def test_sampled_curves_with_a_flat_start_can_be_turned_round() -> None:
    """A 1024-sample gamma 2.2 stored in 16 bits starts with equal samples; all codes come back."""
    samples = np.rint(np.linspace(0, 1, 1024) ** 2.2 * 65535) / 65535
    assert samples[1] == samples[0]
    encoding = Encoding("sampled", (TableCurve(tuple(samples.tolist())),) * 3, SRGB.to_xyz)
    codes = np.arange(65536, dtype=np.uint16).reshape(256, 256, 1).repeat(3, axis=2)

    back = encoding.codes(encoding.light(codes), 16).astype(int)
    assert np.abs(back - codes).max() <= 1


@pytest.mark.parametrize(
    "make",
    [
        lambda: TableCurve((0.0, 0.6, 0.5, 1.0)),
        lambda: TableCurve((0.5, 0.5)),
        lambda: TableCurve((0.0, float("nan"), 1.0)),
        lambda: ParametricCurve(0.0),
        lambda: ParametricCurve(float("nan")),
        lambda: primaries_to_xyz((0.3, 0.3), (0.3, 0.3), (0.3, 0.3), (0.3, 0.3)),
        lambda: primaries_to_xyz((0.64, 0.0), (0.3, 0.6), (0.15, 0.06), (0.31, 0.33)),
    ],
)
def test_curves_and_primaries_that_mean_nothing_are_refused(make: object) -> None:
    """A falling or flat curve, and primaries on one line, are refused in words."""
    with pytest.raises(InputError):
        make()  # type: ignore[operator]

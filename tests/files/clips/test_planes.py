"""Planes of code values to light and back, against slow twins and the equations of H.273."""

import numpy as np
import pytest

from render.files.clips.planes import decode_table, encode_table, from_light, to_light
from render.scene.colour import SRGB_CURVE

KR, KB = 0.2126, 0.0722
KG = 1 - KR - KB
IN = np.array(
    [16, 1 / 219, 128, 1 / 224, 2 * (1 - KR), -2 * (1 - KB) * KB / KG, -2 * (1 - KR) * KR / KG,
     2 * (1 - KB)], np.float32,
)  # fmt: skip
OUT = np.array([16, 219, 128, 224, 1, 254, KR, KB], np.float32)


def _light(y: np.ndarray, cb: np.ndarray, cr: np.ndarray, down: int, across: int) -> np.ndarray:
    out = np.empty((*y.shape, 3), np.float32)
    to_light(y, cb, cr, down, across, False, IN, decode_table(SRGB_CURVE), out)
    return out


def _full(c: np.ndarray, shape: tuple[int, int], down: int, across: int) -> np.ndarray:
    """Colour difference at every pixel: straight between samples on even columns, between rows."""
    rows, columns = c.shape
    at_row = (np.arange(shape[0]) + 0.5) / down - 0.5 if down == 2 else np.arange(shape[0])
    wide = np.array([np.interp(np.arange(shape[1]) / across, np.arange(columns), r) for r in c])
    return np.array([np.interp(at_row, np.arange(rows), col) for col in wide.T]).T


@pytest.mark.parametrize(("down", "across"), [(1, 1), (1, 2), (2, 2)])
def test_light_is_that_of_the_equations(down: int, across: int) -> None:
    """Equations 38 to 43 of H.273 turned round, with straight interpolation, pixel by pixel."""
    rng = np.random.default_rng(3)
    shape = (7, 9)
    y = rng.integers(60, 190, shape).astype(np.uint8)
    small = (-(-shape[0] // down), -(-shape[1] // across))
    cb, cr = (rng.integers(100, 156, small).astype(np.uint8) for _ in range(2))

    got = _light(y, cb, cr, down, across)

    luma = (y - 16.0) / 219
    b, r = ((_full(c, shape, down, across) - 128.0) / 224 for c in (cb, cr))
    red, blue = luma + 2 * (1 - KR) * r, luma + 2 * (1 - KB) * b
    green = (luma - KR * red - KB * blue) / KG
    want = SRGB_CURVE.decode(np.clip(np.stack([red, green, blue], -1), 0, None))
    np.testing.assert_allclose(got, want, atol=3e-4)  # the table's step is 1/16384 of R'G'B'


@pytest.mark.parametrize(("down", "across"), [(1, 1), (1, 2), (2, 2)])
def test_every_grey_code_comes_back(down: int, across: int) -> None:
    """Codes 1 to 254, below black and above white included, except what is darker than black."""
    y = np.tile(np.arange(1, 255, dtype=np.uint8), (2, 1))
    flat = np.full((2 // down, 254 // across), 128, np.uint8)
    light = _light(y, flat, flat, down, across)
    back, b, r = np.empty_like(y), np.empty_like(flat), np.empty_like(flat)
    table, first = encode_table(SRGB_CURVE)

    from_light(light.view(np.uint32), OUT, table, first, down, across, back, b, r)

    np.testing.assert_array_equal(back, np.maximum(y, 16))
    assert set(b.ravel()) == set(r.ravel()) == {128}


def test_light_above_white_is_kept() -> None:
    """Code 254 of luma is 109 % of white: highlights that a still would clip."""
    y = np.full((2, 2), 254, np.uint8)
    flat = np.full((2, 2), 128, np.uint8)

    assert _light(y, flat, flat, 1, 1)[0, 0, 0] == pytest.approx(SRGB_CURVE.decode(238 / 219), 1e-3)


def test_colour_difference_is_averaged_where_it_is_thinned() -> None:
    """Thinned samples are the mean of 1, 2, 1 columns round the even one, and of two rows."""
    rng = np.random.default_rng(5)
    light = rng.uniform(0, 1, (4, 8, 3)).astype(np.float32)
    table, first = encode_table(SRGB_CURVE)
    y, b, r = np.empty((4, 8), np.uint8), np.empty((2, 4), np.uint8), np.empty((2, 4), np.uint8)

    from_light(light.view(np.uint32), OUT, table, first, 2, 2, y, b, r)

    coded = SRGB_CURVE.encode(light)
    luma = coded @ [KR, KG, KB]
    for got, colour, k in ((b, 2, KB), (r, 0, KR)):
        full = (coded[..., colour] - luma) / (2 * (1 - k))
        left = np.concatenate([full[:, :1], full[:, 1:-1:2]], axis=1)
        mean = (left + 2 * full[:, ::2] + full[:, 1::2]) / 4
        want = 128 + 224 * (mean[::2] + mean[1::2]) / 2
        assert np.abs(got - want).max() <= 0.51

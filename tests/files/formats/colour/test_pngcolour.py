"""Colours of a PNG without a profile, by its own chunks."""

import struct

import numpy as np
import pytest

from render.errors import InputError
from render.files.formats.colour.pngcolour import encoding_of_png
from render.scene.colour import DISPLAY_P3, SRGB

_BT709 = struct.pack(">8I", 31270, 32900, 64000, 33000, 30000, 60000, 15000, 6000)


def test_without_chunks_nothing_is_stated() -> None:
    """No colour chunk, no encoding."""
    assert encoding_of_png(((b"tEXt", b"Title\0x"),)) is None


def test_the_newest_chunk_is_believed_first() -> None:
    """PNG, third edition, 4.3: cICP goes before sRGB, sRGB before gAMA and cHRM."""
    gamma = (b"gAMA", struct.pack(">I", 100000))
    srgb, p3 = (b"sRGB", b"\0"), (b"cICP", bytes([12, 13, 0, 1]))

    assert encoding_of_png((gamma, srgb)) == SRGB
    assert encoding_of_png((gamma, srgb, p3)) == DISPLAY_P3


def test_gamma_and_primaries() -> None:
    """A gAMA of 0.5 is a square law; cHRM of BT.709 gives the sRGB matrix."""
    encoding = encoding_of_png(((b"gAMA", struct.pack(">I", 50000)), (b"cHRM", _BT709)))

    assert encoding is not None
    assert float(encoding.curves[0].decode(0.5)) == pytest.approx(0.25)
    np.testing.assert_allclose(encoding.to_xyz, SRGB.to_xyz, atol=1e-6)


def test_the_power_that_stands_for_srgb_means_srgb() -> None:
    """A gAMA of 45455 with the primaries of sRGB is the sRGB curve (PNG 3rd edition, 11.3.2.5)."""
    encoding = encoding_of_png(((b"gAMA", struct.pack(">I", 45455)), (b"cHRM", _BT709)))

    assert encoding is not None
    assert encoding.curves == SRGB.curves
    assert encoding_of_png(((b"gAMA", struct.pack(">I", 45455)),)) is None


@pytest.mark.parametrize("transfer", [16, 18])
def test_hdr_pictures_are_refused(transfer: int) -> None:
    """PQ and HLG (ITU-T H.273 transfer 16 and 18) are not taken for sRGB."""
    with pytest.raises(InputError, match="HDR"):
        encoding_of_png(((b"cICP", bytes([9, transfer, 0, 1])),))

"""Tag directories, against what Pillow makes of them and against damage."""

import math
import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from render.errors import InputError
from render.files.formats.metadata.tags import Block, Entry, lay_directory


def test_pillow_reads_what_is_laid_out(camera_exif: bytes) -> None:
    """An independent reader finds the same values."""
    exif = Image.Exif()
    exif.load(camera_exif)

    assert exif[0x010E] == "roofs by the station"
    assert exif.get_ifd(0x8769)[0x920A] == pytest.approx(4.3)


def test_what_pillow_writes_is_read() -> None:
    """Numbers and text of a block made by another library come out, both levels."""
    exif = Image.Exif()
    exif[0x010F] = "Nobody"
    exif[0x8769] = {0xA405: 35}
    block = Block.over(exif.tobytes()[6:])
    inner = block.sub(block.first, 0x8769)

    assert block.first.entries[0x010F].text == "Nobody"
    assert inner is not None
    assert inner.entries[0xA405].numbers(block.order) == (35.0,)


def test_a_rational_over_zero_is_no_number() -> None:
    """0/0 and 1/0 are NaN, never an error."""
    entry = Entry(1, 5, 2, struct.pack("<4I", 0, 0, 1, 0))

    assert all(map(math.isnan, entry.numbers("<")))


@given(st.binary(max_size=200), st.sampled_from([b"II*\0", b"MM\0*"]))
def test_damage_never_raises(noise: bytes, mark: bytes) -> None:
    """Whatever follows the byte order mark, reading ends and entries stay inside the block."""
    data = mark + noise.ljust(4, b"\0")
    block = Block.over(data)

    for entry in block.first.entries.values():
        assert entry.value_at + len(entry.raw) <= len(data)
        entry.numbers(block.order)


def test_no_block_is_said_so() -> None:
    """Bytes without a byte order mark are refused."""
    with pytest.raises(InputError, match="no block of tags"):
        Block.over(b"what is this")


def test_directories_are_sorted_and_even() -> None:
    """TIFF 6.0: entries ascend by tag, and values begin at even places."""
    laid = lay_directory("<", 8, [Entry(9, 2, 7, b"odd len"), Entry(3, 2, 6, b"second")])
    block = Block.over(b"II*\0\x08\0\0\0" + laid)

    assert list(block.first.entries) == [3, 9]
    assert all(e.value_at % 2 == 0 for e in block.first.entries.values())


def test_values_outside_the_block_are_left_out() -> None:
    """An entry that points beyond the end is no entry; its neighbours are."""
    laid = lay_directory("<", 8, [Entry(3, 2, 6, b"second"), Entry(9, 3, 1, b"\7\0")])
    block = Block.over(b"II*\0\x08\0\0\0" + laid[:-3])

    assert list(block.first.entries) == [9]

"""What EXIF says about lens and sensor, and the block of the finished photograph."""

import math
import struct
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from render.files.formats.metadata.exif import (
    Taken,
    exif_encoding,
    exif_of_tiff,
    exposed_with,
    finished_exif,
    has_preview,
    orientation_of,
    taken_with,
)
from render.files.formats.metadata.tags import Block

DIAGONAL_MM = math.hypot(36, 24)


MakeExif = Callable[..., bytes]
TakenBy = Callable[..., Taken]


@pytest.fixture(name="taken_by")
def make_taken(make_exif: MakeExif) -> TakenBy:
    """What an EXIF block with these inner tags says of a picture of 3264 x 2448 px."""

    def taken(inner: dict[int, object], width: int = 3264, height: int = 2448) -> Taken:
        return taken_with(make_exif({}, inner), width, height)

    return taken


def test_35_mm_equivalent_goes_by_the_diagonal(taken_by: TakenBy) -> None:
    """A 4:3 picture of 3264 px at 35 mm equivalent has 3300 px (CIPA DC-008), not 3173."""
    taken = taken_by({0x920A: (43, 10), 0xA405: 35})

    assert taken.focal_px == pytest.approx(35 * 4080 / DIAGONAL_MM)
    assert taken.focal_px == pytest.approx(3300, abs=1)
    assert taken.sensor.diagonal_mm == pytest.approx(4.3 * DIAGONAL_MM / 35)
    assert "35 mm equivalent" in taken.how


def test_digital_zoom_narrows_the_view(taken_by: TakenBy) -> None:
    """A digital zoom multiplies the focal length in pixels and is named."""
    plain = taken_by({0x920A: (43, 10), 0xA405: 35})
    zoomed = taken_by({0x920A: (43, 10), 0xA405: 35, 0xA404: (2, 1)})

    assert zoomed.focal_px == pytest.approx(2 * plain.focal_px)
    assert "digital zoom of 2" in zoomed.how


@pytest.mark.parametrize(("unit", "per_mm"), [(2, 25.4), (3, 10.0)])
def test_focal_plane_resolution_gives_the_sensor(
    unit: int, per_mm: float, taken_by: TakenBy
) -> None:
    """6000 px over 36 mm behind 50 mm are 8333 px, whatever the unit."""
    resolution = (round(6000 / 36 * per_mm * 1000), 1000)
    taken = taken_by(
        {0x920A: (50, 1), 0xA20E: resolution, 0xA20F: resolution, 0xA210: unit}, 6000, 4000
    )

    assert taken.focal_px == pytest.approx(50 * 6000 / 36, rel=1e-4)
    zoomed = taken_by(
        {0x920A: (50, 1), 0xA20E: resolution, 0xA210: unit, 0xA404: (15, 10)}, 6000, 4000
    )
    assert zoomed.focal_px == pytest.approx(1.5 * taken.focal_px)
    assert taken.sensor.width_mm == pytest.approx(36, rel=1e-3)


def test_a_resized_picture_keeps_its_angle_of_view(taken_by: TakenBy) -> None:
    """If EXIF still states the size before resizing, the resolution is scaled with it."""
    resolution = (round(6000 / 36 * 25.4 * 1000), 1000)
    inner = {0x920A: (50, 1), 0xA20E: resolution, 0xA210: 2, 0xA002: 6000, 0xA003: 4000}

    assert taken_by(inner, 1500, 1000).focal_px == pytest.approx(50 * 1500 / 36, rel=1e-4)


def test_a_resolution_that_contradicts_the_equivalent_is_not_believed(taken_by: TakenBy) -> None:
    """A resized file with the old resolution falls back on the 35 mm equivalent and says so."""
    resolution = (round(6000 / 36 * 25.4 * 1000), 1000)
    taken = taken_by({0x920A: (50, 1), 0xA405: 50, 0xA20E: resolution, 0xA210: 2}, 1500, 1000)

    assert taken.focal_px == pytest.approx(50 * 1500 / 36, rel=1e-2)
    assert "not believed" in taken.how


def test_a_cropped_picture_is_doubted(taken_by: TakenBy) -> None:
    """Another shape than EXIF states means a crop, and the sentence says so."""
    taken = taken_by({0x920A: (50, 1), 0xA405: 50, 0xA002: 6000, 0xA003: 4000}, 3000, 3000)

    assert "cropped" in taken.how


@pytest.mark.parametrize(
    ("inner", "words"),
    [
        ({}, "no focal length"),
        ({0x920A: (0, 0)}, "no focal length"),
        ({0x920A: (0, 1), 0xA405: 0}, "no focal length"),
        ({0x920A: (50, 1)}, "not how large the sensor"),
        ({0x920A: (50, 1), 0xA20E: (0, 0)}, "not how large the sensor"),
        ({0x920A: (50, 1), 0xA20E: (72, 1), 0xA210: 2}, "not how large the sensor"),
        ({0x920A: (4, 0), 0xA405: 0}, "no focal length"),
    ],
)
def test_odd_values_are_no_values(inner: dict[int, object], words: str, taken_by: TakenBy) -> None:
    """Zero, 0/0 and a sensor two metres wide give no focal length in pixels, but a sentence."""
    taken = taken_by(inner)

    assert taken.focal_px is None
    assert words in taken.how


def test_no_exif_and_broken_exif_say_so() -> None:
    """Missing or damaged EXIF is never an error."""
    assert taken_with(None, 10, 10).focal_px is None
    assert "no EXIF" in taken_with(b"rubbish", 10, 10).how


@pytest.mark.parametrize("order", ["<", ">"])
def test_the_finished_block_is_upright_sized_and_without_preview(
    order: str, make_exif: MakeExif
) -> None:
    """Orientation 1, new pixel counts, no small preview; the caption and all else stay."""
    exif = make_exif(
        {0x010E: "caption", 0x0112: 6},
        {0xA002: 96, 0xA003: 64, 0x829D: (28, 10)},
        order=order,
        preview=b"\xff\xd8preview\xff\xd9",
    )
    done = finished_exif(exif, 70000, 50, None)
    assert has_preview(exif)
    assert not has_preview(done)
    read = Image.Exif()
    read.load(done)

    assert (read[0x0112], read[0x010E]) == (1, "caption")
    assert read.get_ifd(0x8769)[0xA002] == 70000
    block = Block.over(done)
    height = block.sub(block.first, 0x8769).entries[0xA003]  # type: ignore[union-attr]
    assert (height.kind, height.numbers(order)) == (3, (50.0,))
    assert read.get_ifd(0x8769)[0x829D] == pytest.approx(2.8)
    assert b"preview" not in done
    assert Block.over(done).first.next_at == 0


@pytest.mark.parametrize(
    ("said", "left"),
    [('{"shape": [612, 816, 3]}', ""), ("The shape of a roof", "The shape of a roof")],
)
def test_the_shape_of_the_old_picture_is_no_description(
    make_exif: MakeExif, said: str, left: str
) -> None:
    """Libraries of arrays write it, and believe it when they read; a person's words stay."""
    block = Block.over(finished_exif(make_exif({0x010E: said}, {}), 320, 240, None))

    assert block.first.entries[0x010E].text == left


def test_the_note_goes_into_a_free_comment_and_is_replaced(make_exif: MakeExif) -> None:
    """UserComment takes the note; a later note replaces it; nothing grows without end."""
    first = finished_exif(make_exif({}, {0x829D: (28, 10)}), 9, 9, "lens up 8°")
    second = finished_exif(first, 9, 9, "lens up 4°")
    block = Block.over(second)
    raw = block.sub(block.first, 0x8769).entries[0x9286].raw  # type: ignore[union-attr]

    assert raw[:8] == b"UNICODE\0"
    assert raw[8:].decode("utf-16-be") == "Hingeline: lens up 4°"


def test_a_comment_of_the_photographer_stays(make_exif: MakeExif) -> None:
    """An occupied UserComment is left alone and the note goes into ImageHistory."""
    exif = make_exif({}, {0x9286: b"ASCII\0\0\0mine"})
    block = Block.over(finished_exif(exif, 9, 9, "f/2.8"))
    entries = block.sub(block.first, 0x8769).entries  # type: ignore[union-attr]

    assert entries[0x9286].raw == b"ASCII\0\0\0mine"
    assert entries[0x9213].text == "Hingeline: f/2.8"


def test_the_makers_note_stays_at_its_place(camera_exif: bytes) -> None:
    """Private notes hold places in the block, so they must not move."""

    def place(exif: bytes) -> int:
        block = Block.over(exif)
        return block.sub(block.first, 0x8769).entries[0x927C].value_at  # type: ignore[union-attr]

    assert place(finished_exif(camera_exif, 5, 5, "note")) == place(camera_exif)


def test_colour_space_of_exif(make_exif: MakeExif) -> None:
    """1 is sRGB, 2 is Adobe RGB, 65535 alone says nothing (EXIF 2.32, 4.6.5)."""
    assert exif_encoding(make_exif({}, {0xA001: 1})) == "sRGB"
    assert exif_encoding(make_exif({}, {0xA001: 2})) == "Adobe RGB"
    assert exif_encoding(make_exif({}, {0xA001: 65535})) is None
    assert exif_encoding(None) is None


@pytest.mark.parametrize("value", [0, 9, 65535])
def test_senseless_orientations_are_upright(value: int, make_exif: MakeExif) -> None:
    """Only 1 to 8 mean anything."""
    assert orientation_of(make_exif({0x0112: value}, {})) == 1


def test_exif_is_gathered_from_a_tiff(tmp_path: Path) -> None:
    """What Pillow wrote into a TIFF's directories is found as a block of its own."""
    exif = Image.Exif()
    exif[0x010F] = "Nobody"
    exif[0x8769] = {0x920A: 43.0}
    Image.new("L", (4, 3)).save(tmp_path / "a.tif", exif=exif.tobytes())
    found = exif_of_tiff((tmp_path / "a.tif").read_bytes())
    read = Image.Exif()
    read.load(found)

    assert read[0x010F] == "Nobody"
    assert read.get_ifd(0x8769)[0x920A] == pytest.approx(43.0)
    assert 0x0111 not in read


def test_exposure_is_read_only_when_it_is_whole(make_exif: MakeExif) -> None:
    """f/5.6, 1/250 s, ISO 200 come back; with one missing, or no EXIF, there is none."""
    whole = {0x829D: (56, 10), 0x829A: (1, 250), 0x8827: 200}
    found = exposed_with(make_exif({}, whole))

    assert found is not None
    assert (found.f_number, found.shutter_s, found.iso) == pytest.approx((5.6, 1 / 250, 200))
    assert exposed_with(None) is None
    for missing in whole:
        part = {tag: value for tag, value in whole.items() if tag != missing}
        assert exposed_with(make_exif({}, part)) is None


@given(st.binary(max_size=300), st.sampled_from([b"II*\0", b"MM\0*"]), st.booleans())
def test_damaged_blocks_never_raise(noise: bytes, mark: bytes, near: bool) -> None:
    """Whatever a block holds, it is read as far as it makes sense and finished with our note."""
    start = struct.pack("<I" if mark[:1] == b"I" else ">I", 8) if near else b""
    exif = mark + (start + noise).ljust(4, b"\0")
    taken_with(exif, 40, 30)
    exif_encoding(exif)
    has_preview(exif)
    done = finished_exif(exif, 40, 30, "f/2.8")

    assert Block.over(done).order == Block.over(exif).order
    assert orientation_of(done) == 1

"""Readers, one per kind of file: odd kinds are understood, bad files refused in one sentence."""

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
import tifffile
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from render.errors import InputError
from render.files.formats.decoders import decode, kind_of
from render.files.pictures import read_picture, write_picture
from render.limits import Limit

BLOWS = Path(__file__).parents[2] / "data" / "blows"


@pytest.mark.parametrize(
    "options",
    [
        {"compression": "lzw"},
        {"compression": "zlib", "predictor": True},
        {"compression": "packbits"},
        {"tile": (16, 16)},
        {"tile": (16, 16), "compression": "zlib"},
        {"planarconfig": "separate"},
        {"bigtiff": True},
        {"byteorder": ">"},
    ],
    ids=str,
)
def test_all_layouts_of_tiff(tmp_path: Path, options: dict, deep_codes: NDArray) -> None:  # type: ignore[type-arg]
    """Compressed, tiled, planar, big and either byte order: the same 16-bit values."""
    values = deep_codes[:40, :50]
    stored = np.moveaxis(values, -1, 0) if "planarconfig" in options else values
    tifffile.imwrite(tmp_path / "a.tif", stored, photometric="rgb", **options)

    np.testing.assert_array_equal(decode(tmp_path / "a.tif").codes, values)


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGB", "RGBA", "LA"])
@pytest.mark.parametrize("ending", [".png", ".tif"])
def test_all_modes_of_png_and_tiff(tmp_path: Path, mode: str, ending: str) -> None:
    """Bits, greys, palettes, alpha: the colours are those that Pillow shows."""
    image = Image.linear_gradient("L").resize((20, 30)).convert("RGB").convert(mode)
    image.save(tmp_path / f"a{ending}")
    picture = read_picture(tmp_path / f"a{ending}")
    with Image.open(tmp_path / f"a{ending}") as again:
        shown = np.asarray(again.convert("RGB"))

    np.testing.assert_array_equal(picture.encoding.codes(picture.light, 8), shown)


def test_progressive_and_cmyk_jpeg(tmp_path: Path, smooth_codes: NDArray[np.uint8]) -> None:
    """Progressive is as good as baseline; CMYK without a profile is taken, with a remark."""
    image = Image.fromarray(smooth_codes)
    image.save(tmp_path / "a.jpg", progressive=True)
    image.convert("CMYK").save(tmp_path / "b.jpg", quality=95)

    assert read_picture(tmp_path / "a.jpg").remarks == ()
    picture = read_picture(tmp_path / "b.jpg")
    assert "CMYK" in picture.remarks[0]
    shown = picture.encoding.codes(picture.light, 8).astype(int)
    assert np.abs(shown - smooth_codes).max() < 12
    write_picture(tmp_path / "c.jpg", picture.light, picture)
    with Image.open(tmp_path / "c.jpg") as image:
        assert image.mode == "RGB"


def test_webp(tmp_path: Path, codes: NDArray[np.uint8]) -> None:
    """Lossless WebP comes out value for value."""
    Image.fromarray(codes).save(tmp_path / "a.webp", lossless=True)

    np.testing.assert_array_equal(decode(tmp_path / "a.webp").codes, codes)


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "TIFF"])
def test_animations_and_pages_are_refused(tmp_path: Path, kind: str) -> None:
    """Two pictures in one file are not guessed at."""
    frames = [Image.new("RGB", (8, 8), (n, n, n)) for n in (0, 200)]
    path = tmp_path / "a"
    frames[0].save(path, kind, save_all=True, append_images=frames[1:])
    with pytest.raises(InputError, match="give one picture"):
        read_picture(path)


def test_a_preview_page_in_a_tiff_is_no_second_picture(tmp_path: Path) -> None:
    """Pages marked as reduced copies (NewSubfileType 1) are passed over."""
    with tifffile.TiffWriter(tmp_path / "a.tif") as tiff:
        tiff.write(np.zeros((8, 8, 3), np.uint8), photometric="rgb")
        tiff.write(np.zeros((2, 2, 3), np.uint8), photometric="rgb", subfiletype=1)

    assert read_picture(tmp_path / "a.tif").light.shape == (8, 8, 3)


@pytest.mark.parametrize("ending", [".jpg", ".png", ".tif", ".webp"])
@pytest.mark.parametrize("part", [0.02, 0.3, 0.9])
def test_truncated_files_are_refused(
    tmp_path: Path, ending: str, part: float, smooth_codes: NDArray[np.uint8]
) -> None:
    """Cut anywhere, a file is refused in one sentence that names it."""
    noise = np.random.default_rng(3).integers(0, 255, smooth_codes.shape, np.uint8)
    path = tmp_path / f"cut{ending}"
    Image.fromarray(noise).save(path)
    data = path.read_bytes()
    path.write_bytes(data[: max(30, int(len(data) * part))])
    with pytest.raises(InputError, match="cut") as caught:
        read_picture(path)
    assert "\n" not in str(caught.value)


def test_truncated_16_bit_png_is_refused(tmp_path: Path, deep_codes: NDArray[np.uint16]) -> None:
    """The 16-bit path refuses cut files too."""
    from imagecodecs import png_encode

    data = png_encode(deep_codes)
    (tmp_path / "a.png").write_bytes(data[: len(data) // 2])
    with pytest.raises(InputError, match="cut short"):
        read_picture(tmp_path / "a.png")
    (tmp_path / "b.png").write_bytes(data[:8] + bytes(10))
    with pytest.raises(InputError, match="cannot be read as PNG; copy it again"):
        read_picture(tmp_path / "b.png")


def test_a_claim_of_3600_megapixels_is_refused(tmp_path: Path) -> None:
    """A small file whose header claims 60,000 x 60,000 px is refused before decoding."""
    head = struct.pack(">IIBB3x", 60000, 60000, 8, 2)
    data = b"\x89PNG\r\n\x1a\n"
    for name, body in ((b"IHDR", head), (b"IDAT", zlib.compress(bytes(1000))), (b"IEND", b"")):
        data += (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        )
    (tmp_path / "a.png").write_bytes(data)
    with pytest.raises(InputError, match="60000 x 60000"):
        read_picture(tmp_path / "a.png")


_CLIP = b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"just some text, no picture", "not a picture"),
        (b"8BPS", "JPEG, PNG"),
        (_CLIP, "is a clip"),
    ],
)
def test_what_is_no_picture_is_refused(tmp_path: Path, content: bytes, words: str) -> None:
    """Text, nothing, and kinds that are not read: one sentence that names the file."""
    path = tmp_path / "sky.jpg"
    path.write_bytes(content)
    with pytest.raises(InputError, match=words) as caught:
        kind_of(path)
    assert "sky.jpg" in str(caught.value)


def test_missing_files_and_folders(tmp_path: Path) -> None:
    """A name that isn't there and a folder are told apart."""
    with pytest.raises(InputError, match="is not there"):
        kind_of(tmp_path / "none.jpg")
    with pytest.raises(InputError, match="is a folder"):
        kind_of(tmp_path)


def test_kinds_are_told_by_content(tmp_path: Path) -> None:
    """A PNG that is called .jpg is read as the PNG it is."""
    packed = io.BytesIO()
    Image.new("RGB", (3, 2), (10, 20, 30)).save(packed, "PNG")
    (tmp_path / "a.jpg").write_bytes(packed.getvalue())

    assert decode(tmp_path / "a.jpg").kind == "PNG"


_SMALL = np.random.default_rng(8).integers(0, 255, (24, 32, 3), np.uint8)


def _packed(kind: str) -> bytes:
    out = io.BytesIO()
    if kind == "TIFF":
        tifffile.imwrite(out, _SMALL, photometric="rgb", compression="zlib", rowsperstrip=8)
    else:
        Image.fromarray(_SMALL).save(out, kind)
    return out.getvalue()


_FILES = {kind: _packed(kind) for kind in ("JPEG", "PNG", "TIFF", "WEBP")}


@pytest.mark.parametrize("kind", list(_FILES))
@given(st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), min_size=1, max_size=20))
def test_damage_gives_a_picture_or_one_sentence(
    tmp_path_factory: pytest.TempPathFactory, kind: str, changes: list[tuple[float, int]]
) -> None:
    """Whatever bytes are changed: light that is finite and not negative, or an InputError."""
    data = bytearray(_FILES[kind])
    for place, value in changes:
        data[int(place**3 * (len(data) - 1))] = value  # mostly in the header
    path = tmp_path_factory.getbasetemp() / f"damaged.{kind.lower()}"
    path.write_bytes(data)
    try:
        light, said = read_picture(path).light, ""
    except InputError as error:
        light, said = np.zeros(1, np.float32), str(error)

    assert "\n" not in said
    assert light.min() >= 0
    assert np.isfinite(light.max())


def test_a_ring_of_pages_ends(tmp_path: Path) -> None:
    """A TIFF whose page list points back at itself is refused, not read for ever."""
    tifffile.imwrite(tmp_path / "a.tif", _SMALL, photometric="rgb")
    data = bytearray((tmp_path / "a.tif").read_bytes())
    (first,) = struct.unpack_from("<I", data, 4)
    (count,) = struct.unpack_from("<H", data, first)
    empty = len(data)
    struct.pack_into("<I", data, first + 2 + 12 * count, empty)
    data += struct.pack("<HI", 0, empty)
    (tmp_path / "b.tif").write_bytes(data)
    with pytest.raises(InputError, match=r"b\.tif"):
        read_picture(tmp_path / "b.tif")


def test_missing_strips_are_not_shown_black(tmp_path: Path) -> None:
    """A TIFF that claims more rows than it has strips for is refused."""
    tifffile.imwrite(tmp_path / "a.tif", _SMALL, photometric="rgb", rowsperstrip=24)
    data = bytearray((tmp_path / "a.tif").read_bytes())
    at = data.index(struct.pack("<HHI", 257, 4, 1))
    struct.pack_into("<I", data, at + 8, 20000)
    (tmp_path / "a.tif").write_bytes(data)
    with pytest.raises(InputError, match="parts missing"):
        read_picture(tmp_path / "a.tif")


def test_jpeg_inside_tiff(tmp_path: Path, smooth_codes: NDArray[np.uint8]) -> None:
    """Colours that a JPEG inside a TIFF stores as YCbCr come out as RGB; bare YCbCr is refused."""
    Image.fromarray(smooth_codes).convert("YCbCr").save(tmp_path / "a.tif", compression="jpeg")
    assert np.abs(decode(tmp_path / "a.tif").codes.astype(int) - smooth_codes).mean() < 4

    tifffile.imwrite(tmp_path / "b.tif", smooth_codes, photometric="ycbcr", subsampling=(1, 1))
    with pytest.raises(InputError, match="save it as RGB"):
        decode(tmp_path / "b.tif")


def test_further_channels_of_a_tiff(tmp_path: Path, codes: NDArray[np.uint8]) -> None:
    """Unnamed channels are dropped and named; colours multiplied by alpha are divided again."""
    more = np.concatenate([codes, codes[..., :2]], axis=2)
    tifffile.imwrite(tmp_path / "a.tif", more, photometric="rgb", extrasamples=[0, 0])
    found = decode(tmp_path / "a.tif")
    np.testing.assert_array_equal(found.codes, codes)
    assert "further channels" in found.remarks[0]

    half = np.dstack([codes // 2, np.full(codes.shape[:2], 128, np.uint8)])
    tifffile.imwrite(tmp_path / "b.tif", half, photometric="rgb", extrasamples=["assocalpha"])
    colours = decode(tmp_path / "b.tif").codes[..., :3].astype(int)
    assert np.abs(colours - codes).max() <= 2


def test_channels_that_a_tiff_has_not_are_none(tmp_path: Path, codes: NDArray[np.uint8]) -> None:
    """Two further channels of three that are named are colours; whole floats are codes."""
    more = np.concatenate([codes, codes[..., :2]], axis=2).astype(np.float32)
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, more, photometric="rgb", extrasamples=[0, 0])
    with tifffile.TiffFile(path, mode="r+") as tiff:
        tiff.pages[0].tags["SamplesPerPixel"].overwrite(3)
        tiff.pages[0].tags["ImageWidth"].overwrite(codes.shape[1] * 5 // 3)
    found = decode(path)

    assert found.codes.shape[2] == 3
    assert found.codes.dtype == np.uint8
    assert found.remarks == ("floating point of whole numbers up to 255: taken as codes of 8 bits",)
    np.testing.assert_array_equal(found.codes.ravel(), more.ravel()[: found.codes.size])


def test_white_may_be_zero(tmp_path: Path, codes: NDArray[np.uint8]) -> None:
    """A grey TIFF that counts from white is turned round."""
    tifffile.imwrite(tmp_path / "a.tif", codes[..., 0], photometric="miniswhite")

    np.testing.assert_array_equal(decode(tmp_path / "a.tif").codes, 255 - codes[..., 0])


@pytest.mark.parametrize(
    ("name", "kind"), [("a.bmp", "BMP"), ("a.gif", "GIF"), ("a.jp2", "JPEG 2000")]
)
def test_kinds_that_are_read_and_not_written(tmp_path: Path, name: str, kind: str) -> None:
    """Windows bitmaps, single GIFs and JPEG 2000 come in with their exact values."""
    codes = np.zeros((8, 12, 3), np.uint8)
    codes[:4], codes[:, 6:] = (200, 30, 30), (10, 90, 250)
    image = Image.fromarray(codes)
    options = {"irreversible": False} if kind == "JPEG 2000" else {}
    image.save(tmp_path / name, **options)  # type: ignore[arg-type]
    found = decode(tmp_path / name)

    assert found.kind == kind
    np.testing.assert_array_equal(found.codes, codes)


def test_jpeg_2000_keeps_sixteen_bits(tmp_path: Path) -> None:
    """Where Pillow would give eight of them."""
    from imagecodecs import jpeg2k_encode

    codes = np.arange(96, dtype=np.uint16).reshape(8, 12) * 600
    (tmp_path / "a.jp2").write_bytes(bytes(jpeg2k_encode(codes, level=0, reversible=True)))

    np.testing.assert_array_equal(decode(tmp_path / "a.jp2").codes, codes)


def test_moving_gifs_are_refused(tmp_path: Path) -> None:
    """One picture is wanted."""
    frames = [Image.new("L", (4, 4), value) for value in (0, 200)]
    frames[0].save(tmp_path / "a.gif", save_all=True, append_images=frames[1:])

    with pytest.raises(InputError, match="animated"):
        decode(tmp_path / "a.gif")


def test_jpegs_that_claim_more_than_they_hold_are_refused(tmp_path: Path) -> None:
    """Four million pixels of 600 bytes, a hundred scans over one picture."""
    for name, sentence in (
        ("picture-1-claims.jpg", "it holds too little for its size"),
        ("picture-2-scans.jpg", r"has \d+ scans, more than the 100 scans taken here"),
    ):
        with pytest.raises(InputError, match=sentence):
            decode(BLOWS / name)
    Image.new("L", (2000, 2000)).save(tmp_path / "flat.jpg", quality=1)

    assert decode(tmp_path / "flat.jpg").codes.shape == (2000, 2000)


def test_long_ways_through_nothing_are_not_gone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Zeros between a JPEG's head and its picture, and a PNG of endlessly many parts."""
    packed = io.BytesIO()
    Image.new("L", (8, 8)).save(packed, "JPEG")
    data = packed.getvalue()
    (tmp_path / "gap.jpg").write_bytes(data[:20] + bytes(300) + data[20:])
    assert decode(tmp_path / "gap.jpg").codes.shape == (8, 8)
    for name, gap in (("zeros.jpg", bytes(200_000)), ("steps.jpg", b"\xff\1" * 200_000)):
        (tmp_path / name).write_bytes(data[:20] + gap + data[20:])
        with pytest.raises(InputError, match="no picture follows its head"):
            decode(tmp_path / name)
    monkeypatch.setattr("render.files.formats.carried.CHUNKS", Limit(2, "parts"))
    Image.new("L", (8, 8)).save(tmp_path / "a.png")
    with pytest.raises(InputError, match=r"a\.png .* more than the 2 parts taken here"):
        decode(tmp_path / "a.png")


def test_endless_profiles_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Before a TIFF's is read, and after those that a library reads."""
    monkeypatch.setattr("render.files.formats.decoders.PROFILE_BYTES", Limit(1000, "bytes"))
    codes, profile = np.zeros((4, 4, 3), np.uint8), bytes(2000)
    tag = (34675, "B", len(profile), profile, True)
    tifffile.imwrite(tmp_path / "a.tif", codes, extratags=[tag])
    Image.fromarray(codes).save(tmp_path / "a.webp", icc_profile=profile)

    with pytest.raises(InputError, match=r"tag 34675 of .*a\.tif has 2,000 bytes"):
        decode(tmp_path / "a.tif")
    with pytest.raises(InputError, match=r"colour profile of .*a\.webp has 2,000 bytes"):
        decode(tmp_path / "a.webp")


@pytest.mark.parametrize("tag", [256, 257])
def test_a_tiff_without_pixels_is_refused(tmp_path: Path, tag: int) -> None:
    """Its width or height is 0."""
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, np.full((8, 8, 3), 90, np.uint8), photometric="rgb")
    with tifffile.TiffFile(path) as file:
        at = file.pages[0].tags[tag].valueoffset
    data = bytearray(path.read_bytes())
    data[at : at + 4] = bytes(4)
    path.write_bytes(data)

    with pytest.raises(InputError, match="is damaged"):
        read_picture(path)

"""Pictures in and out: what comes back is what went in."""

import hashlib
import json
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tifffile
from imagecodecs import png_encode
from numpy.typing import NDArray
from PIL import Image, ImageOps

from render.errors import InputError, OutputError
from render.files.formats.colour.profiles import build_profile
from render.files.formats.metadata.exif import taken_with
from render.files.pictures import read_picture, write_picture
from render.scene.colour import ADOBE_RGB, DISPLAY_P3, PROPHOTO, SRGB, Encoding
from tests.pngs import insert_chunks

XMP = (
    b'<x:xmpmeta xmlns:x="adobe:ns:meta/">'
    b'<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
    b'<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title>'
    b'<rdf:Alt><rdf:li xml:lang="x-default">roofs</rdf:li></rdf:Alt>'
    b"</dc:title></rdf:Description></rdf:RDF></x:xmpmeta>"
)
Codes = NDArray[np.generic]


def _codes_of(path: Path) -> NDArray[np.int64]:
    """Code values of a file, read by a library that is not under test."""
    if path.suffix == ".tif":
        return tifffile.imread(path).astype(np.int64)
    if path.suffix == ".png":
        from imagecodecs import png_decode

        return png_decode(path.read_bytes()).astype(np.int64)
    with Image.open(path) as image:
        return np.asarray(image).astype(np.int64)


def _save(path: Path, codes: Codes, encoding: Encoding | None, exif: bytes = b"") -> Path:
    """Write a source picture without the code under test."""
    icc = build_profile(encoding) if encoding else None
    if path.suffix == ".tif":
        tifffile.imwrite(path, codes, photometric="rgb", iccprofile=icc)
    elif codes.dtype == np.uint16:
        import zlib

        chunks = [(b"iCCP", b"icc\0\0" + zlib.compress(icc))] if icc else []
        path.write_bytes(insert_chunks(png_encode(codes), chunks))
    else:
        Image.fromarray(codes).save(path, icc_profile=icc, exif=b"Exif\0\0" + exif, quality=95)
    return path


@pytest.mark.parametrize(
    "encoding",
    [None, SRGB, DISPLAY_P3, ADOBE_RGB, PROPHOTO],
    ids=lambda e: e.name if e else "no profile",
)
@pytest.mark.parametrize("ending", [".png", ".tif"])
def test_code_values_come_back(
    tmp_path: Path, ending: str, encoding: Encoding | None, codes: Codes, deep_codes: Codes
) -> None:
    """8 and 16 bits, PNG and TIFF, all profiles: read and written, no code value changes."""
    for name, values in (("a", codes), ("b", deep_codes)):
        source = _save(tmp_path / (name + ending), values, encoding)
        picture = read_picture(source)
        out = tmp_path / (name + "_out" + ending)
        write_picture(out, picture.light, picture)

        np.testing.assert_array_equal(_codes_of(out), values)
        assert picture.bits == 8 * values.dtype.itemsize
        assert read_picture(out).encoding == picture.encoding


def test_light_is_that_of_the_profile(tmp_path: Path) -> None:
    """The same code value is another light under each profile (sRGB and Adobe RGB by standard)."""
    grey = np.full((2, 2, 3), 128, np.uint8)
    srgb = read_picture(_save(tmp_path / "s.png", grey, None)).light
    adobe = read_picture(_save(tmp_path / "a.png", grey, ADOBE_RGB)).light

    np.testing.assert_allclose(srgb, ((128 / 255 + 0.055) / 1.055) ** 2.4, rtol=1e-5)
    np.testing.assert_allclose(adobe, (128 / 255) ** (563 / 256), rtol=1e-4)


def test_an_untouched_jpeg_keeps_every_value(
    tmp_path: Path, smooth_codes: Codes, make_exif: object
) -> None:
    """A JPEG that no blur touched comes back with the very same pixels."""
    noisy = smooth_codes ^ np.random.default_rng(1).integers(0, 64, smooth_codes.shape, np.uint8)
    source = _save(tmp_path / "a.jpg", noisy, DISPLAY_P3)
    picture = read_picture(source)
    write_picture(tmp_path / "b.jpg", picture.light, picture, note="f/8")

    np.testing.assert_array_equal(_codes_of(tmp_path / "b.jpg"), _codes_of(source))
    assert read_picture(tmp_path / "b.jpg").encoding.name == "Display P3"


def test_a_changed_jpeg_is_coded_finely(tmp_path: Path, smooth_codes: Codes) -> None:
    """Coding anew moves smooth values by two at most, and the change is there."""
    picture = read_picture(_save(tmp_path / "a.jpg", smooth_codes, None))
    light = np.ascontiguousarray(picture.light[::-1])
    write_picture(tmp_path / "b.jpg", light, picture)

    difference = np.abs(_codes_of(tmp_path / "b.jpg") - _codes_of(tmp_path / "a.jpg")[::-1])
    assert difference.max() <= 2
    assert difference.mean() < 0.2


@pytest.mark.parametrize("ending", [".png", ".tif", ".webp"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_all_orientations_come_out_upright(
    tmp_path: Path, orientation: int, ending: str, codes: Codes
) -> None:
    """EXIF orientations 1 to 8 are turned as Pillow turns them, and written back as 1."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    source = tmp_path / f"a{ending}"
    Image.fromarray(codes).save(source, exif=exif.tobytes(), lossless=True)
    with Image.open(source) as image:
        upright = np.asarray(ImageOps.exif_transpose(image))
    picture = read_picture(source)
    write_picture(tmp_path / "b.png", picture.light, picture)

    np.testing.assert_array_equal(picture.encoding.codes(picture.light, 8), upright)
    with Image.open(tmp_path / "b.png") as image:
        np.testing.assert_array_equal(np.asarray(image), upright)
        assert image.getexif()[0x0112] == 1
    assert picture.orientation == orientation


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_grey_pictures_stay_grey(tmp_path: Path, dtype: type, codes: Codes) -> None:
    """One channel in, three equal ones of light, one channel out, every value the same."""
    values = codes[..., 0].astype(dtype) * dtype(257 if dtype is np.uint16 else 1)
    for ending, save in (
        (".tif", lambda path: tifffile.imwrite(path, values)),
        (".png", lambda path: path.write_bytes(png_encode(values))),
    ):
        source = tmp_path / f"a{ending}"
        save(source)
        picture = read_picture(source)
        write_picture(tmp_path / f"b{ending}", picture.light, picture)

        assert picture.grey
        np.testing.assert_array_equal(picture.light[..., 0], picture.light[..., 2])
        np.testing.assert_array_equal(_codes_of(tmp_path / f"b{ending}"), values)


def test_a_grey_picture_with_colour_added_is_written_in_colour(
    tmp_path: Path, codes: Codes
) -> None:
    """Something coloured drawn over a grey picture isn't lost."""
    Image.fromarray(codes[..., 0]).save(tmp_path / "a.png")
    picture = read_picture(tmp_path / "a.png")
    light = picture.light.copy()
    light[0, 0] = [1, 0, 0]
    write_picture(tmp_path / "b.png", light, picture)

    assert _codes_of(tmp_path / "b.png")[0, 0].tolist() == [255, 0, 0]


def test_transparency_is_laid_over_white(tmp_path: Path) -> None:
    """Half-transparent black is half of white's light, and the remark says what was done."""
    Image.new("RGBA", (3, 2), (0, 0, 0, 51)).save(tmp_path / "a.png")
    picture = read_picture(tmp_path / "a.png")

    np.testing.assert_allclose(picture.light, 0.8, rtol=1e-6)
    assert any("white" in remark for remark in picture.remarks)
    Image.new("RGBA", (3, 2), (9, 9, 9, 255)).save(tmp_path / "b.png")
    assert read_picture(tmp_path / "b.png").remarks == ()


def test_the_size_may_change(tmp_path: Path, smooth_codes: Codes, camera_exif: bytes) -> None:
    """A cropped photograph carries its own pixel count in EXIF."""
    picture = read_picture(_save(tmp_path / "a.jpg", smooth_codes, None, camera_exif))
    write_picture(tmp_path / "b.jpg", picture.light[:50, :40], picture)
    with Image.open(tmp_path / "b.jpg") as image:
        assert image.size == (40, 50)
        assert image.getexif().get_ifd(0x8769)[0xA002] == 40


def test_inputs_and_existing_files_are_safe(tmp_path: Path, codes: Codes) -> None:
    """No file is overwritten unasked, the source never, and its bytes stay the same."""
    source = _save(tmp_path / "a.png", codes, None)
    before = hashlib.sha256(source.read_bytes()).hexdigest()
    picture = read_picture(source)
    (tmp_path / "b.png").write_bytes(b"mine")

    with pytest.raises(OutputError, match="was read"):
        write_picture(source, picture.light, picture, overwrite=True)
    with pytest.raises(OutputError, match="there already; replace it with overwrite=True"):
        write_picture(tmp_path / "b.png", picture.light, picture)
    with pytest.raises(OutputError, match="end the name in"):
        write_picture(tmp_path / "b.gif", picture.light, picture)
    with pytest.raises(OutputError, match="8,"):
        write_picture(tmp_path / "b.jpg", picture.light, picture, bits=16)
    assert hashlib.sha256(source.read_bytes()).hexdigest() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.png", "b.png"]


def test_without_a_source_it_is_srgb(tmp_path: Path) -> None:
    """Light of a made scene is written as sRGB, the same bytes every time."""
    light = np.full((4, 5, 3), 0.2140411, np.float32)
    for name in ("a.png", "b.png"):
        write_picture(tmp_path / name, light, note="f/2.8")

    assert np.all(_codes_of(tmp_path / "a.png") == 128) or np.all(
        _codes_of(tmp_path / "a.png") == 127
    )
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()


@pytest.mark.parametrize("ending", [".jpg", ".png", ".tif"])
def test_what_no_picture_was_read_for_states_its_focal_length(tmp_path: Path, ending: str) -> None:
    """EXIF 2.32 (CIPA DC-008): FocalLength, and FocalLengthIn35mmFilm by the diagonal."""
    path = tmp_path / f"made{ending}"
    write_picture(path, np.full((24, 36, 3), 0.5, np.float32), note="ours", focal=(60.0, 90.0))

    tags = taken_with(read_picture(path).kept.exif, 36, 24)
    assert (tags.focal_px, tags.focal_mm) == (pytest.approx(90.0), 60.0)


def test_what_is_brighter_than_white_is_named(tmp_path: Path) -> None:
    """Clipping is said, with its share of the picture."""
    light = np.full((10, 10, 3), 0.5, np.float32)
    light[0] = 3

    assert "10.0% of the picture is brighter" in write_picture(tmp_path / "a.png", light)[0]


def test_a_wrong_or_broken_profile_is_said(tmp_path: Path, codes: Codes) -> None:
    """A damaged profile leads to sRGB and a remark, not to an error."""
    Image.fromarray(codes).save(tmp_path / "a.png", icc_profile=b"rubbish" * 30)
    picture = read_picture(tmp_path / "a.png")

    assert picture.encoding == SRGB
    assert any("damaged" in remark for remark in picture.remarks)


def test_float_tiff_is_light(tmp_path: Path) -> None:
    """Floating point is taken as light as it is, above white too, and goes back as such."""
    light = np.linspace(0, 7, 4 * 5 * 3, dtype=np.float32).reshape(4, 5, 3)
    tifffile.imwrite(tmp_path / "a.tif", light, photometric="rgb")
    picture = read_picture(tmp_path / "a.tif")
    write_picture(tmp_path / "b.tif", picture.light, picture)

    np.testing.assert_array_equal(picture.light, light)
    np.testing.assert_array_equal(tifffile.imread(tmp_path / "b.tif"), light)
    tifffile.imwrite(tmp_path / "c.tif", light * np.float32(np.nan), photometric="rgb")
    with pytest.raises(InputError, match="not numbers"):
        read_picture(tmp_path / "c.tif")


@pytest.mark.skipif(shutil.which("exiftool") is None, reason="exiftool is not installed")
@pytest.mark.parametrize("ending", [".jpg", ".png", ".tif"])
def test_an_outside_tool_finds_the_same_metadata(
    tmp_path: Path, ending: str, smooth_codes: Codes, camera_exif: bytes
) -> None:
    """Exiftool reads the same EXIF, XMP, profile and resolution from source and result."""
    source = tmp_path / "a.jpg"
    Image.fromarray(smooth_codes).save(
        source,
        exif=b"Exif\0\0" + camera_exif,
        xmp=XMP,
        icc_profile=build_profile(DISPLAY_P3),
        dpi=(300, 300),
    )
    picture = read_picture(source)
    light = picture.light * np.float32(0.9)
    write_picture(tmp_path / f"b{ending}", light, picture, note="45 mm, f/2.8, lens up 8°")
    before, after = (_exiftool(p) for p in (source, tmp_path / f"b{ending}"))

    changed = {"IFD0:Orientation", "ExifIFD:ExifImageWidth", "ExifIFD:ExifImageHeight"}
    groups = ("IFD0:", "ExifIFD:", "XMP", "ICC")
    wanted = {k: v for k, v in before.items() if k.startswith(groups) and k not in changed}
    assert wanted["ExifIFD:FocalLength"] == 4.3
    assert wanted["XMP-dc:Title"] == "roofs"
    assert wanted["ICC_Profile:ProfileDescription"] == "Display P3"
    assert {k: after.get(k) for k in wanted} == wanted
    assert after.get("IFD0:Orientation", 1) == 1
    assert after["ExifIFD:ExifImageWidth"] == 64
    assert after["ExifIFD:UserComment"] == "Hingeline: 45 mm, f/2.8, lens up 8°"
    assert not any(k.startswith("IFD1:") for k in after)


def _exiftool(path: Path) -> dict[str, object]:
    done = subprocess.run(
        ["exiftool", "-j", "-G1", "-n", str(path)], capture_output=True, text=True, check=True
    )
    return dict(json.loads(done.stdout)[0])


def test_lost_bits_and_damaged_blocks_are_said(tmp_path: Path) -> None:
    """Sixteen bits into eight, unless eight were asked for; EXIF that cannot be carried on."""
    file = read_picture(_sixteen_bits(tmp_path / "deep.png"))
    (said,) = write_picture(tmp_path / "a.jpg", file.light, file)
    assert said == "the source holds 16 bits a channel, a JPEG 8 bits: .tif or .png keeps it"
    assert write_picture(tmp_path / "b.jpg", file.light, file, bits=8) == ()
    assert write_picture(tmp_path / "c.png", file.light, file) == ()

    broken = replace(file, kept=replace(file.kept, exif=b"no block", xmp=b"<x:xmpmeta"))
    said_of_both = write_picture(tmp_path / "d.png", file.light, broken)
    assert said_of_both == (
        "the XMP is damaged and was left out",
        "the EXIF is damaged and was left out",
    )


def _sixteen_bits(path: Path) -> Path:
    from render.files.formats.encoders import write_png

    write_png(path, (np.arange(3 * 96, dtype=np.uint16) * 200).reshape(8, 12, 3), [])
    return path

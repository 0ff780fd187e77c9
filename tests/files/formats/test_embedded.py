"""Depth that phones store inside pictures."""

import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from render.errors import InputError
from render.files.depths import read_depth, read_depth_file
from render.files.formats.embedded import EmbeddedDepth, aligned, embedded_depth, heif_turn
from render.files.pictures import read_picture
from render.optics.camera import Camera

PHONE = Path(__file__).parents[2] / "data" / "files"
Codes = NDArray[np.uint8]


@pytest.fixture
def ramp() -> Codes:
    """A depth image of 16 x 12 px, near (0) at the bottom left, far (255) at the top right."""
    y, x = np.mgrid[0:12, 0:16]
    return np.rint(255 * ((11 - y) / 11 + x / 15) / 2).astype(np.uint8)


@pytest.fixture
def shown() -> Codes:
    """The picture that goes with it, 64 x 48 px."""
    y, x = np.mgrid[0:48, 0:64]
    return np.stack([x * 3, y * 4, 200 - x], axis=-1).astype(np.uint8)


def test_metric_depth_inside_a_jpeg(
    tmp_path: Path, phone_jpeg: Callable[..., bytes], ramp: Codes, shown: Codes
) -> None:
    """RangeInverse in metres: nearest and farthest come out, on the picture's grid."""
    said = 'Q:Format="RangeInverse" Q:Near="2" Q:Far="50" Q:Units="m" Q:Mime="image/png"'
    (tmp_path / "a.jpg").write_bytes(phone_jpeg(shown, ramp, said))
    depth = read_depth(tmp_path / "a.jpg", Camera(64, 48, 60.0))

    assert depth.depth_m.shape == (48, 64)
    assert depth.depth_m.min() == pytest.approx(2, rel=1e-5)
    assert depth.depth_m.max() == pytest.approx(50, rel=1e-5)
    assert depth.depth_m[-1, 0] < depth.depth_m[0, -1]
    millimetres = said.replace('"m"', '"mm"')
    (tmp_path / "b.jpg").write_bytes(phone_jpeg(shown, ramp, millimetres))
    near_mm = read_depth(tmp_path / "b.jpg", Camera(64, 48, 60.0)).depth_m.min()
    assert near_mm == pytest.approx(0.002, rel=1e-5)
    middle = 1 / ((1 / 2 + 1 / 50) / 2)
    assert depth.depth_m[23:25, 31:33].mean() == pytest.approx(middle, rel=0.02)


def test_ray_lengths_become_depth(
    tmp_path: Path, phone_jpeg: Callable[..., bytes], shown: Codes
) -> None:
    """MeasureType OpticRay, RangeLinear: a sphere of 10 m round the lens has z = 10 cos."""
    said = (
        'Q:Format="RangeLinear" Q:Near="5" Q:Far="15" Q:Units="m" Q:MeasureType="OpticRay" '
        'Q:Mime="image/png"'
    )
    half = np.full((12, 16), 128, np.uint8)
    (tmp_path / "a.jpg").write_bytes(phone_jpeg(shown, half, said))
    camera = Camera(64, 48, 40.0)
    depth = read_depth(tmp_path / "a.jpg", camera)
    slope_x, slope_y = camera.slopes(0.5, 0.5)
    cosine = 1 / np.sqrt(1 + slope_x**2 + slope_y**2)

    assert depth.depth_m[0, 0] == pytest.approx((5 + 10 * 128 / 255) * cosine, rel=1e-5)


def test_depth_without_a_unit_is_relative(
    tmp_path: Path, phone_jpeg: Callable[..., bytes], ramp: Codes, shown: Codes
) -> None:
    """No unit, no metres: the values are nearness, and metres are refused."""
    said = 'Q:Format="RangeInverse" Q:Near="18.8" Q:Far="633" Q:Mime="image/png"'
    (tmp_path / "a.jpg").write_bytes(phone_jpeg(shown, ramp, said))
    file = read_depth_file(tmp_path / "a.jpg")

    assert file.kind == "relative inverse"
    assert file.values.max() == pytest.approx(1 / 18.8, rel=1e-5)
    assert "no unit" in file.how
    with pytest.raises(InputError, match="known distances"):
        read_depth(tmp_path / "a.jpg", Camera(64, 48, 60.0))


@pytest.mark.parametrize("orientation", [3, 6, 8])
def test_depth_is_turned_with_its_picture(
    tmp_path: Path,
    phone_jpeg: Callable[..., bytes],
    make_exif: Callable[..., bytes],
    ramp: Codes,
    shown: Codes,
    orientation: int,
) -> None:
    """The farthest corner of the depth lies where the picture's same corner lies."""
    said = 'Q:Format="RangeLinear" Q:Near="2" Q:Far="50" Q:Units="m" Q:Mime="image/png"'
    marked = shown // 4
    marked[:8, -8:] = 255  # top right, where it is farthest
    exif = b"Exif\0\0" + make_exif({0x0112: orientation}, {})
    (tmp_path / "a.jpg").write_bytes(phone_jpeg(marked, ramp, said, exif=exif))
    picture = read_picture(tmp_path / "a.jpg")
    values = read_depth_file(tmp_path / "a.jpg").values

    assert values.shape == picture.light.shape[:2]
    bright = np.unravel_index(np.argmax(picture.light.sum(axis=2)), values.shape)
    far = np.unravel_index(np.argmax(values), values.shape)
    assert np.hypot(bright[0] - far[0], bright[1] - far[1]) < 14


def test_the_sharp_original_is_the_picture(
    tmp_path: Path, phone_jpeg: Callable[..., bytes], ramp: Codes, shown: Codes
) -> None:
    """Where the phone blurred the picture and kept the original, the original is used."""
    said = 'Q:Format="RangeInverse" Q:Near="2" Q:Far="50" Q:Units="m" Q:Mime="image/png"'
    blurred = np.full_like(shown, 99)
    (tmp_path / "a.jpg").write_bytes(phone_jpeg(blurred, ramp, said, original=shown))
    picture = read_picture(tmp_path / "a.jpg")

    shown_again = picture.encoding.codes(picture.light, 8).astype(int)
    assert np.abs(shown_again - shown).mean() < 2
    assert any("sharp original" in remark for remark in picture.remarks)


def test_appended_depth_of_the_newer_form(tmp_path: Path, ramp: Codes, shown: Codes) -> None:
    """Dynamic Depth 1.0: the depth image is appended and named by the directory."""
    depth, picture = io.BytesIO(), io.BytesIO()
    Image.fromarray(ramp).save(depth, "PNG")
    dd = "http://ns.google.com/photos/dd/1.0/"
    size = len(depth.getvalue())
    xmp = f"""<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about=""
 xmlns:Device="{dd}device/" xmlns:Container="{dd}container/" xmlns:Item="{dd}item/"
 xmlns:Camera="{dd}camera/" xmlns:DepthMap="{dd}depthmap/">
<Device:Container><Container:Directory><rdf:Seq>
 <rdf:li rdf:parseType="Resource"><Container:Item Item:Mime="image/jpeg" Item:Length="0"
  Item:DataURI="primary_image"/></rdf:li>
 <rdf:li rdf:parseType="Resource"><Container:Item Item:Mime="image/png" Item:Length="{size}"
  Item:DataURI="android/depthmap"/></rdf:li></rdf:Seq></Container:Directory></Device:Container>
<Device:Cameras><rdf:Seq><rdf:li rdf:parseType="Resource"><Device:Camera><Camera:DepthMap
 DepthMap:Format="RangeInverse" DepthMap:Near="1.5" DepthMap:Far="30" DepthMap:Units="m"
 DepthMap:DepthURI="android/depthmap" DepthMap:MeasureType="OpticalAxis"/></Device:Camera></rdf:li>
</rdf:Seq></Device:Cameras></rdf:Description></rdf:RDF></x:xmpmeta>"""
    Image.fromarray(shown).save(picture, "JPEG", xmp=xmp.encode())
    (tmp_path / "a.jpg").write_bytes(picture.getvalue() + depth.getvalue())
    found = read_depth(tmp_path / "a.jpg", Camera(64, 48, 60.0))
    assert found.depth_m.min() == pytest.approx(1.5, rel=1e-5)
    assert found.depth_m.max() == pytest.approx(30, rel=1e-5)

    named = xmp.replace("primary_image", "android/original")  # the picture itself, of no length
    Image.fromarray(shown).save(tmp_path / "c.jpg", xmp=named.encode())
    (tmp_path / "c.jpg").write_bytes((tmp_path / "c.jpg").read_bytes() + depth.getvalue())
    again = read_depth(tmp_path / "c.jpg", Camera(64, 48, 60.0))
    np.testing.assert_array_equal(again.depth_m, found.depth_m)

    wrong = xmp.replace('DepthURI="android/depthmap"', 'DepthURI="elsewhere"')
    Image.fromarray(shown).save(tmp_path / "b.jpg", xmp=wrong.encode())
    with pytest.raises(InputError, match="does not hold"):
        embedded_depth(tmp_path / "b.jpg")


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ('Q:Format="RangeInverse" Q:Near="50" Q:Far="2"', "look swapped"),
        ('Q:Format="RangeInverse" Q:Near="near" Q:Far="2"', "no numbers"),
        ('Q:Format="Other" Q:Near="1" Q:Far="2"', "not known"),
        ('Q:Format="RangeLinear" Q:Near="0" Q:Far="2"', "makes no sense"),
    ],
)
def test_senseless_ranges_are_refused(
    tmp_path: Path,
    phone_jpeg: Callable[..., bytes],
    ramp: Codes,
    shown: Codes,
    said: str,
    words: str,
) -> None:
    """Swapped near and far, no numbers, an unknown form: one sentence each."""
    (tmp_path / "a.jpg").write_bytes(phone_jpeg(shown, ramp, said))
    with pytest.raises(InputError, match=words):
        read_depth_file(tmp_path / "a.jpg")


def test_pictures_without_depth_say_so(tmp_path: Path, shown: Codes) -> None:
    """A plain picture as depth file is refused in words."""
    Image.fromarray(shown).save(tmp_path / "a.jpg")
    assert embedded_depth(tmp_path / "a.jpg") is None
    with pytest.raises(InputError, match="without depth inside"):
        read_depth_file(tmp_path / "a.jpg")


def test_another_shape_shares_the_middle() -> None:
    """A 4:3 depth image of a 16:9 picture: the middle rows are used, and it is said."""
    rows = np.repeat(np.arange(1, 13, dtype=np.float32)[:, None], 16, axis=1)
    values, remarks = aligned(EmbeddedDepth(rows, "relative inverse", ""), 1, 160, 90)

    assert values.shape == (90, 160)
    assert values.mean() == pytest.approx(6.5, abs=0.6)
    assert values.min() >= 2
    assert "another shape" in remarks[0]
    with pytest.raises(InputError, match="on its side"):
        aligned(EmbeddedDepth(rows, "relative inverse", ""), 1, 120, 160)


def test_depth_image_of_a_phones_heic() -> None:
    """The stored values are those that the library's own project expects; disparity is scaled."""
    pytest.importorskip("pillow_heif")
    with Image.open(PHONE / "phone_depth_expected.png") as image:
        expected = np.asarray(image)
    found = embedded_depth(PHONE / "phone_depth_p3.heic")
    assert found is not None
    values = found[0].values

    assert found[0].kind == "relative inverse"
    assert values.shape == (3024, 4032)
    wanted = 1.498046875 + expected / 255 * (4.3828125 - 1.498046875)
    # Sampled where the coarse cells have their centres: 4032 / 768 = 5.25 px a cell.
    rows = ((np.arange(2, 576, 4) + 0.5) * 5.25).astype(int)
    columns = ((np.arange(2, 768, 4) + 0.5) * 5.25).astype(int)
    difference = np.abs(values[np.ix_(rows, columns)] - wanted[2::4, 2::4])
    assert np.median(difference) < 0.002
    assert (values.min(), values.max()) == pytest.approx((1.498046875, 4.3828125))


def test_depth_that_was_left_lying_is_turned_with_its_heic() -> None:
    """Turned only where the picture stands and the depth lies, and the file says which way."""
    assert heif_turn((576, 768), (4032, 3024), 6) == 6
    assert heif_turn((768, 576), (4032, 3024), 6) == 1
    assert heif_turn((576, 768), (3024, 4032), 3) == 1


def test_damaged_phone_pictures_are_named(tmp_path: Path) -> None:
    """A HEIC without its list of images is refused in one sentence with its name."""
    pytest.importorskip("pillow_heif")
    data = (PHONE / "phone_depth_p3.heic").read_bytes()
    (tmp_path / "a.heic").write_bytes(data.replace(b"pitm", b"xxxx", 1))
    with pytest.raises(InputError, match=r"a\.heic is damaged") as caught:
        read_depth_file(tmp_path / "a.heic")
    assert "\n" not in str(caught.value)

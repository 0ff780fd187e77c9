"""Colour profiles, against littleCMS and the standards."""

import io
import struct
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from render.errors import InputError
from render.files.formats.colour.profiles import (
    build_profile,
    converted_to_srgb,
    profile_name,
    profile_space,
    read_profile,
)
from render.files.pictures import read_picture, write_picture
from render.scene.colour import (
    ADOBE_RGB,
    DISPLAY_P3,
    PROPHOTO,
    SRGB,
    Encoding,
    ParametricCurve,
    TableCurve,
)


@pytest.mark.parametrize("encoding", [SRGB, DISPLAY_P3, ADOBE_RGB, PROPHOTO], ids=lambda e: e.name)
def test_what_is_built_is_read_again(encoding: Encoding) -> None:
    """A built profile holds the same curves, primaries and name, to its 16 binary places."""
    again = read_profile(build_profile(encoding))

    assert again is not None
    assert again.name == encoding.name
    np.testing.assert_allclose(again.to_xyz, encoding.to_xyz, atol=1e-5)
    x = np.linspace(0, 1, 101)
    np.testing.assert_allclose(again.curves[0].decode(x), encoding.curves[0].decode(x), atol=3e-5)


@pytest.mark.parametrize("encoding", [DISPLAY_P3, ADOBE_RGB, PROPHOTO], ids=lambda e: e.name)
def test_littlecms_understands_built_profiles_as_we_do(encoding: Encoding) -> None:
    """LittleCMS takes our profile's colours to sRGB within one 8-bit step of our own matrix."""
    values = np.array([[[150, 120, 100], [128, 128, 128], [90, 110, 100]]], np.uint8)
    theirs = converted_to_srgb(values, build_profile(encoding)) / 257
    ours = SRGB.curves[0].encode(encoding.light(values) @ encoding.matrix_to(SRGB).T) * 255

    np.testing.assert_allclose(ours, theirs, atol=1.0)


def test_littlecms_own_srgb_profile_is_srgb() -> None:
    """The sRGB profile that another library makes is read as the sRGB of the standard."""
    icc = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    encoding = read_profile(icc)

    assert encoding is not None
    np.testing.assert_allclose(encoding.to_xyz, SRGB.to_xyz, atol=1e-3)
    codes = np.arange(256, dtype=np.uint8).reshape(16, 16, 1).repeat(3, axis=2)
    np.testing.assert_allclose(encoding.light(codes), SRGB.light(codes), atol=2e-5)


def _with_curve(curve: bytes) -> bytes:
    """An sRGB profile whose three curves are replaced."""
    icc = build_profile(SRGB)
    head, count = icc[:128], struct.unpack_from(">I", icc, 128)[0]
    table = [struct.unpack_from(">4sII", icc, 132 + 12 * i) for i in range(count)]
    start = 132 + 12 * count
    body, entries = b"", b""
    for name, at, size in table:
        data = curve if name.endswith(b"TRC") else icc[at : at + size]
        entries += struct.pack(">4sII", name, start + len(body), len(data))
        body += data + b"\0" * (-len(data) % 4)
    return head + struct.pack(">I", count) + entries + body


def _para(kind: int, *numbers: float) -> bytes:
    packed = struct.pack(f">{len(numbers)}i", *(round(n * 65536) for n in numbers))
    return b"para" + bytes(4) + struct.pack(">HH", kind, 0) + packed


@pytest.mark.parametrize(
    ("curve", "at_half"),
    [
        (b"curv" + bytes(4) + struct.pack(">I", 0), 0.5),
        (b"curv" + bytes(4) + struct.pack(">IH", 1, 563), 0.5 ** (563 / 256)),
        (b"curv" + bytes(4) + struct.pack(">I3H", 3, 0, 13107, 65535), 0.2),
        (_para(0, 1.8), 0.5**1.8),
        (_para(1, 2.0, 0.5, 0.25), 0.25),
        (_para(2, 2.0, 0.5, 0.25, 0.125), 0.375),
        (_para(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045), 0.2140411),
        (_para(4, 2.0, 1.0, 0.0, 0.5, 0.25, 0.01, 0.0), 0.26),
    ],
)
def test_all_kinds_of_curves(curve: bytes, at_half: float) -> None:
    """ICC.1:2022, 10.6 and 10.18: identity, gamma, samples, and the five parametric kinds."""
    encoding = read_profile(_with_curve(curve))

    assert encoding is not None
    assert float(encoding.curves[1].decode(0.5)) == pytest.approx(at_half, abs=2e-4)


def test_sampled_curves_are_kept_as_samples() -> None:
    """A sampled curve goes out as samples again."""
    samples = tuple((np.linspace(0, 1, 64) ** 2).tolist())
    built = build_profile(Encoding("x", (TableCurve(samples),) * 3, SRGB.to_xyz))
    again = read_profile(built)

    assert again is not None
    np.testing.assert_allclose(again.curves[0].decode(0.3), 0.09, atol=1e-3)


def test_tables_are_left_to_the_colour_engine() -> None:
    """A profile that is not matrix and curves gives None, and its space is told."""
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()

    assert profile_space(lab) == "Lab"
    assert read_profile(lab) is None
    both = build_profile(DISPLAY_P3).replace(b"cprt", b"A2B0", 1)  # a table goes before a matrix
    assert read_profile(both) is None


@pytest.mark.parametrize("length", [0, 40, 131, 200, 400])
def test_damaged_profiles_are_refused(length: int) -> None:
    """Cut short anywhere, a profile is refused in words."""
    with pytest.raises(InputError, match="colour profile"):
        read_profile(build_profile(SRGB)[:length])


@pytest.mark.parametrize("curve", [b"none" + bytes(12), _para(9, 1.0), _para(0, -1.0)])
def test_curves_that_mean_nothing_are_refused(curve: bytes) -> None:
    """Unknown kinds and negative gammas are refused."""
    with pytest.raises(InputError):
        read_profile(_with_curve(curve))


def test_names_come_from_both_versions() -> None:
    """The description is read from version 4 (mluc) and version 2 (desc) profiles."""
    old = b"desc" + bytes(4) + struct.pack(">I", 9) + b"My phone\0" + bytes(90)
    icc = bytearray(build_profile(ParametricEncoding))
    at = struct.unpack_from(">I", icc, 132 + 4)[0]

    assert profile_name(bytes(icc)) == "A name that is longer than the old description, and more"
    icc[at : at + 30] = old[:30]
    assert profile_name(bytes(icc)) == "My phone"


ParametricEncoding = Encoding(
    "A name that is longer than the old description, and more",
    (ParametricCurve(2.0),) * 3,
    SRGB.to_xyz,
)


def test_pillow_opens_a_picture_with_a_built_profile() -> None:
    """The built profile passes littleCMS as Pillow carries it."""
    packed = io.BytesIO()
    Image.new("RGB", (2, 2)).save(packed, "PNG", icc_profile=build_profile(DISPLAY_P3))
    with Image.open(packed) as image:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))

    assert ImageCms.getProfileDescription(profile).strip() == "Display P3"


def _cmyk_profile() -> bytes:
    """The smallest CMYK profile: a table of two steps an ink, to Lab (ICC.1:2022, 10.10 lut8)."""
    identity = bytes(range(256))
    table = b""
    for corner in range(16):
        inks = [(corner >> (3 - i)) & 1 for i in range(4)]  # cyan varies slowest
        cyan, magenta, yellow, black = inks
        lightness = 255 * (1 - black) * (1 - 0.3 * cyan - 0.35 * magenta - 0.1 * yellow)
        table += bytes([round(lightness), 128 + 60 * (magenta - cyan), 128 + 60 * (yellow - cyan)])
    lut = b"mft1" + bytes(4) + bytes([4, 3, 2, 0])
    lut += struct.pack(">9i", *(65536 * v for v in (1, 0, 0, 0, 1, 0, 0, 0, 1)))
    lut += identity * 4 + table + identity * 3
    tags = {b"A2B0": lut}
    tags[b"wtpt"] = b"XYZ " + bytes(4) + struct.pack(">3i", 63190, 65536, 54061)
    name = b"Made ink\0"
    tags[b"desc"] = b"desc" + bytes(4) + struct.pack(">I", len(name)) + name + bytes(78)
    tags[b"cprt"] = b"text" + bytes(4) + b"free\0"
    start, entries, body = 132 + 12 * len(tags), b"", b""
    for tag, data in tags.items():
        entries += tag + struct.pack(">II", start + len(body), len(data))
        body += data + b"\0" * (-len(data) % 4)
    head = struct.pack(">I4xI", start + len(body), 0x02400000) + b"prtrCMYKLab "
    head = head.ljust(36, b"\0") + b"acsp" + bytes(28) + struct.pack(">3i", 63190, 65536, 54061)
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + entries + body


def _ink_image(inks: np.ndarray) -> Image.Image:
    return Image.frombytes("CMYK", (inks.shape[1], inks.shape[0]), inks.tobytes())


def test_ink_profiles_are_converted_at_16_bits(tmp_path: Path) -> None:
    """A CMYK picture with a profile goes through the colour engine, as Pillow's own does."""
    icc = _cmyk_profile()
    inks = np.zeros((4, 5, 4), np.uint8)
    inks[:, 1], inks[:, 2], inks[:, 3] = (255, 0, 0, 0), (0, 128, 0, 0), (0, 0, 0, 200)
    _ink_image(inks).save(tmp_path / "a.tif", icc_profile=icc)
    picture = read_picture(tmp_path / "a.tif")

    assert read_profile(icc) is None
    assert "converted from Made ink" in picture.remarks[0]
    srgb = ImageCms.ImageCmsProfile(io.BytesIO(build_profile(SRGB)))
    wanted = ImageCms.profileToProfile(
        _ink_image(inks),
        ImageCms.ImageCmsProfile(io.BytesIO(icc)),
        srgb,
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        outputMode="RGB",
    )
    shown = picture.encoding.codes(picture.light, 8).astype(int)
    assert np.abs(shown - np.asarray(wanted)).max() <= 1
    assert shown[0, 0].min() > 250

    write_picture(tmp_path / "b.jpg", picture.light, picture)
    assert read_picture(tmp_path / "b.jpg").encoding.name == "sRGB"

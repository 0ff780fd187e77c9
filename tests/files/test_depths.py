"""Depth files in and out: what is written is what is read, and guesses are refused."""

from pathlib import Path

import numpy as np
import pytest
import tifffile
from imagecodecs import png_encode
from numpy.typing import NDArray
from PIL import Image

from render.errors import InputError, OutputError
from render.files.depths import metric_depth, read_depth, read_depth_file, write_depth
from render.files.formats import depthformats
from render.optics.camera import Camera

CAMERA = Camera(40, 30, 35.0)


@pytest.fixture
def depth_m() -> NDArray[np.float32]:
    """Ground from 4 to 200 m with sky above."""
    rows = 200 / (1 + np.arange(30, dtype=np.float32)[::-1] ** 2 / 18)
    depth = np.repeat(np.sort(rows)[::-1][:, None], 40, axis=1).astype(np.float32)
    depth[:4] = np.inf
    return depth


@pytest.mark.parametrize("ending", [".tif", ".npy", ".npz", ".pfm", ".exr"])
def test_floats_come_back_exactly(
    tmp_path: Path, ending: str, depth_m: NDArray[np.float32]
) -> None:
    """Every float format gives back the same bits, the sky included."""
    if ending == ".exr":
        pytest.importorskip("OpenEXR")
    write_depth(tmp_path / f"d{ending}", depth_m)

    np.testing.assert_array_equal(read_depth(tmp_path / f"d{ending}", CAMERA).depth_m, depth_m)


@pytest.mark.parametrize("kind", ["metres", "inverse", "ray", "disparity"])
@pytest.mark.parametrize("ending", [".png", ".tif", ".npz"])
def test_files_say_what_they_hold(
    tmp_path: Path, ending: str, kind: str, depth_m: NDArray[np.float32]
) -> None:
    """Kind, scale, sky and baseline are read from the file; nobody need remember them."""
    path = tmp_path / f"d{ending}"
    bits = 16 if ending != ".npz" else None
    write_depth(path, depth_m, kind=kind, bits=bits, camera=CAMERA, baseline_m=0.3)
    found = read_depth(path, CAMERA, holes=True)

    ground = np.isfinite(depth_m)
    np.testing.assert_allclose(found.depth_m[ground], depth_m[ground], rtol=2e-3)
    if kind != "disparity":
        assert np.isposinf(found.depth_m[~ground]).all()
    with pytest.raises(InputError, match=f"holds {kind}"):
        read_depth(path, CAMERA, kind="millimetres")


def test_ranges_are_said_in_words(tmp_path: Path, depth_m: NDArray[np.float32]) -> None:
    """What was read is told as nearest, farthest and share of sky, so a wrong unit shows."""
    write_depth(tmp_path / "d.npz", depth_m)
    said = read_depth(tmp_path / "d.npz", CAMERA).words()

    assert "nearest 4.19 m, farthest 106 m" in said
    assert "13 % sky" in said


def test_whole_numbers_without_a_unit_are_not_guessed(tmp_path: Path) -> None:
    """A plain 16-bit PNG needs a scale or a kind; with one it is read by it."""
    codes = np.arange(1, 1201, dtype=np.uint16).reshape(30, 40)
    (tmp_path / "d.png").write_bytes(png_encode(codes))
    with pytest.raises(InputError, match="no unit"):
        read_depth(tmp_path / "d.png", CAMERA)

    by_scale = read_depth(tmp_path / "d.png", CAMERA, scale=0.05)
    np.testing.assert_allclose(by_scale.depth_m, codes * np.float32(0.05))
    by_kind = read_depth(tmp_path / "d.png", CAMERA, kind="millimetres")
    np.testing.assert_allclose(by_kind.depth_m, codes / np.float32(1000), rtol=1e-6)


@pytest.mark.parametrize("name", ["big.png", "big.tif"])
def test_numbers_without_a_unit_are_refused_before_they_are_unfolded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """A packed file may claim 144 million of them: nothing of that size is asked for."""
    zeros = np.zeros((6, 9), np.uint16)
    if name.endswith("tif"):
        tifffile.imwrite(tmp_path / name, zeros)
    else:
        (tmp_path / name).write_bytes(png_encode(zeros))
    for reader in ("decode", "_one_channel"):
        monkeypatch.setattr(depthformats, reader, lambda *_: pytest.fail("it was decoded"))

    with pytest.raises(InputError, match="no unit"):
        read_depth_file(tmp_path / name)


def test_floats_without_a_unit_are_metres_and_said_so(tmp_path: Path) -> None:
    """A bare float map is taken as metres with a remark, and millimetres are suspected."""
    np.save(tmp_path / "d.npy", np.full((30, 40), 7.5))
    assert any("taken as metres" in r for r in read_depth(tmp_path / "d.npy", CAMERA).remarks)
    np.save(tmp_path / "e.npy", np.full((30, 40), 7500.0))
    assert any("millimetres?" in r for r in read_depth(tmp_path / "e.npy", CAMERA).remarks)


@pytest.mark.parametrize(
    ("plane", "words"),
    [
        (np.full((30, 41), 3.0), "41 x 30 px, the picture 40 x 30"),
        (np.full((30, 40), np.nan), "no depth at all"),
        (np.where(np.eye(30, 40) > 0, np.nan, 3.0), "2.50% of its pixels"),
        (np.where(np.eye(30, 40) > 0, -1.0, 3.0), "negative values at 2.50%"),
        (np.zeros((30, 40)), "nothing but zeros"),
        (np.where(np.eye(30, 40) > 0, 0.0, 3.0), "0 m"),
        (np.zeros((0, 40)), "empty"),
        (np.ones((30, 40, 3)), "one number per pixel"),
        (np.ones(40), "one number per pixel"),
    ],
)
def test_bad_depth_is_refused_in_one_sentence(
    tmp_path: Path, plane: NDArray[np.float64], words: str
) -> None:
    """Size, NaN, negative, zero, empty, coloured: refused, with what and where."""
    np.save(tmp_path / "bad.npy", plane)
    with pytest.raises(InputError, match=words) as caught:
        read_depth(tmp_path / "bad.npy", CAMERA)
    assert "bad.npy" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_zero_in_a_whole_number_file_is_not_known(tmp_path: Path) -> None:
    """Depth cameras write 0 where they saw nothing; that becomes a hole, if holes are allowed."""
    codes = np.full((30, 40), 500, np.uint16)
    codes[3, 4] = 0
    (tmp_path / "d.png").write_bytes(png_encode(codes))
    with pytest.raises(InputError, match="fill them with --mend"):
        read_depth(tmp_path / "d.png", CAMERA, kind="millimetres")

    found = read_depth(tmp_path / "d.png", CAMERA, kind="millimetres", holes=True)
    assert np.isnan(found.depth_m[3, 4])
    assert np.nanmax(found.depth_m) == pytest.approx(0.5)


def test_relative_depth_is_kept_as_it_is(tmp_path: Path) -> None:
    """Relative values come out untouched, and are not taken for metres."""
    codes = np.arange(1200, dtype=np.uint8).reshape(30, 40)
    Image.fromarray(codes).save(tmp_path / "d.png")
    file = read_depth_file(tmp_path / "d.png", kind="relative inverse")

    np.testing.assert_array_equal(file.values, codes)
    with pytest.raises(InputError, match="known distances"):
        metric_depth(file, CAMERA)


def test_grey_stored_as_colour_is_read_and_false_colours_are_not(tmp_path: Path) -> None:
    """Three equal channels are one; a painted map is refused."""
    grey = np.repeat(np.full((30, 40, 1), 9, np.uint8), 3, axis=2)
    Image.fromarray(grey).save(tmp_path / "a.png")
    assert read_depth(tmp_path / "a.png", CAMERA, scale=1.0).depth_m[0, 0] == 9
    grey[0, 0, 0] = 200
    Image.fromarray(grey).save(tmp_path / "b.png")
    with pytest.raises(InputError, match=r"b\.png is painted in colours"):
        read_depth(tmp_path / "b.png", CAMERA, scale=1.0)


@pytest.mark.parametrize("ending", [".png", ".tif", ".npy", ".npz", ".pfm"])
def test_cut_files_are_refused(tmp_path: Path, ending: str, depth_m: NDArray[np.float32]) -> None:
    """A truncated depth file is refused with its name."""
    path = tmp_path / f"cut{ending}"
    write_depth(path, depth_m + np.random.default_rng(2).random(depth_m.shape, np.float32))
    path.write_bytes(path.read_bytes()[:-200])
    with pytest.raises(InputError, match="cut"):
        read_depth(path, CAMERA)


def test_odd_files_are_refused(tmp_path: Path) -> None:
    """Missing, unknown and pickled files; a colour float map; an archive of several planes."""
    np.save(tmp_path / "a.npy", np.array([{"x": 1}], dtype=object), allow_pickle=True)
    (tmp_path / "b.pfm").write_bytes(b"PF\n2 2\n-1\n" + bytes(48))
    np.savez(tmp_path / "c.npz", left=np.ones((2, 2)), right=np.ones((2, 2)))
    (tmp_path / "d.txt").write_text("4.1")
    for name, words in (
        ("none.npy", "is not there"),
        ("a.npy", "damaged"),
        ("b.pfm", "three colours"),
        ("c.npz", "2 planes"),
        ("d.txt", "not a depth file"),
    ):
        with pytest.raises(InputError, match=words):
            read_depth(tmp_path / name, CAMERA)


def test_big_endian_float_maps(tmp_path: Path, depth_m: NDArray[np.float32]) -> None:
    """A positive scale means big-endian rows, bottom row first; Pillow agrees on ours."""
    body = depth_m[::-1].astype(">f4").tobytes()
    (tmp_path / "a.pfm").write_bytes(b"Pf\n40 30\n1.0\n" + body)
    np.testing.assert_array_equal(read_depth(tmp_path / "a.pfm", CAMERA).depth_m, depth_m)
    write_depth(tmp_path / "b.pfm", depth_m)
    with Image.open(tmp_path / "b.pfm") as image:
        np.testing.assert_array_equal(np.asarray(image), depth_m)


def test_maps_mark_what_is_missing(tmp_path: Path, depth_m: NDArray[np.float32]) -> None:
    """The no-data value that map programs store in a TIFF is not a depth."""
    depth_m[5, 5] = -9999
    tifffile.imwrite(
        tmp_path / "a.tif", depth_m, extratags=[(42113, "s", 0, "-9999", True)], metadata=None
    )

    assert np.isnan(read_depth(tmp_path / "a.tif", CAMERA, holes=True).depth_m[5, 5])


def test_places_and_forms_that_cannot_be(tmp_path: Path, depth_m: NDArray[np.float32]) -> None:
    """Formats that can't say what they hold take metres only; nothing is overwritten unasked."""
    with pytest.raises(OutputError, match="cannot say"):
        write_depth(tmp_path / "a.npy", depth_m, kind="inverse")
    with pytest.raises(OutputError, match="end the name"):
        write_depth(tmp_path / "a.jpg", depth_m)
    write_depth(tmp_path / "a.npz", depth_m)
    with pytest.raises(OutputError, match="there already"):
        write_depth(tmp_path / "a.npz", depth_m)
    assert [p.name for p in tmp_path.iterdir()] == ["a.npz"]


def test_how_it_was_made_and_how_sure_is_told_again(
    tmp_path: Path, depth_m: NDArray[np.float32]
) -> None:
    """The words and the uncertainty that were written come back with the depth."""
    for ending in (".png", ".tif", ".npz"):
        path = tmp_path / f"d{ending}"
        write_depth(path, depth_m, how="level ground seen from 12 m", uncertainty=0.05)
        found = read_depth(path, CAMERA)
        assert "level ground seen from 12 m" in found.how
        assert found.uncertainty == 0.05

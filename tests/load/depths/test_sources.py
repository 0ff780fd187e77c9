"""Where the depth of a picture comes from."""

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.depth.depthmap import DepthMap
from render.depth.ground import ground_depth
from render.errors import InputError
from render.files.formats.carried import Kept
from render.files.formats.picturefile import PictureFile
from render.load.depths.sources import picture_depth
from render.load.progress import silent
from render.optics.camera import Camera, Vantage
from render.scene.colour import SRGB
from render.shot.shot import Shot, merged

CAMERA = Camera(40, 30, 40.0)
PICTURE = PictureFile(
    path=Path("roof.jpg"),
    kind="JPEG",
    light=np.full((30, 40, 3), 0.3, np.float32),
    encoding=SRGB,
    bits=8,
    grey=False,
    orientation=1,
    kept=Kept(),
    converted=False,
    remarks=(),
)


def depth_of(*given: object) -> DepthMap:
    """Metric depth of the picture."""
    return picture_depth(*given).depth  # type: ignore[arg-type]


def test_a_file_wins_over_the_ground(tmp_path: Path) -> None:
    """Where both are named, the file is the depth and the vantage is kept for the judgement."""
    path = tmp_path / "depth.npy"
    np.save(path, np.full((30, 40), 7.0, np.float32))
    shot = merged(Shot(), {"depth": str(path), "depth-kind": "metres"}, "{name}")

    depth = depth_of(shot, PICTURE, CAMERA, Vantage(10, 20), silent)

    assert np.all(depth.depth_m == 7)


def test_level_ground_is_the_depth_where_no_file_is_named() -> None:
    """It says so, with its doubt, and that standing things are flat."""
    depth = depth_of(Shot(), PICTURE, CAMERA, Vantage(10, 20), silent)

    assert depth.how == "level ground seen from 10.0 m, looking 20° down"
    assert depth.typical_uncertainty > 0
    assert "flat" in depth.remarks[0]


def test_without_any_source_the_sentence_names_the_options() -> None:
    """The picture is named too."""
    with pytest.raises(InputError, match=r"roof\.jpg has no depth.*--depth.*--height and --pitch"):
        depth_of(Shot(), PICTURE, CAMERA, None, silent)


def test_a_stereo_programs_disparity_becomes_metres(tmp_path: Path) -> None:
    """With the baseline, shifts of 8 px are 40 x 0.5 / 8 m; without, it is asked for."""
    path = tmp_path / "shift.npy"
    np.save(path, np.full((30, 40), 6.0, np.float32))
    told = {"depth": str(path), "depth-kind": "disparity"}
    with pytest.raises(InputError, match="--baseline"):
        depth_of(merged(Shot(), told, "{name}"), PICTURE, CAMERA, None, silent)

    told |= {"baseline": "50 cm", "disparity-offset": "2"}
    depth = depth_of(merged(Shot(), told, "{name}"), PICTURE, CAMERA, None, silent)
    np.testing.assert_allclose(depth.depth_m, 2.5, rtol=1e-6)
    assert np.isnan(depth.typical_uncertainty)
    del told["disparity-offset"]
    unsaid = depth_of(merged(Shot(), told, "{name}"), PICTURE, CAMERA, None, silent)
    assert unsaid.typical_uncertainty == pytest.approx(0.03 * 40 / 6, rel=1e-3)
    assert "--disparity-offset 0" in unsaid.remarks[-1]


def test_a_baseline_for_a_file_of_metres_is_refused(tmp_path: Path) -> None:
    """Pixels of shift must not pass for metres because the kind was forgotten."""
    path = tmp_path / "shift.npy"
    np.save(path, np.full((30, 40), 6.0, np.float32))
    told = {"depth": str(path), "baseline": "0.5"}

    with pytest.raises(InputError, match="taken as metres, and --baseline is for disparity"):
        depth_of(merged(Shot(), told, "{name}"), PICTURE, CAMERA, None, silent)


def test_marks_beside_metres_check_them_and_say_so(tmp_path: Path) -> None:
    """Nothing moves, and the misfit at the mark is told."""
    path = tmp_path / "metres.npy"
    depth_m = np.full((30, 40), 6.0, np.float32)
    depth_m[:5] = np.inf
    np.save(path, depth_m)
    marks = ("50%,50% 8 m", "50%,5% 90 m")
    shot = merged(Shot(), {"depth": str(path), "mark": marks}, "{name}")

    depth = depth_of(shot, PICTURE, CAMERA, None, silent)

    assert np.array_equal(depth.depth_m, depth_m)
    said = next(remark for remark in depth.remarks if "--mark only checks them" in remark)
    assert "the depth has 6.00 m there (-25 %)" in said
    assert "the depth has the sky there" in said


def _relative(tmp_path: Path) -> tuple[Path, np.ndarray]:
    true = ground_depth(CAMERA, Vantage(10, 30))
    path = tmp_path / "relative.npy"
    np.save(path, (5 / true + 1).astype(np.float32))
    return path, true


def test_relative_depth_takes_marks_or_the_ground(tmp_path: Path) -> None:
    """Either makes it the same metres."""
    path, true = _relative(tmp_path)
    named = {"depth": str(path), "depth-kind": "relative inverse"}
    marks = tuple(f"{x}.5,{y}.5 {true[y, x]:.5f} m" for x, y in ((5, 28), (30, 15)))

    marked = depth_of(
        merged(Shot(), {**named, "mark": marks}, "{name}"), PICTURE, CAMERA, None, silent
    )
    grounded = depth_of(merged(Shot(), named, "{name}"), PICTURE, CAMERA, Vantage(10, 30), silent)

    np.testing.assert_allclose(marked.depth_m, true, rtol=1e-3)
    np.testing.assert_allclose(grounded.depth_m, true, rtol=1e-3)
    with pytest.raises(InputError, match="has no unit: give two or more"):
        depth_of(merged(Shot(), named, "{name}"), PICTURE, CAMERA, None, silent)


def test_swapped_relative_depth_is_refused(tmp_path: Path) -> None:
    """Numbers that grow the other way are told by the ground."""
    path, _ = _relative(tmp_path)
    shot = merged(Shot(), {"depth": str(path), "depth-kind": "relative"}, "{name}")

    with pytest.raises(InputError, match="near and far look swapped"):
        depth_of(shot, PICTURE, CAMERA, Vantage(10, 30), silent)


def test_two_sources_are_one_too_many(tmp_path: Path) -> None:
    """Both are named."""
    given = {"depth": str(tmp_path / "a.npy"), "network": str(tmp_path / "b.onnx")}
    shot = merged(Shot(), given, "{name}")

    with pytest.raises(InputError, match=r"more than once \(.*a\.npy, .*b\.onnx\)"):
        depth_of(shot, PICTURE, CAMERA, None, silent)


def test_a_second_picture_needs_its_step(tmp_path: Path) -> None:
    """Without the step's length there are no metres."""
    shot = merged(Shot(), {"second-picture": str(tmp_path / "b.jpg")}, "{name}")

    with pytest.raises(InputError, match="--step"):
        depth_of(shot, PICTURE, CAMERA, None, silent)


def test_holes_of_a_file_are_mended_when_asked(tmp_path: Path) -> None:
    """A file with holes is refused with the way out, and with --mend it is whole."""
    held = np.full((30, 40), 9.0, np.float32)
    held[10:14, 10:20] = np.nan
    np.save(tmp_path / "holes.npy", held)
    given = {"depth": str(tmp_path / "holes.npy"), "depth-kind": "metres"}

    with pytest.raises(InputError, match="mend"):
        depth_of(merged(Shot(), given, "{name}"), PICTURE, CAMERA, None, silent)
    whole = depth_of(
        merged(Shot(), {**given, "mend": "true"}, "{name}"), PICTURE, CAMERA, None, silent
    )
    np.testing.assert_allclose(whole.depth_m, 9.0, rtol=1e-5)


def _phone_picture(path: Path, unit: str) -> PictureFile:
    """A JPEG of 40 x 30 px with an appended depth image: everything 2 to 10 m away."""
    depth, dd = io.BytesIO(), "http://ns.google.com/photos/dd/1.0/"
    Image.fromarray(np.tile(np.arange(0, 256, 17, dtype=np.uint8), (12, 1))).save(depth, "PNG")
    size = len(depth.getvalue())
    xmp = (
        f'<r xmlns:I="{dd}item/" xmlns:D="{dd}depthmap/"><Item I:Mime="image/jpeg"/>'
        f'<Item I:Mime="image/png" I:Length="{size}" I:DataURI="d"/>'
        f'<x D:Near="2" D:Far="10" D:Format="RangeLinear" D:DepthURI="d" {unit}/></r>'
    )
    Image.new("RGB", (40, 30), (90, 90, 90)).save(path, xmp=xmp.encode())
    path.write_bytes(path.read_bytes() + depth.getvalue())
    return replace(PICTURE, path=path)


def test_depth_inside_the_picture_is_used_where_nothing_is_named(tmp_path: Path) -> None:
    """In metres it serves, and it is said; without a unit the sentence says what to add."""
    file = _phone_picture(tmp_path / "a.jpg", 'D:Units="m"')
    depth = depth_of(Shot(), file, CAMERA, None, silent)
    assert depth.depth_m.shape == (30, 40)
    assert depth.depth_m.min() == pytest.approx(2)
    assert depth.depth_m.max() == pytest.approx(10)
    assert "inside the picture" in depth.remarks[0]

    file = _phone_picture(tmp_path / "b.jpg", "")
    with pytest.raises(InputError, match="without a unit: name it with --depth"):
        depth_of(Shot(), file, CAMERA, None, silent)


def test_much_above_the_horizon_is_said_to_be_taken_as_sky() -> None:
    """From a room or a street, with what to draw; also to whom denies a sky, not beside walls."""
    street = depth_of(Shot(), PICTURE, CAMERA, Vantage(1.6, 5), silent)
    walled = merged(Shot(), {"wall-foot": ("10%,80% 60%,70%",)}, "{name}")

    assert any("--wall-foot" in remark for remark in street.remarks)
    depth = depth_of(walled, PICTURE, CAMERA, Vantage(1.6, 5), silent)
    assert not any("taken as sky" in remark for remark in depth.remarks)
    roofed = merged(Shot(), {"sky": "none"}, "{name}")
    depth = depth_of(roofed, PICTURE, CAMERA, Vantage(1.6, 5), silent)
    assert any("sky all the same" in remark for remark in depth.remarks)

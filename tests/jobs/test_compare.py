"""Comparing: one load, right sizes, right blur, honest words, nothing half-written."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from PIL import Image

import render.jobs.compare as job
from render.engine.photograph import photograph
from render.errors import HingelineError, InputError, OutputError, SettingError
from render.jobs.judge import judge
from render.load.prepare import prepare
from render.load.progress import silent
from render.optics.camera import Camera
from render.optics.lens import FocusSpot, LensSetting
from render.scene.colour import SRGB
from render.scene.resize import averaged, resized
from render.scene.scene import Scene
from render.shot.shot import Shot, merged
from render.shot.wishes import JudgeWishes
from tests.places import two_crates

GIVEN = {"view": "44", "height": "11", "pitch": "down 19", "tilt": "up 8", "focus": "50%,58%"}


def _blocks(height: int, width: int, seed: int = 3) -> np.ndarray:
    """Soft-edged blocks of several sizes, 0 to 1: detail at every scale."""
    rng = np.random.default_rng(seed)
    total = np.zeros((height, width, 3))
    for size in (6, 18, 60):
        grid = Image.fromarray(
            rng.integers(0, 256, (height // size + 1, width // size + 1, 3), np.uint8)
        )
        total += np.asarray(grid.resize((width, height), Image.Resampling.BILINEAR)) / 255 / 3
    return total


@pytest.fixture
def shot(tmp_path: Path) -> Shot:
    """A picture of a plain seen from 11 m."""
    path = tmp_path / "plain.png"
    Image.fromarray((255 * _blocks(200, 300)).astype(np.uint8)).save(path)
    return merged(Shot(picture=str(path)), GIVEN, "{name}")


def test_a_sheet_is_written_with_its_profile_and_words(
    shot: Shot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sheet, page, singles and shot are there; the scene was loaded once; the best is named."""
    loads = []
    monkeypatch.setattr(job, "prepare", lambda *a, **k: loads.append(1) or prepare(*a, **k))
    (tmp_path / "one").mkdir()
    made = job.compare(
        shot,
        tmp_path / "sheet.png",
        cell_px=200,
        page=tmp_path / "sheet.html",
        singles=tmp_path / "one",
        save_shot=tmp_path / "plain.toml",
        title="Étude",
        progress=silent,
    )

    assert len(loads) == 1
    assert [path.name for path in made.files] == [
        *("sheet.png", "sheet.html", *(f"sheet_{i:02d}.jpg" for i in range(1, 7)), "plain.toml"),
    ]
    assert all(path.exists() for path in made.files)
    with Image.open(tmp_path / "sheet.png") as sheet:
        assert sheet.info["icc_profile"]
    with Image.open(tmp_path / "one" / "sheet_01.jpg") as single:
        assert single.size == (200, 133)
    assert len(made.record["cells"]) == 6
    assert sum(cell["suggested"] for cell in made.record["cells"]) <= 1
    suggested = next(line for line in made.lines if line.startswith("Suggested: "))
    assert "of 100 ways of weighing it" in suggested or "easier to dial" in suggested
    blurs = [c["parts"]["visibility"]["edge_blur_fraction"] for c in made.record["cells"]]
    assert blurs == sorted(blurs, reverse=True)


@pytest.mark.usefixtures("small_scenes")
@pytest.mark.parametrize("source", ["picture", "scene"])
def test_a_sheet_says_the_scale_that_judge_says(source: str, shot: Shot, tmp_path: Path) -> None:
    """Judge and sheet look at the same samples, so a scale near a rounding step reads alike.

    In a scene a focus in pixels lies where the full picture has it, also on a small sheet.
    """
    scene = Shot(scene=str(two_crates(tmp_path, far_m=(3, 5))))
    seen = shot if source == "picture" else scene
    focus = {"focus": "300,150"} if source == "scene" else {}
    asked = merged(seen, {"f": "4", **focus}, "{name}")
    alone = judge(asked, JudgeWishes(), progress=silent).record
    made = job.compare(asked, tmp_path / "a.png", across="f=4", cell_px=160, progress=silent)
    cell = made.record["cells"][0]
    assert cell["reads_as"] == alone["reads_as"]
    assert cell["score"] == alone["score"]


def test_of_equal_cells_none_is_suggested(shot: Shot, tmp_path: Path) -> None:
    """On tilted ground a smaller sensor scores the same to the point; wider stops do differ."""
    same = job.compare(
        shot, tmp_path / "a.png", across="format=36x24,30x20", cell_px=160, progress=silent
    ).record["cells"]
    stops = job.compare(shot, tmp_path / "b.png", across="f=2.8,22", cell_px=160, progress=silent)

    assert len({f"{cell['score']['value']:.0f}" for cell in same}) == 1
    assert not any(cell["suggested"] for cell in same)
    assert sum(cell["suggested"] for cell in stops.record["cells"]) == 1


def test_single_pictures_that_are_there_already_stop_it_before_the_sheet(
    shot: Shot, tmp_path: Path
) -> None:
    """All places are looked at first, so that nothing is left half-written."""
    (tmp_path / "one").mkdir()
    (tmp_path / "one" / "sheet_02.jpg").write_bytes(b"mine")
    with pytest.raises(OutputError, match=r"sheet_02\.jpg is there already"):
        job.compare(
            shot,
            tmp_path / "sheet.png",
            across="f=4,8",
            cell_px=160,
            singles=tmp_path / "one",
            progress=silent,
        )
    assert not (tmp_path / "sheet.png").exists()
    assert [path.name for path in (tmp_path / "one").iterdir()] == ["sheet_02.jpg"]


def test_the_same_shot_gives_the_same_bytes(shot: Shot, tmp_path: Path) -> None:
    """A sheet can be made again from its shot, byte for byte."""
    for name in ("a.png", "b.png"):
        job.compare(shot, tmp_path / name, across="f=2.8,8", cell_px=150, progress=silent)

    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()


@pytest.mark.parametrize("tilt_deg", [-8.0, 5.0])
@pytest.mark.parametrize("f_number", [2.8, 8.0])
def test_blur_is_right_for_the_size_that_is_shown(tilt_deg: float, f_number: float) -> None:
    """Rendered at a third of the size equals full size shrunk, to 38 dB and better."""
    camera = Camera(720, 480, 900.0)
    rows = camera.grid()[1]
    falls = np.maximum(rows * np.cos(0.35) + np.sin(0.35), 1e-3)
    depth = np.repeat((11.0 / falls)[:, None], 720, axis=1).astype(np.float32)
    depth[200:320, 300:380] = 14.0  # a box that stands near
    scene = Scene(SRGB.light(_codes(_blocks(480, 720))), depth, camera)
    setting = LensSetting(
        focal_mm=45, f_number=f_number, tilt_deg=tilt_deg, focus=FocusSpot(0.1, 0.05, 27.0)
    )
    small = photograph(resized(scene, 240), setting).light
    full = averaged(photograph(scene, setting).light, *small.shape[:2])
    error = SRGB.codes(small, 16).astype(float) - SRGB.codes(full, 16).astype(float)

    assert -20 * np.log10(np.sqrt(np.mean(error**2)) / 65535) >= 38.0


def _codes(values: np.ndarray) -> np.ndarray:
    return (255 * values + 0.5).astype(np.uint8)


@pytest.mark.parametrize(
    ("how", "kind", "says"),
    [
        ({"across": "f=" + ",".join(["2.8"] * 500)}, InputError, "500 pictures are too many"),
        ({"across": "f="}, SettingError, "gives no values"),
        ({"kind": "grid", "across": "f=2,4"}, SettingError, "--sheet grid lays out its own"),
        ({"kind": "stripes"}, SettingError, "is no sheet"),
        ({"kind": "vantages"}, InputError, "one place only"),
        ({"across": "f=2,4", "down": "f=8"}, SettingError, "f is given both across and down"),
        ({"cell_px": 5}, SettingError, "120 to 2400 px"),
        ({"title": "x" * 400}, InputError, "400 characters"),
        ({"title": "מרפא"}, InputError, "U\\+05DE"),
        ({"page": Path("page.pdf")}, OutputError, r"written as \.html"),
        ({"singles": Path("nowhere")}, OutputError, "is no folder"),
        ({"across": "lens=5"}, SettingError, "not all in the picture"),
    ],
)
def test_bad_input_writes_nothing(
    shot: Shot, tmp_path: Path, how: dict[str, object], kind: type[HingelineError], says: str
) -> None:
    """One sentence, and no file beside the picture."""
    with pytest.raises(kind, match=says):
        job.compare(shot, tmp_path / "sheet.png", progress=silent, **how)  # type: ignore[arg-type]

    assert [path.name for path in tmp_path.iterdir()] == ["plain.png"]


def test_a_sheet_is_not_written_over_the_picture(shot: Shot, tmp_path: Path) -> None:
    """Neither the input nor a file that is there already is replaced."""
    with pytest.raises(OutputError, match="was read"):
        job.compare(shot, tmp_path / "plain.png", overwrite=True, progress=silent)
    with pytest.raises(OutputError, match=r"\.png or \.jpg"):
        job.compare(shot, tmp_path / "sheet.pdf", progress=silent)


def test_where_two_things_are_to_be_sharp_the_widest_stop_that_keeps_them_is_suggested(
    shot: Shot, tmp_path: Path
) -> None:
    """No cell is told that it won't read as a model, nor a score; the record marks the same."""
    wish = {"check": ("near=50%,80%", "far=50%,45%"), "tilt": "0", "focus": "50%,60%"}
    made = job.compare(
        merged(shot, wish, "{name}"), tmp_path / "s.png", across="f=2,8,22", cell_px=160,
        page=tmp_path / "s.html", progress=silent,
    )  # fmt: skip
    said = "\n".join(made.lines)
    cells = made.record["cells"]

    assert "won't read" not in said
    foot = (tmp_path / "s.html").read_text()
    assert "Band: share" in foot
    assert "Score" not in foot
    assert "Strips" not in foot  # they are on the sheet alone
    assert said.count("for sharpness, not for a model") == 3
    assert [cell["suggested"] for cell in cells].count(True) == 1
    assert "all that was asked for is sharp" in said


def test_a_name_outside_frames_that_differ_is_said_once() -> None:
    """How far away it lies differs with the frame, so that no note is shared."""
    cells: list[Any] = [
        SimpleNamespace(sharpness=SimpleNamespace(unseen=names))
        for names in (("ferry", "crane"), ("ferry",))
    ]

    ferry, crane = job._outside_words(cells, [])
    assert ferry.startswith("ferry lies outside the frame in every picture")
    assert crane.startswith("crane lies outside the frame in 1 of 2 pictures")
    noted = ["ferry, 30.0 m along the camera's axis, is not in the frame"]
    assert job._outside_words(cells, noted) == [crane]

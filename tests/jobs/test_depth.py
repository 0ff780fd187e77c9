"""`hingeline depth` as a job."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.depth.depthmap import Unsaid
from render.depth.ground import ground_depth
from render.errors import HingelineError, InputError
from render.files.depths import read_depth, read_depth_file, write_depth
from render.files.formats.depthknown import Known
from render.jobs.depth import make_depth, propose_pitch
from render.load.prepare import prepare
from render.load.progress import silent
from render.optics.camera import Camera, Sensor, Vantage
from render.shot.shot import Shot, merged

CAMERA = Camera(120, 80, 35 * float(np.hypot(120, 80)) / float(np.hypot(36, 24)))


@pytest.fixture
def roof(tmp_path: Path) -> Path:
    """A grey ground with a red board, 120 x 80."""
    picture = np.full((80, 120, 3), 130, np.uint8)
    picture[20:70, 15:45] = (200, 40, 40)
    path = tmp_path / "roof.png"
    Image.fromarray(picture).save(path)
    return path


def _shot(picture: Path, **given: object) -> Shot:
    words = {name.replace("_", "-"): value for name, value in given.items()}
    start = Shot(picture=str(picture))
    return merged(start, {"focal-35": "35", **words}, "--{name}")  # type: ignore[dict-item]


def test_the_ground_is_written_and_reads_back(roof: Path, tmp_path: Path) -> None:
    """The file holds the ground's metric depth, and the words say range, sky and doubt."""
    out = tmp_path / "d.tif"

    made = make_depth(_shot(roof, height="12", pitch="down 10"), out, progress=silent)

    held = read_depth(out, CAMERA).depth_m
    np.testing.assert_allclose(held, ground_depth(CAMERA, Vantage(12, 10)), rtol=1e-5)
    assert "% sky" in made.lines[0]
    assert made.record["uncertainty"] > 0


def test_marks_and_sky_are_written_with_their_misfits(roof: Path, tmp_path: Path) -> None:
    """Marked spots have their distance, the outlined sky is infinite, each misfit is told."""
    out = tmp_path / "d.npz"
    marks = ("25%,50% 5 m", "80%,90% 8 m", "80%,40% 40 m")
    shot = _shot(roof, mark=marks, sky="0,0 100%,0 100%,15% 0,15%")

    made = make_depth(shot, out, show=True, progress=silent)

    held = read_depth(out, CAMERA, holes=True).depth_m
    assert held[40, 30] == pytest.approx(5, rel=0.02)
    assert np.all(np.isinf(held[:11]))
    assert len(made.record["marks"]) == 3
    assert sum("the depth has" in line for line in made.lines) == 3
    with Image.open(tmp_path / "d_shown.png") as shown:
        assert shown.width == 120


def test_a_box_stands_on_its_foot(roof: Path, tmp_path: Path) -> None:
    """A box on the ground is nearer than the ground behind it and upright."""
    out = tmp_path / "d.npy"
    shot = _shot(roof, height="6", pitch="down 15", thing=("box 15,20 45,70 flat",))

    make_depth(shot, out, progress=silent)

    held, ground = np.load(out), ground_depth(CAMERA, Vantage(6, 15))
    assert np.ptp(held[21:69, 16:44]) < 1e-4
    assert held[40, 30] == pytest.approx(ground[69, 30], rel=0.02)
    assert np.all(held[21:69, 16:44] <= ground[21:69, 16:44] + 1e-3)


def test_known_things_place_the_camera(roof: Path, tmp_path: Path) -> None:
    """Two distances on the ground stand in for height and pitch."""
    truth = ground_depth(CAMERA, Vantage(9, 20))
    spots = tuple(f"{x}.5,{y}.5 {truth[y, x]:.4f} m" for x, y in ((60, 75), (30, 30)))

    made = make_depth(_shot(roof, ground_mark=spots), tmp_path / "d.tif", progress=silent)

    assert any("stands 9.00 m high and looks 20° down" in note for note in made.record["notes"])


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"mark": ("50%,50% 10 m",)}, "mark two or more"),
        ({"height": "10"}, "the height alone"),
        (
            {"wall_foot": ("10%,90% 90%,90%",), "mark": ("1%,1% 3 m", "9%,9% 5 m")},
            "ground that is not",
        ),
        ({"height": "10", "pitch": "0", "thing": ("box 1,1 9,9",)}, "on or above the horizon"),
        ({"mark": ("10%,5% 10 m", "50%,90% 3 m"), "sky": "0,0 100%,0 100%,15% 0,15%"}, "the sky"),
        ({}, "has no depth"),
    ],
)
def test_bad_wishes_are_one_sentence_and_nothing_is_written(
    roof: Path, tmp_path: Path, given: dict[str, object], sentence: str
) -> None:
    """Each wish that cannot be met is refused in words, with no file left and none touched."""
    before = roof.read_bytes()

    with pytest.raises(HingelineError, match=sentence):
        make_depth(_shot(roof, **given), tmp_path / "d.tif", progress=silent)

    assert sorted(path.name for path in tmp_path.iterdir()) == ["roof.png"]
    assert roof.read_bytes() == before


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("mark", "50% 10 m"),
        ("mark", "50%,50%"),
        ("thing", "box 1,1"),
        ("thing", "circle 1,1 2,2"),
        ("sky", "blue"),
        ("wall-foot", "1,1"),
        ("slope", "sideways 3"),
        ("upright", "1,1 2,2"),
    ],
)
def test_words_that_are_not_understood_show_an_example(name: str, text: str) -> None:
    """A wish that cannot be read is answered with its option and an example."""
    many = name not in ("sky", "slope")

    with pytest.raises(HingelineError, match=f"--{name}: .*(such as|write)"):
        merged(Shot(), {name: (text,) if many else text}, "--{name}")


def test_a_plain_picture_proposes_nothing(roof: Path) -> None:
    """Without lines that agree no pitch is proposed."""
    pytest.importorskip("cv2")

    with pytest.raises(InputError, match="too few lines"):
        propose_pitch(_shot(roof), silent)


def test_a_scene_s_depth_is_written_as_its_frame_shows_it(tmp_path: Path) -> None:
    """A bare plain from 5 m: the ground's own depth, of the frame alone."""
    path = tmp_path / "plain.toml"
    path.write_text(
        'line = "A plain."\n'
        "[vantage]\nstand_m = [0, 0]\nheight_m = 5\nlook_at_m = [0, 20, 0]\nfocal_mm = 35\n"
    )
    out = tmp_path / "d.npy"
    shot = merged(Shot(scene=str(path)), {"width": "60"}, "{name}")

    made = make_depth(shot, out, show=True, progress=silent)

    camera = Camera.from_lens(60, 40, 35, Sensor())
    pitch = float(np.degrees(np.arctan2(5, 20)))
    expected = ground_depth(camera, Vantage(5.0, pitch))
    near = expected < 200
    np.testing.assert_allclose(np.load(out)[near], expected[near], rtol=1e-3)
    assert made.record["how"] == "the scene plain"
    assert made.record["notes"][-1] == "framed by a 35 mm lens"  # no f-number, no focus
    assert (tmp_path / "d_shown.png").is_file()


_MARKS = ("25%,60% 9 m", "80%,90% 6 m", "80%,50% 14 m")
_GROUND = {"height": "12", "pitch": "down 30"}


@pytest.mark.parametrize(
    ("ending", "given"),
    [
        ("tif", _GROUND),
        ("png", {**_GROUND, "mark": _MARKS}),
        ("exr", {**_GROUND, "mark": _MARKS, "thing": ("box 15%,25% 35%,85%",), "near": ("none",)}),
        ("npz", {"mark": _MARKS}),
        ("tif", {**_GROUND, "slope": "up 4", "near": ("box 0%,90% 9%,100% 2 m",)}),
    ],
)
def test_a_depth_file_is_as_sure_as_what_it_was_made_of(
    roof: Path, tmp_path: Path, ending: str, given: dict[str, object]
) -> None:
    """Doubt, vantage, what was not said and what was named come back, and so does the verdict."""
    typed = _shot(roof, **given, lens="50")
    out = tmp_path / f"d.{ending}"
    make_depth(typed, out, progress=silent)

    said = prepare(typed, silent)
    read = prepare(_shot(roof, depth=str(out), lens="50"), silent)

    assert read.unsaid == said.unsaid
    assert read.scene.vantage == said.scene.vantage
    assert read.depth_unsure == said.depth_unsure > 0
    np.testing.assert_allclose(read.scene.depth_m, said.scene.depth_m, rtol=2e-3)


def test_what_a_depth_file_tells_holds_for_its_own_numbers_and_camera(
    roof: Path, tmp_path: Path
) -> None:
    """Other numbers under the same words pass it over and say so; another camera takes no pitch."""
    out = tmp_path / "d.tif"
    make_depth(_shot(roof, **_GROUND), out, progress=silent)
    told = prepare(_shot(roof, depth=str(out), focal_35="60"), silent)
    assert told.unsaid.standing
    assert told.scene.vantage is None
    with Image.open(out) as image:
        words, numbers = image.tag_v2[270], np.array(image)
    numbers[40:] *= 1.01
    Image.fromarray(numbers).save(out, tiffinfo={270: words})

    changed = read_depth_file(out)

    assert changed.known is None
    assert any("not those that were written" in remark for remark in changed.remarks)
    (remark,) = write_depth(tmp_path / "d.npy", numbers, known=Known(Unsaid(near=True)))
    assert "pass for measured" in remark

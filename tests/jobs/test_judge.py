"""The judging job, called from Python."""

import json
import shlex
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError, OutputError, SettingError
from render.jobs.judge import judge
from render.judge.score import Word
from render.judge.verdict import judge as verdict_on
from render.load.prepare import prepare
from render.load.progress import silent
from render.load.scenes import load_scene, prepare_scene
from render.shot.shot import Shot, merged
from render.shot.wishes import JudgeWishes
from render.trace.build import Built
from render.trace.builds import built_scene

GIVEN = {
    "view": "24",
    "height": "20",
    "pitch": "20",
    "lens": "90",
    "f": "4",
    "tilt": "up 8",
    "focus": "50%,50%",
}


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    """Colourful cells, as fine as the picture can hold."""
    cells = np.random.default_rng(1).integers(0, 255, (120, 180, 3), dtype=np.uint8)
    path = tmp_path / "square.png"
    Image.fromarray(cells).save(path)
    return path


def _judge(picture: Path, wishes: JudgeWishes | None = None, **more):
    given = {**GIVEN, **more.pop("given", {})}
    shot = merged(Shot(picture=str(picture)), given, "{name}")
    return judge(shot, wishes or JudgeWishes(), progress=silent, **more)


def test_lines_and_record_say_the_same(picture: Path) -> None:
    """Headline, five parts with units, advice and small print, in words and as JSON."""
    judged = _judge(picture)
    text = "\n".join(judged.lines)
    record = json.loads(json.dumps(judged.record, allow_nan=False))

    assert record["word"] == Word.READS
    assert record["sentence"] in text
    for part in (
        "seems to stand 35 cm",
        "blur follows depth: correlation 0.9",
        "looks sharp",
        "below eye level",
        "C* ",
    ):
        assert part in text
    assert all(line["line"] in text for line in record["advice"])
    assert "level ground alone" in text
    assert text.endswith(record["small_print"])


def test_the_ranges_count_with_how_unsure_the_depth_is(picture: Path) -> None:
    """Level ground is 16 % unsure; said to be exact the range is narrower, said worse wider."""
    ranges = {}
    for error in (0.0, None, 0.16, 0.4):
        judged = _judge(picture, JudgeWishes(depth_error=error))
        scale = judged.record["reads_as"]
        ranges[error] = scale["high"] / scale["low"]
        said = [line for line in judged.lines if line.startswith("The ranges count")]
        assert len(said) == (error != 0.0)

    assert ranges[None] == pytest.approx(ranges[0.16])
    assert ranges[0.0] < ranges[None] < ranges[0.4]


def test_outlines_are_written_once_and_never_over_another_file(
    picture: Path, tmp_path: Path
) -> None:
    """`--show` writes a picture; a second time it is refused before anything is read."""
    out = tmp_path / "outlined.png"
    judged = _judge(picture, out=out, show=True)

    assert judged.record["files"] == [str(out)]
    with Image.open(out) as drawn:
        assert drawn.height > drawn.width / 1.5 + 20  # the picture over its verdict
    with pytest.raises(OutputError, match="there already"):
        _judge(picture, out=out, show=True)
    with pytest.raises(OutputError, match=r"telltales is written as \.png, \.jpg or \.webp"):
        _judge(picture, out=tmp_path / "outlines", show=True)


def test_a_rendering_gives_the_colour_and_must_be_of_this_frame(
    picture: Path, tmp_path: Path
) -> None:
    """A grey rendering is told as grey, which is not scored; one of another size is refused."""
    plain = _judge(picture)
    shot = merged(Shot(picture=str(picture)), GIVEN, "{name}")
    window = prepare(shot, silent, for_render=False).scene.frame
    frame = window.height, window.width
    grey, small = str(tmp_path / "grey.png"), str(tmp_path / "small.png")
    Image.new("RGB", frame[::-1], (90, 90, 90)).save(grey)
    Image.new("RGB", (9, 6)).save(small)
    greyed = _judge(picture, JudgeWishes(rendered=grey))

    chroma = [made.record["parts"]["picture"]["chroma"] for made in (greyed, plain)]
    assert chroma[0] < 1 < chroma[1]
    assert greyed.record["score"]["value"] == plain.record["score"]["value"]
    with pytest.raises(InputError, match=r"small\.png is 9 x 6 px"):
        _judge(picture, JudgeWishes(rendered=small))


def test_wishes_reach_the_judgement(picture: Path) -> None:
    """A scale on demand, another viewer, a lens's own limits."""
    judged = _judge(picture, JudgeWishes(scale=87.0, seen_by="close-up lens at f/8"))

    assert judged.record["f_number_for_scale"] == pytest.approx(7.6, abs=0.1)
    assert judged.record["reads_as"]["denominator"] == pytest.approx(166 * 4.6 / 12.5, rel=0.02)


@pytest.mark.parametrize(
    ("wishes", "error", "words"),
    [
        (JudgeWishes(seen_by="hawk"), SettingError, "hawk"),
        (JudgeWishes(scale=-3.0), SettingError, "no scale"),
    ],
)
def test_bad_wishes_are_refused_in_one_sentence(picture: Path, wishes, error, words) -> None:
    """What, where, and what to do."""
    with pytest.raises(error, match=words):
        _judge(picture, wishes)


SQUARE = """
line = "A square with a few sheds."

[vantage]
stand_m = [0, -30]
height_m = 12
look_at_m = [0, 0, 0]
focal_mm = 45

[setting]
f_number = 2.8
tilt = "up 8"
focus_at_m = [0, 0, 0]

[[things]]
kind = "box"
size_m = [4, 3, 2]
at_m = [-6, 2]
array = { count = [2, 2], step_m = [9, 8] }
"""


@pytest.fixture(scope="module")
def corner() -> Built:
    """The shipped street corner, built once."""
    return built_scene(load_scene("corner"))


@pytest.mark.parametrize(
    ("storeys", "distance_m"), [(1, 6.0), (2, 12.0), (3, 16.0), (4, 16.0), (4, 25.0)]
)
def test_practice_from_one_to_four_storeys_on_a_demo_scene(
    corner: Built, storeys: int, distance_m: float
) -> None:
    """Wide open or one stop down reads; f/8, f/11 and f/16 weaken it (common practice)."""
    given = {"width": "180", "height": f"{storeys} storeys", "distance": f"{distance_m}"}
    given |= {"lens": "45", "tilt": "up 8"}
    shot = merged(Shot(scene="corner"), given, "{name}")
    here = prepare_scene(shot, silent, samples=1, behind=False, built=corner)
    found = {
        stop: verdict_on(here.scene, replace(here.setting, f_number=stop))
        for stop in (2.8, 4.0, 8.0, 11.0, 16.0)
    }
    scores = [verdict.score.value for verdict in found.values()]

    assert found[2.8].word is found[4.0].word is Word.READS
    assert scores[1] > scores[2] > scores[3] >= scores[4]


def test_a_demo_scene_is_judged_and_tests_what_a_photo_cannot(tmp_path: Path) -> None:
    """From 4 m up, the advice to look steeper is run on the scene from there, and can be typed."""
    path = tmp_path / "square.toml"
    path.write_text(SQUARE)
    shot = merged(Shot(scene=str(path)), {"height": "4", "width": "120"}, "{name}")
    judged = judge(shot, JudgeWishes(), progress=silent)
    there = [line for line in judged.record["advice"] if line["vantage"] is not None]

    assert there
    assert all(line["tested"] == "run on the same place, seen from there" for line in there)
    assert not any("cannot test" in line for line in judged.lines)
    words = shlex.split(there[0]["options"])
    typed = dict(zip((name[2:] for name in words[::2]), words[1::2], strict=True))
    again = judge(merged(shot, typed, "{name}"), JudgeWishes(), progress=silent).record
    assert again["score"]["value"] == pytest.approx(there[0]["after"], abs=3)  # larger when tested
    assert f"options: {there[0]['options']}" in "\n".join(judged.lines)
    assert (
        judged.record["parts"]["picture"]["transmission"] > 0.9
    )  # the scene says how far one sees


def test_a_room_without_ground_outside_is_judged() -> None:
    """A roof's height, from which its frame would be bare sky, is left out of the advice."""
    shot = merged(Shot(scene="portrait"), {"width": "96"}, "{name}")
    judged = judge(shot, JudgeWishes(), progress=silent)
    there = [line["vantage"] for line in judged.record["advice"] if line["vantage"]]

    assert all(vantage["height_m"] < 3 for vantage in there)
    assert judged.lines[0].startswith("Asked for: left eye sharp")  # a portrait is no model

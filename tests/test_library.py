"""The program from Python: the README's lines, options in words and numbers, wrong types."""

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hingeline import (
    Camera,
    FocusDistance,
    HingelineError,
    InputError,
    Iris,
    LensSetting,
    Prepared,
    Scene,
    SettingError,
    Vantage,
    focus_lens,
    open_picture,
    open_scene,
    photograph,
    solve,
    turn,
    verdict,
    write_picture,
)
from PIL import Image

from render.jobs.judge import judge
from render.load.progress import silent
from render.shot.wishes import JudgeWishes

README = Path(__file__).parents[1] / "README.md"
PLACE: dict[str, Any] = {"view": 60, "height": "12 m", "pitch": "down 20"}


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    """Soft blocks, as a JPEG."""
    cells = np.random.default_rng(5).integers(0, 255, (12, 18, 3), dtype=np.uint8)
    path = tmp_path / "roof.jpg"
    Image.fromarray(cells).resize((180, 120)).save(path, quality=95)
    return path


@pytest.fixture
def place(picture: Path) -> Prepared:
    """That picture, with a lens planned for it."""
    return open_picture(picture, **PLACE, lens=50, f=2.8, tilt="up 8", focus="50%,60%")


def test_the_lines_of_the_readme_run_as_they_stand(
    picture: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """They write the photograph and print a verdict; nothing is left out."""
    monkeypatch.chdir(picture.parent)
    block = re.search(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    assert block is not None
    assert block[1].count("\n") <= 12
    exec(compile(block[1], "README.md", "exec"), {})

    assert (picture.parent / "tilted.jpg").exists()
    assert re.search(r"of 100", capsys.readouterr().out)


def test_options_are_those_of_the_command_in_words_or_numbers(picture: Path) -> None:
    """A number stands for its own words, a path for its name, a list for what may be repeated."""
    numbers = open_picture(picture, view=60, height=12, pitch=20, lens=50, f=4, portrait=False)
    words = open_picture(
        str(picture), view="60", height="12 m", pitch="down 20", lens="50 mm", f="f/4"
    )
    marked = open_picture(picture, view=60, mark=["50%,90% 9 m", "50%,40% 40 m"], focus="9 m")

    assert numbers.setting == words.setting
    assert numbers.scene.frame == words.scene.frame
    assert marked.setting.focus == FocusDistance(9.0)


def test_turning_the_lens_loads_nothing_again(place: Prepared) -> None:
    """The pixels are the same memory; the setting is the new one; more than the lens is refused."""
    wider = turn(place, f=8, tilt="up 3")

    assert np.shares_memory(wider.scene.picture, place.scene.picture)
    assert (wider.setting.f_number, wider.setting.tilt_deg) == (8, -3)
    assert wider.setting.focus == place.setting.focus
    with pytest.raises(SettingError, match="height: not all of these turn the lens"):
        turn(place, height=3)


def test_the_verdict_is_the_one_of_the_command(place: Prepared) -> None:
    """One number, whoever is asked."""
    said = judge(place.shot, JudgeWishes(), progress=silent).record

    assert verdict(place).score.value == pytest.approx(said["score"]["value"])
    assert verdict(place).sentence == said["sentence"]


def test_what_is_solved_can_be_turned_to(place: Prepared) -> None:
    """The answer's options set the lens so; ground near and far lies in one plane."""
    answer = solve(place, ["50%,75%", "50%,30%"])
    found = turn(place, **answer.options)

    assert f"{found.setting.f_number:.4g}" == answer.options["f"]
    assert answer.options["focus"].startswith("extension")


def test_a_scene_is_opened_by_its_name_and_a_wrong_one_is_said() -> None:
    """Names of demo scenes; a file that is not there is one sentence."""
    bench = open_scene("bench", width=64)

    assert bench.scene.frame.width == 64
    with pytest.raises(InputError, match="demo scene"):
        open_scene("nowhere")
    with pytest.raises(InputError, match="is not there"):
        open_scene("nowhere.osm")


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda p: open_picture(p, hieght=3), "is height meant"),
        (lambda p: open_picture(p, mark="50%,90% 9 m"), "mark takes a list"),
        (lambda p: open_picture(p, lens=[45]), "lens is written as text or a number"),
        (lambda p: open_picture(p.with_name("gone.jpg")), "gone.jpg"),
        (lambda p: write_picture(p.with_name("x.jpg"), "light"), "an array of floats"),
    ],
)
def test_a_wrong_option_is_one_sentence(picture: Path, call: Any, words: str) -> None:
    """What, where, what to do."""
    with pytest.raises(HingelineError, match=words):
        call(picture)


def _setting(**changed: Any) -> LensSetting:
    return LensSetting(
        **{"focal_mm": 45.0, "f_number": 4.0, "focus": FocusDistance(9.0), **changed}
    )


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: _setting(focus=5.0), r"FocusDistance\(5\.0\), not 5\.0"),
        (lambda: _setting(focal_mm="45"), "focal_mm must be a number above 0, not '45'"),
        (lambda: _setting(tilt_deg=None), "tilt_deg must lie"),
        (lambda: _setting(rise_mm="up"), "rise_mm must be a number"),
        (lambda: _setting(iris=9), "iris must be an Iris"),
        (lambda: _setting(cats_eye=0.5), "cats_eye must be"),
        (lambda: _setting(f_number=True), "f_number must be a number above 0"),
        (lambda: FocusDistance("5 m"), "focus distance must be above 0"),
        (lambda: Iris(blades=6.5), "iris blades"),
        (lambda: Vantage("12"), "height must be a number"),
        (lambda: Camera(30, 20, "wide"), "focal_px must be a number"),
        (lambda: focus_lens(45), "set by a LensSetting, not by int"),
    ],
)
def test_a_setting_of_the_wrong_type_is_refused_where_it_enters(make: Any, words: str) -> None:
    """Nothing is accepted that fails later."""
    with pytest.raises(SettingError, match=words):
        make()


def _scene(**changed: Any) -> Scene:
    light, depth = np.full((20, 30, 3), 0.2, np.float32), np.full((20, 30), 9.0, np.float32)
    return Scene(**{"picture": light, "depth_m": depth, "camera": Camera(30, 20, 40.0), **changed})


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: _scene(picture=np.zeros((20, 30, 3), np.uint8)), "floats, not an array of uint8"),
        (lambda: _scene(depth_m=np.full((20, 30), 9, np.uint16)), "depth_m must be"),
        (lambda: _scene(picture=[[0.2]]), "picture must be an array of floats"),
        (lambda: _scene(camera=(30, 20)), "needs the Camera"),
        (lambda: photograph(np.zeros((20, 30, 3)), _setting()), "not of ndarray"),
    ],
)
def test_code_values_are_not_taken_for_light(make: Any, words: str) -> None:
    """A picture of 0 to 255 would be light up to 255: it is refused, as are lists and numbers."""
    with pytest.raises(InputError, match=words):
        make()


def test_what_is_printed_is_short(place: Prepared) -> None:
    """No pixels in a session: sizes, depths and settings in a line or two."""
    photo = photograph(place.scene, place.setting)
    shown = [repr(each) for each in (place, place.scene, photo, verdict(place), place.file)]

    assert all(len(text) < 600 for text in shown)
    assert "180 x 120 px" in shown[1]
    assert "2.8" in shown[2]
    assert "of 100" in shown[3]


def test_highlights_are_lifted_where_it_is_asked(tmp_path: Path) -> None:
    """A small clipped lamp out of focus carries more light than white, as `--lift-highlights`."""
    night = np.full((120, 180, 3), 20, np.uint8)
    night[112:114, 90:92] = 255
    Image.fromarray(night).save(tmp_path / "night.png")
    plain = open_picture(tmp_path / "night.png", **PLACE, lens=35, tilt="up 8")
    lifted = open_picture(tmp_path / "night.png", **PLACE, lens=35, tilt="up 8", lift_highlights=3)

    assert plain.scene.picture.max() == pytest.approx(1)
    assert lifted.scene.picture.max() > 4

"""The gallery holds every scene, twice, with its verdict."""

from pathlib import Path

import pytest
from PIL import Image

import render.jobs.gallery as job
from render.errors import OutputError
from render.jobs.gallery import gallery
from render.load.progress import silent
from render.load.scenes import SceneLine
from tests.places import two_crates
from tests.schemas import faults

pytestmark = pytest.mark.usefixtures("small_scenes")


def test_scenes_are_shown_with_their_verdicts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line a scene (one stands for all here); the sheet is a picture with a profile."""
    some = [SceneLine(str(two_crates(tmp_path, far_m=(3, 5))), "Two crates on grass.")]
    monkeypatch.setattr(job, "list_scenes", lambda: some)
    made = gallery(tmp_path / "g.png", width_px=96, progress=silent)
    lines = made.lines

    assert faults("scenes", made.record) == []
    assert [line.split(":")[0] for line in lines[:-1]] == [s.name for s in some]
    assert all("model" in line for line in lines[:-1])
    with Image.open(tmp_path / "g.png") as sheet:
        assert sheet.info["icc_profile"]


POSTS = """
line = "Two posts on grass."
[vantage]
stand_m = [0, -6]
height_m = 2
look_at_m = [0, 0, 0]
[setting]
focus_on = "post"
for_sharpness = true
[[things]]
kind = "box"
name = "post"
size_m = [0.3, 0.3, 1.5]
array = { count = [1, 2], step_m = [0, 3] }
"""


def test_an_upright_scene_is_as_tall_as_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its row is no taller than that of a level one, so that no holes open in the sheet.

    Neither is meant to make a model, and neither is stamped as failing to.
    """
    heights = []
    for name, turned in (("level", ""), ("upright", "portrait = true\n")):
        path = tmp_path / f"{name}.toml"
        path.write_text(POSTS.replace("height_m = 2\n", f"height_m = 2\n{turned}"))
        some = (SceneLine(str(path), "Two posts on grass."),)
        monkeypatch.setattr(job, "list_scenes", lambda some=some: some)
        said = gallery(tmp_path / f"{name}.png", width_px=96, progress=silent).lines
        assert said[0] == f"{path}: for sharpness, not for a model"
        with Image.open(tmp_path / f"{name}.png") as sheet:
            heights.append(sheet.height)

    assert abs(heights[0] - heights[1]) < 40  # a line of words more or less


def test_other_endings_are_refused_before_any_work(tmp_path: Path) -> None:
    """A PDF of pictures is not offered, and nothing is written."""
    with pytest.raises(OutputError, match=r"\.png, \.jpg or \.webp"):
        gallery(tmp_path / "g.pdf", progress=silent)

    assert list(tmp_path.iterdir()) == []

"""The gallery holds every shipped scene, twice, with its verdict."""

from pathlib import Path

import pytest
from PIL import Image

from render.errors import OutputError
from render.jobs.gallery import gallery
from render.jobs.progress import silent
from render.jobs.scenes import list_scenes


def test_every_scene_is_shown_with_its_verdict(tmp_path: Path) -> None:
    """One line a scene; the sheet is a picture with a profile."""
    lines = gallery(tmp_path / "g.png", width_px=96, progress=silent)

    assert [line.split(":")[0] for line in lines[:-1]] == [s.name for s in list_scenes()]
    assert all("model" in line for line in lines[:-1])
    with Image.open(tmp_path / "g.png") as sheet:
        assert sheet.info["icc_profile"]


def test_other_endings_are_refused_before_any_work(tmp_path: Path) -> None:
    """A PDF of pictures is not offered, and nothing is written."""
    with pytest.raises(OutputError, match=r"\.png or \.jpg"):
        gallery(tmp_path / "g.pdf", progress=silent)

    assert list(tmp_path.iterdir()) == []

"""`hingeline depth` as a person calls it."""

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.cli.run import hingeline


@pytest.fixture
def roof(tmp_path: Path) -> Path:
    """A plain picture, 60 x 40."""
    Image.fromarray(np.full((40, 60, 3), 120, np.uint8)).save(tmp_path / "roof.png")
    return tmp_path


def test_depth_of_the_ground_is_written_and_said(roof: Path) -> None:
    """The file is there, and the answer for programs names range and doubt."""
    done = hingeline(
        "depth", "roof.png", "--view", "60", "--height", "12", "--pitch", "20", "--json", cwd=roof
    )

    assert done.returncode == 0, done.stderr
    record = json.loads(done.stdout)
    assert "nearest" in record["range"]
    assert (roof / "roof_depth.tif").is_file()


def test_bad_wishes_end_in_one_sentence(roof: Path) -> None:
    """No traceback, exit code 2, nothing written."""
    done = hingeline("depth", "roof.png", "--view", "60", "--mark", "50%,50% 9 m", cwd=roof)

    assert done.returncode == 2
    assert done.stderr.strip().count("\n") == 0
    assert "mark two or more" in done.stderr
    framed = hingeline("depth", "roof.png", "--view", "60", "--lens", "90", cwd=roof)
    assert framed.returncode == 2
    assert "--lens frames a scene or map" in framed.stderr
    assert [path.name for path in roof.iterdir()] == ["roof.png"]


def test_names_with_spaces_and_other_letters(roof: Path) -> None:
    """Folders and files may be called anything, up to the 255 bytes that disks take."""
    folder = roof / "Bilder für 工場 (neu)"
    folder.mkdir()
    name = "ü" * 125 + ".png"
    (folder / name).write_bytes((roof / "roof.png").read_bytes())
    out = "é" * 125 + ".tif"
    options = ("--view", "60", "--height", "12", "--pitch", "20", "-o", out)
    done = hingeline("depth", name, *options, cwd=folder)
    long = hingeline("depth", name, *options[:-1], "é" * 126 + ".tif", cwd=folder)

    assert done.returncode == 0, done.stderr
    assert (folder / out).is_file()
    assert long.returncode == 2
    assert "256 bytes" in long.stderr

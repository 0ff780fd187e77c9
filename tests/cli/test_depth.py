"""`hingeline depth` as a person calls it."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image


def _run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "render.cli.main", "depth", *words]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=120)


@pytest.fixture
def roof(tmp_path: Path) -> Path:
    """A plain picture, 60 x 40."""
    Image.fromarray(np.full((40, 60, 3), 120, np.uint8)).save(tmp_path / "roof.png")
    return tmp_path


def test_depth_of_the_ground_is_written_and_said(roof: Path) -> None:
    """The file is there, and the answer for programs names range and doubt."""
    done = _run(roof, "roof.png", "--view", "60", "--height", "12", "--pitch", "20", "--json")

    assert done.returncode == 0, done.stderr
    record = json.loads(done.stdout)
    assert "nearest" in record["range"]
    assert (roof / "roof_depth.tif").is_file()


def test_bad_wishes_end_in_one_sentence(roof: Path) -> None:
    """No traceback, exit code 2, nothing written."""
    done = _run(roof, "roof.png", "--view", "60", "--mark", "50%,50% 9 m")

    assert done.returncode == 2
    assert done.stderr.strip().count("\n") == 0
    assert "mark two or more" in done.stderr
    assert [path.name for path in roof.iterdir()] == ["roof.png"]

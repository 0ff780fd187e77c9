"""`hingeline judge` as a person runs it."""

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.cli.run import hingeline

SHOT = (
    *("--view", "24", "--height", "20", "--pitch", "20"),
    *("--lens", "90", "--f", "11", "--tilt", "up 8"),
)


@pytest.fixture
def square(tmp_path: Path) -> Path:
    """A small colourful picture."""
    cells = np.random.default_rng(1).integers(0, 255, (120, 180, 3), dtype=np.uint8)
    Image.fromarray(cells).save(tmp_path / "square.png")
    return tmp_path


def test_the_verdict_is_printed_for_people_and_for_programs(square: Path) -> None:
    """Words by default, clean JSON with `--json`, the outlined picture with `--show`."""
    people = hingeline("judge", "square.png", *SHOT, "--show", cwd=square)
    program = hingeline("judge", "square.png", *SHOT, "--json", cwd=square)

    assert people.returncode == 0, people.stderr
    assert "read as a model" in people.stdout
    assert "open to f/2.8: " in people.stdout
    assert (square / "square_telltales.png").exists()
    assert json.loads(program.stdout)["sentence"] in people.stdout


def test_help_says_that_the_weights_are_ours(square: Path) -> None:
    """The judgement calls are named as such where people look first."""
    text = " ".join(hingeline("judge", "--help", cwd=square).stdout.split())

    assert "our doubt about the rule, not the chance that a viewer agrees" in text


def test_bad_input_is_one_sentence(square: Path) -> None:
    """No traceback, exit code 2, nothing written."""
    done = hingeline("judge", "square.png", *SHOT, "--seen-by", "hawk", "--show", cwd=square)

    assert done.returncode == 2
    assert done.stderr.strip().startswith('hingeline: "hawk"')
    assert len(done.stderr.strip().splitlines()) == 1
    assert [path.name for path in square.iterdir()] == ["square.png"]

"""`hingeline card` as a person runs it."""

import json
from pathlib import Path

import numpy as np
from PIL import Image

from tests.cli.run import hingeline

SHOT = ("--view", "24", "--height", "20", "--pitch", "20", "--lens", "90", "--tilt", "up 8")


def test_a_card_for_people_and_for_programs(tmp_path: Path) -> None:
    """Text by default, JSON on demand; cautions for the place named."""
    cells = np.random.default_rng(1).integers(0, 255, (80, 120, 3), dtype=np.uint8)
    Image.fromarray(cells).save(tmp_path / "square.png")
    day = ("--weather", "sun", "--place", "window")
    people = hingeline("card", "square.png", *SHOT, *day, cwd=tmp_path)
    program = hingeline("card", "square.png", *SHOT, *day, "--json", cwd=tmp_path)

    assert people.returncode == 0, people.stderr
    assert "behind the sill" in people.stdout
    assert "Time-lapse:" in people.stdout
    assert json.loads(program.stdout)["timelapse"]["interval"]["frames"] == 250


def test_a_negative_interval_is_one_sentence(tmp_path: Path) -> None:
    """Exit code 2, no traceback."""
    Image.new("RGB", (120, 80), (90, 90, 90)).save(tmp_path / "square.png")
    day = ("--weather", "sun", "--interval", "-1")
    done = hingeline("card", "square.png", *SHOT, *day, cwd=tmp_path)

    assert done.returncode == 2
    assert '--interval: "-1" is not a time: write seconds' in done.stderr
    assert "Traceback" not in done.stderr

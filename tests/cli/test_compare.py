"""`hingeline compare` as a person runs it."""

import json
from pathlib import Path

import numpy as np
from PIL import Image

from tests.cli.run import hingeline


def test_a_grid_of_two_axes_from_the_command_line(tmp_path: Path) -> None:
    """The sheet and the page are written, and the JSON holds a cell for every combination."""
    rng = np.random.default_rng(5)
    pixels = rng.integers(30, 220, (30, 40, 3), dtype=np.uint8)
    Image.fromarray(pixels).resize((320, 240), Image.Resampling.BICUBIC).save(tmp_path / "a.png")
    done = hingeline(
        *("compare", "a.png", "--height", "12", "--pitch", "down 15", "--focal-35", "28"),
        *("--down", "tilt=up 6,down 6", "--across", "f=2.8,8", "--cell", "160", "--json"),
        *("--page", "a.html"),
        cwd=tmp_path,
    )

    assert done.returncode == 0, done.stderr
    record = json.loads(done.stdout)
    assert [cell["words"] for cell in record["cells"]] == [
        "lens up 6° · f/2.8",
        "lens up 6° · f/8",
        "lens down 6° · f/2.8",
        "lens down 6° · f/8",
    ]
    assert {path.name for path in tmp_path.iterdir()} == {"a.png", "a_compare.png", "a.html"}


def test_a_picture_that_is_not_there_ends_in_a_sentence(tmp_path: Path) -> None:
    """Exit code 2, one line, no traceback, nothing written."""
    (tmp_path / "lost.toml").write_text('format = 1\npicture = "gone.jpg"\n')
    for source in ("gone.jpg", "lost.toml"):
        done = hingeline("compare", source, cwd=tmp_path)

        assert done.returncode == 2
        assert len(done.stderr.strip().splitlines()) == 1
        assert "gone.jpg" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["lost.toml"]

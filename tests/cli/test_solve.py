"""`hingeline solve` as a person runs it."""

import json
import shlex
from pathlib import Path

import pytest

from tests.cli.run import hingeline

PAIR = (
    "--height",
    "1.6",
    "--pitch",
    "5",
    "--sharp",
    "pond=8 m, 0 m",
    "--sharp",
    "chapel=60 m, 3 m",
)


def test_the_example_of_the_help_is_answered(tmp_path: Path) -> None:
    """Without a picture, near and far are answered from where the camera stands."""
    done = hingeline("solve", "--lens-file", "long 90", *PAIR, cwd=tmp_path)

    assert done.returncode == 0, done.stderr
    assert "lens down 2.48°" in done.stdout
    assert "pond" in done.stdout
    assert "So: tilting pays" in done.stdout


def test_the_first_example_of_the_readme_works(tmp_path: Path) -> None:
    """The command that needs no picture works as the README writes it."""
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    line = next(line for line in readme.splitlines() if line.startswith("hingeline solve"))
    done = hingeline("solve", *shlex.split(line)[2:], cwd=tmp_path)

    assert done.returncode == 0, done.stderr
    assert "So: tilting pays" in done.stdout


def test_the_answer_for_programs_is_one_object(tmp_path: Path) -> None:
    """With --json standard output is one JSON object."""
    done = hingeline("solve", "--lens-file", "long 90", *PAIR, "--json", cwd=tmp_path)

    tilted = json.loads(done.stdout)["tilted"]

    assert tilted["tilt_deg"] == 2.5  # half a mark, where a whole one would cost a third of a stop
    assert tilted["f_number"] == 2.8


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("--lens", "90"), "nothing is asked for"),
        (("--lens-file", "none.toml", "--face", "1 m"), "none.toml is not there"),
        (("none.png", "--lens", "90", "--sharp", "50%,50%"), "none.png"),
        (
            ("--lens", "90", "--height", "2", "--sharp", "5 m, 1 m", "--sharp", "10 m, 0 m"),
            "one ray",
        ),
    ],
)
def test_bad_wishes_end_in_one_sentence(
    tmp_path: Path, arguments: tuple[str, ...], sentence: str
) -> None:
    """One sentence on standard error, exit code 2, nothing on standard output, no traceback."""
    done = hingeline("solve", *arguments, cwd=tmp_path)

    assert done.returncode == 2
    assert done.stdout == ""
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr

"""``-`` is standard input or output, where one file makes sense."""

import io
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.cli.run import hingeline

SHOT = ("--height", "12", "--pitch", "down 15", "--focal-35", "28", "--tilt", "up 8")


@pytest.fixture
def roof(tmp_path: Path) -> bytes:
    """A small PNG, which is kept as a file too."""
    cells = np.random.default_rng(4).integers(30, 220, (20, 30, 3), np.uint8)
    Image.fromarray(cells).resize((120, 80)).save(tmp_path / "roof.png")
    return (tmp_path / "roof.png").read_bytes()


def test_a_picture_goes_in_and_a_photograph_comes_out(roof: bytes, tmp_path: Path) -> None:
    """The same bytes as from file to file; words go to standard error, nothing else is written."""
    hingeline("render", "roof.png", *SHOT, "-o", "a.png", cwd=tmp_path)
    done = hingeline("render", "-", "-o", "-", *SHOT, cwd=tmp_path, stdin=roof)

    assert done.returncode == 0, done.stderr
    assert done.stdout.encode("latin-1") == (tmp_path / "a.png").read_bytes()
    assert "Sharp down the centre" in done.stderr
    assert "Wrote" not in done.stderr
    assert {path.name for path in tmp_path.iterdir()} == {"roof.png", "a.png"}


def test_a_shot_comes_by_standard_input(roof: bytes, tmp_path: Path) -> None:
    """For the picture that it names, taken from the current folder, or for another one."""
    (tmp_path / "other.png").write_bytes(roof)
    text = b'format = 1\npicture = "roof.png"\nheight = "12"\npitch = "15"\nfocal-35 = "28"\n'

    own = hingeline("judge", "--shot", "-", "--json", cwd=tmp_path, stdin=text)
    other = hingeline("judge", "other.png", "--shot", "-", "--json", cwd=tmp_path, stdin=text)

    assert own.returncode == 0, own.stderr
    assert json.loads(own.stdout)["score"] == json.loads(other.stdout)["score"]


def test_a_drawing_is_sent_on(roof: bytes, tmp_path: Path) -> None:
    """Quietly, as its usual kind."""
    done = hingeline("section", "-", *SHOT, "-o", "-", "--quiet", cwd=tmp_path, stdin=roof)

    assert done.stdout.startswith("<svg")
    assert done.stderr == ""


@pytest.mark.parametrize(
    ("arguments", "stdin", "sentence"),
    [
        (["judge", "-"], b"", "nothing came in on standard input: send a picture with < or |"),
        (["judge", "-"], b"hello", "what came in on standard input is no picture"),
        (["judge", "-", "--shot", "-"], b"x", "standard input holds one file"),
        (["judge", "roof.png", "--shot", "-"], b"", "nothing came in on standard input: send a s"),
        (["render", "-", "-o", "-", "--json"], b"x", "--json and -o - both want standard output"),
        (["render", "-", "-o", "-", "--show"], None, "--show writes several files"),
        (["judge", "-", "-o", "-"], None, "judge makes a picture only with --show"),
        (["render", "a.png", "b.png", "-o", "-"], b"x", "-o - sends one file on, and 2 are named"),
        (["film", "roof.png", "-o", "-"], b"x", "what film writes cannot be sent on"),
    ],
)
def test_what_a_stream_cannot_carry_is_one_sentence(
    roof: bytes, tmp_path: Path, arguments: list[str], stdin: bytes | None, sentence: str
) -> None:
    """Code 2, nothing on standard output."""
    done = hingeline(*arguments, cwd=tmp_path, stdin=roof if stdin is None else stdin)

    assert (done.returncode, done.stdout) == (2, "")
    assert sentence in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_screen_gets_no_file(
    roof: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nor is one waited for from a keyboard."""

    class Screen(io.TextIOWrapper):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(io, "TextIOWrapper", Screen)
    sent = hingeline("render", "roof.png", "-o", "-", *SHOT, cwd=tmp_path)
    asked = hingeline("judge", "-", *SHOT, cwd=tmp_path)

    assert "end the command with > and a name" in sent.stderr
    assert "- reads a picture from standard input: send one with < or |" in asked.stderr

"""`hingeline board` as a person runs it."""

from pathlib import Path

from PIL import Image

from tests.cli.run import hingeline


def test_a_board_from_the_command_line(tmp_path: Path) -> None:
    """One command makes the page and says what the client is told."""
    Image.new("RGB", (240, 160), (90, 120, 150)).save(tmp_path / "a.png")
    done = hingeline(
        *("board", "a.png", "--height", "4 storeys"),
        *("--pitch", "down 19", "--view", "44", "--tilt", "up 8", "--title", "Harbour"),
        *("--by", "Mara Ellingsen", "--orientation", "upright", "--alternative", "f=8"),
        cwd=tmp_path,
    )

    assert done.returncode == 0, done.stderr
    assert "What could go wrong" in done.stdout
    assert (tmp_path / "a_board.pdf").read_bytes().startswith(b"%PDF-")

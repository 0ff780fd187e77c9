"""`hingeline section` as a person runs it."""

from pathlib import Path

from PIL import Image

from tests.cli.run import hingeline


def test_a_section_from_the_command_line(tmp_path: Path) -> None:
    """One command writes the file under its usual name and says so."""
    Image.new("RGB", (240, 160), (90, 120, 150)).save(tmp_path / "a.png")
    done = hingeline(
        *("section", "a.png", "--height", "4 storeys"),
        *("--pitch", "down 19", "--view", "44", "--tilt", "up 8"),
        cwd=tmp_path,
    )

    assert done.returncode == 0, done.stderr
    written = [path.name for path in tmp_path.iterdir() if path.stem == "a_section"]
    assert len(written) == 1
    assert f"Wrote: {written[0]}" in done.stdout

"""`hingeline section` as a person runs it."""

import subprocess
import sys
from pathlib import Path

from PIL import Image


def test_a_section_from_the_command_line(tmp_path: Path) -> None:
    """One command writes the file under its usual name and says so."""
    Image.new("RGB", (240, 160), (90, 120, 150)).save(tmp_path / "a.png")
    done = subprocess.run(
        [
            *(sys.executable, "-m", "render.cli.main", "section", "a.png", "--height", "4 storeys"),
            *("--pitch", "down 19", "--view", "44", "--tilt", "up 8"),
        ],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )

    assert done.returncode == 0, done.stderr
    written = [path.name for path in tmp_path.iterdir() if path.stem == "a_section"]
    assert len(written) == 1
    assert f"Wrote: {written[0]}" in done.stdout

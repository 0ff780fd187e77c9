"""A small scouting day: pictures of several shapes and kinds, one of them broken."""

from pathlib import Path

import numpy as np
from PIL import Image

__all__ = ["ASKED", "scouting_day"]

#: The general shot, as options.
ASKED = ("--height", "12", "--pitch", "down 15", "--lens", "60", "--tilt", "up 8", "--f", "2.8")


def _picture(path: Path, width: int, height: int, focal_35_mm: int | None) -> None:
    cells = np.random.default_rng(width).integers(30, 220, (height // 8, width // 8, 3), np.uint8)
    exif = Image.Exif()
    if focal_35_mm:
        exif[0x8769] = {0xA405: focal_35_mm, 0x920A: focal_35_mm / 4.0}
    Image.fromarray(cells).resize((width, height)).save(path, exif=exif)


def scouting_day(folder: Path) -> Path:
    """Lay out a folder of pictures: with and without EXIF, upright, of one stem, not Latin."""
    folder.mkdir()
    _picture(folder / "roof.jpg", 240, 160, 28)
    _picture(folder / "roof.png", 200, 136, None)
    _picture(folder / "tower.jpg", 160, 240, 35)
    _picture(folder / "広場.jpg", 232, 160, 26)
    (folder / "bad.jpg").write_text("no picture")
    return folder

"""The section as a job: one drawing, three kinds of file."""

from pathlib import Path

import pypdf
import pytest
from PIL import Image

from render.errors import OutputError
from render.jobs.section import section
from render.load.progress import silent
from render.shot.shot import Shot, merged


@pytest.fixture
def shot(tmp_path: Path) -> Shot:
    """A grey picture of a plain seen from 11 m."""
    path = tmp_path / "plain.png"
    Image.new("RGB", (120, 80), (90, 120, 150)).save(path)
    given = {"view": "44", "height": "11", "pitch": "down 19", "tilt": "up 8"}
    return merged(Shot(picture=str(path)), given, "{name}")


def test_the_ending_chooses_the_kind(shot: Shot, tmp_path: Path) -> None:
    """SVG and PDF hold the words as text, PNG is a picture with a profile."""
    for ending in ("svg", "pdf", "png"):
        section(shot, tmp_path / f"s.{ending}", progress=silent)
    with Image.open(tmp_path / "s.png") as image:
        assert image.info["icc_profile"]

    assert "Scheimpflug line" in (tmp_path / "s.svg").read_text(encoding="utf-8")
    assert "plane of sharp focus" in pypdf.PdfReader(tmp_path / "s.pdf").pages[0].extract_text()


def test_other_endings_and_files_that_are_there_are_refused(shot: Shot, tmp_path: Path) -> None:
    """A JPEG of thin lines is not offered; nothing is overwritten unasked."""
    (tmp_path / "s.svg").write_text("mine")
    with pytest.raises(OutputError, match=r"\.svg, \.pdf or \.png"):
        section(shot, tmp_path / "s.jpg", progress=silent)
    with pytest.raises(OutputError, match="there already"):
        section(shot, tmp_path / "s.svg", progress=silent)

    assert (tmp_path / "s.svg").read_text() == "mine"

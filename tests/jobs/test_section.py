"""The section as a job: one drawing, three kinds of file."""

from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest
from PIL import Image

from render.errors import InputError, OutputError
from render.jobs.section import section
from render.load.progress import silent
from render.shot.shot import Shot, merged
from tests.fonts import square_font
from tests.places import plain


@pytest.fixture
def shot(tmp_path: Path) -> Shot:
    """A picture of a plain seen from 11 m."""
    return plain(tmp_path, 120)


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


def test_a_thing_s_name_is_set_in_another_font_or_refused(
    shot: Shot, tmp_path: Path, only_fonts_in: Callable[[Path], None]
) -> None:
    """A name that some font draws is on the drawing and its font told; else nothing is written."""
    (tmp_path / "fonts").mkdir()
    square_font(tmp_path / "fonts" / "Squares.ttf", "港の")
    only_fonts_in(tmp_path / "fonts")
    named = merged(shot, {"check": ("港の=50%,60%",)}, "{name}")
    unprintable = merged(shot, {"check": ("מרפא=50%,60%",)}, "{name}")
    made = section(named, tmp_path / "s.svg", progress=silent)

    assert "港の" in (tmp_path / "s.svg").read_text(encoding="utf-8")
    assert any("Squares.ttf" in note for note in made.record["notes"])
    with pytest.raises(InputError, match='the name "מרפא" holds'):
        section(unprintable, tmp_path / "t.svg", progress=silent)
    assert not (tmp_path / "t.svg").exists()

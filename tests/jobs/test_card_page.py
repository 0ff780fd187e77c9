"""`hingeline card --pdf`: the pages as a file."""

from pathlib import Path

import pypdf
import pytest
from PIL import Image

from render.errors import InputError, OutputError
from render.jobs.card import Carded, DayWishes, card_shot
from render.jobs.card_page import check_card_page, write_card_page
from render.load.progress import silent
from render.shot.shot import Shot, merged


@pytest.fixture
def carded(tmp_path: Path) -> Carded:
    """A plan for a grey plain seen from 11 m."""
    path = tmp_path / "plain.png"
    Image.new("RGB", (240, 160), (90, 120, 150)).save(path)
    given = {"view": "44", "height": "11", "pitch": "down 19", "tilt": "up 8"}
    shot = merged(Shot(picture=str(path)), given, "{name}")
    return card_shot(shot, DayWishes(weather="sun"), progress=silent)


def test_the_card_is_two_pages_of_text(carded: Carded, tmp_path: Path) -> None:
    """Words can be searched on a phone; the same plan gives the same bytes."""
    for name in ("a.pdf", "b.pdf"):
        write_card_page(tmp_path / name, carded, inputs=[], progress=silent)
    pages = pypdf.PdfReader(tmp_path / "a.pdf").pages

    assert len(pages) == 2
    assert "lens up 8°" in pages[0].extract_text()
    assert "Plain" in pages[0].extract_text()
    assert "In this order" in pages[1].extract_text()
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_bad_names_and_titles_are_refused(carded: Carded, tmp_path: Path) -> None:
    """Another ending, a file that is there, and letters the font lacks."""
    (tmp_path / "mine.pdf").write_text("mine")
    with pytest.raises(OutputError, match=r"written as \.pdf"):
        check_card_page(tmp_path / "card.png", overwrite=False, inputs=[])
    with pytest.raises(OutputError, match="there already"):
        check_card_page(tmp_path / "mine.pdf", overwrite=False, inputs=[])
    with pytest.raises(InputError, match="cannot draw"):
        write_card_page(tmp_path / "c.pdf", carded, title="港", inputs=[], progress=silent)

    assert not (tmp_path / "c.pdf").exists()

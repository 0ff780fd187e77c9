"""SVG and PDF: real text, embedded fonts, untouched JPEGs, the same bytes again."""

import shutil
import subprocess
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pypdf
import pytest
from PIL import Image

from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.vector import jpeg_bytes, pdf_bytes, svg_text

SVG = "{http://www.w3.org/2000/svg}"


def _drawing() -> Drawing:
    drawing = Drawing(300, 200, unit_pt=1.0)
    pixels = np.random.default_rng(2).integers(0, 256, (30, 40, 3), np.uint8)
    image = Image.fromarray(pixels)
    drawing.picture(image, 10, 10, 120, 90, jpeg=jpeg_bytes(image))
    drawing.letters(10, 150, "f/2.8 · lens up 8° → ≤ Łódź Пристань", 10)
    drawing.letters(10, 170, "reads as 1:105 & <sharp>", 12.5, weight="semibold")
    drawing.path([(10, 180), (200, 190)], dash=(4, 2))
    drawing.area([(200, 10), (250, 10), (230, 60)], opacity=0.3)
    return drawing


def test_pdf_text_is_extracted_as_written() -> None:
    """An independent reader finds the words, in both weights and all three scripts."""
    page = pypdf.PdfReader(BytesIO(pdf_bytes([_drawing()], title="T"))).pages[0]
    text = page.extract_text()

    assert "f/2.8 · lens up 8° → ≤ Łódź Пристань" in text
    assert "reads as 1:105 & <sharp>" in text
    assert (float(page.mediabox.width), float(page.mediabox.height)) == (300, 200)


def test_pdf_holds_the_jpeg_untouched_and_comes_out_the_same_twice() -> None:
    """Our coded picture lies in the file byte for byte; nothing depends on the clock."""
    drawing = _drawing()
    jpeg = drawing.items[0].jpeg  # type: ignore[union-attr]
    made = pdf_bytes([drawing], title="T")

    assert jpeg is not None
    assert jpeg in made
    assert pdf_bytes([_drawing()], title="T") == made


@pytest.mark.skipif(shutil.which("pdffonts") is None, reason="poppler-utils is not installed")
def test_poppler_opens_the_pdf_without_a_word(tmp_path: Path) -> None:
    """Poppler lists both fonts as embedded TrueType with Unicode maps and warns of nothing."""
    path = tmp_path / "page.pdf"
    path.write_bytes(pdf_bytes([_drawing()], title="T"))
    fonts = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True)
    drawn = subprocess.run(
        ["pdftoppm", "-r", "50", "-png", path, tmp_path / "p"], capture_output=True, check=True
    )
    lines = [line for line in fonts.stdout.splitlines() if "Inter" in line]

    assert len(lines) == 2
    assert all("TrueType" in line and "yes yes yes" in line for line in lines)
    assert fonts.stderr == ""
    assert drawn.stderr == b""


def test_svg_is_well_formed_and_carries_its_text_and_fonts() -> None:
    """The words stand as text, special characters are escaped, nothing is fetched."""
    text = svg_text(_drawing(), title="Side & section")
    root = ElementTree.fromstring(text)
    words = [node.text for node in root.iter(f"{SVG}text")]
    style = next(root.iter(f"{SVG}style")).text or ""

    assert words == ["f/2.8 · lens up 8° → ≤ Łódź Пристань", "reads as 1:105 & <sharp>"]
    assert style.count("data:font/ttf;base64,") == 2
    assert "http" not in text.replace("http://www.w3.org/2000/svg", "")
    assert svg_text(_drawing(), title="Side & section") == text


def test_a_picture_says_what_it_shows() -> None:
    """Alternative text and title, author and language for readers that speak the page."""
    drawing = Drawing(200, 100)
    drawing.picture(Image.new("RGB", (20, 10), (90, 120, 150)), 10, 10, 80, 40, shows="A roof")

    reader = pypdf.PdfReader(BytesIO(pdf_bytes([drawing], title="A & B", author="Mara")))
    root = reader.trailer["/Root"]

    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]
    figure = root["/StructTreeRoot"]["/K"][0].get_object()
    while "/Alt" not in figure:
        figure = figure["/K"][0].get_object()
    assert figure["/Alt"] == "A roof"
    assert reader.xmp_metadata is not None
    assert reader.xmp_metadata.dc_title["x-default"] == "A & B"
    assert "<title>A roof</title></image>" in svg_text(drawing, title="A & B")


def test_a_page_is_read_out_in_order(tmp_path: Path) -> None:
    """Every mark is tagged: a heading, paragraphs of lines, pictures; the rest is decoration.

    ISO 32000-1:2008, 14.7.4.4: the parent tree holds each marked part's element at its number.
    """
    page = Drawing(300, 200)
    page.letters(10, 20, "Market", 14, weight="semibold")
    page.box(10, 30, 50, 1)
    page.letters(10, 50, "It goes on", 9)
    page.letters(10, 60, "in a second line.", 9)
    bold = page.letters(10, 64, "You get", 9, weight="semibold")
    page.letters(bold.x + bold.width + 3, 64, "the rest of it,", 9)
    page.letters(10, 75, "on two lines.", 9)
    page.picture(Image.new("RGB", (4, 4)), 10, 70, 40, 40, shows="A square")
    page.letters(10, 150, "The end", 9)
    second = Drawing(300, 200)
    second.letters(10, 20, "Another page", 9)
    path = tmp_path / "page.pdf"
    path.write_bytes(pdf_bytes([page, second], title="Market"))

    reader = pypdf.PdfReader(path)
    tree = reader.trailer["/Root"]["/StructTreeRoot"]
    numbers = tree["/ParentTree"]["/Nums"]
    kinds = [kid.get_object()["/S"] for kid in tree["/K"][0]["/K"]]
    for number, (sheet, expected) in enumerate(zip(reader.pages, (8, 1), strict=True)):
        marked, open_kinds = [], []
        for words, operator in sheet.get_contents().operations:
            if operator in (b"BDC", b"BMC"):
                open_kinds.append(words[0])
                if operator == b"BDC":
                    marked.append(words[1]["/MCID"])
            elif operator == b"EMC":
                open_kinds.pop()
            elif operator in (b"Tj", b"TJ", b"Do", b"S", b"f"):
                assert len(open_kinds) == 1, operator
                assert (open_kinds[0] == "/Artifact") == (operator in (b"S", b"f"))
        assert marked == list(range(expected))
        assert sheet["/StructParents"] == numbers[2 * number]
        parents = numbers[2 * number + 1].get_object()
        for mark, parent in zip(marked, parents, strict=True):
            assert mark in parent.get_object()["/K"]

    assert kinds == ["/H1", "/P", "/P", "/Figure", "/P", "/P"]
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/DisplayDocTitle"]
    if shutil.which("qpdf"):
        subprocess.run(["qpdf", "--check", path], check=True, capture_output=True)

"""A `Drawing` as SVG text and as a PDF page: real text, embedded fonts, sharp lines."""

import base64
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime, timezone
from html import escape
from importlib.resources import as_file, files
from io import BytesIO
from pathlib import Path as FilePath
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from PIL import Image

from render.sheets.drawing.canvas import Area, Drawing, Letters, Path, Picture, Point
from render.sheets.drawing.lettering import font_bytes, lacking, line_width, runs
from render.sheets.drawing.stand_in import stand_in_font
from render.sheets.drawing.style import Colour, Weight

if TYPE_CHECKING:
    from fpdf import FPDF
    from fpdf.structure_tree import StructElem

__all__ = ["font_rules", "jpeg_bytes", "pdf_bytes", "svg_text"]

#: What readers of a PDF's properties ask first: title, author, language.
_XMP = (
    '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
    '<rdf:Description xmlns:dc="http://purl.org/dc/elements/1.1/" rdf:about="">'
    '<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>'
    "<dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>"
    "<dc:language><rdf:Bag><rdf:li>en</rdf:li></rdf:Bag></dc:language>"
    "</rdf:Description></rdf:RDF>"
)


def svg_text(drawing: Drawing, *, title: str) -> str:
    """Return a drawing as one SVG document with the fonts it uses embedded.

    Parameters
    ----------
    drawing : Drawing
    title : str
        The document's title, for readers that speak it.
    """
    width, height = drawing.width, drawing.height
    points = f'{width * drawing.unit_pt:.2f}pt" height="{height * drawing.unit_pt:.2f}pt'
    body = "\n".join(_svg_item(item) for item in drawing.items)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{points}" '
        f'viewBox="0 0 {width:g} {height:g}" role="img">\n'
        f"<title>{escape(title)}</title>\n<style>{_svg_fonts(drawing)}</style>\n"
        f'<rect width="100%" height="100%" fill="{_hex(drawing.ground)}"/>\n{body}\n</svg>\n'
    )


def pdf_bytes(drawings: Sequence[Drawing], *, title: str, author: str = "") -> bytes:
    """Return drawings as the pages of one PDF; the same drawings give the same bytes.

    Parameters
    ----------
    drawings : sequence of Drawing
        One page each.
    title, author : str
        Document properties.
    """
    from fpdf import FPDF, ViewerPreferences  # a third of a second

    first = drawings[0]
    pdf = FPDF(unit="pt", format=(first.width * first.unit_pt, first.height * first.unit_pt))
    pdf.set_creation_date(datetime(2000, 1, 1, tzinfo=timezone.utc))  # noqa: UP017
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.set_title(title)
    pdf.set_author(author or "Hingeline")
    pdf.set_creator("Hingeline")
    pdf.set_lang("en")
    pdf.viewer_preferences = ViewerPreferences(display_doc_title=True)
    pdf.set_xmp_metadata(_XMP.format(title=escape(title), author=escape(author or "Hingeline")))
    for style, name in (("", "Inter-Regular.ttf"), ("B", "Inter-SemiBold.ttf")):
        with as_file(files("render.sheets.drawing").joinpath("fonts", name)) as font_file:
            pdf.add_font("Inter", style, font_file)
    texts = (text.text for drawing in drawings for text in drawing.texts())
    with TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        if others := frozenset().union(*map(lacking, texts)):
            font_file = FilePath(folder, "StandIn.ttf")
            font_file.write_bytes(stand_in_font(others))
            pdf.add_font("StandIn", "", font_file)
        return _written(pdf, drawings)


def _written(pdf: "FPDF", drawings: Sequence[Drawing]) -> bytes:
    for drawing in drawings:
        page = (drawing.width * drawing.unit_pt, drawing.height * drawing.unit_pt)
        pdf.add_page(format=page)
        tags = _Tags(pdf)
        for item in drawing.items:
            with tags.of(item):
                _pdf_item(pdf, item, drawing.unit_pt)
    return bytes(pdf.output())


def jpeg_bytes(image: Image.Image, quality: int = 92) -> bytes:
    """Code an sRGB picture as JPEG with full colour resolution, profile included if it has one."""
    store = BytesIO()
    profile = image.info.get("icc_profile")
    image.convert("RGB").save(store, "JPEG", quality=quality, subsampling=0, icc_profile=profile)
    return store.getvalue()


def font_rules(used: Mapping[Weight, set[str]]) -> str:
    """Return CSS that embeds the bundled font, cut down to the letters used in each weight.

    Letters that it lacks are in a family of their own, `StandIn`, which is to follow `Inter` in
    a list of families; one weight serves for all.
    """
    rules = []
    for weight, letters in used.items():
        if letters:
            data = base64.b64encode(_subset(font_bytes(weight), letters)).decode("ascii")
            number = 600 if weight == "semibold" else 400
            rules.append(
                f"@font-face{{font-family:Inter;font-weight:{number};"
                f"src:url(data:font/ttf;base64,{data})}}"
            )
    if others := lacking("".join(sorted(set().union(*used.values())))):
        data = base64.b64encode(stand_in_font(others)).decode("ascii")
        rules.append(
            "@font-face{font-family:StandIn;font-weight:100 900;"
            f"src:url(data:font/ttf;base64,{data})}}"
        )
    return "".join(rules)


def _hex(colour: Colour) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)


def _svg_fonts(drawing: Drawing) -> str:
    used: dict[Weight, set[str]] = {"regular": set(), "semibold": set()}
    for text in drawing.texts():
        used[text.weight].update(text.text)
    return "text{font-family:Inter,StandIn,sans-serif;white-space:pre}" + font_rules(used)


def _subset(font: bytes, letters: set[str]) -> bytes:
    from fontTools import subset
    from fontTools.ttLib import TTFont

    options = subset.Options(hinting=False, notdef_outline=True, recalc_timestamp=False)
    cut = subset.Subsetter(options)
    cut.populate(text="".join(sorted(letters)))
    file = TTFont(BytesIO(font), recalcTimestamp=False)
    cut.subset(file)
    store = BytesIO()
    file.save(store)
    return store.getvalue()


def _svg_points(points: Sequence[Point]) -> str:
    return " ".join(f"{x:.2f},{y:.2f}" for x, y in points)


def _svg_item(item: Letters | Path | Area | Picture) -> str:
    match item:
        case Letters():
            weight = ' font-weight="600"' if item.weight == "semibold" else ""
            return (
                f'<text x="{item.x:.2f}" y="{item.y:.2f}" font-size="{item.size:.2f}"{weight} '
                f'fill="{_hex(item.colour)}">{escape(item.text)}</text>'
            )
        case Path():
            dash = "" if item.dash is None else f' stroke-dasharray="{item.dash[0]} {item.dash[1]}"'
            lines = "".join("M" + _svg_points(run) for run in item.runs)
            return (
                f'<path d="{lines}" fill="none" stroke="{_hex(item.colour)}" '
                f'stroke-width="{item.width:.2f}" stroke-linejoin="round"{dash}/>'
            )
        case Area():
            opacity = "" if item.opacity >= 1 else f' fill-opacity="{item.opacity:.2f}"'
            return (
                f'<polygon points="{_svg_points(item.points)}" '
                f'fill="{_hex(item.colour)}"{opacity}/>'
            )
        case Picture():
            data = base64.b64encode(item.jpeg or jpeg_bytes(item.image)).decode("ascii")
            said = f"<title>{escape(item.shows)}</title>" if item.shows else ""
            return (
                f'<image x="{item.x:.2f}" y="{item.y:.2f}" width="{item.width:.2f}" '
                f'height="{item.height:.2f}" preserveAspectRatio="none" '
                f'href="data:image/jpeg;base64,{data}">{said}</image>'
            )


class _Tags:
    """Marks what is drawn on a page for readers that speak it.

    Text is a paragraph for each run of lines under each other, in the order of drawing, which is
    the order of reading; pictures say what they show; lines and areas are decoration (ISO
    32000-1:2008, 14.7 and 14.8). fpdf2 offers this for pictures alone, so its structure tree and
    content stream are written to here.
    """

    def __init__(self, pdf: "FPDF") -> None:
        self._pdf, self._marks = pdf, 0
        self._last: tuple[Letters, StructElem] | None = None
        self._left, self._end = 0.0, (0.0, 0.0)

    @contextmanager
    def of(self, item: Letters | Path | Area | Picture) -> Iterator[None]:
        """Mark an item while it is drawn."""
        if isinstance(item, Letters):
            self._paragraph(item)
        elif isinstance(item, Picture) and item.shows:
            self._element("/Figure", item.shows)
        else:
            self._pdf._out("/Artifact BMC")
        yield
        self._pdf._out("EMC")

    def _paragraph(self, item: Letters) -> None:
        if self._last is not None and (_goes_on(self._last[0], item) or self._runs_on(item)):
            element = self._last[1]
            tree = self._pdf.struct_builder
            page = tree.spid_per_page_number[self._pdf.page]
            tree.struct_tree_root.parent_tree.nums[page].append(element)
            element.k.append(self._marks)
            self._begin(element.s)
        else:
            heading = self._pdf.page == 1 and self._last is None
            element = self._element("/H1" if heading else "/P", None)
            self._left = item.x
        self._last = replace(item, x=self._left), element
        self._end = item.x + item.width, item.y

    def _runs_on(self, item: Letters) -> bool:
        """Whether text follows the last one on its own line, after words in bold."""
        x, y = self._end
        return y == item.y and 0 < item.x - x < 0.6 * item.size

    def _element(self, kind: str, shows: str | None) -> "StructElem":
        element: StructElem = self._pdf._add_marked_content(
            struct_type=kind, mcid=self._marks, alt_text=shows
        )
        self._begin(kind)
        return element

    def _begin(self, kind: str) -> None:
        self._pdf._out(f"{kind} <</MCID {self._marks}>> BDC")
        self._marks += 1


def _goes_on(line: Letters, following: Letters) -> bool:
    """Whether a line continues the paragraph of the one before."""
    same = (line.size, line.weight, line.colour) == (
        following.size,
        following.weight,
        following.colour,
    )
    step = following.y - line.y
    return same and abs(following.x - line.x) < 0.5 and 0 < step <= 1.35 * line.size


def _pdf_item(pdf: "FPDF", item: Letters | Path | Area | Picture, unit: float) -> None:
    match item:
        case Letters():
            pdf.set_text_color(*item.colour)
            x = item.x
            for other, text in runs(item.text):
                style = "B" if item.weight == "semibold" and not other else ""
                pdf.set_font("StandIn" if other else "Inter", style, item.size * unit)
                pdf.text(x * unit, item.y * unit, text)
                x += line_width(text, item.size, item.weight)
        case Path():
            pdf.set_draw_color(*item.colour)
            pdf.set_line_width(item.width * unit)
            if item.dash is not None:
                pdf.set_dash_pattern(dash=item.dash[0] * unit, gap=item.dash[1] * unit)
            for run in item.runs:
                pdf.polyline([(x * unit, y * unit) for x, y in run])
            pdf.set_dash_pattern()
        case Area():
            pdf.set_fill_color(*item.colour)
            with pdf.local_context(fill_opacity=item.opacity):
                pdf.polygon([(x * unit, y * unit) for x, y in item.points], style="F")
        case Picture():
            pdf.image(
                BytesIO(item.jpeg or jpeg_bytes(item.image)),
                item.x * unit,
                item.y * unit,
                item.width * unit,
                item.height * unit,
            )

"""The field card: two small pages, the size of a hand, in the order of doing.

The front is what to dial in and where to look; the back is the order of setting up and the
cautions in full. Black on white, nothing under 9 pt, so that cold hands in the sun can read it.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from PIL import Image

from render.optics.lens import LensSetting
from render.plan.card import FieldCard
from render.plan.exposure import filter_words, shutter_words
from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.lettering import shortened, wrapped
from render.sheets.drawing.style import CAUTION, HAIRLINE, INK, MUTED, SETTING
from render.sheets.drawing.vector import jpeg_bytes
from render.sheets.overlay import Marks, draw_marks
from render.sheets.section import section_panel
from render.sheets.slice import Slice
from render.words import (
    lateral_words,
    metres,
    rise_words,
    spell_f_number,
    swing_words,
    tilt_words,
)

__all__ = ["CardPictures", "card_pages"]

_WIDTH, _HEIGHT = 105 * 72 / 25.4, 148 * 72 / 25.4  # A6
_MARGIN, _TEXT, _LEAD = 15.0, 9.0, 10.8
_INNER = _WIDTH - 2 * _MARGIN
_LABEL = 64.0
#: A side section lower than this cannot be read.
_SECTION_HEIGHT, _SECTION_MOST = 78.0, 90.0
_FOOT = "Start values: the magnified picture decides."


@dataclass(frozen=True, slots=True, eq=False)
class CardPictures:
    """What is drawn on a card.

    Attributes
    ----------
    photo : PIL.Image.Image
        The photograph of the planned frame, sRGB-coded, at any size.
    section : Slice
    band_m : (near, far) or None
        Sharp stretch over the ground, metres.
    """

    photo: Image.Image
    section: Slice
    band_m: tuple[float, float] | None


def card_pages(
    card: FieldCard, pictures: CardPictures, title: str, credit: str = ""
) -> list[Drawing]:
    """Draw a field card: the front, and as many backs as the words need.

    Parameters
    ----------
    card : FieldCard
    pictures : CardPictures
    title : str
        Name of the place, already checked for what the font can draw.
    credit : str
        Whose data the scene is made of, at the foot of the front.
    """
    front = _page(title)
    y = _draw_warning(front, 30.0, card.cautions[0])
    for label, value in _rows(card, pictures):
        y += 15.5
        front.letters(_MARGIN, y, label, _TEXT, colour=MUTED)
        text = shortened(value, SETTING, _INNER - _LABEL, "semibold")
        size = SETTING if text == value else _TEXT
        front.letters(
            _MARGIN + _LABEL,
            y,
            shortened(value, size, _INNER - _LABEL, "semibold"),
            size,
            weight="semibold",
        )
    y = _draw_checks(front, y + 8, card, pictures)
    front.letters(_MARGIN, _HEIGHT - _MARGIN, _FOOT, _TEXT, colour=MUTED)
    if credit:
        line = shortened(credit, _TEXT, _INNER)
        front.letters(_MARGIN, _HEIGHT - 4.5, line, _TEXT, colour=MUTED)
    backs, back_y = _backs(card)
    front_room = _HEIGHT - _MARGIN - _LEAD - y - 6
    back_room = _HEIGHT - _MARGIN - back_y - 10
    page, top, room = front, y + 4, front_room
    if front_room < _SECTION_HEIGHT <= back_room:
        page, top, room = backs[-1], back_y + 10, back_room
    elif front_room < _SECTION_HEIGHT:
        backs.append(_blank())
        page, top, room = backs[-1], _MARGIN, _HEIGHT - 2 * _MARGIN
    height = min(room, _SECTION_MOST)
    panel = section_panel(pictures.section, card.verdict.setting, _INNER, height, size=_TEXT)
    page.place(panel, _MARGIN, top)
    return [front, *backs]


def _blank() -> Drawing:
    return Drawing(_WIDTH, _HEIGHT, unit_pt=1.0)


def _page(title: str) -> Drawing:
    drawing = _blank()
    name = shortened(title, 10.5, _INNER, "semibold")
    drawing.letters(_MARGIN, _MARGIN + 8, name, 10.5, weight="semibold")
    return drawing


def _draw_warning(drawing: Drawing, y: float, text: str) -> float:
    """Draw the first caution beside a bar, and return where it ends."""
    lines = wrapped(text, _TEXT, _INNER - 8)
    drawing.box(_MARGIN, y, 3, _LEAD * len(lines) + 1, colour=CAUTION)
    for line in lines:
        y += _LEAD
        drawing.letters(_MARGIN + 8, y - 2, line, _TEXT)
    return y + 2


def _rows(card: FieldCard, pictures: CardPictures) -> Iterator[tuple[str, str]]:
    """Yield what to dial in: a name and a value, in the order of doing."""
    setting = card.verdict.setting
    yield "Lens", f"{setting.focal_mm:g} mm"
    yield from _movements(setting)
    yield "Aperture", spell_f_number(setting.f_number)
    middle = card.checks[0]
    yield "Focus on", f"ring 1, {metres(middle.depth_m)} along the axis"
    if pictures.band_m is not None:
        near, far = pictures.band_m
        yield "Sharp", f"{metres(near)} to {metres(far)}"
    yield "May be off", card.slack.words
    metered = card.exposure.metered
    filters = f", {filter_words(metered.filter_stops)}" if metered.filter_stops > 0.5 else ""
    yield "Shutter", f"{shutter_words(metered.time_s)} at ISO {card.exposure.iso:g}{filters}"
    timelapse = card.timelapse
    yield (
        "Interval",
        f"{timelapse.interval_s:.2g} s, {timelapse.interval.frames} frames, "
        f"{math.ceil(timelapse.interval.on_site_s / 60)} min",
    )


def _movements(setting: LensSetting) -> Iterator[tuple[str, str]]:
    shift = [rise_words(setting.rise_mm)] if setting.rise_mm else []
    shift += [lateral_words(setting.lateral_mm)] if setting.lateral_mm else []
    if shift:
        yield "Shift", ", ".join(shift)
    yield "Tilt", tilt_words(setting.tilt_deg)
    if setting.swing_deg:
        yield "Swing", swing_words(setting.swing_deg)


def _draw_checks(drawing: Drawing, y: float, card: FieldCard, pictures: CardPictures) -> float:
    """Draw the thumbnail with numbered rings and what each must show; return where it ends."""
    photo, camera = pictures.photo, card.camera
    scale = min(150 / photo.width, 104 / photo.height)
    width, height = photo.width * scale, photo.height * scale
    inset = Drawing(width, height)
    inset.picture(photo, 0, 0, width, height, jpeg=jpeg_bytes(photo))
    ring = 8.0
    spots = tuple(
        (
            min(max(check.x_px * width / camera.width_px, ring), width - ring),
            min(max(check.y_px * height / camera.height_px, ring), height - ring),
        )
        for check in card.checks
    )
    small = camera.resized(max(1, round(width)), max(1, round(height)))
    draw_marks(inset, small, Marks(telltales=spots), 5.0)
    drawing.place(inset, _MARGIN, y)
    x, line_y = _MARGIN + width + 9, y
    for number, check in enumerate(card.checks, start=1):
        must = "soft" if check.name == "must be soft" else "crisp"
        must = "just fading" if "edge" in check.name else must
        for k, line in enumerate(wrapped(f"{number}  {must}", _TEXT, _WIDTH - _MARGIN - x)):
            line_y += _LEAD
            drawing.letters(x, line_y - 2, line, _TEXT, weight="regular" if k else "semibold")
        line_y += _LEAD
        drawing.letters(x + 9, line_y - 2, metres(check.depth_m), _TEXT, colour=INK)
    return y + max(height, line_y - y)


def _backs(card: FieldCard) -> tuple[list[Drawing], float]:
    """Flow the order of setting up and the cautions over pages; also returns where they end."""
    steps = [(f"{n}", text) for n, text in enumerate(card.setting_up, start=1)]
    blocks = [("In this order", steps), ("Look out", [("–", text) for text in card.cautions[1:]])]
    page = _blank()
    pages, y = [page], _MARGIN - 6
    low = _HEIGHT - _MARGIN
    for heading, entries in blocks:
        first = wrapped(entries[0][1], _TEXT, _INNER - 14)
        if y + 20 + _LEAD * len(first) > low:
            page, y = _blank(), _MARGIN - 6
            pages.append(page)
        y += 16
        page.letters(_MARGIN, y - 3, heading, 10.5, weight="semibold")
        for mark, text in entries:
            lines = wrapped(text, _TEXT, _INNER - 14)
            if y + _LEAD * len(lines) + 2 > low:
                page, y = _blank(), _MARGIN - 6
                pages.append(page)
            page.letters(_MARGIN, y + _LEAD - 2, mark, _TEXT, weight="semibold")
            for line in lines:
                y += _LEAD
                page.letters(_MARGIN + 14, y - 2, line, _TEXT)
            y += 1.2
        page.path([(_MARGIN, y + 3), (_WIDTH - _MARGIN, y + 3)], colour=HAIRLINE, width=0.7)
        y += 4
    return pages, y

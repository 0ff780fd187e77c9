"""The field card: two small pages, the size of a hand, in the order of doing.

The front is what to dial in and where to look; the back is the order of setting up and the
cautions in full. Black on white, nothing under 9 pt, so that cold hands in the sun can read it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from PIL import Image

from render.optics.lens import LensSetting
from render.optics.solving.holding import lean_name, lean_words, leaned_words, ring_words
from render.optics.solving.limits import LensLimits
from render.optics.solving.movements import mount_turn, total_and_azimuth
from render.plan.card import FieldCard
from render.plan.exposure import Histogram, filter_words, share_words, shutter_words
from render.plan.light import span_words
from render.plan.setting_up import focus_ends
from render.plan.timelapse import TimeLapse
from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.lettering import line_width, shortened, wrapped
from render.sheets.drawing.style import CAUTION, HAIRLINE, INK, MUTED, SETTING
from render.sheets.drawing.vector import jpeg_bytes
from render.sheets.overlay import Marks, draw_marks
from render.sheets.section import panel_height, section_panel
from render.sheets.slice import Slice
from render.words import (
    focal_words,
    lateral_words,
    length_words,
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
_SECTION_HEIGHT, _SECTION_MOST = 78.0, 170.0
#: The thumbnail's tallest, and the histogram with its words.
_PHOTO_HEIGHT, _HISTOGRAM_HEIGHT = 96.0, 38.0
_ROW = 14.2
_SEEN = {"side": "from the side", "plan": "from above"}
#: Words may reach down to here; on the front the foot stands in the last line.
_LOW = _HEIGHT - _MARGIN
_FRONT_LOW = _LOW - _LEAD
#: A heading's height, and what an entry of a list keeps free below itself.
_HEADING, _GAP = 16.0, 1.2
#: Key frames of a film that the front has room for.
_MOST_TURNS = 3
_FOOT = "Start values: the magnified picture decides."
_FOOT_NO_PIVOT = "Start values, ring by no known pivot: magnify and see."


#: Headings with their entries, each in lines.
Lists = list[tuple[str, list[list[str]]]]


@dataclass(frozen=True, slots=True, eq=False)
class CardPictures:
    """What is drawn on a card.

    Attributes
    ----------
    photo : PIL.Image.Image
        The photograph of the planned frame, sRGB-coded, at any size.
    section : Slice
    sharp : str
        Where it is sharp along the line through the spot in focus, in words.
    """

    photo: Image.Image
    section: Slice
    sharp: str


@dataclass(slots=True)
class _Flow:
    """Words that flow on over pages: where the next ones stand, and what is begun for them.

    Attributes
    ----------
    page, y, low : where the next words stand, and the lowest that they may reach
    roomy : other pages begun already, each with the same; the first that has room is taken
    begun : pages begun for what has no room anywhere
    """

    page: Drawing
    y: float
    low: float
    roomy: list[tuple[Drawing, float, float]] = field(default_factory=list)
    begun: list[Drawing] = field(default_factory=list)

    def find_room(self, height: float) -> None:
        """Stay where so much fits, else go on with a page that holds it, or a new one."""
        if self.y + height <= self.low:
            return
        self.roomy.append((self.page, self.y, self.low))
        fits = [k for k, (_, y, low) in enumerate(self.roomy) if y + height <= low]
        if fits:
            self.page, self.y, self.low = self.roomy.pop(fits[0])
        else:
            self._begin()

    def _begin(self) -> None:
        self.page, self.y, self.low = _blank(), _MARGIN - 6, _LOW
        self.begun.append(self.page)

    def head(self, heading: str) -> None:
        """Draw the heading of a list."""
        self.page.letters(_MARGIN, self.y + 13, heading, 10.5, weight="semibold")
        self.y += _HEADING

    def enter(self, mark: str, lines: Sequence[str]) -> None:
        """Draw an entry of a list behind its mark; what the page does not hold begins the next."""
        if self.y + _list_height([lines]) > self.low:
            self._begin()
        self.page.letters(_MARGIN, self.y + _LEAD - 2, mark, _TEXT, weight="semibold")
        for line in lines:
            self.y += _LEAD
            self.page.letters(_MARGIN + 14, self.y - 2, line, _TEXT)
        self.y += _GAP

    def rule_off(self) -> None:
        """Draw a hairline below what stands there."""
        across = [(_MARGIN, self.y + 3), (_WIDTH - _MARGIN, self.y + 3)]
        self.page.path(across, colour=HAIRLINE, width=0.7)
        self.y += 4


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
    y = _draw_warning(front, 27.0, card.cautions[0])
    for label, value in _rows(card, pictures):
        y = _draw_row(front, y, label, value)
    pages, roomy = [front], []
    low = _FRONT_LOW
    if low - y - 12 < _PHOTO_HEIGHT:
        roomy.append((front, y, low))
        pages.append(_blank())
        y, low = _MARGIN, _LOW
    y = _draw_checks(pages[-1], y + 8, card, pictures)
    if low - y - 8 < _HISTOGRAM_HEIGHT:
        roomy.append((pages[-1], y, low))
        pages.append(_blank())
        y, low = _MARGIN, _LOW
    y = _draw_histogram(pages[-1], y + 8, card.histogram)
    words = _FOOT_NO_PIVOT if card.pivot_words else _FOOT
    front.letters(_MARGIN, _HEIGHT - _MARGIN, words, _TEXT, colour=MUTED)
    if credit:
        line = shortened(credit, _TEXT, _INNER)
        front.letters(_MARGIN, _HEIGHT - 4.5, line, _TEXT, colour=MUTED)
    backs, back_y = _backs(card)
    places = [(pages[-1], y + 4, low), (backs[-1], back_y + 10, _LOW), (_blank(), _MARGIN, _LOW)]
    page, top, low_there = next(p for p in places if p[2] - p[1] >= _SECTION_HEIGHT)
    roomy += [
        place for place in ((pages[-1], y, low), (backs[-1], back_y, _LOW)) if place[0] is not page
    ]
    flow = _Flow(page, top, low_there, roomy)
    lists = _lists(card)
    height = _section_height(flow, lists, panel_height(pictures.section, _INNER))
    numbered = [replace(thing, name=f"{n}") for n, thing in enumerate(card.named, start=1)]
    panel = section_panel(
        pictures.section, card.verdict.setting, _INNER, height, size=_TEXT, named=numbered
    )
    page.place(panel, _MARGIN, top)
    seen, foot = _SEEN[pictures.section.kind], top + height - 0.5 * _TEXT
    page.letters(_WIDTH - _MARGIN, foot, seen, _TEXT, colour=MUTED, align="right")
    flow.y += height + 4
    extra = [page] if page not in (pages[-1], backs[-1]) else []
    return [*pages, *backs, *extra, *_flow_lists(flow, lists)]


def _section_height(flow: _Flow, lists: Lists, wanted: float) -> float:
    """The tallest up to what is wanted that costs no page more than the lowest one."""

    def pages(height: float) -> int:
        roomy = [(_blank(), y, low) for _, y, low in flow.roomy]
        return len(_flow_lists(_Flow(_blank(), flow.y + height + 4, flow.low, roomy), lists))

    most = min(wanted, _SECTION_MOST, flow.low - flow.y)
    heights = [_SECTION_HEIGHT, *np.arange(_SECTION_HEIGHT + 4, most, 4.0)]
    fewest = pages(_SECTION_HEIGHT)
    return max(float(height) for height in heights if pages(height) <= fewest)


def _draw_row(page: Drawing, y: float, label: str, value: str) -> float:
    """One line of what to dial in; a long value takes two, smaller."""
    room = _INNER - _LABEL
    whole = line_width(value, SETTING, "semibold") <= room
    page.letters(_MARGIN, y + _ROW, label, _TEXT, colour=MUTED)
    if whole:
        page.letters(_MARGIN + _LABEL, y + _ROW, value, SETTING, weight="semibold")
        return y + _ROW
    lines = wrapped(value, _TEXT, room, "semibold")
    for number, line in enumerate(lines):
        at = y + _ROW + number * _LEAD
        page.letters(_MARGIN + _LABEL, at, line, _TEXT, weight="semibold")
    return y + _ROW + (len(lines) - 1) * _LEAD


def _lists(card: FieldCard) -> Lists:
    """What to bring and vary, the day's light, what is too far off, which stop: lines of each."""
    lists: list[tuple[str, Sequence[str]]] = [("Bring", card.bring), ("Vary", card.vary)]
    if card.sunlight is not None:
        lists.append(("The light that day", card.sunlight.lines))
    lists.append(("The light of the take", card.light_of_take))
    more = [turn.sentence for turn in card.turns] if len(card.turns) > _MOST_TURNS else []
    between = [card.between] if card.between and card.turns else []
    lists.append(("The lens on the way", [*more, *between, *card.unreached]))
    pivot = [card.pivot_words] if card.pivot_words else []
    lists.append(("If it is off", [*pivot, *(t.sentence for t in card.tolerances)]))
    lists.append(("Which stop survives", [shown.sentence(card.limits) for shown in card.shown]))
    return [
        (heading, [wrapped(text, _TEXT, _INNER - 14) for text in entries])
        for heading, entries in lists
        if entries
    ]


def _flow_lists(flow: _Flow, lists: Lists) -> list[Drawing]:
    """Flow the lists from there on; returns the pages begun for them."""
    for heading, entries in lists:
        flow.find_room(_HEADING + _list_height(entries))  # whole where any page can hold it
        flow.head(heading)
        for lines in entries:
            flow.enter("–", lines)
    return flow.begun


def _list_height(entries: Sequence[Sequence[str]]) -> float:
    return sum(_LEAD * len(lines) + _GAP for lines in entries)


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
    setting, stand = card.verdict.setting, card.stand
    for text in card.first:
        yield "First", text
    if stand.where:
        yield "Tripod", stand.where
    if stand.looks:
        yield "Camera", stand.looks
    if card.sunlight is not None:
        yield "When", card.sunlight.planned_words
        if card.sunlight.hour is not None:
            yield card.sunlight.hour[0].capitalize(), span_words(card.sunlight.hour[1])
        if card.sunlight.window:
            yield "Good light", card.sunlight.window_words
    name = f" ({card.limits.name})" if card.lens_named else ""
    size = f", frame {card.size_words}" if card.size_words else ""
    stop = spell_f_number(setting.f_number)
    yield "Lens", f"{focal_words(setting.focal_mm)}{name}, {stop}{size}"
    yield from _movements(setting, card.limits)
    first = card.checks[0] if card.checks else None
    named = [(c.name, c.depth_m) for c in card.checks if c.must != "soft"] if card.named else []
    if ends := focus_ends(setting, named):
        yield "Focus", f"between {ends[0]} and {ends[1]}"
    elif first is not None:
        what = first.name if card.named else "mark 1"
        what = f"{card.focused} (mark 1)" if card.focused else what
        flat = card.verdict.built_over is not None  # what stands there is nearer
        parts = [what, f"{length_words(first.depth_m)} (axis)"]
        if first.over_ground_m is not None:
            level = "on flat" if flat else "along"
            parts.append(f"{length_words(first.over_ground_m)} {level} ground")
        elif flat:
            parts.append("taken as flat")
        yield "Focus on", ", ".join(parts)
    by = leaned_words(card.ring, setting, first.depth_m) if first is not None else ""
    ring = ", ".join(filter(None, [ring_words(card.ring), by]))
    yield "Focus ring", f"{ring}; in the film as below" if card.ring_on_the_way else ring
    if pictures.sharp:
        yield "Sharp, mark 1", pictures.sharp
    if not card.blind:
        yield "May be off", card.slack.words
    metered = card.exposure.metered
    unlit = ", lamps not counted: meter on site" if card.exposure.brightness.unlit else ""
    yield "Shutter", f"{shutter_words(metered.time_s)} at ISO {card.exposure.iso:g}{unlit}"
    if metered.filter_stops > 0.5:
        yield "Filter", filter_words(metered.filter_stops)
    if card.sitting is not None:
        yield "People", card.sitting.words
    if card.timelapse is not None:
        yield from _moving(card, card.timelapse)


def _moving(card: FieldCard, timelapse: TimeLapse) -> Iterator[tuple[str, str]]:
    """A time-lapse or a video with the shutter and filter that belong to it."""
    plan, shutter = timelapse.interval, card.moving_shutter
    if timelapse.by_remote:
        yield (
            "Time-lapse",
            f"every {timelapse.interval_s:.3g} s, {plan.frames} times, {timelapse.site_words}",
        )
    elif card.video is not None:
        video = card.video
        yield (
            "Video",
            f"record {video.record_s:.0f} s at {video.record_fps:g} a second, play it "
            f"{video.speed_up:.1f} times as fast",
        )
    if shutter is not None:
        filters = (
            f" with {filter_words(shutter.filter_stops)}" if shutter.filter_stops > 0.5 else ""
        )
        first = " at first" if card.ramp is not None else ""
        yield "– its shutter", f"{shutter_words(shutter.time_s)}{filters}{first}"
    if card.take is not None and card.take.words:
        follows = [card.ramp.words] if card.ramp is not None else []
        yield "– the light", ", ".join([card.take.words, *follows])
    for turn in card.turns[:_MOST_TURNS]:
        if turn.recorded_frame is None:
            yield f"– frame {turn.frame}", turn.setting
        else:  # of a recording nobody counts frames
            yield "– the lens", f"{turn.moment}: {turn.setting}"


def _movements(setting: LensSetting, limits: LensLimits) -> Iterator[tuple[str, str]]:
    shift = [rise_words(setting.rise_mm)] if setting.rise_mm else []
    shift += [lateral_words(setting.lateral_mm)] if setting.lateral_mm else []
    if shift:
        yield "Shift", ", ".join(shift)
    total, azimuth = total_and_azimuth(setting.tilt_deg, setting.swing_deg)
    if setting.swing_deg and limits.axis_turns:
        turn, way = mount_turn(azimuth)
        side = "clockwise" if turn > 0 else "anticlockwise"
        both = setting.tilt_deg, setting.swing_deg
        yield lean_name(*both), lean_words(*both)
        yield "– on a mount", f"axis {abs(turn):.0f}° {side}, then {way} {total:.3g}°"
    elif setting.swing_deg:
        side = "right" if setting.swing_deg > 0 else "left"
        yield "Swing", f"{swing_words(setting.swing_deg)} (front end to your {side})"
    elif setting.tilt_deg:
        way = "down" if setting.tilt_deg > 0 else "up"
        yield "Tilt", f"{tilt_words(setting.tilt_deg)} (front end {way})"
    else:
        yield "Tilt", tilt_words(setting.tilt_deg)


def _draw_checks(drawing: Drawing, y: float, card: FieldCard, pictures: CardPictures) -> float:
    """Draw the thumbnail with numbered rings and what each must show; return where it ends."""
    photo, camera = pictures.photo, card.camera
    scale = min(150 / photo.width, _PHOTO_HEIGHT / photo.height)
    width, height = photo.width * scale, photo.height * scale
    inset = Drawing(width, height)
    shows = "The photograph as planned, with the numbered spots to check"
    inset.picture(photo, 0, 0, width, height, jpeg=jpeg_bytes(photo), shows=shows)
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
        must = check.must.split(",")[0]
        name = f"{check.name}: " if card.named and check.must != "soft" else ""
        name = f"{card.focused}: " if number == 1 and card.focused else name
        for k, line in enumerate(wrapped(f"{number}  {name}{must}", _TEXT, _WIDTH - _MARGIN - x)):
            line_y += _LEAD
            drawing.letters(x, line_y - 2, line, _TEXT, weight="regular" if k else "semibold")
        line_y += _LEAD
        drawing.letters(
            x + 9, line_y - 2, f"{length_words(check.depth_m)} (axis)", _TEXT, colour=INK
        )
    return y + max(height, line_y - y)


def _draw_histogram(drawing: Drawing, y: float, histogram: Histogram) -> float:
    """The expected histogram, a bar a stop, with what is lost at both ends in words."""
    base, bars = y + _HISTOGRAM_HEIGHT - _LEAD, list(histogram.shares)
    width = _INNER / len(bars)
    full = max(bars)
    clip = next(k for k, low in enumerate(histogram.stops) if low >= 0)
    for k, share in enumerate(bars):
        high = (base - y - 2) * share / full
        colour = CAUTION if k >= clip else INK
        drawing.box(_MARGIN + k * width + 0.5, base - high, width - 1.0, high, colour=colour)
    drawing.path([(_MARGIN, base), (_MARGIN + _INNER, base)], width=0.7)
    at = _MARGIN + clip * width
    drawing.path([(at, y), (at, base)], colour=CAUTION, width=0.9)
    drawing.letters(
        _MARGIN, base + _LEAD - 2, f"dark: {share_words(histogram.dark_share)}", _TEXT, colour=MUTED
    )
    drawing.letters(
        _WIDTH - _MARGIN,
        base + _LEAD - 2,
        f"clips: {share_words(histogram.clipped_share)}",
        _TEXT,
        align="right",
    )
    drawing.letters(
        _WIDTH / 2, base + _LEAD - 2, "stops, expected", _TEXT, colour=MUTED, align="middle"
    )
    return y + _HISTOGRAM_HEIGHT


def _backs(card: FieldCard) -> tuple[list[Drawing], float]:
    """Flow the order of setting up and the cautions over pages; also returns where they end."""
    steps = [(f"{n}", text) for n, text in enumerate(card.setting_up, start=1)]
    blocks = [("In this order", steps), ("Look out", [("–", text) for text in card.cautions[1:]])]
    first = _blank()
    flow = _Flow(first, _MARGIN - 6, _LOW)
    for heading, entries in blocks:
        lines = [(mark, wrapped(text, _TEXT, _INNER - 14)) for mark, text in entries]
        flow.find_room(_HEADING + _list_height([lines[0][1]]))
        flow.head(heading)
        for mark, each in lines:
            flow.enter(mark, each)
        flow.rule_off()
    return [first, *flow.begun], flow.y

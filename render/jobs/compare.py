"""`hingeline compare`: one place under several settings, on a sheet and on a page."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from render.errors import InputError, OutputError, SettingError
from render.files.atomic import check_destinations
from render.files.painted import check_ending, write_bytes, write_painted
from render.files.run import one_run
from render.files.shots import write_shot
from render.jobs.cells import CellMade, CellOrder, make_cells, shows_close_ups
from render.jobs.made import Made, made
from render.judge.advising.best import suggested
from render.judge.advising.vantages import NOTHING_CARRIES_IT
from render.judge.sharpness import holds_best
from render.load.compiled import say_compiling
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.load.taken import on_paper, resting_on
from render.load.variants import KINDS, axes_of, turns_only
from render.optics.lens import LensSetting
from render.sheets.compare import Cell, compare_sheet
from render.sheets.drawing.canvas import stand_in_notes
from render.sheets.drawing.lettering import checked_text, drawable_text
from render.sheets.drawing.raster import paint
from render.sheets.wipe import wipe_page
from render.shot.axes import Axis, parse_axis, varied
from render.shot.declaring import PictureSpot
from render.shot.shot import RING, Shot, input_files, merged
from render.shot.wishes import CrewWishes
from render.tell.axis_words import days_words
from render.tell.cells import verdict_cell
from render.tell.records.commands import CompareRecord
from render.tell.setting_values import in_full
from render.tell.summary import credit_words, setting_record
from render.tell.verdict_record import verdict_record
from render.words import focal_words, length_words, spell_f_number, swing_words, tilt_words

__all__ = ["compare"]

#: Pictures of the page to wipe are shown larger than those of the sheet.
_PAGE_LONG_SIDE_PX = 1280
#: Ready-made sheets whose cells are not one scene with the lens turned, and what they vary.
_TRACED_ANEW = {"vantages": {"height"}, "lenses": {"lens"}, "day": {"when"}}
#: How cells are exposed: alike, or each for the light of its own hour.
_ALIKE, _OWN_HOUR = "Same exposure everywhere;", "Each exposed for its own hour;"
_SMALL_PRINT = (
    "every picture is rendered at the size it has here. "
    "Band: share of the picture's height that is sharp. Softest: blur of the softest twentieth of "
    "the detail, % of picture height."
)
_SCORED, _COMPUTED = "Score 0 to 100.", "Computed previews, not photographs."


_CLOSE_UPS = "Strips: the framed places, pixel for pixel; as planned one is sharp, one is soft."
_ALONE = CrewWishes()


@one_run()
def compare(
    shot: Shot,
    out: Path | None,
    *,
    kind: str | None = None,
    across: str | None = None,
    down: str | None = None,
    cell_px: int = 480,
    page: Path | None = None,
    singles: Path | None = None,
    title: str | None = None,
    save_shot: Path | None = None,
    overwrite: bool = False,
    crew: CrewWishes = _ALONE,
    progress: Progress,
) -> Made:
    """Render a shot under several settings and lay the pictures out on one sheet.

    Parameters
    ----------
    out : Path or None
        The sheet, PNG or JPEG; NAME_KIND.png in the current folder when None.
    kind : str or None
        A ready-made sheet: stops, grid, focus, lenses, vantages, day; stops where no axes are
        given either.
    across, down : str or None
        Own axes instead, such as "f=2.8,4,5.6" and "tilt=up 4,up 8".
    cell_px : int
        Longer side of each picture.
    page : Path or None
        Also write one HTML file to wipe and blink between any two.
    singles : Path or None
        Also write each picture into this folder.
    title : str or None
        Heading of the sheet.
    save_shot : Path or None
        Also write the shot.
    crew : CrewWishes
        Who makes the cells; the bytes do not depend on it.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    if not 120 <= cell_px <= 2400:
        raise SettingError(f"a picture on a sheet may be 120 to 2400 px wide, not {cell_px}")
    heading = checked_text(title, "the title") if title else None
    own = _own_axes(across, down, kind)
    kind = kind or "stops"
    heading = heading or _heading("Comparison" if own else KINDS.get(kind, ""), shot.stem)
    out = out or Path(f"{shot.stem}_{'compare' if own else kind}.png")
    inputs = input_files(shot)
    _check_places(out, page, singles, save_shot, overwrite, inputs)
    say_compiling(progress)
    page_px = max(cell_px, _PAGE_LONG_SIDE_PX) if page else None
    shown = _as_shown(shot, kind, own, page_px or cell_px)
    anew = _loads_anew(shot, kind, own)
    base = prepare(shown, progress, for_render=not anew)
    with resting_on(base.guesses):
        axes = own or axes_of(kind, base.shot, base.scene)
    places: list[Path] = []
    if singles:  # before minutes of work, and before the sheet is written
        count = math.prod(len(axis.values) for axis in axes)
        places = [_single_path(singles, number + 1, out) for number in range(count)]
        check_destinations([out, *places], overwrite=overwrite, inputs=inputs)
    order = CellOrder(shot, shown, axes, not anew, cell_px, page_px)
    taken = make_cells(order, base, crew, progress)
    sheet = _sheet_of(taken, axes, base, heading)
    progress("drawing the sheet", 0.92)
    drawing = compare_sheet(
        sheet.cells,
        title=heading,
        subtitle=sheet.subtitle,
        notes=[*([_CLOSE_UPS] if taken[0].close is not None else []), *sheet.notes],
        columns=len(axes[-1].values) if len(axes) > 1 else None,
    )
    write_painted(out, paint(drawing), overwrite=overwrite, inputs=inputs)
    if page:
        write_bytes(page, _wiped(sheet).encode(), overwrite=overwrite, inputs=inputs)
    for path, one in zip(places, taken, strict=False):
        write_painted(path, one.picture, overwrite=overwrite, inputs=inputs)
    if save_shot:
        write_shot(save_shot, in_full(shot, base), overwrite=overwrite)
    files = [out, *([page] if page else []), *places, *([save_shot] if save_shot else [])]
    return _told(files, sheet, axes, base, stand_in_notes([drawing]))


@dataclass(frozen=True, slots=True, eq=False)
class _Sheet:
    """What stands on a sheet.

    Attributes
    ----------
    taken : list of CellMade
    cells : list of Cell
        The same, captioned.
    best : CellMade or None
        What is suggested.
    suggestion : str
        That in a sentence; empty where nothing is.
    aloft : str
        Behind it, where nothing carries the camera there.
    assumed : list of str
        What all of it rests on.
    heading, subtitle : str
    notes : list of str
        Under the pictures, on the sheet and on its page.
    """

    taken: list[CellMade]
    cells: list[Cell]
    best: CellMade | None
    suggestion: str
    aloft: str
    assumed: list[str]
    heading: str
    subtitle: str
    notes: list[str]

    @property
    def flown(self) -> list[str]:
        """What is suggested, where nothing carries the camera there."""
        return [f"Suggested: {self.best.words}{self.aloft}."] if self.best and self.aloft else []


def _sheet_of(
    taken: list[CellMade], axes: tuple[Axis, ...], base: Prepared, heading: str
) -> _Sheet:
    """Caption the cells, and gather what is said of all of them."""
    best, alike = _suggested(taken, base.setting)
    for_sharpness = all(one.sharpness for one in taken)  # one sheet, one job
    cells = [
        verdict_cell(
            one.picture,
            one.words,
            one.verdict,
            suggested=one is best,
            guessed=bool(one.guesses),
            asked=one.sharpness if for_sharpness else None,
            close=one.close,
        )
        for one in taken
    ]
    assumed = _assumed(taken, for_sharpness)
    exposed = _OWN_HOUR if any(axis.name == "when" for axis in axes) else _ALIKE
    small_print = [exposed, _SMALL_PRINT, "" if for_sharpness else _SCORED, _COMPUTED]
    drawn = [on_paper(note) if note in base.guesses else note for note in assumed]
    notes = [drawable_text(f"Note: {'; '.join(drawn)}.")] if drawn else []
    notes += [" ".join(filter(None, small_print))]
    notes += [f"{credit_words(base)}."] if base.credit else []
    aloft = _aloft(base.shot, axes, best)
    subtitle = _shared_words(taken[0], axes)
    said = _suggested_words(best, taken, alike, base.setting)
    sheet = _Sheet(taken, cells, best, said, aloft, assumed, heading, subtitle, notes)
    return replace(sheet, notes=[*sheet.flown, *notes])


def _wiped(sheet: _Sheet) -> str:
    """The page on which any two cells are wiped over each other, with large pictures."""
    large = [
        replace(cell, picture=one.page_picture, close=None)
        for cell, one in zip(sheet.cells, sheet.taken, strict=True)
    ]
    return wipe_page(large, title=sheet.heading, subtitle=sheet.subtitle, notes=sheet.notes)


def _told(
    files: list[Path],
    sheet: _Sheet,
    axes: tuple[Axis, ...],
    base: Prepared,
    of_fonts: Sequence[str],
) -> Made:
    """What is said of a sheet that was made."""
    remarks = [*sheet.assumed, *of_fonts]
    record: CompareRecord = {
        "setting": setting_record(base),
        "axes": {axis.name: list(axis.values) for axis in axes},
        "cells": [
            {"words": one.words, "suggested": one is sheet.best, **verdict_record(one.verdict)}
            for one in sheet.taken
        ],
        "notes": [*sheet.flown, *remarks],
        "guessed": list(sheet.taken[0].guesses),
        "credit": base.credit or None,
    }
    captions = (f"{c.setting}: {c.scale}; {c.figures}; {c.verdict}" for c in sheet.cells)
    return made(
        files,
        (
            *captions,
            *([f"{sheet.suggestion}{sheet.aloft}"] if sheet.suggestion else []),
            *(f"Note: {note}" for note in remarks),
            *filter(None, [credit_words(base)]),
        ),
        record,
    )


def _own_axes(across: str | None, down: str | None, kind: str | None) -> tuple[Axis, ...]:
    """The axes that were asked for, rows first; a SettingError where they cannot go together."""
    own = tuple(parse_axis(text) for text in (down, across) if text)
    if len({axis.name for axis in own}) < len(own):
        raise SettingError(f"{own[0].name} is given both across and down: give two settings")
    if own and kind is not None:
        raise SettingError(
            f"--sheet {kind} lays out its own values: leave it out, or --across and --down"
        )
    return own


def _as_shown(shot: Shot, kind: str, own: tuple[Axis, ...], width_px: int) -> Shot:
    """A scene traced at the size that is shown; close-ups show the pixels of a whole photograph."""
    stops_alone = shows_close_ups(own) if own else kind == "stops"
    if not shot.scene or shot.demo.width_px or stops_alone or _counts_pixels(shot, own):
        return shot
    return merged(shot, {"width": f"{width_px}"}, "{name}")


def _assumed(taken: list[CellMade], for_sharpness: bool) -> list[str]:
    """What every cell rests on, and what some do without which the sheet would mislead."""
    assumed = [note for note in taken[0].notes if all(note in one.notes for one in taken)]
    # a ring that was set anew, or kept, is said though it is so in some cells alone
    rings = dict.fromkeys(n for one in taken for n in one.notes if n.startswith(RING))
    assumed += [note for note in rings if note not in assumed]
    assumed += taken[0].lift_words[any(one.lifted for one in taken)]
    return assumed + (_outside_words(taken, assumed) if for_sharpness else [])


def _check_places(
    out: Path,
    page: Path | None,
    singles: Path | None,
    save_shot: Path | None,
    overwrite: bool,
    inputs: list[Path],
) -> None:
    check_ending(out, "a sheet", ".png", ".jpg")
    if page:
        check_ending(page, "the page", ".html")
    if singles and not singles.is_dir():
        raise OutputError(f"{singles} is no folder: make it first, the single pictures go there")
    outputs = [path for path in (out, page, save_shot) if path]
    check_destinations(outputs, overwrite=overwrite, inputs=inputs)


def _loads_anew(shot: Shot, kind: str, own: tuple[Axis, ...]) -> bool:
    """Whether every cell traces the scene for itself, so that the base is asked for words only."""
    names = {axis.name for axis in own} if own else _TRACED_ANEW.get(kind, set())
    return bool(shot.scene) and not turns_only(shot, names)


def _counts_pixels(shot: Shot, own: tuple[Axis, ...]) -> bool:
    """Tell whether a focus spot is given in pixels, which are those of the usual size."""
    wishes = [varied(shot, (axis,)) for axis in own if axis.name == "focus"]
    shots = [shot, *(made for wish in wishes for _, made in wish)]
    spots = [made.lens.focus for made in shots if isinstance(made.lens.focus, PictureSpot)]
    return not all(spot.x_is_share and spot.y_is_share for spot in spots)


def _suggested(cells: list[CellMade], planned: LensSetting) -> tuple[CellMade | None, int]:
    """The cell that the judgement would suggest, and how many are as good for sharpness.

    Where every cell is for sharpness, it is one in which all that was asked for is sharp, the
    planned setting before others as good.
    """
    settings = [cell.setting for cell in cells]
    alike, place = 0, suggested([(cell.verdict.setting, cell.verdict.score) for cell in cells])
    asked = [cell.sharpness for cell in cells if cell.sharpness]
    if len(asked) == len(cells):
        now = settings.index(planned) if settings.count(planned) == 1 else None
        place, alike = holds_best(asked, now)
    return (None if place is None else cells[place]), alike


def _outside_words(cells: list[CellMade], said: list[str]) -> list[str]:
    """Why no cell says that all is sharp: what was asked for and lies outside its frame.

    Unless the notes that all cells share say so: how far away it lies differs where frames do.
    """
    outside = [name for cell in cells if cell.sharpness for name in cell.sharpness.unseen]
    return [
        f"{name} lies outside the frame in "
        f"{'every picture' if times == len(cells) else f'{times} of {len(cells)} pictures'}, "
        "and counts as not sharp"
        for name, times in Counter(outside).items()
        if not any(note.startswith(f"{name}, ") for note in said)
    ]


def _suggested_words(
    best: CellMade | None, cells: list[CellMade], alike: int, planned: LensSetting
) -> str:
    """What is suggested, and how firmly it is put before the next best; nothing where none is."""
    if best is None:
        return ""
    if best.sharpness is not None:
        rest = "the most else soft"
        good = [cell for cell in cells if cell.sharpness and cell.sharpness.as_asked]
        if len(good) == alike > 1:
            which = "as planned, one" if best.setting == planned else "the middle one"
            rest = f"{which} of {alike} that leave as much else soft"
        return f"Suggested: {best.words}: all that was asked for is sharp, {rest}"
    others = [cell for cell in cells if cell is not best]
    other = max(others, key=lambda cell: cell.verdict.score.value)
    ahead = round(100 * best.verdict.score.beats(other.verdict.score))
    order = f'ahead of "{other.words}" in {ahead} of 100 ways of weighing it'
    if ahead < 50:
        order = f'as good as "{other.words}", and easier to dial or to hold'
    return f"Suggested: {best.words}, {order}"


def _aloft(shot: Shot, axes: tuple[Axis, ...], best: CellMade | None) -> str:
    """What to say behind a suggested height at which nothing on a map carries the camera."""
    if not shot.on_map or best is None or best.vantage is None:
        return ""
    from render.load.maps.mapscene import carried

    if "height" not in {axis.name for axis in axes} or carried(shot, best.vantage.height_m):
        return ""
    return f"; the camera stands {NOTHING_CARRIES_IT}"


def _shared_words(one: CellMade, axes: tuple[Axis, ...]) -> str:
    """What all cells have in common, in the order people turn it."""
    names = {axis.name for axis in axes}
    setting = one.setting
    words = {
        "lens": focal_words(setting.focal_mm),
        "f": spell_f_number(setting.f_number),
    }
    if setting.tilt_deg or not setting.swing_deg:
        words["tilt"] = tilt_words(setting.tilt_deg)
    if setting.swing_deg:
        words["swing"] = swing_words(setting.swing_deg)
    parts = [text for name, text in words.items() if name not in names]
    if "when" in names:
        (times,) = (axis for axis in axes if axis.name == "when")
        parts.append(days_words(times.values))
    if "focus" not in names and one.focus is None:
        parts.append("focus in the middle of the frame")
    vantage = one.vantage
    if vantage and "height" not in names:
        parts.append(f"from {length_words(vantage.height_m)} above the ground")
    return " · ".join(parts)


def _heading(kind: str, stem: str) -> str:
    try:
        return checked_text(f"{kind}: {stem}", "the name")
    except InputError:
        return kind


def _single_path(folder: Path, number: int, out: Path) -> Path:
    return folder / f"{out.stem}_{number:02d}.jpg"

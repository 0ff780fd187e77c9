"""`hingeline compare`: one place under several settings, on a sheet and on a page."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from PIL import Image

from render.engine.photograph import photograph
from render.engine.quality import PREVIEW
from render.errors import InputError, OutputError, SettingError
from render.files.atomic import check_destinations
from render.files.painted import check_ending, write_bytes, write_painted
from render.files.run import one_run
from render.files.shots import write_shot
from render.jobs.made import Made, made
from render.judge.advising.best import preferred
from render.judge.case import Case
from render.judge.verdict import Verdict, judge_case
from render.load.case import case_of
from render.load.compiled import say_compiling
from render.load.highlights import MOCKUP_STOPS, lift_words, lifted
from render.load.prepare import as_judged, prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.load.variants import KINDS, axes_of, turns_only, variants
from render.optics.camera import Window
from render.scene.resize import resized
from render.scene.scene import Scene
from render.sheets.compare import MOST_CELLS, compare_sheet
from render.sheets.drawing.lettering import checked_text, drawable_text
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.wipe import wipe_page
from render.shot.axes import Axis, parse_axis, varied
from render.shot.declaring import PictureSpot
from render.shot.shot import Shot, input_files, merged
from render.tell.axis_words import axis_words
from render.tell.cells import verdict_cell
from render.tell.summary import credit_words, setting_record
from render.tell.verdict_record import verdict_record
from render.words import metres, spell_f_number, swing_words, tilt_words

__all__ = ["compare"]

#: Pictures of the page to wipe are shown larger than those of the sheet.
_PAGE_LONG_SIDE_PX = 1280
#: Ready-made sheets whose cells are not one scene with the lens turned, and what they vary.
_TRACED_ANEW = {"vantages": {"height"}, "lenses": {"lens"}, "day": {"when"}}
_SMALL_PRINT = (
    "Same exposure everywhere; every picture is rendered at the size it has here. "
    "Band: share of the picture's height that is sharp. Softest: blur of the softest twentieth of "
    "the detail, % of picture height. Score 0 to 100. Computed previews, not photographs."
)


@dataclass(frozen=True, slots=True, eq=False)
class _Cell:
    """One cell at work."""

    prepared: Prepared
    verdict: Verdict
    picture: Image.Image
    page_picture: Image.Image
    words: str
    lifted: bool


@one_run()
def compare(
    shot: Shot,
    out: Path | None,
    *,
    kind: str = "stops",
    across: str | None = None,
    down: str | None = None,
    cell_px: int = 480,
    page: Path | None = None,
    singles: Path | None = None,
    title: str | None = None,
    save_shot: Path | None = None,
    overwrite: bool = False,
    progress: Progress,
) -> Made:
    """Render a shot under several settings and lay the pictures out on one sheet.

    Parameters
    ----------
    out : Path or None
        The sheet, PNG or JPEG; NAME_KIND.png in the current folder when None.
    kind : str
        A ready-made sheet: stops, grid, focus, lenses, vantages, day.
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

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    if not 120 <= cell_px <= 2400:
        raise SettingError(f"a picture on a sheet may be 120 to 2400 px wide, not {cell_px}")
    heading = checked_text(title, "the title") if title else None
    own = tuple(parse_axis(text) for text in (down, across) if text)
    if len({axis.name for axis in own}) < len(own):
        raise SettingError(f"{own[0].name} is given both across and down: give two settings")
    name = "compare" if own else kind
    stem = shot.stem
    out = out or Path(f"{stem}_{name}.png")
    inputs = input_files(shot)
    _check_places(out, page, singles, save_shot, overwrite, inputs)
    say_compiling(progress)
    page_px = max(cell_px, _PAGE_LONG_SIDE_PX) if page else None
    shown = shot
    if shot.scene and not shot.demo.width_px and not _counts_pixels(shot, own):
        # traced at the size that is shown
        shown = merged(shot, {"width": f"{page_px or cell_px}"}, "{name}")
    base = prepare(shown, progress, for_render=not _loads_anew(shot, kind, own))
    axes = own or axes_of(kind, base.shot, base.scene)
    if singles:  # before minutes of work, and before the sheet is written
        count = math.prod(len(axis.values) for axis in axes)
        places = [_single_path(singles, number + 1, out) for number in range(count)]
        check_destinations([out, *places], overwrite=overwrite, inputs=inputs)
    cells_of = variants(shown, base, axes, progress, for_render=True)
    # what is judged is what `judge` looks at, so that both say the same of one setting
    judged_of = (
        variants(shot, as_judged(shot, base, progress), axes, progress, for_render=False)
        if shot.scene
        else None
    )
    taken = _render_all(cells_of, judged_of, axes, cell_px, page_px, progress)
    best = _suggested(taken)
    cells = [
        verdict_cell(
            one.picture,
            one.words,
            one.verdict,
            suggested=one is best,
            guessed=bool(one.prepared.guesses),
        )
        for one in taken
    ]
    heading = heading or _heading(KINDS.get(kind, "") if not own else "Comparison", stem)
    subtitle = _shared_words(taken[0], axes)
    assumed = [n for n in taken[0].prepared.notes if all(n in one.prepared.notes for one in taken)]
    assumed += lift_words(taken[0].prepared, MOCKUP_STOPS, found=any(one.lifted for one in taken))
    notes = [_SMALL_PRINT]
    if assumed:
        notes.insert(0, drawable_text(f"Assumed: {'; '.join(assumed)}."))
    if base.credit:
        notes.append(f"{credit_words(base)}.")
    columns = len(axes[-1].values) if len(axes) > 1 else None
    progress("drawing the sheet", 0.92)
    drawing = compare_sheet(cells, title=heading, subtitle=subtitle, notes=notes, columns=columns)
    write_painted(out, paint(drawing), overwrite=overwrite, inputs=inputs)
    files = [out]
    if page:
        large = [
            replace(cell, picture=one.page_picture) for cell, one in zip(cells, taken, strict=True)
        ]
        text = wipe_page(large, title=heading, subtitle=subtitle, notes=notes)
        write_bytes(page, text.encode(), overwrite=overwrite, inputs=inputs)
        files.append(page)
    if singles:
        for number, one in enumerate(taken, start=1):
            path = _single_path(singles, number, out)
            write_painted(path, one.picture, overwrite=overwrite, inputs=inputs)
            files.append(path)
    if save_shot:
        write_shot(save_shot, shot, overwrite=overwrite)
        files.append(save_shot)
    return made(
        files,
        (
            *(f"{cell.setting}: {cell.scale}; {cell.figures}; {cell.verdict}" for cell in cells),
            *_suggested_line(best, taken),
            *(f"Note: {note}" for note in assumed),
            *filter(None, [credit_words(base)]),
        ),
        {
            "setting": setting_record(base),
            "axes": {axis.name: list(axis.values) for axis in axes},
            "cells": [
                {"words": one.words, "suggested": one is best, **verdict_record(one.verdict)}
                for one in taken
            ],
            "notes": assumed,
            "guessed": list(taken[0].prepared.guesses),
            **({"credit": base.credit} if base.credit else {}),
        },
    )


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


def _render_all(
    cells_of: Iterator[tuple[tuple[str, ...], Prepared]],
    judged_of: Iterator[tuple[tuple[str, ...], Prepared]] | None,
    axes: tuple[Axis, ...],
    cell_px: int,
    page_px: int | None,
    progress: Progress,
) -> list[_Cell]:
    """Render and judge every cell; the scene is loaded once, and shrunk once for each frame.

    Judged is the cell's own picture in full, or, where there is one, its fellow of `judged_of`.
    """
    count = math.prod(len(axis.values) for axis in axes)
    if count > MOST_CELLS:
        raise InputError(
            f"{count} pictures are too many for one sheet: at most {MOST_CELLS}; "
            "give fewer values or make several sheets"
        )
    shrunk: dict[tuple[int, Window, int], tuple[Scene, bool]] = {}
    cases: dict[tuple[int, Window], Case] = {}
    kept: list[Scene] = []  # so that no memory is given to another scene meanwhile

    def key_of(scene: Scene) -> tuple[int, Window]:
        # planning anew wraps the same depth in a new view, so the memory itself is the key
        kept.append(scene)
        return scene.depth_m.__array_interface__["data"][0], scene.frame

    def at_size(prepared: Prepared, long_px: int) -> tuple[Scene, bool]:
        """The scene as the lens gets it, and whether highlights were lifted in it."""
        key = (*key_of(prepared.scene), long_px)
        if key not in shrunk:
            to_take = lifted(prepared, MOCKUP_STOPS)
            shrunk[key] = resized(to_take.scene, long_px), to_take is not prepared
        return shrunk[key]

    def seen(prepared: Prepared) -> Case:
        key = key_of(prepared.scene)
        if key not in cases:
            cases[key] = case_of(prepared)
        return cases[key]

    made = []
    for number, (values, prepared) in enumerate(cells_of):
        progress(f"rendering {number + 1} of {count}", 0.1 + 0.8 * number / count)
        judged = next(judged_of)[1] if judged_of else prepared
        scenes = [
            at_size(prepared, px) for px in ((cell_px,) if page_px is None else (cell_px, page_px))
        ]
        pictures = [
            screen_picture(
                photograph(scene, prepared.setting, quality=PREVIEW).light, prepared.encoding
            )
            for scene, _ in scenes
        ]
        words = " · ".join(
            axis_words(axis.name, value, prepared.setting, prepared.scene.vantage)
            for axis, value in zip(axes, values, strict=True)
        )
        verdict = judge_case(seen(judged), judged.setting)
        made.append(_Cell(prepared, verdict, pictures[0], pictures[-1], words, scenes[0][1]))
    return made


def _suggested(cells: list[_Cell]) -> _Cell | None:
    """Return the cell that the judgement would suggest, if any reads as a model and they differ.

    They differ where the scores that are printed do.
    """
    scores = {f"{cell.verdict.score.value:.0f}" for cell in cells}
    best = cells[preferred([(cell.verdict.setting, cell.verdict.score) for cell in cells])]
    nothing = len(scores) == 1 or not best.verdict.word.of_a_model
    return None if nothing else best


def _suggested_line(best: _Cell | None, cells: list[_Cell]) -> list[str]:
    """What is suggested, and how firmly it is put before the next best."""
    if best is None:
        return []
    others = [cell for cell in cells if cell is not best]
    other = max(others, key=lambda cell: cell.verdict.score.value)
    ahead = round(100 * best.verdict.score.beats(other.verdict.score))
    order = f'ahead of "{other.words}" in {ahead} of 100 ways of weighing it'
    if ahead < 50:
        order = f'as good as "{other.words}", and easier to dial or to hold'
    return [f"Suggested: {best.words}, {order}"]


def _shared_words(one: _Cell, axes: tuple[Axis, ...]) -> str:
    """What all cells have in common, in the order people turn it."""
    names = {axis.name for axis in axes}
    setting = one.prepared.setting
    words = {
        "lens": f"{setting.focal_mm:g} mm",
        "f": spell_f_number(setting.f_number),
        "tilt": tilt_words(setting.tilt_deg),
    }
    if setting.swing_deg:
        words["swing"] = swing_words(setting.swing_deg)
    parts = [text for name, text in words.items() if name not in names]
    if "focus" not in names and one.prepared.shot.lens.focus is None:
        parts.append("focus in the middle of the frame")
    vantage = one.prepared.scene.vantage
    if vantage and "height" not in names:
        parts.append(f"from {metres(vantage.height_m)} above the ground")
    return " · ".join(parts)


def _heading(kind: str, stem: str) -> str:
    try:
        return checked_text(f"{kind}: {stem}", "the name")
    except InputError:
        return kind


def _single_path(folder: Path, number: int, out: Path) -> Path:
    return folder / f"{out.stem}_{number:02d}.jpg"

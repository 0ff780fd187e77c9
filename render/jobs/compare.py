"""`hingeline compare`: one place under several settings, on a sheet and on a page."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from PIL import Image

from render.errors import InputError, OutputError, SettingError
from render.files.atomic import check_destination, written_beside
from render.files.formats.profiles import build_profile
from render.files.shots import write_shot
from render.jobs.axes import KINDS, Axis, axes_of, axis_words, parse_axis, varied
from render.judge.case import Case
from render.judge.record import verdict_record
from render.judge.score import Word
from render.judge.verdict import Verdict, judge_case
from render.load.case import case_of
from render.load.compiled import keep_compiled_kernels
from render.load.highlights import MOCKUP_STOPS, lift_words, lifted
from render.load.plan import planned_on
from render.load.prepare import as_judged, prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.optics.camera import Window
from render.scene.colour import SRGB
from render.scene.resize import resized
from render.scene.scene import Scene
from render.sheets.compare import MOST_CELLS, Cell, compare_sheet
from render.sheets.drawing.lettering import checked_text, drawable_text
from render.sheets.drawing.raster import paint
from render.shot.keys import PictureSpot
from render.shot.shot import Shot, input_files, merged, shot_keys
from render.tell.summary import credit_words
from render.words import spell_f_number, swing_words, tilt_words

__all__ = ["Compared", "compare", "verdict_cell", "write_sheet"]

#: Pictures of the page to wipe are shown larger than those of the sheet.
_PAGE_LONG_SIDE_PX = 1280
#: A quarter of the time of the usual 6 for a fifth more bytes.
_PNG_LEVEL = 1
#: What may be turned on a demo scene without tracing it anew.
_TURNED = {"f", "tilt", "swing", "focus", "blades", "blade-turn", "roundness", "cats-eye"}
_ENDINGS = (".png", ".jpg", ".jpeg")
_SMALL_PRINT = (
    "Same exposure everywhere; every picture is rendered at the size it has here. "
    "Band: share of the picture's height that is sharp. Edges: blur of the softest twentieth of "
    "the detail, % of picture height. Score 0 to 100. Computed previews, not photographs."
)


@dataclass(frozen=True, slots=True)
class Compared:
    """What was written, and the same for people and for programs."""

    files: tuple[Path, ...]
    lines: tuple[str, ...]
    record: dict[str, Any]


@dataclass(frozen=True, slots=True, eq=False)
class _Made:
    """One cell at work."""

    prepared: Prepared
    verdict: Verdict
    picture: Image.Image
    page_picture: Image.Image
    words: str
    lifted: bool


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
) -> Compared:
    """Render a shot under several settings and lay the pictures out on one sheet.

    Parameters
    ----------
    out : Path or None
        The sheet, PNG or JPEG; NAME_KIND.png in the current folder when None.
    kind : str
        A ready-made sheet: stops, grid, focus, lenses, vantages.
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
    keep_compiled_kernels(progress)
    page_px = max(cell_px, _PAGE_LONG_SIDE_PX) if page else None
    shown = shot
    if shot.scene and not shot.demo.width_px and not _counts_pixels(shot, own):
        # traced at the size that is shown
        shown = merged(shot, {"width": f"{page_px or cell_px}"}, "{name}")
    base = prepare(shown, progress)
    axes = own or axes_of(kind, base.shot, base.scene)
    if singles:  # before minutes of work, and before the sheet is written
        for number in range(math.prod(len(axis.values) for axis in axes)):
            place = _single_path(singles, number + 1, out)
            check_destination(place, overwrite=overwrite, inputs=inputs)
    cells_of = _variants(shown, base, axes, progress, for_render=True)
    # what is judged is what `judge` looks at, so that both say the same of one setting
    judged_of = (
        _variants(shot, as_judged(shot, base, progress), axes, progress, for_render=False)
        if shot.scene
        else None
    )
    made = _render_all(cells_of, judged_of, axes, cell_px, page_px, progress)
    best = _suggested(made)
    cells = [
        verdict_cell(one.picture, one.words, one.verdict, suggested=one is best) for one in made
    ]
    heading = heading or _heading(KINDS.get(kind, "") if not own else "Comparison", stem)
    subtitle = _shared_words(made[0], axes)
    assumed = [n for n in made[0].prepared.notes if all(n in one.prepared.notes for one in made)]
    assumed += lift_words(made[0].prepared, MOCKUP_STOPS, found=any(one.lifted for one in made))
    notes = [_SMALL_PRINT]
    if assumed:
        notes.insert(0, drawable_text(f"Assumed: {'; '.join(assumed)}."))
    if base.credit:
        notes.append(f"{credit_words(base)}.")
    columns = len(axes[-1].values) if len(axes) > 1 else None
    progress("drawing the sheet", 0.92)
    drawing = compare_sheet(cells, title=heading, subtitle=subtitle, notes=notes, columns=columns)
    write_sheet(out, paint(drawing), overwrite=overwrite, inputs=inputs)
    files = [out]
    if page:
        from render.sheets.wipe import wipe_page

        large = [
            replace(cell, picture=one.page_picture) for cell, one in zip(cells, made, strict=True)
        ]
        text = wipe_page(large, title=heading, subtitle=subtitle, notes=notes)
        with written_beside(page, overwrite=overwrite, inputs=inputs) as beside:
            beside.write_text(text, encoding="utf-8")
        files.append(page)
    if singles:
        for number, one in enumerate(made, start=1):
            path = _single_path(singles, number, out)
            write_sheet(path, one.picture, overwrite=overwrite, inputs=inputs)
            files.append(path)
    if save_shot:
        write_shot(save_shot, shot, overwrite=overwrite)
        files.append(save_shot)
    return Compared(
        files=tuple(files),
        lines=(
            *(f"{cell.setting}: {cell.scale}; {cell.figures}; {cell.verdict}" for cell in cells),
            *(f"Suggested: {cell.setting}" for cell in cells if cell.suggested),
            *(f"Note: {note}" for note in assumed),
            *filter(None, [credit_words(base)]),
            "Wrote: " + ", ".join(map(str, files)),
        ),
        record={
            "axes": {axis.name: list(axis.values) for axis in axes},
            "cells": [
                {"words": one.words, "suggested": one is best, **verdict_record(one.verdict)}
                for one in made
            ],
            "notes": assumed,
            **({"credit": base.credit} if base.credit else {}),
            "files": [str(path) for path in files],
        },
    )


def write_sheet(path: Path, image: Image.Image, *, overwrite: bool, inputs: list[Path]) -> None:
    """Write a painted sheet as PNG, JPEG or WebP with its sRGB profile."""
    profile = build_profile(SRGB)
    with written_beside(path, overwrite=overwrite, inputs=inputs) as beside:
        if path.suffix.lower() == ".png":
            image.save(beside, icc_profile=profile, compress_level=_PNG_LEVEL)
        elif path.suffix.lower() == ".webp":
            image.save(beside, quality=80, icc_profile=profile)
        else:
            image.save(beside, quality=92, subsampling=0, icc_profile=profile)


def _check_places(
    out: Path,
    page: Path | None,
    singles: Path | None,
    save_shot: Path | None,
    overwrite: bool,
    inputs: list[Path],
) -> None:
    if out.suffix.lower() not in _ENDINGS:
        raise OutputError(f"{out}: a sheet is written as .png or .jpg; give it such a name")
    if page and page.suffix.lower() not in (".html", ".htm"):
        raise OutputError(f"{page}: the page is written as .html; give it such a name")
    if singles and not singles.is_dir():
        raise OutputError(f"{singles} is no folder: make it first, the single pictures go there")
    for path in (out, page, save_shot):
        if path:
            check_destination(path, overwrite=overwrite, inputs=inputs)


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
) -> list[_Made]:
    """Render and judge every cell; the scene is loaded once, and shrunk once for each frame.

    Judged is the cell's own picture in full, or, where there is one, its fellow of `judged_of`.
    """
    from render.engine.photograph import photograph
    from render.engine.quality import PREVIEW
    from render.sheets.drawing.screen import screen_picture

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
        encoding = prepared.file.encoding if prepared.file else SRGB
        judged = next(judged_of)[1] if judged_of else prepared
        scenes = [
            at_size(prepared, px) for px in ((cell_px,) if page_px is None else (cell_px, page_px))
        ]
        pictures = [
            screen_picture(photograph(scene, prepared.setting, quality=PREVIEW).light, encoding)
            for scene, _ in scenes
        ]
        words = " · ".join(
            axis_words(axis.name, value, prepared.setting)
            for axis, value in zip(axes, values, strict=True)
        )
        verdict = judge_case(seen(judged), judged.setting)
        made.append(_Made(prepared, verdict, pictures[0], pictures[-1], words, scenes[0][1]))
    return made


def _variants(
    shot: Shot, base: Prepared, axes: tuple[Axis, ...], progress: Progress, *, for_render: bool
) -> Iterator[tuple[tuple[str, ...], Prepared]]:
    """Yield each cell's values and what it is rendered from, or judged by.

    Where only the lens is turned, cells are planned on the scene that was loaded; a demo scene
    is traced again where its frame changes, a picture read again where its depth does.
    """
    names = {axis.name for axis in axes}
    tables = {shot_keys()[name].table for name in names}
    turned = names <= _TURNED if shot.scene else tables <= {"lens", "camera"}
    if not turned:
        for values, other in varied(shot, axes):
            prepared = prepare(other, progress, for_render=for_render)
            unseen = shot.depth.survey and names & {"height", "pitch", "horizon"}
            yield values, _as_relief(prepared) if unseen else prepared
        return
    of_the_plan = planned_on(base.shot, base.scene)[1].notes
    loaded = tuple(note for note in base.notes if note not in of_the_plan)
    for values, other in varied(base.shot, axes):
        scene, planned = planned_on(other, base.scene)
        yield (
            values,
            replace(
                base,
                shot=other,
                scene=scene,
                setting=planned.setting,
                sensor=planned.sensor,
                notes=(*loaded, *planned.notes),
            ),
        )


def _as_relief(prepared: Prepared) -> Prepared:
    """A survey seen from where no picture was taken: its shape alone."""
    from render.load.surveyed import relief

    scene = prepared.scene
    seen = replace(scene, picture=relief(scene.depth_m, scene.camera))
    note = "no picture was taken from these places: the survey's shape is shown, lit evenly"
    return replace(prepared, scene=seen, file=None, notes=(*prepared.notes, note))


def _suggested(made: list[_Made]) -> _Made | None:
    """Return the cell with the highest score, if any reads as a model and they differ."""
    best = max(made, key=lambda one: one.verdict.score.value)
    if len(made) < 2 or best.verdict.word is Word.WONT:
        return None
    return best


def verdict_cell(
    picture: Image.Image, words: str, verdict: Verdict, *, suggested: bool = False
) -> Cell:
    """Return a cell whose caption says what a verdict found."""
    measures = verdict.measures
    return Cell(
        picture=picture,
        setting=words if words.startswith("f/") else words[:1].upper() + words[1:],
        scale=_scale_words(verdict),
        figures=f"band {_percent(min(measures.band.height_fraction, 1.0))} · "
        f"edges {_percent(measures.edge_blur)} · score {verdict.score.value:.0f}",
        verdict=str(verdict.word),
        suggested=suggested,
    )


def _scale_words(verdict: Verdict) -> str:
    if verdict.word in (Word.WONT, Word.CLOSE):
        return "no model scale"
    return f"reads as {verdict.reads_as.ratio}" if verdict.reads_as else "no single scale"


def _shared_words(one: _Made, axes: tuple[Axis, ...]) -> str:
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
        parts.append(f"from {vantage.height_m:g} m above the ground")
    return " · ".join(parts)


def _heading(kind: str, stem: str) -> str:
    try:
        return checked_text(f"{kind}: {stem}", "the name")
    except InputError:
        return kind


def _single_path(folder: Path, number: int, out: Path) -> Path:
    return folder / f"{out.stem}_{number:02d}.jpg"


def _percent(share: float) -> str:
    value = 100 * share
    return f"{value:.0f} %" if value >= 10 else f"{value:.2g} %"

"""`hingeline judge`: will this setting read as a scale model, what betrays it, what would help."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from render.errors import SettingError
from render.files.atomic import check_destination
from render.files.lenses import read_lens
from render.judge.advice import Advice, advise, f_number_for_scale
from render.judge.case import Assessment, Case, assess
from render.judge.notes import Note, trade_notes
from render.judge.parts import part_words
from render.judge.record import verdict_record
from render.judge.vantages import Rebuild
from render.judge.verdict import Verdict, judge_case
from render.judge.weights import RULES
from render.load.case import JudgeWishes, case_of
from render.load.compiled import keep_compiled_kernels
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import Progress, silent
from render.optics.camera import Vantage
from render.scene.colour import SRGB
from render.scene.scene import Scene
from render.shot.shot import Shot, input_files
from render.tell.summary import credit_words, setting_words
from render.words import marked_f_number, spell_f_number

__all__ = ["Judged", "judge_prepared", "judge_shot", "verdict_lines"]

_QUICK_WIDTH_PX = 640  # of the looks that only test advice
_LISTED = 5  # telltales said in words; the record holds all


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """The verdict with everything said about it."""

    verdict: Verdict
    advice: tuple[Advice, ...]
    notes: tuple[Note, ...]
    lines: tuple[str, ...]
    record: dict[str, Any]


def judge_shot(
    shot: Shot,
    wishes: JudgeWishes,
    out: Path | None = None,
    *,
    show: bool = False,
    overwrite: bool = False,
    progress: Progress,
) -> Judged:
    """Judge a shot; nothing is rendered.

    Parameters
    ----------
    out : Path or None
        Where to write it; NAME_telltales.png in the current folder when None.
    show : bool
        Write the picture with the telltales outlined.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    inputs = input_files(shot)
    out = out or Path(f"{shot.stem}_telltales.png")
    if show:
        check_destination(out, overwrite=overwrite, inputs=inputs)
    keep_compiled_kernels(progress)
    prepared = prepare(shot, progress, for_render=False)
    progress("judging", 0.5)
    judged = judge_prepared(prepared, wishes)
    if not show:
        return judged
    progress("writing", 0.9)
    _write_outlines(out, prepared, judged.verdict, overwrite, inputs)
    return Judged(
        judged.verdict,
        judged.advice,
        judged.notes,
        (*judged.lines, f"Wrote: {out}"),
        {**judged.record, "files": [str(out)]},
    )


def judge_prepared(prepared: Prepared, wishes: JudgeWishes) -> Judged:
    """Judge what `prepare` made, with advice and notes."""
    limits = read_lens(wishes.lens) if wishes.lens else None
    case = case_of(prepared, wishes)
    verdict = judge_case(case, prepared.setting)
    advice = advise(
        prepared.scene, case, prepared.setting, limits=limits, rebuild=_rebuilder(prepared)
    )
    notes = trade_notes(case, verdict)
    wanted = _f_number_wanted(case, prepared, wishes.scale)
    record = verdict_record(verdict, advice, notes) | {
        "depth": prepared.depth_how,
        "assumed": list(prepared.notes),
        "f_number_for_scale": wanted,
    }
    lines = [f"Setting: {setting_words(prepared)}", f"Depth: {prepared.depth_how}"]
    lines += verdict_lines(verdict, advice, notes)
    if case.depth_error > 0:
        lines.append(
            f"The ranges count with the depth being off by about {100 * case.depth_error:.0f} %"
        )
    if wanted is not None:
        marked = spell_f_number(marked_f_number(wanted))
        lines.append(f"To read as 1:{wishes.scale:g}: {marked} (exactly f/{wanted:.3g})")
    lines += [f"Assumed: {note}" for note in prepared.notes]
    if prepared.credit:
        record |= {"credit": prepared.credit, "map": dict(prepared.map_record)}
        lines.append(credit_words(prepared))
    return Judged(verdict, advice, notes, (*lines, verdict.small_print), record)


def verdict_lines(
    verdict: Verdict, advice: tuple[Advice, ...], notes: tuple[Note, ...]
) -> list[str]:
    """The verdict for people: headline, five parts, telltales, advice, notes."""
    lines = [verdict.sentence, *(f"  {text}" for text in part_lines(verdict))]
    lines.append(verdict.stops.sentence)
    lines += [f"Also: {remark}" for remark in verdict.remarks]
    if verdict.telltales:
        lines.append("What betrays it, worst first:")
        lines += [f"  {t.number}. {t.sentence}" for t in verdict.telltales[:_LISTED]]
    if advice:
        lines.append("What would help, each judged anew:")
        lines += [f"  {line.line}" for line in advice]
    else:
        lines.append("What would help: nothing that can be tried from here gains a point")
    if notes:
        lines.append("Notes of the trade, not scored:")
        lines += [f"  {note.text} ({note.source})" for note in notes]
    return lines


def part_lines(verdict: Verdict) -> list[str]:
    """The five parts with their own numbers and units, marks and weights."""
    return [
        f"{name:<11}{mark:.2f} x {weight:.2f}  {text}"
        for (name, text), mark, weight in zip(
            part_words(verdict).items(), verdict.marks.as_tuple(), RULES.weights, strict=True
        )
    ]


def _rebuilder(prepared: Prepared) -> Rebuild | None:
    """How to see the same demo scene from another height and pitch; a photo cannot."""
    shot, built = prepared.shot, prepared.built
    if not shot.scene:
        return None
    from render.load.scenes import prepare_scene

    def rebuild(vantage: Vantage) -> Scene | None:
        there = replace(
            shot,
            vantage=replace(shot.vantage, height_m=vantage.height_m, pitch_deg=vantage.pitch_deg),
            demo=replace(shot.demo, width_px=_QUICK_WIDTH_PX),
        )
        try:
            scene = prepare_scene(there, silent, samples=1, behind=False, built=built).scene
        except SettingError:  # a camera inside a wall: that is no place to propose
            return None
        shown = scene.depth_m[scene.frame.rows, scene.frame.columns]
        return scene if np.isfinite(shown).any() else None  # nor is one above a room's ceiling

    return rebuild


def _f_number_wanted(case: Case, prepared: Prepared, scale: float | None) -> float | None:
    if scale is None:
        return None
    found: Assessment = assess(case, prepared.setting)
    return f_number_for_scale(found, prepared.setting, scale)


def _write_outlines(
    path: Path, prepared: Prepared, verdict: Verdict, overwrite: bool, inputs: list[Path]
) -> None:
    from render.jobs.shown import write_image
    from render.scene.resize import resized
    from render.sheets.drawing.raster import paint
    from render.sheets.drawing.screen import screen_picture
    from render.sheets.telltales import telltale_sheet

    small = resized(prepared.scene, 1600)
    frame = small.frame
    encoding = prepared.file.encoding if prepared.file else SRGB
    picture = screen_picture(small.picture[frame.rows, frame.columns], encoding)
    drawing = telltale_sheet(picture, verdict)
    write_image(path, paint(drawing), overwrite=overwrite, inputs=inputs)

"""`hingeline judge`: will this setting read as a scale model, what betrays it, what would help."""

from dataclasses import replace
from pathlib import Path

from render.files.atomic import check_destination
from render.files.painted import check_ending, write_painted
from render.files.run import one_run
from render.files.shots import write_shot
from render.jobs.made import Made, made
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.scene.resize import resized
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.overlay import taken_outlines
from render.sheets.telltales import telltale_sheet
from render.shot.shot import Shot, input_files
from render.shot.wishes import JudgeWishes
from render.tell.best import best_shot
from render.tell.judged import Judged, judge_prepared, judged_lines, judged_record
from render.tell.setting_values import in_full

__all__ = ["judge", "judged_shot"]

_LONG_SIDE_PX = 1600


def judge(
    shot: Shot,
    wishes: JudgeWishes,
    out: Path | None = None,
    *,
    show: bool = False,
    save_shot: Path | None = None,
    overwrite: bool = False,
    progress: Progress,
) -> Made:
    """Judge a shot; nothing is rendered.

    Parameters
    ----------
    out : Path or None
        Where to write it; NAME_telltales.png in the current folder when None.
    show : bool
        Write the picture with the telltales outlined.
    save_shot : Path or None
        Also write the shot, with the best setting where that was searched for.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    return judged_shot(
        shot,
        wishes,
        out,
        show=show,
        save_shot=save_shot,
        overwrite=overwrite,
        progress=progress,
    )[0]


@one_run()
def judged_shot(
    shot: Shot,
    wishes: JudgeWishes,
    out: Path | None = None,
    *,
    show: bool = False,
    save_shot: Path | None = None,
    overwrite: bool = False,
    progress: Progress,
) -> tuple[Made, Judged]:
    """The same, with the verdict itself."""
    inputs = input_files(shot)
    out = out or Path(f"{shot.stem}_telltales.png")
    if show:
        check_ending(out, "the picture with its telltales", ".png", ".jpg", ".webp")
        check_destination(out, overwrite=overwrite, inputs=inputs)
    if save_shot:
        check_destination(save_shot, overwrite=overwrite, inputs=inputs)
    prepared = prepare(shot, progress, for_render=False)
    progress("judging", 0.5)
    judged = judge_prepared(prepared, replace(wishes, best=wishes.best or bool(wishes.lenses)))
    if show:
        progress("writing", 0.9)
        _write_outlines(out, prepared, judged, overwrite, inputs)
    files = [out] if show else []
    if save_shot:
        kept = best_shot(judged.best) if judged.best else in_full(shot, prepared)
        write_shot(save_shot, kept, overwrite=overwrite)
        files.append(save_shot)
    return made(files, judged_lines(judged), judged_record(judged)), judged


def _write_outlines(
    path: Path, prepared: Prepared, judged: Judged, overwrite: bool, inputs: list[Path]
) -> None:
    small = resized(prepared.scene, _LONG_SIDE_PX)
    frame = small.frame
    picture = screen_picture(small.picture[frame.rows, frame.columns], prepared.encoding)
    asked = judged.near_question
    drawing = telltale_sheet(
        picture,
        judged.verdict,
        near=asked.box if asked else None,
        cut_out=taken_outlines(prepared.taken_in_frame),
        guessed=bool(prepared.guesses),
    )
    write_painted(path, paint(drawing), overwrite=overwrite, inputs=inputs)

"""`hingeline render`: one planned photograph, written with what was said about it."""

import time
from dataclasses import replace
from pathlib import Path

from render.engine.photograph import Photograph, photograph
from render.errors import SettingError
from render.files.atomic import check_destinations
from render.files.painted import write_bytes
from render.files.pictures import coding_of, write_picture
from render.files.run import one_run
from render.files.sequences import written_ending
from render.files.shots import write_shot
from render.jobs.finishing import finished
from render.jobs.made import Made, made
from render.limits import RAYS
from render.load.compiled import say_compiling
from render.load.highlights import lift_words, lifted
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.scene.field import frame_field
from render.shot.shot import Shot, input_files
from render.shot.wishes import Finish
from render.tell.records.declared import RenderRecord
from render.tell.summary import (
    credit_words,
    setting_words,
    summary_lines,
    summary_of,
    summary_record,
)

__all__ = ["render", "shown_beside"]

_SHOWN = ("blur", "band", "compare")
_PLAIN = Finish()


@one_run()
def render(
    shot: Shot,
    out: Path | None,
    *,
    show: bool = False,
    exact: int | None = None,
    save_shot: Path | None = None,
    overwrite: bool = False,
    finish: Finish = _PLAIN,
    progress: Progress,
) -> Made:
    """Render a shot and write the photograph.

    Parameters
    ----------
    out : Path or None
        Where to write; NAME_tilted beside nothing else, in the current folder, when None.
    show : bool
        Also write the blur map, the sharp band, and before / blur map / after in one picture.
    exact : int or None
        For a demo scene: trace it through the lens itself, with so many rays a pixel, and say
        how near the engine comes.
    save_shot : Path or None
        Also write the shot.
    finish : Finish
        Diffraction, fall-off, glare and grain.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    if exact is not None and not shot.scene:
        raise SettingError(
            "the exact lens needs a demo scene: a picture holds only what its own lens saw; leave "
            "--exact out"
        )
    if exact is not None:
        RAYS.check(exact, f"--exact asks for {exact:,} rays a pixel", "256 show little noise")
    out = out or _default_name(shot)
    shown = shown_beside(out) if show else ()
    inputs = input_files(shot)
    outputs = [out, *shown, *([save_shot] if save_shot else [])]
    check_destinations(outputs, overwrite=overwrite, inputs=inputs)
    say_compiling(progress)
    prepared = prepare(shot, progress, held=True)
    progress("rendering", 0.3)
    to_take = lifted(prepared)
    told = [*lift_words(prepared, found=to_take is not prepared)]
    photo = photograph(to_take.scene, prepared.setting)
    if exact is not None:
        photo = _exactly(prepared, photo, exact, progress)
    coding, bits = coding_of(out, prepared.file)
    field = frame_field(prepared.scene, prepared.setting)
    photo, done = finished(prepared, photo, field, finish, coding, bits)
    told += done
    progress("writing", 0.8)
    written = write_picture(
        out,
        photo.light,
        like=prepared.file,
        overwrite=overwrite,
        inputs=inputs,
        focal=(prepared.setting.focal_mm, prepared.scene.frame_camera.focal_px),
        note="; ".join(filter(None, (setting_words(prepared), credit_words(prepared)))),
    )
    remarks = (*told, *photo.remarks, *written)
    if show:
        from render.jobs.explaining import explaining  # what draws: a plain render needs none of it

        for path, content in zip(shown, explaining(prepared, photo), strict=True):
            write_bytes(path, content, overwrite=overwrite, inputs=inputs)
    if save_shot:
        from render.tell.setting_values import in_full  # what advises: a plain render needs none

        write_shot(save_shot, in_full(shot, prepared), overwrite=overwrite)
    files = (out, *shown, *([save_shot] if save_shot else []))
    summary = summary_of(prepared, field)
    record: RenderRecord = {
        **summary_record(prepared, summary),
        "remarks": list(remarks),
    }
    return made(
        files,
        (
            *summary_lines(prepared, photo.lens, summary),
            *(f"Note: {remark}" for remark in remarks),
        ),
        record,
    )


def shown_beside(out: Path) -> tuple[Path, ...]:
    """Where the pictures go that explain a photograph."""
    return tuple(out.with_name(f"{out.stem}_{part}.png") for part in _SHOWN)


def _exactly(prepared: Prepared, photo: Photograph, samples: int, progress: Progress) -> Photograph:
    from render.load.scenes import trace_through_lens  # a photo needs no loops of light
    from render.trace.exact import agreement_db

    progress(f"tracing through the lens, {samples} rays a pixel", 0.4)
    start = time.perf_counter()
    light = trace_through_lens(prepared, samples)
    remark = (
        f"traced through the lens itself, {samples} rays a pixel, in "
        f"{time.perf_counter() - start:.0f} s; the engine's photograph agrees to "
        f"{agreement_db(photo.light, light):.1f} dB"
    )
    return replace(photo, light=light, remarks=(*photo.remarks, remark))


def _default_name(shot: Shot) -> Path:
    return Path(f"{shot.stem}_tilted{written_ending(shot.picture)}")

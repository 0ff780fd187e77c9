"""`hingeline render`: one planned photograph, written with what was said about it."""

import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from PIL import Image

from render.engine.photograph import Photograph, photograph
from render.errors import SettingError
from render.files.atomic import check_destinations
from render.files.painted import painted_bytes, write_bytes
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
from render.optics.blur import BlurField
from render.optics.lens import FocusSpot
from render.scene.field import frame_field
from render.scene.resize import averaged, resized
from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.overlay import Marks, band_overlay, blur_map, taken_outlines, triptych
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
from render.threads import thread_count

__all__ = ["render", "shown_beside"]

_SHOWN = ("blur", "band", "compare")
#: Longer side of the pictures that explain; the photograph itself keeps its size.
_LONG_SIDE_PX = 1600
_TRIPTYCH_LONG_SIDE_PX = 1000


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
        for path, content in zip(shown, _explained(prepared, photo), strict=True):
            write_bytes(path, content, overwrite=overwrite, inputs=inputs)
    if save_shot:
        write_shot(save_shot, shot, overwrite=overwrite)
    files = (out, *shown, *([save_shot] if save_shot else []))
    summary = summary_of(prepared, field)
    record: RenderRecord = {
        **summary_record(prepared, photo.lens, summary),
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


def _explained(prepared: Prepared, photo: Photograph) -> Iterator[bytes]:
    """PNG files of the blur map, the sharp band over the photograph, and before / blur / after.

    Each is drawn and packed on a thread of its own.
    """
    before, field, after = _sized(prepared, photo, _LONG_SIDE_PX)
    focus = prepared.setting.focus
    spot = None
    if isinstance(focus, FocusSpot):
        x, y = field.camera.positions((focus.slope_x, focus.slope_y))
        spot = (float(x), float(y))
    marks = Marks(
        focus=spot,
        vantage=prepared.scene.vantage,
        taken=taken_outlines(prepared.taken_in_frame),
    )
    coc_mm, full_px = prepared.coc_mm, prepared.scene.frame.width

    def blur() -> Drawing:
        return blur_map(before, field, coc_mm, full_scale=full_px / before.width)

    def band() -> Drawing:
        return band_overlay(after, field, coc_mm, marks)

    def compare() -> Drawing:
        first, between, last = _sized(prepared, photo, _TRIPTYCH_LONG_SIDE_PX)
        said = setting_words(prepared)
        scale = full_px / first.width
        return triptych(first, between, last, coc_mm, setting=said, full_scale=scale)

    with ThreadPoolExecutor(thread_count()) as pool:
        drawn = (blur, band, compare)
        yield from pool.map(lambda draw: painted_bytes(paint(draw()), ".png"), drawn)


def _sized(
    prepared: Prepared, photo: Photograph, long_side_px: int
) -> tuple[Image.Image, BlurField, Image.Image]:
    small = resized(prepared.scene, long_side_px)
    frame = small.frame
    before = small.picture[frame.rows, frame.columns]
    after = averaged(photo.light, frame.height, frame.width)
    return (
        screen_picture(before, prepared.encoding),
        frame_field(small, prepared.setting),
        screen_picture(after, prepared.encoding),
    )


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

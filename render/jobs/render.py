"""`hingeline render`: one planned photograph, written with what was said about it."""

import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.engine.develop import add_grain, fall_off
from render.engine.diffract import diffract, spread_px
from render.engine.dither import dither
from render.engine.glare import glare
from render.engine.grain import match_grain, measure_grain
from render.engine.photograph import Photograph, photograph
from render.errors import SettingError
from render.files.atomic import check_destinations
from render.files.painted import painted_bytes, write_bytes
from render.files.pictures import coding_of, write_picture
from render.files.run import one_run
from render.files.sequences import written_ending
from render.files.shots import write_shot
from render.jobs.made import Made, made
from render.limits import RAYS
from render.load.compiled import say_compiling
from render.load.highlights import lift_words, lifted
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.optics.blur import BlurField
from render.optics.lens import FocusSpot
from render.scene.colour import Encoding
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

#: Light that a spike must add to be seen on black: some codes of 255.
_SEEN = 0.001


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
    if finish.diffraction:
        photo = diffract(photo)
        told.append(
            "diffraction of a round iris was added: the first dark ring in green is "
            f"{2.44 * spread_px(photo)[1]:.2g} px across"
        )
    if finish.fall_off:
        photo = fall_off(photo)
        rim = " and its rim cuts the light" if prepared.setting.cats_eye else ""
        told.append(f"the corners are darkened as an ideal lens does (cos^4){rim}")
    if finish.glare is not None:
        brightest = float(photo.light.max())
        photo, strongest = glare(photo, finish.glare)
        told.append(_glare_words(prepared, finish.glare, brightest, strongest))
    coding, bits = coding_of(out, prepared.file)
    field = frame_field(prepared.scene, prepared.setting)
    if finish.grain == "match":
        photo, words = _matched(prepared, photo, field, coding, bits, finish.seed)
        told.append(words)
    elif finish.grain:
        photo = add_grain(photo, finish.grain, finish.seed)
        told.append(f"grain of {finish.grain:g} was added, seed {finish.seed}")
    if bits == 8:
        photo = dither(photo, _frame_light(prepared), field, coding, grey=_is_grey(prepared))
    progress("writing", 0.8)
    written = write_picture(
        out,
        photo.light,
        like=prepared.file,
        overwrite=overwrite,
        inputs=inputs,
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


def _glare_words(prepared: Prepared, veil: float, brightest: float, strongest: float) -> str:
    """Say what strays, and why there may be no spikes."""
    words = [f"a veil of {100 * veil:.3g} % lies over the picture"] if veil else []
    blades = prepared.setting.iris.blades
    count = blades if blades % 2 == 0 else 2 * blades
    thrown = f"{blades} blades throw {count} spikes" if blades else "a round iris throws a halo"
    if brightest <= 1:
        clipped = prepared.file is not None and prepared.file.bits != 32
        lift = " (--lift-highlights gives clipped lamps out of focus more light)" if clipped else ""
        words.append(f"no spikes: nothing in the picture is brighter than white{lift}")
    elif strongest < _SEEN:
        words.append(
            f"{thrown}, too faint to be seen: the brightest light is {brightest:.2g} times white"
        )
    else:
        words.append(f"{thrown} round what is brighter than white")
    return "; ".join(words)


def _matched(
    prepared: Prepared,
    photo: Photograph,
    field: BlurField,
    coding: Encoding,
    bits: int,
    seed: int,
) -> tuple[Photograph, str]:
    """Give blur the source's grain, and say how much of it there is."""
    grain = measure_grain(_frame_light(prepared), coding)
    if grain is None:
        return photo, "no grain was matched: no part of the picture is even enough to measure it"
    photo = match_grain(photo, field, grain, coding, seed, bits=bits, grey=_is_grey(prepared))
    low, high = grain.sigma.min(), grain.sigma.max()
    return photo, (
        f"blur has the grain that it took from the source ({low:.2g} to {high:.2g} codes of 255), "
        f"seed {seed}"
    )


def _frame_light(prepared: Prepared) -> NDArray[np.float32]:
    """The planned frame before the lens."""
    frame = prepared.scene.frame
    return prepared.scene.picture[frame.rows, frame.columns]


def _is_grey(prepared: Prepared) -> bool:
    return prepared.file is not None and prepared.file.grey


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

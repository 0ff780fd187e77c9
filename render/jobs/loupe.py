"""`hingeline loupe`: chosen spots, ten times magnified, at the planned sensor's pixels."""

import math
from dataclasses import asdict, replace
from pathlib import Path

import numpy as np
from PIL import Image
from scipy import ndimage

from render.engine.photograph import photograph
from render.engine.quality import FINAL
from render.errors import SettingError
from render.files.atomic import check_destination
from render.files.painted import check_ending, write_painted
from render.files.run import one_run
from render.jobs.made import Made, made
from render.load.compiled import say_compiling
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.optics.blur import BlurField
from render.optics.lens import FocusSpot
from render.scene.crop import cut_out
from render.scene.field import frame_field
from render.scene.resize import resized
from render.sheets.compare import Cell, compare_sheet
from render.sheets.drawing.canvas import Drawing, stand_in_notes
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.loupe import (
    MAGNIFICATION,
    LoupeSpot,
    loupe_cell,
    loupe_marks,
    loupe_window,
)
from render.sheets.overlay import draw_marks
from render.shot.declaring import PictureSpot
from render.shot.shot import Shot, input_files, shot_keys
from render.tell.preview_record import counted_in
from render.tell.records.commands import LoupeRecord
from render.tell.records.plain import plain
from render.tell.summary import check_names, credit_words, setting_record, setting_words, summary_of

__all__ = ["loupe"]


@one_run()
def loupe(
    shot: Shot,
    out: Path | None,
    *,
    at: tuple[str, ...] = (),
    sensor_px: int = 6000,
    overwrite: bool = False,
    progress: Progress,
) -> Made:
    """Render small parts of a shot at the sensor's pixels and lay them out.

    Parameters
    ----------
    out : Path or None
        PNG or JPEG; NAME_loupe.png in the current folder when None.
    at : tuple of str
        Further spots, as the focus is written: "50%,62%" or "812,640".
    sensor_px : int
        Pixels of the planned sensor along the frame's longer side.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    out = out or Path(f"{shot.stem}_loupe.png")
    inputs = input_files(shot)
    check_ending(out, "the loupe", ".png", ".jpg")
    if not 500 <= sensor_px <= 20000:
        raise SettingError(f"a sensor has 500 to 20000 pixels on its longer side, not {sensor_px}")
    if len(at) > 12:
        raise SettingError(f"{len(at)} spots are too many for one sheet: at most 12")
    check_destination(out, overwrite=overwrite, inputs=inputs)
    say_compiling(progress)
    prepared = prepare(shot, progress)
    check_names(prepared)
    frame = prepared.scene.frame
    across_px = round(sensor_px * frame.width / max(frame.width, frame.height))
    field = frame_field(prepared.scene, prepared.setting)
    spots = _spots(prepared, field, at, across_px / frame.width)
    cells = [_whole(prepared, spots, across_px // MAGNIFICATION)]
    for number, spot in enumerate(spots, start=1):
        progress(f"rendering spot {number} of {len(spots)}", 0.2 + 0.7 * number / len(spots))
        cells.append(_part(prepared, field, spot, number, across_px))
    notes = (
        _honesty(frame.width, across_px),
        "White ring: circle of confusion c. Orange dashes: "
        "blur of a point there. Both to scale. Computed preview, not a photograph.",
        *filter(None, [credit_words(prepared)]),
    )
    drawing = compare_sheet(
        cells,
        title=f"Loupe, {MAGNIFICATION} times",
        subtitle=setting_words(prepared).replace(", ", " · "),
        notes=notes,
    )
    write_painted(out, paint(drawing), overwrite=overwrite, inputs=inputs)
    remarks = [notes[0], *prepared.notes, *stand_in_notes([drawing])]
    record: LoupeRecord = {
        "setting": setting_record(prepared),
        "spots": [asdict(spot) for spot in spots],
        "notes": remarks,
        "credit": prepared.credit or None,
    }
    return made(
        [out],
        (
            *(f"{c.setting}: {c.scale}; {c.figures}; {c.verdict}" for c in cells[1:]),
            *(f"Note: {note}" for note in remarks),
        ),
        plain(record),
    )


def _spots(
    prepared: Prepared, field: BlurField, at: tuple[str, ...], scale: float
) -> list[LoupeSpot]:
    """What the shot names, or focus spot and band's middle and edges; and those asked for."""
    camera = field.camera
    places: list[tuple[str, float, float]] = []
    for thing in prepared.named:
        x, y = camera.positions((thing.slope_x, thing.slope_y)).tolist()
        places.append((thing.name, x, y))
    focus = prepared.setting.focus
    if isinstance(focus, FocusSpot) and not places:
        x, y = camera.positions((focus.slope_x, focus.slope_y)).tolist()
        places.append(("focus spot", x, y))
    if not prepared.named:
        places += _band_places(prepared, field, [place[1:] for place in places])
    frame = prepared.scene.frame
    for text in at:
        wish = shot_keys()["focus"].read(text)
        if not isinstance(wish, PictureSpot):
            raise SettingError(f'spot "{text}": write a place such as "50%,62%" or "812,640"')
        counted = counted_in(prepared)
        x, y = wish.at(counted.width, counted.height)
        x, y = x + counted.left - frame.left, y + counted.top - frame.top
        places.append((f"at {text.replace(',', ', ')}", x, y))
    inside = []
    for name, x, y in places:
        if not camera.holds(x, y):
            if name.startswith("at "):
                raise SettingError(f"the spot {name} lies outside the planned frame")
            continue
        inside.append(_spot(prepared, field, name, x, y, scale))
    return inside


def _band_places(
    prepared: Prepared, field: BlurField, taken: list[tuple[float, float]]
) -> list[tuple[str, float, float]]:
    """The band's middle, its upper edge on the left of the frame, its lower edge on the right.

    Apart they also show a lens that is not square. Of an upright band the sides are shown.
    """
    width, height = field.camera.width_px, field.camera.height_px
    left, centre, right = summary_of(prepared, field).columns
    places: list[tuple[str, float, float]] = []
    run = centre.longest
    if run is not None:
        middle = (run.first_px + run.last_px) / 2
        if not any(math.dist((width / 2, middle), place) < height / 50 for place in taken):
            places.append(("middle of the band", width / 2, middle))
    for name, column in (("upper", left), ("lower", right)):
        for one in (column, centre):
            run = one.longest
            if run is None:
                continue
            y = run.first_px if name == "upper" else run.last_px
            if 1 < y < height - 1:
                places.append((f"{name} edge of the band", one.line + 0.5, y))
                break
    if not any("edge" in name for name, *_ in places) and taken:
        places += _sides(prepared, field, *taken[0])
    return places


def _sides(
    prepared: Prepared, field: BlurField, x: float, y: float
) -> list[tuple[str, float, float]]:
    """Where the sharp stretch of a row that holds, or lies nearest to, a place ends."""
    row = min(max(int(y), 0), field.camera.height_px - 1)
    share = prepared.coc_mm / (2.0 * field.lens.aperture_radius_mm)
    width, height = field.camera.width_px, field.camera.height_px
    sharp = np.abs(field.defocus[row]) <= share
    gap = np.ones(1 + 2 * (width // 100), bool)  # leaves and spokes do not end a band
    sharp |= ndimage.binary_closing(sharp, gap)
    starts = np.flatnonzero(np.diff(sharp.astype(int), prepend=0) == 1)
    ends = np.flatnonzero(np.diff(sharp.astype(int), append=0) == -1)
    if not len(starts):
        return []
    nearest = int(np.argmin(np.maximum(np.maximum(starts - x, x - ends), 0)))
    found = (("left", starts[nearest] + 0.5), ("right", ends[nearest] + 0.5))
    return [
        (f"{name} edge of the band", float(place), row + 0.5)
        for name, place in found
        if 1 < place < width - 1 and abs(place - x) > height / 50
    ]


def _spot(
    prepared: Prepared, field: BlurField, name: str, x: float, y: float, scale: float
) -> LoupeSpot:
    row = min(int(y), field.camera.height_px - 1)
    column = min(int(x), field.camera.width_px - 1)
    axes = field.spots_at(row, column).semi_axes_mm()
    inverse = float(field.inverse_depth[row, column])
    return LoupeSpot(
        name=name,
        x_px=x,
        y_px=y,
        depth_m=1.0 / inverse if inverse > 0 else math.inf,
        blur_px=2.0 * float(axes[0]) * field.px_per_mm * scale,
        coc_px=prepared.coc_mm * field.px_per_mm * scale,
    )


def _part(
    prepared: Prepared, field: BlurField, spot: LoupeSpot, number: int, across_px: int
) -> Cell:
    """Render one part with as much around it as its blur can reach."""
    camera = field.camera
    window = loupe_window(spot, camera.width_px, camera.height_px)
    scene, reach_px = prepared.scene, int(np.ceil(np.abs(field.radius_px()).max())) + 4
    part = replace(window, left=scene.frame.left + window.left, top=scene.frame.top + window.top)
    scene = cut_out(scene, part, reach_px)
    light = photograph(scene, prepared.setting, quality=FINAL).light
    return loupe_cell(
        spot,
        number,
        screen_picture(light, prepared.encoding),
        window,
        (camera.width_px, camera.height_px),
        across_px,
    )


def _whole(prepared: Prepared, spots: list[LoupeSpot], long_px: int) -> Cell:
    """The whole frame, rendered small, with the spots numbered."""
    frame = prepared.scene.frame
    scene = resized(prepared.scene, max(long_px, round(long_px * frame.height / frame.width)))
    picture = screen_picture(photograph(scene, prepared.setting).light, prepared.encoding)
    size = (long_px, round(long_px * frame.height / frame.width))
    drawing = Drawing(*size)
    drawing.picture(picture.resize(size, Image.Resampling.LANCZOS), 0, 0, *size)
    camera = scene.frame_camera.resized(*size)
    draw_marks(drawing, camera, loupe_marks(spots, long_px / frame.width), 9.0)
    return Cell(paint(drawing), "Whole frame", "", f"{frame.width} x {frame.height} px", "")


def _honesty(frame_px: int, across_px: int) -> str:
    share = across_px / frame_px
    if share > 1.02:
        return (
            f"The picture has {frame_px} pixels across, the planned sensor {across_px}: each of "
            f"its pixels is shown as a block of {share:.2g}, and finer detail is not known."
        )
    return f"Shown at the {across_px} pixels across of the planned sensor."

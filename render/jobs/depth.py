"""`hingeline depth`: make the depth of a picture, write it, and say how sure it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import DepthMap, taken_regions
from render.depth.sampling import reduced, reduced_size
from render.depth.vanishing import propose_view
from render.errors import InputError
from render.files.atomic import check_destinations
from render.files.depths import write_depth
from render.files.formats.depthknown import Known
from render.files.painted import write_painted
from render.files.run import one_run
from render.jobs.made import Made, made
from render.judge.near_question import KINDS, answer_words
from render.load.depths.sources import PictureDepth, picture_depth
from render.load.flat import opened_picture
from render.load.prepare import prepare, stood
from render.load.progress import Progress
from render.load.taken import guessed_camera
from render.load.vantages import marks_of, vantage_of
from render.optics.camera import Camera, Vantage
from render.scene.colour import SRGB, Encoding
from render.sheets.depths import depth_sheet
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.overlay import taken_outlines
from render.shot.belonging import refuse_strange
from render.shot.shot import Shot, input_files
from render.tell.records.commands import DepthRecord, ProposeRecord
from render.tell.records.plain import plain
from render.words import length_words

__all__ = ["make_depth", "propose_pitch"]

_SHOWN_PX = 1600
_OUTLINED = "What was cut out is outlined in the picture that --show writes"


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """A picture's or a scene's depth, its light and camera, and what was said of them."""

    shot: Shot
    light: NDArray[np.float32]
    encoding: Encoding
    camera: Camera
    found: PictureDepth
    vantage: Vantage | None
    notes: tuple[str, ...]


@one_run()
def make_depth(
    shot: Shot,
    out: Path | None,
    *,
    kind: str = "metres",
    show: bool = False,
    overwrite: bool = False,
    progress: Progress,
) -> Made:
    """Make the depth of a shot's picture and write it; a scene's is exact.

    Parameters
    ----------
    out : Path or None
        Where to write; NAME_depth.tif in the current folder, when None.
    kind : str
        What to write, one of `render.depth.convert.KINDS`.
    show : bool
        Also write the depth as a picture with the marks, and as it was before mending.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    if not shot.scene:
        _picture_path(shot)
    out = out or Path(f"{shot.stem}_depth.tif")
    painted = out.with_name(f"{out.stem}_shown.png")
    inputs = input_files(shot)
    before = out.with_name(f"{out.stem}_before_mending.png")
    pictures = (painted, before) if shot.depth.mend else (painted,)
    outputs = [out, *(pictures if show else ())]
    check_destinations(outputs, overwrite=overwrite, inputs=inputs)
    seen = _of_scene(shot, progress) if shot.scene else _of_picture(shot, progress)
    shot, camera, found = seen.shot, seen.camera, seen.found
    progress("writing", 0.8)
    written = write_depth(
        out,
        found.depth.depth_m,
        kind=kind,
        camera=camera,
        baseline_m=shot.depth.baseline_m,
        how=found.depth.how,
        uncertainty=found.depth.typical_uncertainty,
        known=Known(found.depth.unsaid, seen.vantage, camera, found.depth.named),
        overwrite=overwrite,
        inputs=inputs,
    )
    if show:
        _paint(painted, seen, found.depth, overwrite=overwrite, inputs=inputs)
    if show and found.before is not None:
        _paint(before, seen, found.before, overwrite=overwrite, inputs=inputs)
    return _told([out, *(pictures if show else ())], seen, written, show=show)


def _told(files: Sequence[Path], seen: _Seen, written: Sequence[str], *, show: bool) -> Made:
    """What is said of a depth that was written."""
    found = seen.found
    notes = (*seen.notes, *found.depth.remarks, *written)
    misfits = tuple(misfit.words() for misfit in found.misfits)
    cut_out = found.depth.near is not None or found.depth.standing is not None
    typical = found.depth.typical_uncertainty
    record: DepthRecord = {
        "how": found.depth.how,
        "range": found.depth.words(),
        "uncertainty": typical,
        "sky_share": float(np.mean(np.isposinf(found.depth.depth_m))),
        "marks": [
            {
                "x_px": misfit.mark.x_px,
                "y_px": misfit.mark.y_px,
                "depth_m": misfit.depth_m,
                "map_m": misfit.spread_m,
                "others_m": misfit.others_m,
            }
            for misfit in found.misfits
        ],
        "notes": list(notes),
    }
    lines = (
        f"Depth from {found.depth.how}: {found.depth.words()}",
        *(misfit[0].upper() + misfit[1:] for misfit in misfits),
        *(f"Note: {note}" for note in notes),
        *([_OUTLINED] if cut_out and not show else []),
        *([_near_asked()] if found.depth.unsaid.near else []),
    )
    return made(files, lines, plain(record))


def propose_pitch(shot: Shot, progress: Progress) -> Made:
    """Say what pitch and roll the picture's own lines suggest; nothing is written or taken.

    Raises
    ------
    InputError
        If there is no picture, or no lines agree.
    """
    picture = _picture_path(shot)
    progress(f"reading {picture.name}", 0.0)
    shot, file = opened_picture(shot)
    taken = guessed_camera(file, shot.taken)
    camera, how_taken = taken.camera, taken.how
    progress("looking for parallel lines", 0.3)
    proposals = propose_view(file.light, camera)
    if not proposals:
        raise InputError(
            f"{picture.name} has too few lines that agree on one pitch, or is rolled by 8° or "
            "more: give the pitch, or the horizon"
        )
    best = proposals[0]
    use = f'--pitch "{best.pitch}" --roll {best.roll}'
    record: ProposeRecord = {
        "proposals": [
            {
                "source": p.source,
                "pitch_deg": p.pitch_deg,
                "pitch_doubt_deg": p.pitch_doubt_deg,
                "roll_deg": p.roll_deg,
                "roll_doubt_deg": p.roll_doubt_deg,
                "lines": p.lines,
                "words": f"{p.words()[0].upper()}{p.words()[1:]}",
            }
            for p in proposals
        ],
        "values": {"pitch": best.pitch, "roll": best.roll},
        "notes": [how_taken],
    }
    return made(
        [],
        (
            *(proposal["words"] for proposal in record["proposals"]),
            f"Note: {how_taken}",
            f"If that looks right: {use}",
            _near_asked(),
        ),
        record,
    )


def _picture_path(shot: Shot) -> Path:
    if not shot.picture:
        raise InputError("name a picture; depth is also written of a demo scene or a map")
    return Path(shot.picture)


def _of_picture(shot: Shot, progress: Progress) -> _Seen:
    refuse_strange(shot)
    progress(f"reading {_picture_path(shot).name}", 0.0)
    shot, file = opened_picture(shot)
    taken = guessed_camera(file, shot.taken)
    vantage, how_held = vantage_of(shot.vantage, taken.camera)
    found = picture_depth(shot, file, taken.camera, vantage, progress)
    vantage, how_high = stood(shot, found, taken.camera, vantage)
    notes = (taken.how, *how_held, *how_high)
    return _Seen(shot, file.light, file.encoding, taken.camera, found, vantage, notes)


def _of_scene(shot: Shot, progress: Progress) -> _Seen:
    """What the frame of a scene shows; its depth is known, so nothing is unsure."""
    from render.load.scenes import stands_words  # compiled kernels: only when wanted

    prepared = prepare(shot, progress, for_render=False)
    scene, frame = prepared.scene, prepared.scene.frame
    depth_m = scene.depth_m[frame.rows, frame.columns]
    found = PictureDepth(DepthMap(depth_m, f"the scene {shot.stem}", float("nan")))
    light = scene.picture[frame.rows, frame.columns]
    # f-number, tilt and focus, which its notes tell of, change no depth
    notes = stands_words(prepared)
    return _Seen(shot, light, SRGB, scene.frame_camera, found, scene.vantage, notes)


def _paint(
    path: Path,
    seen: _Seen,
    depth: DepthMap,
    *,
    overwrite: bool,
    inputs: list[Path],
) -> None:
    """Paint the depth with its marks, at most 1600 px wide."""
    camera = seen.camera
    rows, columns = reduced_size(camera.height_px, camera.width_px, _SHOWN_PX)
    picture = screen_picture(reduced(seen.light, _SHOWN_PX), seen.encoding)
    row = ((np.arange(rows) + 0.5) * camera.height_px / rows).astype(np.intp)
    column = ((np.arange(columns) + 0.5) * camera.width_px / columns).astype(np.intp)
    scale = columns / camera.width_px
    spots = [
        ((mark.x_px * scale, mark.y_px * scale), length_words(mark.distance_m))
        for mark in marks_of(seen.shot.depth.marks, camera)
    ]
    sheet = depth_sheet(
        picture,
        depth.depth_m[np.ix_(row, column)],
        spots,
        heading=f"Depth: {depth.words()}",
        taken=taken_outlines(taken_regions(depth.near, depth.standing)),
    )
    write_painted(path, paint(sheet), overwrite=overwrite, inputs=inputs)


def _near_asked() -> str:
    return f"Not said: does anything stand near the lens, {KINDS}: {answer_words()}"

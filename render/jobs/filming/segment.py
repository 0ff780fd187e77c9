"""One segment of a film made whole: the same function here, in a worker, on another machine."""

import contextlib
import os
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import OutputError
from render.files.clips.kinds import ClipKind
from render.files.clips.writing import ClipShape, SegmentWriter
from render.files.formats.picturefile import PictureFile
from render.files.pictures import write_picture
from render.files.sequences import numbered_name
from render.film.order import FilmOrder
from render.film.segments import Segment
from render.jobs.filming.opening import ANIMATIONS, Filmed, kind_of, open_film
from render.load.footage import plain_still
from render.load.progress import silent
from render.scene.colour import SRGB
from render.scene.resize import fitted

__all__ = ["keeping", "make_segment", "segment_path", "still_number"]

#: Longest side of an animation.
_MAIL_SIDE_PX = 640

Light = NDArray[np.float32]


def segment_path(order: FilmOrder, segment: Segment) -> Path:
    """The file that says a segment is whole: its part of the clip, or a mark for its stills."""
    kind = kind_of(order)
    return order.parts / f"{segment.number:05d}{kind.segment_ending if kind else '.done'}"


def still_number(order: FilmOrder, number: int) -> Path:
    """The name of a still of the film: counted from 1, or after the still it is made of."""
    if order.out.suffix.lower() in ANIMATIONS:
        return order.parts / f"frame{number + 1:05d}.png"
    if order.names:
        return order.out.with_name(order.out.name.replace("*", order.names[number]))
    return numbered_name(order.out, number + 1)


_opened: dict[str, Filmed] = {}


def make_segment(
    order: FilmOrder,
    segment: Segment,
    *,
    tell: Callable[[int], None] | None = None,
    film: Filmed | None = None,
) -> int:
    """Make the frames of a segment and write them, unless they are there.

    Parameters
    ----------
    tell : callable or None
        Called with the number of every frame that is finished.
    film : Filmed or None
        Opened already; else it is opened once in a process and kept.

    Returns
    -------
    int
        Its number.
    """
    done = segment_path(order, segment)
    if done.exists():
        return segment.number
    if film is None:
        if order.mark not in _opened:
            _opened.clear()
            _opened[order.mark] = open_film(order, silent)
        film = _opened[order.mark]
    beside = done.with_name(f".{done.stem}.{os.getpid()}.part{done.suffix}")
    try:
        with keeping(order):
            if film.kind is not None and film.shape is not None:
                _make_clip(order, film, film.kind, film.shape, segment, beside, tell)
            else:
                _make_stills(order, film, segment, tell)
                beside.write_text("")
            beside.replace(done)
    finally:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
    return segment.number


@contextlib.contextmanager
def keeping(order: FilmOrder) -> Iterator[None]:
    """Say, where the disk refuses, that finished parts are kept.

    Raises
    ------
    OutputError
        In place of every error of the disk, by whomever it was put into words.
    """
    try:
        yield
    except OSError as error:
        cause = error.__cause__ if isinstance(error, OutputError) else error
        if not isinstance(cause, OSError):
            raise
        if not order.parts.is_dir():
            raise OutputError(
                f"{order.out} could not be written: its folder was removed, with all that was "
                "done; make the folder again, and the same command begins anew"
            ) from None
        raise OutputError(
            f"{order.out} could not be written ({cause.strerror or cause}); {order.parts} keeps "
            "what is done: make room, and the same command goes on"
        ) from None


def _make_clip(
    order: FilmOrder,
    film: Filmed,
    kind: ClipKind,
    shape: ClipShape,
    segment: Segment,
    path: Path,
    tell: Callable[[int], None] | None,
) -> None:
    writer = SegmentWriter(path, kind, shape)
    zero = order.stamp(segment.start)
    pending: Future[None] | None = None
    with ThreadPoolExecutor(1) as beside:
        for number, light in _lights(order, film, segment):
            if pending is not None:
                pending.result()
            pending = beside.submit(writer.add, _written(film, light), order.stamp(number) - zero)
            if tell:
                tell(number)
        if pending is not None:
            pending.result()
    writer.close()


def _make_stills(
    order: FilmOrder, film: Filmed, segment: Segment, tell: Callable[[int], None] | None
) -> None:
    mail = order.out.suffix.lower() in ANIMATIONS
    pending: Future[Any] | None = None
    with ThreadPoolExecutor(1) as beside:
        for number, light in _lights(order, film, segment):
            like = _like(order, film, number)
            bits = 16 if order.out.suffix.lower() == ".exr" else None
            if mail:
                light, bits = fitted(_written(film, light), _MAIL_SIDE_PX), 8
                like = _mailed(like) if like is not None and like.as_shown else None
            if pending is not None:
                pending.result()
            pending = beside.submit(
                write_picture,
                still_number(order, number),
                light,
                like,
                overwrite=True,
                bits=bits,
                focal=_focal(film, light),
            )
            if tell:
                tell(number)
        if pending is not None:
            pending.result()


def _lights(order: FilmOrder, film: Filmed, segment: Segment) -> Iterator[tuple[int, Light]]:
    """Photographs of a segment's frames; the source of the next is read meanwhile."""
    numbers = range(segment.start, segment.stop)
    if film.footage is None:
        for number in numbers:
            moment = order.moments[number]
            yield number, film.stage.taken(film.stage.seen(moment, number), moment)
        return
    with ThreadPoolExecutor(1) as reading:
        coming = reading.submit(film.stage.seen, order.moments[segment.start], segment.start)
        for number in numbers:
            seen = coming.result()
            if number + 1 < segment.stop:
                after = number + 1
                coming = reading.submit(film.stage.seen, order.moments[after], after)
            yield number, film.stage.taken(seen, order.moments[number])


def _like(order: FilmOrder, film: Filmed, number: int) -> PictureFile | None:
    """The picture whose profile and data a still of the film carries on."""
    if film.footage is None:
        return None
    picks = order.moments[number].picks
    own = film.footage.file(picks[0])
    if own is not None:
        return own
    assert film.prepared.file is not None, "footage has a first frame"
    return plain_still(film.prepared.file)


def _focal(film: Filmed, light: Light) -> tuple[float, float] | None:
    """Focal length in mm and in pixels of a still; None where it is no single frame of the lens."""
    frame = film.prepared.scene.frame
    if light.shape[:2] != (frame.height, frame.width):
        return None
    return film.prepared.setting.focal_mm, film.prepared.scene.frame_camera.focal_px


def _mailed(like: PictureFile) -> PictureFile:
    """A clip's codes in the primaries of sRGB."""
    return replace(like, encoding=replace(SRGB, curves=like.encoding.curves))


def _written(film: Filmed, light: Light) -> Light:
    """The light in the primaries that are written."""
    if film.to_written is None:
        return light
    return np.asarray(np.maximum(light @ film.to_written.T, np.float32(0)))

"""What a film leaves: the folder of segments while it is made, then the clip, stills or strip."""

import itertools
import json
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from render.errors import OutputError
from render.files.atomic import written_beside
from render.files.clips.reading import ClipReader, open_clip
from render.files.clips.writing import Sound, join_segments
from render.files.painted import write_painted
from render.files.pictures import read_picture
from render.files.run import note_going_on
from render.film.order import FilmOrder
from render.film.ramps import setting_at
from render.jobs.filming.opening import ANIMATIONS, Filmed
from render.jobs.filming.segment import segment_path, still_number
from render.load.footage import ClipFootage
from render.scene.resize import averaged
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.strip import StripMoment, contact_strip
from render.tell.summary import credit_words, setting_words
from render.words import length_words

__all__ = ["STILL_BYTES", "begin", "join", "nine", "write_strip"]

#: Bytes that a pixel takes in a still, about, by its ending.
STILL_BYTES = {".jpg": 2.0, ".jpeg": 2.0, ".png": 5.0, ".tif": 6.0, ".tiff": 6.0, ".exr": 6.0}
#: An animation is laid out in memory to be written.
_MAIL_BYTES = 600e6
_STRIP_PX = 320


def begin(
    order: FilmOrder, filmed: Filmed, told: list[str], *, overwrite: bool, stills: bool
) -> None:
    """Lay out the folder of segments, unless this film was begun before; tell the disk it needs."""
    note = order.parts / "film.json"
    known = None
    if note.exists():
        try:
            known = json.loads(note.read_text()).get("mark")
        except (OSError, ValueError):
            known = None
    if known != order.mark:
        if stills and not overwrite:
            there = [still_number(order, k) for k in range(len(order.moments))]
            found = next((path for path in there if path.exists()), None)
            if found is not None:
                raise OutputError(
                    f"{found} is there already; replace it with --overwrite, or give another name"
                )
        if order.parts.exists():
            shutil.rmtree(order.parts)
            told.append("parts of another film under this name were removed")
    todo = [each for each in order.segments if not segment_path(order, each).exists()]
    left = sum(each.stop - each.start for each in todo) / len(order.moments)
    need = _bytes_needed(order, filmed) * (0.5 + 0.5 * left if filmed.kind else left)
    base = order.parts.parent if order.parts.parent.is_dir() else order.parts.parent.parent
    free = shutil.disk_usage(base).free
    told.append(f"takes about {_bytes_words(need)} of disk while it is made")
    if need > free:
        raise OutputError(
            f"{order.out} needs about {_bytes_words(need)}, and {_bytes_words(free)} are free: "
            "make room, or take a smaller size or another codec"
        )
    try:
        order.parts.mkdir(parents=True, exist_ok=True)
        note.write_text(json.dumps({"mark": order.mark, "film": order.out.name}))
        note_going_on(order.parts)
    except OSError as error:
        raise OutputError(f"{order.parts} could not be made ({error.strerror})") from None


def _bytes_words(count: float) -> str:
    if count >= 1e9:
        return f"{count / 1e9:.2g} GB"
    return f"{count / 1e6:.0f} MB" if count >= 1e7 else f"{count / 1e3:.0f} kB"


def _bytes_needed(order: FilmOrder, filmed: Filmed) -> float:
    frame, count = filmed.prepared.scene.frame, len(order.moments)
    pixels = frame.width * frame.height * (2 if order.wishes.side_by_side else 1)
    if filmed.kind is not None:
        return 2 * count * pixels * filmed.kind.bits_per_pixel / 8  # the segments and the clip
    return count * pixels * STILL_BYTES.get(order.out.suffix.lower(), 2.0)


def join(
    order: FilmOrder, filmed: Filmed, told: list[str], *, overwrite: bool, inputs: list[Path]
) -> list[Path]:
    """Join what was made; returns the files that people asked for."""
    if filmed.kind is None and order.out.suffix.lower() not in ANIMATIONS:
        return [still_number(order, number) for number in range(len(order.moments))]
    with written_beside(order.out, overwrite=overwrite, inputs=inputs) as beside:
        if filmed.kind is None:
            _write_animation(order, beside)
        else:
            assert filmed.shape is not None, "a clip has a shape"
            paths = [segment_path(order, each) for each in order.segments]
            starts = [order.stamp(each.start) for each in order.segments]
            sound, timecode = _sound(order, filmed, told), _timecode(order, filmed, told)
            words = (setting_words(filmed.prepared), credit_words(filmed.prepared))
            note = "; ".join(filter(None, words))
            told += join_segments(
                beside,
                filmed.kind,
                paths,
                starts,
                filmed.shape,
                sound=sound,
                timecode=timecode,
                note=note,
            )
    return [order.out]


def _sound(order: FilmOrder, filmed: Filmed, told: list[str]) -> Sound | None:
    """The source's sound, where the film runs as the source did."""
    if not isinstance(filmed.footage, ClipFootage):
        return None
    clip = filmed.footage.clip
    if not clip.sound:
        return None
    if order.wishes.pace is not None:
        told.append("its sound was left out: the film runs at another speed")
        return None
    first, last = order.moments[0], order.moments[-1]
    stop = float(first.source_s + last.at_s + 1 / order.rate)
    return Sound(clip.path, float(first.source_s), stop)


def _timecode(order: FilmOrder, filmed: Filmed, told: list[str]) -> str:
    """The source's time code, where the film begins and runs as the source does."""
    if not isinstance(filmed.footage, ClipFootage) or not filmed.footage.clip.timecode:
        return ""
    code = filmed.footage.clip.timecode
    if order.moments[0].source_s > 0 or order.wishes.pace is not None:
        told.append(f"its time code {code} was left out: the film does not run along with it")
        return ""
    return code


def _write_animation(order: FilmOrder, path: Path) -> None:
    import imageio.v3 as iio

    frames = [iio.imread(still_number(order, number)) for number in range(len(order.moments))]
    if sum(frame.nbytes for frame in frames) > _MAIL_BYTES:
        raise OutputError(
            f"{order.out.name} would have {len(frames)} frames: an animation is for a few seconds; "
            "write a clip (.mp4)"
        )
    options: dict[str, Any] = {"duration": _durations_ms(order), "loop": 0}
    if path.suffix == ".webp":
        options |= {"quality": 75, "method": 4}
        if all(np.array_equal(frame, frames[0]) for frame in frames[1:]):
            # libwebp makes a still without any duration of frames that are all alike, as far as
            # its loss lets it tell (5 codes at this quality): one pixel in the corner differs
            frames[-1] = frames[-1].copy()
            frames[-1][-1, -1] ^= 8
    iio.imwrite(path, np.stack(frames), plugin="pillow", **options)


def _durations_ms(order: FilmOrder) -> list[int]:
    """How long each frame of an animation stands; what rounding takes from one the next gets.

    GIF counts in 1/100 s (GIF89a, 23), WebP in 1/1000 s (RFC 9649, 2.7.1.3).
    """
    step_ms = 10 if order.out.suffix.lower() == ".gif" else 1
    ends = [*(moment.at_s for moment in order.moments[1:])]
    ends.append(order.moments[-1].at_s + 1 / order.rate)
    whole = [round(1000 * end / step_ms) * step_ms for end in ends]
    return [end - start for start, end in itertools.pairwise([0, *whole])]


def nine(order: FilmOrder) -> list[int]:
    """Numbers of nine frames, from the first to the last; fewer of a shorter film."""
    last = len(order.moments) - 1
    return sorted({round(last * k / 8) for k in range(9)})


def _shown(order: FilmOrder, filmed: Filmed) -> Iterator[tuple[int, Any, Any]]:
    """Number, light and encoding of nine moments of what was written."""
    if filmed.kind is not None:  # the clip itself may not be in place yet
        for number in nine(order):
            part = next(each for each in order.segments if each.start <= number < each.stop)
            clip = open_clip(segment_path(order, part))
            reader = ClipReader(clip)
            at = number - part.start
            yield number, next(reader.frames(at, at + 1)), clip.encoding
            reader.close()
        return
    for number in nine(order):
        file = read_picture(still_number(order, number))
        yield number, file.light, file.encoding


def write_strip(order: FilmOrder, filmed: Filmed, path: Path, *, overwrite: bool) -> None:
    """Write nine moments of the film side by side."""
    ramps = filmed.stage.ramps
    cells = []
    for number, light, encoding in _shown(order, filmed):
        at_s = float(order.moments[number].at_s)
        small = averaged(
            light, max(1, round(light.shape[0] * _STRIP_PX / light.shape[1])), _STRIP_PX
        )
        setting = setting_at(filmed.prepared.setting, ramps, at_s)
        words = setting_words(replace(filmed.prepared, setting=setting))
        if (height_m := ramps.height_m(at_s)) is not None:
            words = f"{words}, {length_words(height_m)} up"
        cells.append(StripMoment(screen_picture(small, encoding), f"{at_s:.2f} s", words))
    name = order.out.stem.replace("_", " ")
    drawn = contact_strip(cells, title=name[:1].upper() + name[1:], moves=bool(ramps.tracks))
    write_painted(path, paint(drawn), overwrite=overwrite, inputs=[order.out])

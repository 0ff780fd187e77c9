"""`hingeline film`: frames in, frames out; planned, made in segments, joined."""

import json
import math
import shutil
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from render import __version__
from render.errors import InputError, OutputError, SettingError
from render.files.atomic import check_destination, written_beside
from render.files.clips.kinds import CLIP_ENDINGS, clip_kind
from render.files.clips.writing import Sound, join_segments
from render.files.sequences import is_pattern
from render.film.evening import brightness_step, evening_gains
from render.film.order import FilmOrder, fingerprint
from render.film.segments import cut, time_words
from render.film.stillness import stillness
from render.film.timing import Moment, Shutter, Timing, as_taken, moments
from render.jobs.crew import Crew, crew_of
from render.jobs.filming import (
    ANIMATIONS,
    Filmed,
    make_segment,
    open_film,
    picture_source,
    segment_path,
    still_number,
)
from render.jobs.made import Made, made
from render.judge.scale import froude_speedup
from render.judge.verdict import judge_case
from render.load.case import case_of
from render.load.footage import ClipFootage, Footage, OneStill
from render.load.prepare import as_judged
from render.load.progress import Progress
from render.optics.plane import focus_lens
from render.scene.field import frame_field
from render.shot.filmwishes import FilmWishes
from render.shot.keyframes import read_key_frame
from render.shot.shot import Shot, input_files, shot_keys
from render.tell.summary import summary_lines, summary_of, summary_record

__all__ = ["film"]

_PLAIN = FilmWishes()
_STILLS_RATE = Fraction(25)
#: Length of a scene's film where nothing is said, s.
_USUAL_S = 4.0
#: Frames of a segment: what a stop can cost.
_CLIP_SEGMENT, _STILLS_SEGMENT = 48, 12
#: A camera may stray so far: px, and share of the picture's width (ours).
_STRAYS_PX, _STRAYS_SHARE = 1.0, 0.001
_LOOKS = 13
#: Bytes that a pixel takes in a still, about, by its ending.
_STILL_BYTES = {".jpg": 2.0, ".jpeg": 2.0, ".png": 5.0, ".tif": 6.0, ".tiff": 6.0, ".exr": 6.0}
#: An animation is laid out in memory to be written.
_MAIL_BYTES = 600e6


def film(
    shot: Shot,
    wishes: FilmWishes = _PLAIN,
    out: Path | None = None,
    *,
    strip: Path | None = None,
    overwrite: bool = False,
    progress: Progress,
) -> Made:
    """Film a shot.

    Parameters
    ----------
    out : Path or None
        A clip (.mp4, .mov, .mkv), an animation (.webp, .gif), or a pattern of stills
        ("frames/%05d.tif"). NAME_film.mp4 in the current folder when None; stills go to stills.
    strip : Path or None
        Also write nine moments of it, side by side.

    Raises
    ------
    HingelineError
        In one sentence. What was finished before is kept: the same command goes on from there.
    """
    source = picture_source(shot, wishes.frames)
    _refuse(shot, wishes, source)
    out = (out or _default_out(shot, source)).absolute()
    stills = _check_out(out, shot, source, overwrite=overwrite)
    if strip is not None:
        check_destination(strip, overwrite=overwrite, inputs=input_files(shot))
    if out.suffix.lower() in CLIP_ENDINGS:
        clip_kind(out, wishes.codec)
    shot, wishes = _placed(shot, wishes)
    parts = out.parent / f".{out.name.replace('%', '')}.parts"
    order = FilmOrder(shot, wishes, out, parts, (), (), Fraction(25), Fraction(1, 25))
    filmed = open_film(order, progress)
    order, remarks = _planned(order, filmed, progress)
    filmed = _again(order, filmed)
    crew = crew_of(wishes)
    told = [*filmed.remarks, *remarks]
    _begin(order, filmed, told, overwrite=overwrite, stills=stills)
    started = time.monotonic()
    went_on = _make(order, filmed, crew, progress)
    if went_on:
        told.append(f"{went_on} of {len(order.segments)} segments were there already")
    progress("joining", 0.98)
    files = _join(order, filmed, told, overwrite=overwrite, inputs=input_files(shot))
    took_s = time.monotonic() - started
    if filmed.footage is not None:
        filmed.footage.close()
    shutil.rmtree(order.parts, ignore_errors=True)
    if strip is not None:
        _write_strip(order, filmed, strip, overwrite=overwrite)
    return _told(order, filmed, files, strip, told, took_s)


def _refuse(shot: Shot, wishes: FilmWishes, source: str | None) -> None:
    """Refuse wishes that contradict each other or the source."""
    if source is None and shot.scene is None:
        raise InputError("nothing to film: name a clip, a folder of stills, a still or a scene")
    keys = shot_keys()
    moves = [*shot.key_frames, *(read_key_frame(text, keys) for text in wishes.keys)]
    keyed = bool(moves)
    if wishes.reveal_s is not None and keyed:
        raise SettingError("--reveal sets its own key frames: leave it out, or the others")
    if wishes.reveal_s == 0:
        raise SettingError("--reveal takes more than 0 s")
    if wishes.follow and source is not None:
        raise SettingError("--follow is for scenes and maps, where things have names")
    if source is None and (wishes.even_light or wishes.movers):
        raise SettingError("--even-light and --movers are for footage: scenes know both exactly")
    if source is None and wishes.from_s is None and wishes.to_s is not None:
        raise SettingError("a scene has no end: give --clip instead of --to")
    if any(name == "height" for each in moves for name, _ in each.given) and source:
        raise SettingError("the height moves in scenes and maps only: a picture stays where it is")


def _default_out(shot: Shot, source: str | None) -> Path:
    if source is None:
        return Path(f"{shot.stem}_film.mp4")
    path = Path(source)
    if path.is_dir() or is_pattern(source):
        name = path.name if path.is_dir() else path.absolute().parent.name
        return Path(f"{name}_film.mp4")
    return Path(f"{path.stem}_film.mp4")


def _check_out(out: Path, shot: Shot, source: str | None, *, overwrite: bool) -> bool:
    """Refuse a place that cannot be written to; returns whether stills are written."""
    ending = out.suffix.lower()
    inputs = [*input_files(shot), *([Path(source)] if source else [])]
    if is_pattern(out.name):
        if "*" in out.name or "?" in out.name:
            raise OutputError(f"{out}: number the stills with a place such as %05d")
        if ending not in _STILL_BYTES:
            raise OutputError(f"{out}: stills are written as {', '.join(_STILL_BYTES)}")
        if not out.parent.is_dir():
            if not out.parent.parent.is_dir():
                raise OutputError(f"{out}: the folder {out.parent.parent} does not exist")
        elif source and (Path(source) == out.parent or Path(source).absolute() == out.parent):
            raise OutputError(f"{out.parent} holds the source: write into another folder")
        return True
    if ending not in (*CLIP_ENDINGS, *ANIMATIONS):
        raise OutputError(
            f"{out}: a film is written as {', '.join((*CLIP_ENDINGS, *ANIMATIONS))}, or as stills "
            "with a name such as frames/%05d.tif"
        )
    check_destination(out, overwrite=overwrite, inputs=inputs)
    return False


def _placed(shot: Shot, wishes: FilmWishes) -> tuple[Shot, FilmWishes]:
    """The same with whole paths: workers may stand in another folder."""
    picture = str(Path(shot.picture).absolute()) if shot.picture else None
    frames = str(Path(wishes.frames).absolute()) if wishes.frames else None
    return replace(shot, picture=picture), replace(wishes, frames=frames)


def _planned(order: FilmOrder, filmed: Filmed, progress: Progress) -> tuple[FilmOrder, list[str]]:
    """Work out moments, segments and gains."""
    wishes, footage = order.wishes, filmed.footage
    remarks: list[str] = []
    pace, said = _pace(order, filmed, progress)
    remarks += said
    rate = wishes.frames_per_s or (footage.rate if footage else _STILLS_RATE)
    times = footage.times if footage else ()
    start = Fraction(wishes.from_s or 0).limit_denominator(10**6)
    stop, said = _stop(order, filmed, start, pace)
    remarks += said
    plain = pace == 1 and wishes.shutter is None and not wishes.on_twos
    constant = True
    if isinstance(footage, ClipFootage) and plain and wishes.frames_per_s is None:
        found = as_taken(times, start, stop)
        constant = footage.clip.constant or not filmed.kind
        if not footage.clip.constant:
            kept = filmed.kind is not None
            remarks.append("its frames keep their own times" if kept else "its frames are numbered")
    else:
        wish = wishes.shutter
        shutter = Shutter(wish.angle_deg, wish.seconds) if wish else None
        timing = Timing(
            rate=rate, start_s=start, stop_s=stop, speed=pace, shutter=shutter,
            on_twos=wishes.on_twos,
        )  # fmt: skip
        if isinstance(footage, OneStill):
            times = ()
        found = moments(times, timing)
        if isinstance(footage, OneStill):
            found = tuple(replace(each, picks=(0,)) for each in found)
        if isinstance(footage, ClipFootage) and not footage.clip.constant:
            remarks.append(f"its frame rate was made constant: {float(rate):.5g} a second")
    order = replace(order, rate=rate, tick=1 / rate if constant else _tick(found))
    order = replace(order, moments=found, constant=constant)
    if footage is not None and len(footage.times) > 1:
        remarks += _check_still(footage, found, progress)
    if wishes.even_light and footage is not None:
        order = replace(order, gains=_gains(footage, found, progress))
        most = max(abs(math.log2(gain)) for gain in order.gains)
        remarks.append(f"its exposure was evened by up to {most:.2f} stops")
    length = _CLIP_SEGMENT if filmed.kind else _STILLS_SEGMENT
    order = replace(order, segments=cut(len(found), length))
    mark = fingerprint(order, _sources(order), __version__)
    return replace(order, mark=mark), remarks


def _again(order: FilmOrder, filmed: Filmed) -> Filmed:
    """The same film with what only the plan knew: its gains, exposure and rate."""
    from render.film.stage import PictureStage, SceneStage
    from render.jobs.filming import open_seconds

    stage = filmed.stage
    if isinstance(stage, PictureStage):
        stage.gains = order.gains
    elif isinstance(stage, SceneStage):
        stage.open_s = open_seconds(order)
    shape = filmed.shape and replace(filmed.shape, rate=order.rate, tick=order.tick)
    return replace(filmed, shape=shape)


def _tick(found: Sequence[Moment]) -> Fraction:
    """The largest step that all times are multiples of; 1/90000 s where that is too fine."""
    common = math.lcm(*(moment.at_s.denominator for moment in found))
    return Fraction(1, common if common <= 1_000_000 else 90_000)


def _pace(order: FilmOrder, filmed: Filmed, progress: Progress) -> tuple[float, list[str]]:
    """How many times faster than life, and how that was found."""
    wish = order.wishes.pace
    if wish is None:
        return 1.0, []
    if wish.factor is not None:
        return wish.factor, [f"{wish.factor:g} times as fast as its source"]
    scale = wish.scale
    if scale is None:
        judged = as_judged(filmed.prepared.shot, filmed.prepared, progress)
        found = judge_case(case_of(judged), judged.setting).reads_as
        if found is None:
            raise SettingError(
                "a model's pace needs a scale, and this picture reads as none: give it, as "
                "--speed 'model 1:87'"
            )
        scale = found.denominator
    factor = froude_speedup(scale)
    return factor, [
        f"moves as a model of 1:{scale:.0f} does, {factor:.3g} times as fast as life (Froude: the "
        "root of the scale)"
    ]


def _stop(
    order: FilmOrder, filmed: Filmed, start: Fraction, pace: float
) -> tuple[Fraction, list[str]]:
    """Where in the source the film ends."""
    wishes, footage = order.wishes, filmed.footage
    speed = Fraction(pace).limit_denominator(10**6)
    if footage is not None and not isinstance(footage, OneStill):
        end = footage.times[-1] + 1 / footage.rate
        if start >= end:
            raise SettingError(f"the source ends at {float(end):.3f} s: begin earlier")
        if wishes.to_s is not None:
            end = min(end, Fraction(wishes.to_s).limit_denominator(10**6))
        if wishes.clip_s is not None:
            end = min(end, start + Fraction(wishes.clip_s).limit_denominator(10**6) * speed)
        return end, []
    ends = filmed.stage.ramps.end_s  # type: ignore[attr-defined]
    seconds = wishes.clip_s or ends
    said: list[str] = []
    if not seconds:
        if footage is not None:
            raise SettingError(
                "a single still does not move: give --key or --reveal, or a length with --clip"
            )
        seconds = _USUAL_S
        said.append(f"no length was given: {_USUAL_S:g} s")
    last = Fraction(seconds).limit_denominator(10**6)
    if not wishes.clip_s:  # the last key frame is seen
        last += 1 / (wishes.frames_per_s or _STILLS_RATE)
    return start + last * speed, said


def _check_still(footage: Footage, found: Sequence[Moment], progress: Progress) -> list[str]:
    """Refuse footage of a camera that moved: one depth would slide over the picture."""
    progress("looking whether the camera stood still", 0.12)
    first, last = found[0].picks[0], found[-1].picks[-1]
    numbers = sorted({round(first + (last - first) * k / (_LOOKS - 1)) for k in range(_LOOKS)})
    if len(numbers) < 2:
        return []
    looks = [next(footage.frames(number, number + 1)) for number in numbers]
    moved = stillness(looks)
    if not moved.sure:
        return ["whether its camera stood still cannot be told: too little to hold on to"]
    width = looks[0].shape[1]
    if moved.most_px > max(_STRAYS_PX, _STRAYS_SHARE * width):
        at_s = float(footage.times[numbers[moved.frame]])
        raise InputError(
            f"its camera moves: the picture at {at_s:.2f} s has shifted by {moved.most_px:.1f} px, "
            "and one depth holds for all of it: steady the footage first, or film a part with "
            "--from and --to"
        )
    return [f"its camera stood still to {max(moved.most_px, 0.1):.1f} px"]


def _gains(footage: Footage, found: Sequence[Moment], progress: Progress) -> tuple[float, ...]:
    """What evens the light of each frame, from a look at every frame that is used."""
    steps: dict[int, float] = {}
    reference = None
    used = sorted({pick for moment in found for pick in moment.picks})
    for done, number in enumerate(used):
        light = next(footage.frames(number, number + 1))[::4, ::4]
        reference = light if reference is None else reference
        steps[number] = brightness_step(reference, light)
        if done % 20 == 0:
            progress("reading the exposure", 0.13 + 0.05 * done / len(used))
    each = np.array([np.mean([steps[pick] for pick in moment.picks]) for moment in found])
    seconds = np.array([float(moment.at_s) for moment in found])
    return tuple(float(gain) for gain in evening_gains(each, seconds))


def _sources(order: FilmOrder) -> list[tuple[str, int, int]]:
    """Files that a film is made from, with what tells whether they changed."""
    from render.load.footage import Stills, open_footage

    source = picture_source(order.shot, order.wishes.frames)
    paths = input_files(order.shot)
    if source is not None:
        place = Path(source)
        if place.is_file():
            paths.append(place)
        else:
            opened = open_footage(source, None)
            paths += opened.paths if isinstance(opened, Stills) else ()
    held = [(str(path), path.stat()) for path in dict.fromkeys(paths) if path.is_file()]
    return [(name, stat.st_size, stat.st_mtime_ns) for name, stat in held]


def _begin(
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
    need = _bytes_needed(order, filmed)
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
    except OSError as error:
        raise OutputError(f"{order.parts} could not be made ({error.strerror})") from None


def _bytes_words(count: float) -> str:
    return f"{count / 1e9:.2g} GB" if count >= 1e9 else f"{max(1, round(count / 1e6))} MB"


def _bytes_needed(order: FilmOrder, filmed: Filmed) -> float:
    frame, count = filmed.prepared.scene.frame, len(order.moments)
    pixels = frame.width * frame.height * (2 if order.wishes.side_by_side else 1)
    if filmed.kind is not None:
        return 2 * count * pixels * filmed.kind.bits_per_pixel / 8  # the segments and the clip
    return count * pixels * _STILL_BYTES.get(order.out.suffix.lower(), 2.0)


def _make(order: FilmOrder, filmed: Filmed, crew: Crew | None, progress: Progress) -> int:
    """Make every segment that is not there; returns how many were."""
    todo = [each for each in order.segments if not segment_path(order, each).exists()]
    there = len(order.segments) - len(todo)
    frames = sum(each.stop - each.start for each in todo)
    report = _reporter(frames, progress)
    if crew is not None and todo:
        for segment in crew.make(order, todo):
            report(segment.stop - segment.start)
        return there
    for segment in todo:
        make_segment(order, segment, tell=lambda _: report(1), film=filmed)
    return there


def _reporter(frames: int, progress: Progress) -> Callable[[int], None]:
    started, done = time.monotonic(), 0

    def report(count: int) -> None:
        nonlocal done
        done += count
        left = (time.monotonic() - started) / done * (frames - done)
        words = f"frame {done} of {frames}, {time_words(left)} left"
        progress(words, 0.2 + 0.78 * done / max(frames, 1))

    return report


def _join(
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
            sound = _sound(order, filmed, told)
            told += join_segments(beside, paths, starts, filmed.shape, sound=sound)
    return [order.out]


def _sound(order: FilmOrder, filmed: Filmed, told: list[str]) -> Sound | None:
    """The source's sound, where the film runs as the source did."""
    if not isinstance(filmed.footage, ClipFootage):
        return None
    clip = filmed.footage.clip
    if clip.timecode:
        told.append(f"its time code {clip.timecode} is not written: lay it on again from there")
    if not clip.sound:
        return None
    if order.wishes.pace is not None:
        told.append("its sound was left out: the film runs at another speed")
        return None
    first, last = order.moments[0], order.moments[-1]
    stop = float(first.source_s + last.at_s + 1 / order.rate)
    return Sound(clip.path, float(first.source_s), stop)


def _write_animation(order: FilmOrder, path: Path) -> None:
    import imageio.v3 as iio

    frames = [iio.imread(still_number(order, number)) for number in range(len(order.moments))]
    if sum(frame.nbytes for frame in frames) > _MAIL_BYTES:
        raise OutputError(
            f"{order.out.name} would have {len(frames)} frames: an animation is for a few seconds; "
            "write a clip (.mp4)"
        )
    options: dict[str, Any] = {"duration": float(1000 / order.rate), "loop": 0}
    if path.suffix == ".webp":
        options |= {"quality": 75, "method": 4}
    iio.imwrite(path, np.stack(frames), plugin="pillow", **options)


def _nine(order: FilmOrder) -> list[int]:
    last = len(order.moments) - 1
    return sorted({round(last * k / 8) for k in range(9)})


def _shown(order: FilmOrder, filmed: Filmed) -> Iterator[tuple[int, Any, Any]]:
    """Number, light and encoding of nine moments of what was written."""
    from render.files.clips.reading import ClipReader, open_clip
    from render.files.pictures import read_picture

    if filmed.kind is not None:
        clip = open_clip(order.out)
        reader = ClipReader(clip)
        for number in _nine(order):
            yield number, next(reader.frames(number, number + 1)), clip.encoding
        reader.close()
        return
    for number in _nine(order):
        file = read_picture(still_number(order, number))
        yield number, file.light, file.encoding


def _write_strip(order: FilmOrder, filmed: Filmed, path: Path, *, overwrite: bool) -> None:
    """Write nine moments of the film side by side."""
    from render.files.painted import write_painted
    from render.film.ramps import setting_at
    from render.scene.resize import averaged
    from render.sheets.drawing.raster import paint
    from render.sheets.drawing.screen import screen_picture
    from render.sheets.strip import StripMoment, contact_strip
    from render.tell.summary import setting_words

    ramps = filmed.stage.ramps  # type: ignore[attr-defined]
    cells = []
    for number, light, encoding in _shown(order, filmed):
        at_s = float(order.moments[number].at_s)
        width = 320
        small = averaged(light, max(1, round(light.shape[0] * width / light.shape[1])), width)
        setting = setting_at(filmed.prepared.setting, ramps, at_s)
        words = setting_words(replace(filmed.prepared, setting=setting))
        cells.append(StripMoment(screen_picture(small, encoding), f"{at_s:.2f} s", words))
    drawn = contact_strip(cells, title=order.out.name, moves=ramps.moves_lens)
    write_painted(path, paint(drawn), overwrite=overwrite, inputs=[order.out])


def _told(
    order: FilmOrder,
    filmed: Filmed,
    files: list[Path],
    strip: Path | None,
    told: list[str],
    took_s: float,
) -> Made:
    prepared, count = filmed.prepared, len(order.moments)
    seconds = float(order.moments[-1].at_s + 1 / order.rate)
    frame = prepared.scene.frame
    wide = frame.width * (2 if order.wishes.side_by_side else 1)
    high = frame.height
    how = filmed.kind.words if filmed.kind else order.out.suffix[1:].upper()
    if filmed.shape is not None:
        how += f", {filmed.shape.tags.words()}"
        wide, high = filmed.shape.width_px, filmed.shape.height_px
    held = "" if order.constant else " on average"
    line = (
        f"Film: {count} frames, {seconds:.3g} s at {float(order.rate):.5g} a second{held}, "
        f"{wide} x {high} px, {how}"
    )
    lens = focus_lens(prepared.setting)
    summary = summary_of(prepared, frame_field(prepared.scene, prepared.setting))
    notes = list(dict.fromkeys(told))
    lines = [
        line,
        *summary_lines(prepared, lens, summary),
        *(f"Note: {note}" for note in notes),
        f"Took: {time_words(took_s)}",
    ]
    named = [files[0], *([files[-1]] if len(files) > 1 else []), *([strip] if strip else [])]
    record = {
        **summary_record(prepared, lens, summary),
        "film": {
            "frames": count,
            "seconds": seconds,
            "frames_per_s": [order.rate.numerator, order.rate.denominator],
            "width_px": wide,
            "height_px": high,
            "written_as": how,
            "remarks": notes,
        },
    }
    return made(named, lines, record)

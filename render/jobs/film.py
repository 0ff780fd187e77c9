"""`hingeline film`: frames in, frames out; planned, made in segments, joined."""

import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import partial
from pathlib import Path
from shutil import rmtree

from render.errors import InputError, OutputError, SettingError
from render.files.atomic import check_destination, check_destinations
from render.files.clips.kinds import CLIP_ENDINGS, clip_kind
from render.files.painted import check_ending
from render.files.run import note_going_on, one_run
from render.files.sequences import is_pattern
from render.files.shots import write_shot
from render.film.order import FilmOrder
from render.film.ramps import Ramps, focus_between_words, ramp_words, setting_at
from render.film.segments import frames_words, time_words
from render.jobs.crew import Crew, crew_of
from render.jobs.filming.opening import (
    ANIMATIONS,
    Filmed,
    as_planned,
    key_frames_of,
    open_film,
    picture_source,
)
from render.jobs.filming.output import STILL_BYTES, begin, join, write_strip
from render.jobs.filming.plan import plan_film
from render.jobs.filming.segment import keeping, make_segment, segment_path
from render.jobs.made import Made, made
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.optics.plane import focus_lens
from render.optics.solving.holding import ring_of, ring_words
from render.scene.field import frame_field
from render.shot.filmwishes import FilmWishes
from render.shot.keyframes import read_key_frame, unreached_words
from render.shot.shot import Shot, input_files, is_file_name, shot_keys
from render.tell.records.commands import FilmRecord
from render.tell.setting_values import in_full
from render.tell.summary import summary_lines, summary_of, summary_record

__all__ = ["film"]

_PLAIN = FilmWishes()


def film(
    shot: Shot,
    wishes: FilmWishes = _PLAIN,
    out: Path | None = None,
    *,
    strip: Path | None = None,
    save_shot: Path | None = None,
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
    save_shot : Path or None
        Also write the shot with the film's key frames and its length.

    Raises
    ------
    HingelineError
        In one sentence. What was finished before is kept: the same command goes on from there.
    """
    source = picture_source(shot, wishes.footage)
    _refuse(shot, wishes, source)
    asked = shot
    shot, wishes = _begun(shot, wishes), replace(wishes, clip_s=wishes.clip_s or shot.film_s)
    out = (out or _default_out(shot, source)).absolute()
    stills = _check_out(out, shot, source, overwrite=overwrite)
    if strip is not None:
        check_ending(strip, "the strip", ".png", ".jpg", ".webp")
        check_destination(strip, overwrite=overwrite, inputs=input_files(shot))
    if save_shot is not None:
        check_destinations([out, save_shot], overwrite=overwrite, inputs=input_files(asked))
    if out.suffix.lower() in CLIP_ENDINGS:
        clip_kind(out, wishes.codec)
    shot, wishes = _placed(shot, wishes)
    parts = out.parent / f".{out.name.replace('%', '')}.parts"
    order = FilmOrder(shot, wishes, out, parts, (), (), Fraction(25), Fraction(1, 25))
    filmed = open_film(order, progress)
    order, remarks = plan_film(order, filmed, progress)
    filmed = as_planned(order, filmed)
    crew = crew_of(wishes.workers, wishes.scheduler)
    told = [*filmed.remarks, *remarks]
    begin(order, filmed, told, overwrite=overwrite, stills=stills)
    started = time.monotonic()
    went_on = _make(order, filmed, crew, progress)
    if went_on:
        told.append(f"{went_on} of {frames_words(len(order.moments))} were done already")
    progress("joining", 0.98)
    with keeping(order), one_run():
        files = join(order, filmed, told, overwrite=overwrite, inputs=input_files(shot))
        if strip is not None:
            write_strip(order, filmed, strip, overwrite=overwrite)
        if save_shot is not None:
            moves = key_frames_of(order, filmed.prepared)
            kept = in_full(replace(asked, key_frames=moves, film_s=wishes.clip_s), filmed.prepared)
            write_shot(save_shot, kept, overwrite=overwrite)
    took_s = time.monotonic() - started
    if filmed.footage is not None:
        told += filmed.footage.remarks  # of stills that were only read by now
        filmed.footage.close()
    note_going_on(None)
    rmtree(order.parts, ignore_errors=True)
    beside = [path for path in (strip, save_shot) if path]
    return _told(order, filmed, files, beside, told, took_s)


def _refuse(shot: Shot, wishes: FilmWishes, source: str | None) -> None:
    """Refuse wishes that contradict each other or the source."""
    if source is None and shot.scene is None:
        raise InputError("nothing to film: name a clip, a folder of stills, a still or a scene")
    keys = shot_keys()
    moves = [*shot.key_frames, *(read_key_frame(text, keys) for text in wishes.keys)]
    keyed = bool(moves)
    if wishes.reveal_s is not None and keyed:
        raise SettingError("--reveal sets its own key frames: leave it out, or the others")
    if wishes.follow and source is not None:
        raise SettingError("--follow is for scenes and maps, where things have names")
    if source is None and (wishes.even_light or wishes.movers):
        raise SettingError("--even-light and --movers are for footage: scenes know both exactly")
    if source is None and wishes.steady:
        raise SettingError("--steady is for footage: the camera of a scene stands still")
    if source is None and wishes.from_s is None and wishes.to_s is not None:
        raise SettingError("a scene has no end: give --clip instead of --to")
    if any(name == "height" for each in moves for name, _ in each.given) and source:
        raise SettingError("the height moves in scenes and maps only: a picture stays where it is")


def _begun(shot: Shot, wishes: FilmWishes) -> Shot:
    """The shot with the focus and the stop of its first key frames where it names none itself."""
    keys = shot_keys()
    moves = [*shot.key_frames, *(read_key_frame(text, keys) for text in wishes.keys)]
    lens = shot.lens
    for each in sorted(moves, key=lambda frame: frame.at_s):
        given = dict(each.given)
        if lens.focus is None and "focus" in given:
            lens = replace(lens, focus=keys["focus"].read(given["focus"]))
        if lens.f_number is None and "f" in given:
            lens = replace(lens, f_number=keys["f"].read(given["f"]))
    return replace(shot, lens=lens)


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
        if "?" in out.name or out.name.count("*") > 1:
            raise OutputError(
                f"{out}: number the stills with a place such as %05d, or keep their names with *"
            )
        if ending not in STILL_BYTES:
            raise OutputError(f"{out}: stills are written as {', '.join(STILL_BYTES)}")
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
    footage = str(Path(wishes.footage).absolute()) if wishes.footage else None
    depth = shot.depth
    if depth.file:
        depth = replace(depth, file=str(Path(depth.file).absolute()))
    scene = shot.scene
    if scene and is_file_name(scene):
        scene = str(Path(scene).absolute())
    shot = replace(shot, picture=picture, scene=scene, depth=depth)
    return shot, replace(wishes, footage=footage)


def _make(order: FilmOrder, filmed: Filmed, crew: Crew | None, progress: Progress) -> int:
    """Make every segment that is not there; returns how many frames were."""
    todo = [each for each in order.segments if not segment_path(order, each).exists()]
    there = len(order.moments) - sum(each.stop - each.start for each in todo)
    if there:
        progress(f"{there} of {frames_words(len(order.moments))} were done already", 0.2)
    report = _reporter(there, len(order.moments), progress)
    if crew is not None and todo:
        for number, _ in crew.do(partial(make_segment, order), todo):
            report(todo[number].stop - todo[number].start)
        return there
    for segment in todo:
        make_segment(order, segment, tell=lambda _: report(1), film=filmed)
    return there


def _reporter(there: int, frames: int, progress: Progress) -> Callable[[int], None]:
    """Count on from what was there; the time left is told by what is made now."""
    started, done = time.monotonic(), there

    def report(count: int) -> None:
        nonlocal done
        done += count
        left = (time.monotonic() - started) / (done - there) * (frames - done)
        words = f"frame {done} of {frames}, {time_words(left)} left"
        progress(words, 0.2 + 0.78 * done / max(frames, 1))

    return report


def _told(
    order: FilmOrder,
    filmed: Filmed,
    files: list[Path],
    beside: list[Path],
    told: list[str],
    took_s: float,
) -> Made:
    count = len(order.moments)
    ramps = filmed.stage.ramps
    prepared = _at_the_end(order, filmed, ramps)
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
        f"Film: {frames_words(count)}, {seconds:.3g} s at {float(order.rate):.5g} a second{held}, "
        f"{wide} x {high} px, {how}"
    )
    lens = focus_lens(prepared.setting)
    summary = summary_of(prepared, frame_field(prepared.scene, prepared.setting))
    notes = list(dict.fromkeys([*unreached_words(ramps.times_s, seconds), *told]))
    moves = ramp_words(ramps)
    focus = _focus_words(filmed, ramps, followed=bool(order.wishes.follow))
    end_s = float(order.moments[-1].at_s)
    moment = f" at {end_s:.3g} s, the last frame" if ramps.tracks else ""
    lines = [
        line,
        *([moves] if moves else []),
        *([f"Focus: {focus}"] if focus else []),
        *summary_lines(prepared, lens, summary, moment=moment),
        *(f"Note: {note}" for note in notes),
        f"Took: {time_words(took_s)}",
    ]
    ends = [files[0], files[-1]] if len(files) > 1 else files[:1]
    named = [*map(_from_here, ends), *beside]
    record: FilmRecord = {
        **summary_record(prepared, summary),
        "film": {
            "frames": count,
            "seconds": seconds,
            "frames_per_s": [order.rate.numerator, order.rate.denominator],
            "width_px": wide,
            "height_px": high,
            "written_as": how,
            "lens_moves": moves or None,
            "focus_moves": focus or None,
            "setting_at_s": end_s if ramps.tracks else 0.0,
            "remarks": notes,
        },
    }
    return made(named, lines, record)


def _focus_words(filmed: Filmed, ramps: Ramps, *, followed: bool) -> str:
    """What becomes of the focus between key frames, and where a named lens's ring stands at them.

    Nothing where it follows what moves: it is set anew for every frame.
    """
    between = "" if followed else focus_between_words(ramps, filmed.prepared.setting)
    limits = filmed.prepared.limits
    if not between or limits is None:
        return between
    settings = (setting_at(filmed.prepared.setting, ramps, at_s) for at_s in ramps.times_s)
    rings = ", then ".join(ring_words(ring_of(limits, setting)) for setting in settings)
    return f"ring at {rings}; {between}"


def _at_the_end(order: FilmOrder, filmed: Filmed, ramps: Ramps) -> Prepared:
    """What the last frame is taken with, where lens or camera move; else the first frame."""
    if not ramps.tracks:
        return filmed.prepared
    last = order.moments[-1]
    prepared, at_s = filmed.prepared, float(last.at_s)
    height_m = ramps.height_m(at_s)
    if height_m is not None:
        scene = filmed.stage.scene_at(float(last.source_s), height_m)  # type: ignore[attr-defined]
        prepared = replace(prepared, scene=scene)
    return replace(prepared, setting=setting_at(filmed.prepared.setting, ramps, at_s))


def _from_here(path: Path) -> Path:
    """The path as the shell's user would write it."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path

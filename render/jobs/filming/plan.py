"""The plan of a film: its pace, its moments, whether its camera stood still, its segments."""

import math
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import partial
from pathlib import Path

import numpy as np

from render.errors import InputError, SettingError
from render.film.evening import brightness_step, evening_gains
from render.film.order import FilmOrder, fingerprint
from render.film.segments import cut, frames_words
from render.film.stage import PictureStage, SceneStage
from render.film.steady import Steadier
from render.film.stillness import stillness
from render.film.timing import Moment, Shutter, Timing, as_taken, moments
from render.jobs.filming.opening import Filmed, depth_files, picture_source
from render.judge.scale import froude_speedup
from render.judge.verdict import judge_case
from render.load.case import case_of
from render.load.footage import ClipFootage, Footage, OneStill, Stills, open_footage
from render.load.prepare import as_judged
from render.load.progress import Progress
from render.plan.light import plan_light
from render.plan.take import light_of_take
from render.shot.placekeys import PlaceKeys
from render.shot.shot import input_files
from render.tell.light import brightness_of
from render.version import __version__
from render.world.description import Description

__all__ = ["plan_film", "still_light"]

_SCENE_RATE = Fraction(25)
#: Length of a scene's film where nothing is said, s.
_USUAL_S = 4.0
#: A film of footage that is shorter shows next to nothing, s (ours).
_LEAST_S = 1.0
#: Frames of a segment: what a stop can cost.
_CLIP_SEGMENT, _STILLS_SEGMENT = 24, 12
#: A camera may stray so far: px, and share of the picture's width (ours).
_STRAYS_PX, _STRAYS_SHARE = 1.0, 0.001
_LOOKS = 13
#: A degree of the sun's daily way, s; and from how many on shadows lie otherwise (ours).
_SUN_S_A_DEG, _SUN_TURNS_DEG = 240.0, 5.0
#: Its frames stand for 1/50 s at least: what is shorter, browsers show for 1/10 s (from memory).
_MOST_GIF = 50


def plan_film(order: FilmOrder, filmed: Filmed, progress: Progress) -> tuple[FilmOrder, list[str]]:
    """Work out moments, segments and gains."""
    wishes, footage = order.wishes, filmed.footage
    remarks: list[str] = []
    pace, said = _pace(order, filmed, progress)
    remarks += said
    rate = wishes.frames_per_s or (footage.rate if footage else _SCENE_RATE)
    if order.out.suffix.lower() == ".gif" and rate > _MOST_GIF:
        raise SettingError(
            f"{order.out.name}: a GIF shows up to {_MOST_GIF} pictures a second, not "
            f"{float(rate):.5g}: give --fps {_MOST_GIF // 2}, or write .webp"
        )
    times = footage.times if footage else ()
    start = Fraction(wishes.from_s or 0).limit_denominator(10**6)
    stop, said = _stop(order, filmed, start, pace)
    remarks += said
    if footage is None:
        prepared = filmed.prepared
        remarks += still_light(prepared.shot.place, prepared.description, float(stop))
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
    if footage is not None:
        remarks += _too_short(len(found), rate, pace)
    order = replace(order, rate=rate, tick=1 / rate if constant else _tick(found))
    order = replace(order, moments=found, constant=constant)
    one_plate = wishes.movers or not depth_files(order.shot)
    if footage is not None and len(footage.times) > 1 and one_plate:
        if wishes.steady:
            remarks += _steadied(footage, filmed, found, progress)
        else:
            remarks += _check_still(footage, found, progress)
    if isinstance(filmed.stage, SceneStage) and _stands_still(filmed, filmed.stage):
        remarks.append("nothing moves in this scene, nor does the lens: every frame is the same")
    if wishes.even_light and footage is not None:
        order = replace(order, gains=_gains(footage, found, progress))
        most = max(abs(math.log2(gain)) for gain in order.gains)
        remarks.append(f"its exposure was evened by up to {most:.2f} stops")
    if "*" in order.out.name:
        order = replace(order, names=_own_names(order, footage))
    length = _CLIP_SEGMENT if filmed.kind else _STILLS_SEGMENT
    order = replace(order, segments=cut(len(found), length))
    mark = fingerprint(order, _sources(order), __version__)
    return replace(order, mark=mark), remarks


def still_light(place: PlaceKeys, scene: Description | None, until_s: float) -> list[str]:
    """Say of a film of a scene that spans a change of light that it keeps the first moment's."""
    if scene is None:
        return []
    when, at_deg = place.when, place.at_deg
    if when is None:  # a scene file may say its own date and place
        when, at_deg = scene.light.when, scene.light.at_deg
    if when is None or at_deg is None:
        return []
    try:
        sunlight = plan_light(when, *at_deg)
    except InputError:  # a day that the sun does not rise on: its window is not needed here
        return []
    take = light_of_take(sunlight, until_s, partial(brightness_of, scene))
    changed = [f"the light {change.words}" for change in take.changes]
    high = max(sunlight.sun_height_deg(each) for each in (take.start, take.end))
    turned = until_s / _SUN_S_A_DEG
    if scene.ground is not None and high > 0 and turned >= _SUN_TURNS_DEG:
        changed.append(f"the sun moves on by about {turned:.0f}°")
    if not changed:
        return []
    return [
        f"every frame has the light of {take.start:%H:%M}, of sun, sky and lamps: by "
        f"{take.end:%H:%M}, the last frame, {' and '.join(changed)}, which the film does not "
        "follow; on site the exposure does, as the card of a time-lapse says (--interval)"
    ]


def _too_short(frames: int, rate: Fraction, pace: float) -> list[str]:
    """Say of footage that is over in a blink at its pace how much of it is needed."""
    lasts_s = float(frames / rate)
    if pace <= 1 or lasts_s >= _LEAST_S:
        return []
    return [
        f"at {pace:.3g} times its speed the film is over in {lasts_s:.2g} s "
        f"({frames_words(frames)}): {_USUAL_S:g} s of film need a clip of {_USUAL_S * pace:.0f} s"
    ]


def _own_names(order: FilmOrder, footage: Footage | None) -> tuple[str, ...]:
    """Name of the still behind each frame of the film."""
    if not isinstance(footage, Stills):
        raise SettingError(f"{order.out.name}: only stills have names of their own; write %05d")
    names = tuple(footage.paths[moment.picks[0]].stem for moment in order.moments)
    if len(set(names)) < len(names):
        raise SettingError(f"{order.out.name}: a still is shown more than once; write %05d")
    return names


def _tick(found: Sequence[Moment]) -> Fraction:
    """The largest step that all times are multiples of; 1/90000 s where that is too fine."""
    common = math.lcm(*(moment.at_s.denominator for moment in found))
    return Fraction(1, common if common <= 1_000_000 else 90_000)


def _stands_still(filmed: Filmed, stage: SceneStage) -> bool:
    """Whether neither the scene's things nor the lens move."""
    place = filmed.prepared.description
    return place is not None and not stage.ramps.tracks and not any(t.moves for t in place.things)


def _pace(order: FilmOrder, filmed: Filmed, progress: Progress) -> tuple[float, list[str]]:
    """How many times faster than life, and how that was found."""
    wish = order.wishes.pace
    if wish is None:
        return 1.0, []
    if wish.factor is not None:
        return wish.factor, [f"{wish.factor:g} times as fast as its source"]
    scale = wish.scale
    said = "" if scale is None else f"1:{scale:g}"
    if scale is None:
        judged = as_judged(filmed.prepared.shot, filmed.prepared, progress)
        found = judge_case(case_of(judged), judged.setting).reads_as
        if found is None:
            raise SettingError(
                "a model's pace needs a scale, and this picture reads as none: give it, as "
                '--speed "model 1:87"'
            )
        scale, said = found.denominator, f"about {found.ratio}"
    factor = froude_speedup(scale)
    return factor, [
        f"moves as a model of {said} does, {factor:.3g} times as fast as life (Froude: the "
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
    ends = filmed.stage.ramps.end_s
    seconds = wishes.clip_s or ends
    said: list[str] = []
    if not seconds:
        if footage is not None:
            raise SettingError(
                "a single still does not move: give --key, --reveal or, to hold it, --clip"
            )
        seconds = _USUAL_S
        said.append(f"no length was given: {_USUAL_S:g} s")
    last = Fraction(seconds).limit_denominator(10**6)
    if not wishes.clip_s:  # the last key frame is seen
        last += 1 / (wishes.frames_per_s or _SCENE_RATE)
    return start + last * speed, said


def _steadied(
    footage: Footage, filmed: Filmed, found: Sequence[Moment], progress: Progress
) -> list[str]:
    """Try the steadying on moments of the whole film, and say how well it goes."""
    progress("looking how the camera turned", 0.12)
    stage = filmed.stage
    assert isinstance(stage, PictureStage), "footage is filmed from pictures"
    steadier = stage.steadied
    assert isinstance(steadier, Steadier), "it was asked for"
    laid = []
    for number in _looked_at(found):
        try:
            laid.append(steadier.steadied(next(footage.frames(number, number + 1))))
        except InputError as error:
            raise InputError(f"at {float(footage.times[number]):.2f} s {error}") from None
    most = max(each.turn_deg for each in laid)
    off = max(each.off_px for each in laid)
    missing = max(each.missing for each in laid)
    return [
        f"steadied on its first frame: the camera turned by up to {most:.2f}°, features agree to "
        f"{off:.1f} px, up to {missing:.1%} of the frame is filled from the first"
    ]


def _looked_at(found: Sequence[Moment]) -> list[int]:
    """Frames of the source that are compared with the first, over the whole film."""
    first, last = found[0].picks[0], found[-1].picks[-1]
    return sorted({round(first + (last - first) * k / (_LOOKS - 1)) for k in range(_LOOKS)})


def _check_still(footage: Footage, found: Sequence[Moment], progress: Progress) -> list[str]:
    """Refuse footage of a camera that moved: one depth would slide over the picture."""
    progress("looking whether the camera stood still", 0.12)
    numbers = _looked_at(found)
    if len(numbers) < 2:
        return []
    moved = stillness(next(footage.frames(number, number + 1)) for number in numbers)
    if not moved.sure:
        return ["whether its camera stood still cannot be told: too little to hold on to"]
    if moved.most_px > max(_STRAYS_PX, _STRAYS_SHARE * moved.width_px):
        at_s = float(footage.times[numbers[moved.frame]])
        raise InputError(
            f"its camera moves: the picture at {at_s:.2f} s has shifted by {moved.most_px:.1f} px, "
            "and one depth, with --movers one clean plate, holds for all of it: lay the frames on "
            "the first with --steady, film a part with --from and --to, or give a depth for every "
            'frame, --depth "depth/%04d.npy"'
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
    source = picture_source(order.shot, order.wishes.footage)
    paths = [*input_files(order.shot), *depth_files(order.shot)]
    if source is not None:
        place = Path(source)
        if place.is_file():
            paths.append(place)
        else:
            opened = open_footage(source, None)
            paths += opened.paths if isinstance(opened, Stills) else ()
    held = [(str(path), path.stat()) for path in dict.fromkeys(paths) if path.is_file()]
    return [(name, stat.st_size, stat.st_mtime_ns) for name, stat in held]

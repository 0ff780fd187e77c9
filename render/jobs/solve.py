"""`hingeline solve`: which tilt, swing, focus and f-number make these things sharp."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from render.errors import InputError, SettingError
from render.files.atomic import check_destination
from render.files.run import one_run
from render.files.shots import write_shot
from render.jobs.made import Made, made
from render.load.asked.checks import hidden, spots
from render.load.asked.framed import unseen_words
from render.load.asked.place import Place, place_of
from render.load.asked.site import Site
from render.load.asked.standing import whole_of
from render.load.asked.walls import with_walls
from render.load.asked.wish import Wish, parse_wish
from render.load.progress import Progress
from render.load.taken import resting_on
from render.optics.blur import blur_field, blur_mm
from render.optics.depth_of_field import USUAL_COC, circle_of_confusion_mm
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.holding import hold
from render.optics.solving.limits import LensLimits, unusual_words
from render.optics.solving.selective import ALL_SHARP, Leaning, Region, compare_leanings
from render.optics.solving.serving import serve
from render.optics.summary import summarise_focus
from render.shot.shot import Shot, input_files, merged
from render.shot.things import read_check
from render.tell.solve_answer import (
    Answer,
    BandChoice,
    SharpPart,
    chosen_setting,
    row_notes,
    turned_words,
)
from render.tell.solve_lines import answer_lines, unmet_words
from render.tell.solve_record import answer_record

__all__ = ["find_answer", "solve"]

_MOVES = {"both": (True, True), "tilt": (True, False), "swing": (False, True)}
#: How far down the frame the subjects of a foreground usually stand.
_FOREGROUND_SHARE = 0.8


@one_run()
def solve(
    shot: Shot,
    sharp: list[tuple[str, str]],
    soft: list[str],
    *,
    only: bool = False,
    band: bool = False,
    move: str = "both",
    save_shot: Path | None = None,
    overwrite: bool = False,
    progress: Progress,
) -> Made:
    """Say which lens positions make things sharp, and what each of them costs.

    Parameters and errors are those of `find_answer`.
    """
    answer = find_answer(
        shot,
        sharp,
        soft,
        only=only,
        band=band,
        move=move,
        save_shot=save_shot,
        overwrite=overwrite,
        progress=progress,
    )
    return made([save_shot] if save_shot else [], answer_lines(answer), answer_record(answer))


def find_answer(
    shot: Shot,
    sharp: list[tuple[str, str]],
    soft: list[str],
    *,
    only: bool = False,
    band: bool = False,
    move: str = "both",
    save_shot: Path | None = None,
    overwrite: bool = False,
    progress: Progress,
) -> Answer:
    """Find lens positions for what should be sharp, and say what each of them costs.

    Parameters
    ----------
    shot : Shot
        A picture with depth, or only a height and a lens.
    sharp : list of (kind, text)
        What should be sharp, each of a kind in `render.load.asked.wish.KINDS`.
    soft : list of str
        What should be soft; points and areas.
    only : bool
        Nothing else should be sharp: with no `soft`, all the rest of the picture is soft.
    band : bool
        Instead lay the sharp band of the shot's tilt on the centre and on each of these things
        (the foreground, where none is named); the last of them is what is saved.
    move : {"both", "tilt", "swing"}
        What may be turned.
    save_shot : Path or None
        Also write a shot with the position that serves best.

    Raises
    ------
    HingelineError
        In one sentence, if something is missing, cannot be read, or cannot be.
    """
    if move not in _MOVES:
        raise SettingError(f'"{move}" cannot be moved: choose one of {", ".join(_MOVES)}')
    wishes = _called([parse_wish(kind, text) for kind, text in sharp])
    softs = [parse_wish("point", text) for text in soft]
    _check_names(wishes)
    _check_names(softs)
    if not wishes and not band:
        raise InputError(
            "nothing is asked for: say what should be sharp with --sharp, --row, --ground, "
            "--wall or --face, or ask for --band"
        )
    if (only or softs) and not wishes:
        raise InputError("say with --sharp what should stay sharp while the rest goes soft")
    if save_shot is not None:
        if not (shot.picture or shot.scene):
            raise InputError(
                "--save-shot needs a picture or a scene to make a shot of: name one after solve"
            )
        inputs = input_files(shot)
        check_destination(save_shot, overwrite=overwrite, inputs=inputs)
    place = place_of(shot, progress)
    with resting_on(place.guesses):
        place = with_walls(place, wishes, progress)
        answer = _answered(place, wishes, softs, only=only, band=band, move=move, progress=progress)
    if save_shot is not None:
        turned = merged(place.shot, turned_words(answer), "{name}")
        write_shot(save_shot, turned, overwrite=overwrite, remarks=_remarks(answer))
    return answer


def _answered(
    place: Place,
    wishes: list[Wish],
    softs: list[Wish],
    *,
    only: bool,
    band: bool,
    move: str,
    progress: Progress,
) -> Answer:
    """Solve what is wished at a place."""
    shot, limits, sensor, site = place.shot, place.limits, place.sensor, place.site
    site.check_apart(wishes, softs)
    coc_mm = circle_of_confusion_mm(
        shot.lens.coc or USUAL_COC,
        sensor,
        site.camera.width_px if site.camera is not None else None,
    )
    progress("solving", 0.6)
    tilt, swing = _MOVES[move]
    freedom = limits.freedom(tilt=tilt, swing=swing)
    answer = Answer(
        limits=limits,
        f_number=shot.lens.f_number or limits.widest_f_number,
        coc_mm=coc_mm,
        sensor=sensor,
        camera=site.camera,
        notes=place.notes,
        source=shot.picture or shot.scene or "",
        softs=tuple(wish.name for wish in softs),
        given=shot.written,
        walls=place.walls,
    )
    if only or softs:
        leanings = compare_leanings(
            [site.whole(wish) for wish in wishes],
            _joined(site, softs) if softs else site.everything_but(wishes),
            focal_mm=limits.focal_mm,
            f_number=answer.f_number,
            coc_mm=coc_mm,
            limit_deg=limits.tilt_limit_deg,
            axis_turns=limits.axis_turns,
            marks_per_degree=limits.marks_per_degree,
        )
        # what the ring does not reach is told, but never chosen before what it does
        leanings = tuple(sorted(leanings, key=lambda leaning: not _reached(leaning, limits)))
        notes = _points_alone(site, wishes) + answer.notes
        answer = replace(answer, leanings=leanings, notes=notes)
    elif not band:
        targets = [target for wish in wishes for target in site.targets(wish)]
        serving = serve(
            targets, limits, freedom, coc_mm, site.pixel_slope, shot.lens.f_number or 0.0
        )
        answer = replace(answer, serving=serving, notes=row_notes(serving) + answer.notes)
        answer = replace(answer, parts=_parts(site, wishes, answer))
    if band:
        answer = replace(answer, bands=_bands(shot, site, limits, wishes, answer))
    lens = focus_lens(chosen_setting(answer))
    outside = unseen_words(site, [*wishes, *softs], lens.focal_mm / lens.extension_mm)
    gaps = tuple(filter(None, map(site.row_gaps, wishes)))
    gaps += tuple(filter(None, (hidden(site, wish, lens, coc_mm) for wish in wishes)))
    if shot.lens.lens_file is None:
        chosen = chosen_setting(answer)
        strange = unusual_words(chosen.f_number, chosen.tilt_deg, chosen.swing_deg)
        gaps += (strange,) if strange else ()
    return replace(
        answer,
        notes=tuple(dict.fromkeys((*outside, *gaps, *answer.notes))),
        outside=outside,
        checks=_checks(site, wishes, shot, answer),
    )


def _remarks(answer: Answer) -> tuple[str, ...]:
    """What a shot has no key for: what was to go soft, and what of the wish was not met."""
    asked = f"asked to be soft: {', '.join(answer.softs)}" if answer.softs else ""
    unmet = unmet_words(answer)
    return tuple(filter(None, (asked, f"not met: {unmet}" if unmet else "")))


def _called(wishes: list[Wish]) -> list[Wish]:
    """Call the only row "row" where it was given no name: its ends are read on boards and cards.

    So a wall, the ground and a face.
    """
    kinds, names = [wish.kind for wish in wishes], {wish.name for wish in wishes}
    return [
        replace(wish, name=wish.kind)
        if wish.kind != "point"
        and kinds.count(wish.kind) == 1
        and wish.name == f"{wish.kind} {wish.text}"
        and wish.kind not in names
        else wish
        for wish in wishes
    ]


def _check_names(wishes: list[Wish]) -> None:
    """Refuse two things of one name: the answer could not tell them apart."""
    names = [wish.name for wish in wishes]
    if twice := next((name for name in names if names.count(name) > 1), None):
        raise SettingError(f'two things are called "{twice}": give each a name of its own')


def _checks(site: Site, wishes: list[Wish], shot: Shot, answer: Answer) -> tuple[str, ...]:
    """The things wished sharp as a shot names them: by spot, or by a scene's own name."""
    lens = focus_lens(chosen_setting(answer))
    found: list[str] = []
    for wish in wishes:
        if wish.kind == "point" and site.named_in(wish):
            found.append(f"{wish.name}={wish.text.strip()}")
            continue
        places = spots(site, wish, lens, answer.coc_mm, whole=answer.serving is not None)
        found += [f"{name}={spot}" for name, spot in places]
    anew = {wish.name for wish in wishes}  # asked for anew, it is where it is now, and its parts
    parts = tuple(whole_of(wish.name) for wish in wishes)
    kept = [
        text
        for text in _written_checks(shot)
        if (name := read_check(text).name) not in anew and not name.startswith(parts)
    ]
    return tuple(dict.fromkeys([*kept, *found]))


def _written_checks(shot: Shot) -> tuple[str, ...]:
    """What the shot names already, as it was written."""
    words = dict(shot.written).get("check", ())
    return words if isinstance(words, tuple) else (words,)


def _reached(leaning: Leaning, limits: LensLimits) -> bool:
    at = leaning.extension_mm, leaning.tilt_deg, leaning.swing_deg
    return limits.ring_reading(*at).reached


def _points_alone(site: Site, wishes: list[Wish]) -> tuple[str, ...]:
    """Say of which wishes only one point is meant, where a whole thing may have been."""
    alone = [w.name for w in wishes if w.kind == "point" and not site.counts_whole(w)]
    if not alone:
        return ()
    return (
        f"of {', '.join(alone)} one point counts: for the whole of a thing mark its box in the "
        f'picture, as in --sharp "{alone[0]}=42%,38%,58%,45%" (left, top, right, bottom)',
    )


def _parts(site: Site, wishes: list[Wish], answer: Answer) -> tuple[SharpPart, ...]:
    """Of things of a scene that one point stood for: how much of each is sharp, where not all."""
    setting = chosen_setting(answer)
    lens, parts = focus_lens(setting), []
    for thing in dict.fromkeys(thing for wish in wishes for thing in site.named_in(wish)):
        if not site.counts_whole(thing):
            continue
        whole = site.whole(thing)
        blurs_mm = blur_mm(lens, whole.slopes, whole.inverse_depth)
        share = float(np.mean(blurs_mm <= answer.coc_mm))
        if share < ALL_SHARP:
            most_mm = float(np.quantile(blurs_mm, ALL_SHARP, method="higher"))
            needed = setting.f_number * most_mm / answer.coc_mm
            parts.append(SharpPart(thing.name, share, needed))
    return tuple(parts)


def _joined(site: Site, wishes: list[Wish]) -> Region:
    regions = [site.whole(wish) for wish in wishes]
    return Region(
        np.concatenate([region.slopes for region in regions]),
        np.concatenate([region.inverse_depth for region in regions]),
    )


def _bands(
    shot: Shot, site: Site, limits: LensLimits, wishes: list[Wish], answer: Answer
) -> tuple[BandChoice, ...]:
    """The sharp band with the lens as the shot has it, laid on the centre and on each wish.

    Without a wish it is laid on the foreground, four fifths down the middle.
    """
    if site.camera is None or site.depth_m is None:
        raise InputError("--band needs a picture with depth to lay the band in")
    spots = [("the centre", _frame_spot(site, "the centre", 0.5))]
    if wishes:
        spots += [(wish.name, _middle(site.region(wish))) for wish in wishes]
    else:
        spots.append(("the foreground", _frame_spot(site, "the foreground", _FOREGROUND_SHARE)))
    tilt, swing = shot.lens.tilt_deg, shot.lens.swing_deg
    if not tilt and not swing:
        tilt = -limits.tilt_limit_deg
    choices = []
    for name, spot in spots:
        setting = LensSetting(
            focal_mm=limits.focal_mm,
            f_number=answer.f_number,
            focus=spot,
            tilt_deg=tilt or 0.0,
            swing_deg=swing or 0.0,
        )
        hold(limits, setting)
        field = blur_field(focus_lens(setting), site.camera, site.depth_m)
        summary = summarise_focus(field, answer.coc_mm, site.vantage)
        choices.append(BandChoice(name, setting, summary))
    return tuple(choices)


def _frame_spot(site: Site, name: str, y_share: float) -> FocusSpot:
    """Spot halfway across the planned frame, and so far down."""
    assert site.camera is not None
    column, row = site.camera.width_px // 2, int(site.camera.height_px * y_share)
    x, y, z = map(float, site.seen(name, column, row))
    return FocusSpot(x / z, y / z, z)


def _middle(region: Region) -> FocusSpot:
    """Return the point of a region at its median depth."""
    k = int(np.argsort(region.inverse_depth, kind="stable")[len(region.inverse_depth) // 2])
    x, y = map(float, region.slopes[k])
    return FocusSpot(x, y, 1.0 / float(region.inverse_depth[k]))

"""What `hingeline solve` says to people, a line for each fact."""

import math

from render.optics.band import sharp_inverse_range, wedge_half_width_m
from render.optics.depth_of_field import depth_of_field_m
from render.optics.plane import FocusedLens, focus_lens, sharp_plane
from render.optics.solving.holding import lean_words, reach_words, ring_words
from render.optics.solving.limits import LensLimits, RingReading
from render.optics.solving.movements import mount_turn, total_and_azimuth
from render.optics.solving.selective import ALL_SHARP, SOFT_CIRCLES, Leaning
from render.optics.solving.serving import Option, Serving
from render.optics.solving.solve import Solution
from render.shot.shot import shot_keys
from render.tell.solve_answer import (
    START_VALUES,
    Answer,
    BandChoice,
    part_notes,
    stop_for,
    turned_words,
    whole_words,
)
from render.tell.summary import ground_words
from render.words import (
    blur_words,
    focal_words,
    length_words,
    listed,
    shell_word,
    span_words,
    spell_f_number,
)

__all__ = ["answer_lines", "unmet_words"]

_UNMOVED_DEG = 0.005
_SHIFT_MM = 0.5  # half a mark of a shift scale: what hands can set (common practice, no source)


def answer_lines(answer: Answer, *, command: bool = True) -> list[str]:
    """The answer for people; with the command that shows it, where one is of use."""
    limits = answer.limits
    lines = [f"Frame again: {words}" for words in answer.outside]
    lines += [
        f"Lens: {limits.name}, {focal_words(limits.focal_mm)}, "
        f"{spell_f_number(limits.widest_f_number)} to {spell_f_number(limits.smallest_f_number)}, "
        f"tilts {limits.tilt_limit_deg:g}°; sharp means blur up to {_micrometres(answer.coc_mm)}"
    ]
    if answer.serving:
        lines += _serving_lines(answer, answer.serving)
        if answer.parts:
            lines[-1] += f"; {whole_words(answer)}"
    if answer.leanings:
        lines += _leaning_lines(answer)
    if answer.outside and not answer.bands:
        lines[-1] += f"; but {' and '.join(w.rpartition(': ')[0] for w in answer.outside)}"
    for choice in answer.bands:
        lines += _band_lines(choice)
    if command and answer.source and (answer.serving or answer.leanings):
        lines.append(f"To see it: {_command(answer)}")
    return [*lines, START_VALUES, *_notes(answer)]


def _command(answer: Answer) -> str:
    """The whole command that renders the answer, with all that was said of picture and lens."""
    keys = shot_keys()
    words = ["hingeline", "render", answer.source]
    for name, said in (dict(answer.given) | turned_words(answer)).items():
        key = keys[name]
        for text in (said,) if isinstance(said, str) else said:
            if not key.is_flag:
                words += [key.option, text]
            elif key.read(text):
                words.append(key.option)
    return " ".join(map(shell_word, words))


def _notes(answer: Answer) -> list[str]:
    """What was not said in the first line."""
    notes = (*part_notes(answer), *answer.notes)
    return [f"Note: {note}" for note in notes if note not in answer.outside]


def _serving_lines(answer: Answer, serving: Serving) -> list[str]:
    lines = []
    tilted, straight = serving.tilted, serving.straight
    if tilted is None:
        lines.append(f"Tilted: cannot be done: {serving.refusal}")
    elif _moved(tilted):
        lines += _option_lines(answer, "Tilted", tilted)
    # where it is all sharp wide open, a nearer fit would gain nothing
    short = tilted is not None and tilted.f_number_needed > answer.limits.widest_f_number
    if tilted is not None and short and tilted.exact.shortfall:
        lines.append(f"  No plane holds them all: {tilted.exact.shortfall}")
    lines += _option_lines(answer, "Straight", straight)
    lines.append(_verdict(answer, serving))
    return lines


def _verdict(answer: Answer, serving: Serving) -> str:
    tilted, straight = serving.tilted, serving.straight
    idle = tilted is not None and tilted.through_all.total_tilt_deg > _UNMOVED_DEG
    if tilted is not None and not _moved(tilted):
        tilted = None
    both = [option for option in (tilted, straight) if option]
    if all(option.ring.too_near_mm for option in both):
        return f"So: {_too_near(answer.limits)} it would be {_chosen_words(answer, serving)}"
    if tilted is None or not serving.tilt_pays:
        idly = "tilting gains nothing here; " if idle else ""
        return f"So: {idly}leave the lens straight: {_left_words(answer, straight)}"
    ways = (("tilted", tilted), ("straight", straight))
    left = "; ".join(
        f"{way}, {_left_words(answer, option)}"
        f"{', nearer than its focus ring goes' if option.ring.too_near_mm else ''}"
        for way, option in ways
    )
    gain = _stops(serving.gain_stops)
    if not any(option.enough for option in both):
        return f"So: the lens holds them neither way, though tilting gains {gain}: {left}"
    return f"So: tilting pays, by {gain}: {left}"


def _too_near(limits: LensLimits) -> str:
    """That the focus ring does not turn so far, and what helps."""
    return (
        "the lens cannot focus so near, its ring ends at "
        f"{length_words(limits.closest_focus_m)}: step "
        "back, or add a thin extension ring; with one"
    )


def _chosen_words(answer: Answer, serving: Serving) -> str:
    """The position to take, short: "lens straight, f/2.8"."""
    option = serving.chosen
    lean = lean_words(option.solution.tilt_deg, option.solution.swing_deg)
    return f"{lean}, {_left_words(answer, option)}"


def _stop_words(answer: Answer, option: Option) -> str:
    """The f-number to set, whose it is, or that the lens has none small enough."""
    stop = spell_f_number(option.f_number)
    given = " as given" if _would_do(answer, option) < option.f_number else ""
    return f"{stop}{given}" if option.enough else f"even {stop} is not enough"


def _would_do(answer: Answer, option: Option) -> float:
    """The f-number to set where no narrower one is given, by who asks or by the shot."""
    least = option.f_number_for_hands if option.enough else option.f_number_needed
    would = answer.limits.f_number_at_least(least)
    return would if would < option.f_number * (1 - 1e-9) else option.f_number


def _left_words(answer: Answer, option: Option) -> str:
    """The f-number to set; where the lens has none small enough, what its last stop leaves."""
    if option.enough:
        return f"{_stop_words(answer, option)}{' for slack' if option.narrowed else ''}"
    told = f"{option.worst_blur_mm / answer.coc_mm:.1f}"
    times = "just over" if told == "1.0" else f"{told} times"
    return (
        f"{_stop_words(answer, option)} ({_needs_words(option.f_number_needed, answer.limits)}) "
        f"and leaves {times} what counts as sharp"
    )


def _needs_words(f_number: float, limits: LensLimits) -> str:
    if f_number <= limits.widest_f_number:
        return "wide open will do"
    smallest = limits.smallest_f_number
    if smallest * (1 + 1e-9) < f_number and float(f"{f_number:.2g}") <= smallest:
        return f"needs just over {spell_f_number(smallest)}"
    return f"needs f/{f_number:.2g}" if f_number < 99.5 else f"needs f/{f_number:.0f}"


def _slack_words(option: Option) -> str:
    """That hands have no slack, at the wider stop or at all; or nothing."""
    if option.narrowed:
        return f", but {spell_f_number(option.f_number_bare)} leaves hands no slack"
    return ", with no slack for hands" if option.enough and not option.slack else ""


def _stops(stops: float) -> str:
    """A gain in thirds of a stop, as they are spoken of."""
    thirds = round(3 * stops)
    whole, part = divmod(thirds, 3)
    spoken = ("", "1/3", "2/3")[part]
    number = f"{whole} {spoken}".strip() if whole else spoken
    return f"{number} stop{'' if thirds <= 3 else 's'}"


def _option_lines(answer: Answer, title: str, option: Option) -> list[str]:
    solution = option.solution
    lens = focus_lens(solution.setting(option.f_number))
    lean = f"{lean_words(solution.tilt_deg, solution.swing_deg)}, " if _moved(option) else ""
    would, needs = _would_do(answer, option), _needs_words(option.f_number_needed, answer.limits)
    if answer.limits.widest_f_number < would < option.f_number:
        needs = f"{spell_f_number(would)} would do"
    lines = [
        f"{title}: {lean}focus {_ring_at(option.ring)}, {_stop_words(answer, option)} "
        f"({needs}{_slack_words(option)}; sensor {solution.extension_mm:.2f} mm from the lens "
        "centre)"
    ]
    worst: dict[str, tuple[float, float, float]] = {}
    blurs = solution.blur_mm(option.f_number)
    for target, blur in zip(solution.targets, blurs, strict=True):
        near, far, most = worst.get(target.name, (math.inf, 0.0, 0.0))
        worst[target.name] = (min(near, target.depth_m), max(far, target.depth_m), max(most, blur))
    width = max(map(len, worst))
    for name, (near, far, blur) in worst.items():
        words = _blur_words(answer, blur, solution.extension_mm)
        lines.append(f"  {name:<{width}}  {span_words(near, far)} along the camera's axis: {words}")
    if _moved(option):
        lines += _moved_lines(answer, option)
        plane = sharp_plane(lens)
        lines.append(
            f"  Hinge line {length_words(plane.hinge_distance_m)} from the lens; "
            "plane of sharp focus "
            f"{plane.angle_deg:.1f}° to the sensor; {_wedge_words(answer, option)}"
        )
        lines.append(f"  {_axis_words(lens, answer.coc_mm)}")
    elif solution.axis_inverse_depth > 0:
        near, far = depth_of_field_m(
            answer.limits.focal_mm,
            option.f_number,
            answer.coc_mm,
            1.0 / solution.axis_inverse_depth,
        )
        lines.append(
            f"  Sharp from {length_words(near)} to {length_words(far)} along the camera's axis"
        )
    if missing := reach_words(answer.limits, option.ring):
        lines.append(f"  {missing[:1].upper()}{missing[1:]}")
    if option.airy_mm > answer.coc_mm:
        lines.append(
            f"  Diffraction alone blurs by {_micrometres(option.airy_mm)} at "
            f"{spell_f_number(option.f_number)}: more than counts as sharp"
        )
    return lines


def _axis_words(lens: FocusedLens, coc_mm: float) -> str:
    """What is sharp in the middle of a tilted lens's picture."""
    near, far = (float(inverse) for inverse in sharp_inverse_range(lens, (0.0, 0.0), coc_mm))
    if near <= 0:
        return "Along the camera's axis nothing is sharp"
    to = length_words(1.0 / far) if far > 0 else "infinity"
    return (
        f"In the middle of the picture alone, along the camera's axis, sharp from "
        f"{length_words(1.0 / near)} to {to}"
    )


def _wedge_words(answer: Answer, option: Option) -> str:
    """How far from the plane things stay sharp, at the nearest and the farthest point."""
    solution = option.solution
    lens = focus_lens(solution.setting(option.f_number))
    depths = [t.depth_m for t in solution.targets if math.isfinite(t.depth_m)]
    widths = [
        f"{length_words(wedge_half_width_m(lens, answer.coc_mm, depth))} at {length_words(depth)}"
        for depth in sorted({min(depths), max(depths)})
    ]
    return "sharp to either side of it by " + " and ".join(widths)


def _moved_lines(answer: Answer, option: Option) -> list[str]:
    solution = option.solution
    total, azimuth = total_and_azimuth(solution.tilt_deg, solution.swing_deg)
    lines = []
    turn, way = mount_turn(azimuth)
    marks = answer.limits.marks_per_degree
    scale = f" (mark {total * marks:.4g})" if marks != 1 else ""
    if abs(turn) >= 0.5:
        side = "clockwise" if turn > 0 else "anticlockwise"
        lines.append(
            f"  On a mount that turns: turn the tilt axis {abs(turn):.0f}° {side} seen from behind "
            f"the camera, then tilt the lens {way} {total:.4g}°{scale}"
        )
    else:
        lines.append(f"  Tilt scale: {total:.4g}°{scale}")
    exact = option.exact
    if lean_words(exact.tilt_deg, exact.swing_deg) != lean_words(*_turns(solution)):
        widest = answer.limits.widest_f_number
        cost = 2 * math.log2(
            max(option.f_number_needed, widest) / max(option.exact_f_number_needed, widest)
        )
        costs = f"the marks cost {cost:.1f} stops" if cost >= 0.05 else "the marks cost nothing"
        if cost < 0.05 <= option.circles_lost:
            costs = f"the marks blur more, by {option.circles_lost:.1g} of what counts as sharp"
        lines.append(
            f"  Exactly it would be {lean_words(exact.tilt_deg, exact.swing_deg)}, "
            f"{_needs_words(option.exact_f_number_needed, answer.limits)}: {costs}"
        )
    moved = math.hypot(option.framing_mm, option.framing_aside_mm)
    aside = abs(option.framing_aside_mm) > abs(option.framing_mm)
    side_mm = answer.sensor.width_mm if aside else answer.sensor.height_mm
    share = 100 * moved / side_mm
    if share >= 0.5 and moved >= _SHIFT_MM:
        where = [
            word
            for value, word in (
                (option.framing_mm, "down" if option.framing_mm > 0 else "up"),
                (option.framing_aside_mm, "right" if option.framing_aside_mm > 0 else "left"),
            )
            if abs(value) > 0.05 * moved
        ]
        back = (
            "shift as much the other way"
            if moved <= answer.limits.shift_limit_mm
            else "turn the camera back"
        )
        lines.append(
            f"  {_turning(solution)} moves the view {moved:.1f} mm {' and '.join(where)} "
            f"({share:.0f} % of the frame's {'width' if aside else 'height'}): {back}, then focus"
        )
    return lines


def _turning(solution: Solution) -> str:
    """What is done to the lens, as its movement is called."""
    tilted, swung = (abs(angle) > _UNMOVED_DEG for angle in _turns(solution))
    return "Leaning" if tilted and swung else "Swinging" if swung else "Tilting"


def _leaning_lines(answer: Answer) -> list[str]:
    lines = [
        f"Only this sharp, at {spell_f_number(answer.f_number)}, counted in area (judge and card "
        "ask one spot of each thing, and judge the detail of the rest):"
    ]
    for leaning in answer.leanings:
        ring = _ring_of(answer, leaning)
        lean = lean_words(leaning.tilt_deg, leaning.swing_deg)
        lines.append(
            f"  {lean:<17} {_ring_at(ring):<38} "
            f"{100 * leaning.sharp_share:3.0f} % of it sharp "
            f"(blur {_micrometres(leaning.sharp_blur_mm)}); of {_soft_words(answer)} "
            f"{100 * leaning.soft_share:3.0f} % soft (half of it: "
            f"{_blur_words(answer, leaning.soft_blur_mm, leaning.extension_mm)} or more)"
        )
    best, *others = answer.leanings
    if _ring_of(answer, best).too_near_mm:  # what the ring reaches stands first
        lean = lean_words(best.tilt_deg, best.swing_deg)
        return [*lines, f"So: {_too_near(answer.limits)} {lean} would serve best"]
    near = [
        leaning
        for leaning in others
        if leaning.as_good_as(best) and _ring_of(answer, leaning).reached
    ]
    if failed := unmet_words(answer):
        lean = lean_words(best.tilt_deg, best.swing_deg)
        return [
            *lines,
            f"So: no lean does all that is asked at {spell_f_number(answer.f_number)}: the nearest "
            f"to it is {lean}, but {failed}",
        ]
    if best.way == "straight":
        little = "next to " if any(leaning.rest_mm > best.rest_mm for leaning in others) else ""
        line = f"So: leave the lens straight: leaning it any way gains {little}nothing here"
        if best.sharp_share < ALL_SHARP:
            line += (
                f"; it holds {100 * best.sharp_share:.0f} % of what must be sharp, not all of it: "
                f"{_all_at(answer)}"
            )
        return [*lines, line]
    words = [lean_words(leaning.tilt_deg, leaning.swing_deg) for leaning in (best, *near)]
    nearly = f"; {' and '.join(words[1:])} nearly so" if near else ""
    lines.append(
        f"So: {words[0]} serves best: of the leans that hold {_held_words(answer, best)} it leaves "
        f"least of {_soft_words(answer)} sharp{nearly} "
        f"(soft is {SOFT_CIRCLES:g} times what counts as sharp: our judgement)"
    )
    return lines


def _held_words(answer: Answer, best: Leaning) -> str:
    """What the leans hold that were chosen from."""
    if best.sharp_share >= ALL_SHARP:
        return "what must be sharp"
    held = f"{100 * best.sharp_share:.0f} % of it"
    if all(leaning.sharp_share < ALL_SHARP for leaning in answer.leanings):
        held += f", and none holds it all at {spell_f_number(answer.f_number)}: {_all_at(answer)}"
    return f"most of what must be sharp ({held})"


def _all_at(answer: Answer) -> str:
    """At which stop the best lean holds all that must be sharp, the ring where it is."""
    needed = answer.f_number * answer.leanings[0].most_blur_mm / answer.coc_mm
    return f"{stop_for(answer.limits, needed)} does"


def _ring_of(answer: Answer, leaning: Leaning) -> RingReading:
    at = leaning.extension_mm, leaning.tilt_deg, leaning.swing_deg
    return answer.limits.ring_reading(*at)


def _soft_words(answer: Answer) -> str:
    """What was wished soft: by its names, or all the rest."""
    return listed(answer.softs) if answer.softs else "the rest"


def unmet_words(answer: Answer) -> str:
    """What of "only this sharp" even the best position leaves undone, by half of it; or nothing."""
    if not answer.leanings:
        return ""
    best, failed = answer.leanings[0], []
    if best.sharp_blur_mm > answer.coc_mm:
        failed.append(
            f"not all that is wished sharp is so (blur {_micrometres(best.sharp_blur_mm)}, sharp "
            f"is up to {_micrometres(answer.coc_mm)})"
        )
    if best.soft_blur_mm < SOFT_CIRCLES * answer.coc_mm:
        failed.append(
            f"{_soft_words(answer) if answer.softs else 'half of the rest'} "
            f"{'do' if len(answer.softs) > 1 else 'does'} not go soft (blur "
            f"{_micrometres(best.soft_blur_mm)}, soft is from "
            f"{_micrometres(SOFT_CIRCLES * answer.coc_mm)})"
        )
    return " and ".join(failed)


def _band_lines(choice: BandChoice) -> list[str]:
    setting, summary = choice.setting, choice.summary
    column = summary.columns[1]
    run, ground = column.longest, column.ground
    place = "nothing down the middle of the frame is sharp"
    height = summary.rows[-1].row + 1
    if run:
        place = (
            f"down the middle it takes {100 * run.first_px / height:.0f} to "
            f"{100 * run.last_px / height:.0f} % of the height"
        )
    if ground:
        place += f", {ground_words(ground, height)}"
    rows = ", ".join(f"{row.name} {blur_words(row.diameter_percent)}" for row in summary.rows)
    return [
        f"Band on {choice.on}: {lean_words(setting.tilt_deg, setting.swing_deg)}, "
        f"{spell_f_number(setting.f_number)}: {place}; {summary.sharp_percent:.0f} % of the frame "
        "is sharp",
        f"  Blur: {rows} of the height",
    ]


def _ring_at(ring: RingReading) -> str:
    return f"ring {'' if ring.beyond_infinity_mm else 'at '}{ring_words(ring)}"


def _turns(solution: Solution) -> tuple[float, float]:
    return solution.tilt_deg, solution.swing_deg


def _moved(option: Option) -> bool:
    return option.solution.total_tilt_deg > _UNMOVED_DEG


def _blur_words(answer: Answer, blur_mm: float, extension_mm: float) -> str:
    if blur_mm < 0.0005:
        return "no blur"
    share = blur_words(answer.percent(blur_mm, extension_mm))
    return f"blur {share} of the height = {_micrometres(blur_mm)}"


def _micrometres(length_mm: float) -> str:
    return f"{1000 * length_mm:.0f} µm"

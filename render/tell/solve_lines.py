"""What `hingeline solve` says to people, a line for each fact."""

import math

from render.optics.band import wedge_half_width_m
from render.optics.depth_of_field import depth_of_field_m
from render.optics.plane import focus_lens, sharp_plane
from render.optics.solving.limits import LensLimits, RingReading
from render.optics.solving.movements import total_and_azimuth
from render.optics.solving.selective import SOFT_CIRCLES
from render.optics.solving.serving import Option, Serving
from render.tell.solve_answer import START_VALUES, Answer, BandChoice, chosen_words
from render.words import metres, spell_f_number, swing_words, tilt_words

__all__ = ["answer_lines"]

#: Ways to lean with this share of the best one's marks or more are named beside it.
_NEARLY = 0.95


def answer_lines(answer: Answer) -> list[str]:
    """The answer for people."""
    limits = answer.limits
    lines = [
        f"Lens: {limits.name}, {limits.focal_mm:g} mm, {spell_f_number(limits.widest_f_number)} to "
        f"{spell_f_number(limits.smallest_f_number)}, tilts {limits.tilt_limit_deg:g}°; sharp "
        f"means blur up to {_micrometres(answer.coc_mm)}"
    ]
    if answer.serving:
        lines += _serving_lines(answer, answer.serving)
    if answer.leanings:
        lines += _leaning_lines(answer)
    for choice in answer.bands:
        lines += _band_lines(choice)
    if answer.source and (answer.serving or answer.leanings):
        words = " ".join(
            f"--{name} '{text}'" if " " in text else f"--{name} {text}"
            for name, text in chosen_words(answer).items()
        )
        lines.append(f"To see it: hingeline render, with what was said of the picture, {words}")
    return [*lines, START_VALUES, *(f"Note: {note}" for note in answer.notes)]


def _serving_lines(answer: Answer, serving: Serving) -> list[str]:
    lines = []
    tilted, straight = serving.tilted, serving.straight
    if tilted is None:
        lines.append(f"Tilted: cannot be done: {serving.refusal}")
    else:
        lines += _option_lines(answer, "Tilted", tilted)
        if tilted.solution.shortfall:
            lines.append(f"  No plane holds them all: {tilted.solution.shortfall}")
    lines += _option_lines(answer, "Straight", straight)
    lines.append(_verdict(serving))
    return lines


def _verdict(serving: Serving) -> str:
    tilted, straight = serving.tilted, serving.straight
    if tilted is None:
        return f"So: leave the lens straight: {_stop_words(straight)}"
    if _moved(tilted) and serving.tilt_pays:
        return f"So: tilting pays: tilted, {_stop_words(tilted)}; straight, {_stop_words(straight)}"
    return f"So: tilting gains nothing here; leave the lens straight: {_stop_words(straight)}"


def _stop_words(option: Option) -> str:
    """The f-number to set, or that the lens has none small enough."""
    stop = spell_f_number(option.f_number)
    return stop if option.enough else f"even {stop} is not enough"


def _needs_words(f_number: float, limits: LensLimits) -> str:
    if f_number <= limits.widest_f_number:
        return "wide open will do"
    return f"needs f/{f_number:.2g}"


def _option_lines(answer: Answer, title: str, option: Option) -> list[str]:
    solution = option.solution
    lens = focus_lens(solution.setting(option.f_number))
    lean = f"{_lean_words(solution.tilt_deg, solution.swing_deg)}, " if _moved(option) else ""
    lines = [
        f"{title}: {lean}{_ring_words(option.ring)}, {_stop_words(option)} "
        f"({_needs_words(option.f_number_needed, answer.limits)}; sensor "
        f"{solution.extension_mm:.2f} mm from the lens centre)"
    ]
    worst: dict[str, tuple[float, float, float]] = {}
    blurs = solution.blur_mm(option.f_number)
    for target, blur in zip(solution.targets, blurs, strict=True):
        near, far, most = worst.get(target.name, (math.inf, 0.0, 0.0))
        worst[target.name] = (min(near, target.depth_m), max(far, target.depth_m), max(most, blur))
    width = max(map(len, worst))
    for name, (near, far, blur) in worst.items():
        where = metres(near) if near == far else f"{metres(near)} to {metres(far)}"
        words = _blur_words(answer, blur, solution.extension_mm)
        lines.append(f"  {name:<{width}}  at {where}: {words}")
    if _moved(option):
        lines += _moved_lines(answer, option)
        plane = sharp_plane(lens)
        lines.append(
            f"  Hinge line {metres(plane.hinge_distance_m)} from the lens; plane of sharp focus "
            f"{plane.angle_deg:.1f}° to the sensor; {_wedge_words(answer, option)}"
        )
    elif solution.axis_inverse_depth > 0:
        near, far = depth_of_field_m(
            answer.limits.focal_mm,
            option.f_number,
            answer.coc_mm,
            1.0 / solution.axis_inverse_depth,
        )
        lines.append(f"  Sharp from {metres(near)} to {metres(far)}")
    if not option.within_reach:
        lines.append(f"  {_reach_words(option.ring)}")
    if option.airy_mm > answer.coc_mm:
        lines.append(
            f"  Diffraction alone blurs by {_micrometres(option.airy_mm)} at "
            f"{spell_f_number(option.f_number)}: more than counts as sharp"
        )
    return lines


def _wedge_words(answer: Answer, option: Option) -> str:
    """How far from the plane things stay sharp, at the nearest and the farthest point."""
    solution = option.solution
    lens = focus_lens(solution.setting(option.f_number))
    depths = [t.depth_m for t in solution.targets if math.isfinite(t.depth_m)]
    widths = [
        f"{metres(wedge_half_width_m(lens, answer.coc_mm, depth))} at {metres(depth)}"
        for depth in sorted({min(depths), max(depths)})
    ]
    return "sharp to either side of it by " + " and ".join(widths)


def _moved_lines(answer: Answer, option: Option) -> list[str]:
    solution = option.solution
    total, azimuth = total_and_azimuth(solution.tilt_deg, solution.swing_deg)
    lines = []
    turn, way = _mount(azimuth)
    if abs(turn) >= 0.5:
        side = "clockwise" if turn > 0 else "anticlockwise"
        lines.append(
            f"  On a mount that turns: turn the tilt axis {abs(turn):.0f}° {side} seen from behind "
            f"the camera, then tilt the lens {way} {total:.2f}°"
        )
    marks = answer.limits.marks_per_degree
    scale = f" ({total * marks:.1f} marks)" if marks != 1 else ""
    lines.append(
        f"  Tilt scale: {total:.2f}°{scale}; on the nearest mark, {option.mark_deg:g}°, "
        f"{_needs_words(option.f_number_on_mark, answer.limits)}"
    )
    moved = math.hypot(option.framing_mm, option.framing_aside_mm)
    share = 100 * moved / answer.sensor.height_mm
    if share >= 0.5:
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
            f"  Tilting moves the view {moved:.1f} mm {' and '.join(where)} ({share:.0f} % of the "
            f"frame's height): {back}, then focus"
        )
    return lines


def _leaning_lines(answer: Answer) -> list[str]:
    lines = [f"Only this sharp, at {spell_f_number(answer.f_number)}:"]
    for leaning in answer.leanings:
        ring = answer.limits.ring_reading(leaning.extension_mm, leaning.tilt_deg, leaning.swing_deg)
        lines.append(
            f"  {_lean_words(leaning.tilt_deg, leaning.swing_deg):<17} {_ring_words(ring):<22} "
            f"{100 * leaning.sharp_share:3.0f} % of it sharp; of the rest "
            f"{100 * leaning.soft_share:3.0f} % soft (half of it: "
            f"{_blur_words(answer, leaning.soft_blur_mm, leaning.extension_mm)} or more)"
        )
    best, *others = answer.leanings
    near = [leaning for leaning in others if leaning.marks >= _NEARLY * best.marks]
    if best.way == "straight" or any(leaning.way == "straight" for leaning in near):
        lines.append("So: leave the lens straight: leaning it any way gains nothing here")
        return lines
    words = [_lean_words(leaning.tilt_deg, leaning.swing_deg) for leaning in (best, *near)]
    nearly = f"; {' and '.join(words[1:])} nearly so" if near else ""
    lines.append(
        f"So: {words[0]} keeps the most sharp where wanted and the most soft elsewhere{nearly} "
        f"(soft is {SOFT_CIRCLES:g} times what counts as sharp: our judgement)"
    )
    return lines


def _band_lines(choice: BandChoice) -> list[str]:
    setting, summary = choice.setting, choice.summary
    column = summary.columns[1]
    run, ground = column.longest, column.ground
    place = "nothing down the middle of the frame is sharp"
    if run:
        height = summary.rows[-1].row + 1
        place = (
            f"down the middle it takes {100 * run.top_px / height:.0f} to "
            f"{100 * run.bottom_px / height:.0f} % of the height"
        )
    if ground:
        place += f", on level ground {metres(ground.near_m)} to {metres(ground.far_m)} away"
    rows = ", ".join(
        f"{row.name} {row.diameter_px:.3g} px = {row.diameter_percent:.2g} %"
        for row in summary.rows
    )
    return [
        f"Band on {choice.on}: {_lean_words(setting.tilt_deg, setting.swing_deg)}, "
        f"{spell_f_number(setting.f_number)}: {place}; {summary.sharp_percent:.0f} % of the frame "
        "is sharp",
        f"  Blur: {rows} of the height",
    ]


def _moved(option: Option) -> bool:
    return option.solution.total_tilt_deg > 0.005


def _lean_words(tilt_deg: float, swing_deg: float) -> str:
    parts = [
        words(round(value, 2))
        for words, value in ((tilt_words, tilt_deg), (swing_words, swing_deg))
        if abs(value) >= 0.005
    ]
    return ", ".join(parts) or "lens straight"


def _ring_words(ring: RingReading) -> str:
    if ring.beyond_infinity_mm:
        return "focus past infinity"
    if math.isinf(ring.distance_m):
        return "focus at infinity"
    return f"focus ring at {metres(ring.distance_m)}"


def _reach_words(ring: RingReading) -> str:
    if ring.too_near_mm:
        return (
            f"The ring does not reach so near: {ring.too_near_mm:.1f} mm are missing; step back, "
            "or add a thin extension ring"
        )
    return (
        f"The ring would have to turn {ring.beyond_infinity_mm:.2f} mm past infinity, which not "
        "every lens does"
    )


def _mount(azimuth_deg: float) -> tuple[float, str]:
    """How far to turn the axis from upright, and which way to tilt then."""
    down = (azimuth_deg - 90.0 + 180.0) % 360.0 - 180.0
    if abs(down) <= 90:
        return down, "down"
    return (azimuth_deg + 90.0 + 180.0) % 360.0 - 180.0, "up"


def _blur_words(answer: Answer, blur_mm: float, extension_mm: float) -> str:
    if blur_mm < 0.0005:
        return "no blur"
    return f"blur {_size_words(answer, blur_mm, extension_mm)}"


def _size_words(answer: Answer, blur_mm: float, extension_mm: float) -> str:
    percent = f"{answer.percent(blur_mm, extension_mm):.2g} % of the height"
    scale = answer.px_per_mm(extension_mm)
    if scale is None:
        return f"{percent} = {_micrometres(blur_mm)}"
    return f"{percent} = {blur_mm * scale:.2g} px"


def _micrometres(length_mm: float) -> str:
    return f"{1000 * length_mm:.0f} µm"

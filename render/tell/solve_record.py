"""What `hingeline solve` says to programs: the same answer as plain JSON."""

from render.optics.plane import focus_lens, sharp_plane
from render.optics.solving.selective import Leaning
from render.optics.solving.serving import Option
from render.tell.records.commands import BandChoiceRecord, LeaningRecord, OptionRecord, SolveRecord
from render.tell.records.plain import plain
from render.tell.solve_answer import START_VALUES, Answer, BandChoice, part_notes, turned_words

__all__ = ["answer_record"]


def answer_record(answer: Answer) -> SolveRecord:
    """The same answer for a program; infinity and "there is none" are null."""
    serving = answer.serving
    record: SolveRecord = {
        "lens": {
            "name": answer.limits.name,
            "focal_mm": answer.limits.focal_mm,
            "widest_f_number": answer.limits.widest_f_number,
            "smallest_f_number": answer.limits.smallest_f_number,
            "tilt_limit_deg": answer.limits.tilt_limit_deg,
        },
        "circle_of_confusion_mm": answer.coc_mm,
        "tilted": _option_record(answer, serving.tilted) if serving and serving.tilted else None,
        "straight": _option_record(answer, serving.straight) if serving else None,
        "tilt_pays": serving.tilt_pays if serving else None,
        "gain_stops": serving.gain_stops if serving else None,
        "refusal": serving.refusal if serving else "",
        "only_this_sharp": [_leaning_record(answer, leaning) for leaning in answer.leanings],
        "bands": [_band_record(choice) for choice in answer.bands],
        "shot": turned_words(answer),
        "notes": [*part_notes(answer), *answer.notes, START_VALUES],
    }
    return plain(record)


def _option_record(answer: Answer, option: Option) -> OptionRecord:
    solution = option.solution
    plane = sharp_plane(focus_lens(solution.setting(option.f_number)))
    blurs = solution.blur_mm(option.f_number)
    return {
        "tilt_deg": solution.tilt_deg,
        "swing_deg": solution.swing_deg,
        "total_tilt_deg": solution.total_tilt_deg,
        "extension_mm": solution.extension_mm,
        "focus_ring_m": option.ring.distance_m,
        "focus_ring_turn_deg": option.ring.turn_deg,
        "past_infinity_mm": option.ring.beyond_infinity_mm,
        "too_near_mm": option.ring.too_near_mm,
        "exact": {
            "tilt_deg": option.exact.tilt_deg,
            "swing_deg": option.exact.swing_deg,
            "extension_mm": option.exact.extension_mm,
            "through_every_point": option.exact.exact,
            "f_number_needed": option.exact_f_number_needed,
        },
        "shortfall": option.exact.shortfall,
        "f_number_needed": option.f_number_needed,
        "f_number_for_hands": option.f_number_for_hands,
        "f_number": option.f_number,
        "enough": option.enough,
        "worst_blur_mm": option.worst_blur_mm,
        "view_moves_down_mm": option.framing_mm,
        "view_moves_right_mm": option.framing_aside_mm,
        "diffraction_mm": option.airy_mm,
        "hinge_distance_m": plane.hinge_distance_m,
        "plane_angle_deg": plane.angle_deg,
        "points": [
            {
                "name": target.name,
                "depth_m": target.depth_m,
                "blur_mm": blur,
                "blur_px": _times(blur, answer.px_per_mm(solution.extension_mm)),
                "blur_percent": answer.percent(blur, solution.extension_mm),
                "side": "near" if d > 0 else "far",
            }
            for target, blur, d in zip(solution.targets, blurs, solution.defocus, strict=True)
        ],
    }


def _leaning_record(answer: Answer, leaning: Leaning) -> LeaningRecord:
    ring = answer.limits.ring_reading(leaning.extension_mm, leaning.tilt_deg, leaning.swing_deg)
    return {
        "way": leaning.way,
        "tilt_deg": leaning.tilt_deg,
        "swing_deg": leaning.swing_deg,
        "extension_mm": leaning.extension_mm,
        "focus_ring_m": ring.distance_m,
        "f_number": answer.f_number,
        "sharp_percent": 100 * leaning.sharp_share,
        "sharp_blur_mm": leaning.sharp_blur_mm,
        "soft_percent": 100 * leaning.soft_share,
        "soft_blur_mm": leaning.soft_blur_mm,
        "soft_blur_px": _times(leaning.soft_blur_mm, answer.px_per_mm(leaning.extension_mm)),
        "marks": leaning.marks,
    }


def _band_record(choice: BandChoice) -> BandChoiceRecord:
    column = choice.summary.columns[1]
    run, ground = column.longest, column.ground
    height_px = choice.summary.rows[-1].row + 1
    near, far = ground.edges_in(height_px) if ground else (None, None)
    return {
        "on": choice.on,
        "tilt_deg": choice.setting.tilt_deg,
        "swing_deg": choice.setting.swing_deg,
        "f_number": choice.setting.f_number,
        "top_px": run.first_px if run else None,
        "bottom_px": run.last_px if run else None,
        "ground_near_m": near,
        "ground_far_m": far,
        "ground_outside": (ground.outside(height_px) or None) if ground else None,
        "ground_hidden": ground.hidden if ground else None,
        "sharp_percent": choice.summary.sharp_percent,
        "blur_px": {row.name: row.diameter_px for row in choice.summary.rows},
        "blur_percent": {row.name: row.diameter_percent for row in choice.summary.rows},
    }


def _times(value: float, factor: float | None) -> float | None:
    return None if factor is None else value * factor

"""Notes of the trade: common practice without a source, shown beside the verdict, never scored."""

import math
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from render.judge.case import Case, seen_band
from render.judge.measures import Measures
from render.judge.score import Word
from render.judge.verdict import Verdict
from render.judge.verdict_words import apparent_words
from render.judge.viewpoint import height_above_ground, is_bare_ground, looks_sharp, stands
from render.judge.weights import RULES
from render.optics.camera import Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.limits import usual_limits
from render.words import length_words, percent

__all__ = ["Note", "frame_width_m", "trade_notes", "uprights"]

PRACTICE = "common practice, no source"

_CAR_M = 4.5  # common practice
_COUNTABLE = 12  # nobody counts further
_ON_THE_GROUND_M, _FOOT_REACH = 0.05, 0.06  # a thing's foot: above this, within this of it
_SUBJECT_DEPTH = 0.03  # a subject is this deep, as a share of its distance, from cell to cell
_NEAR_SPOT = 0.06  # the subject may stand this far from the focus spot, in picture heights
_FULL_FRAME_DIAGONAL_MM, _LOOKED_AT_MM = 43.27, 50.0
_SEEN_ALIKE = 0.25  # ln of the factor below which the usual distance is the picture's own
_UPRIGHT_DEG = 1.0  # lean of uprights at the frame's edge that is not yet seen


@dataclass(frozen=True, slots=True)
class Note:
    """One note.

    Attributes
    ----------
    about : str
        "place", "table", "band", "subject", "rest", "uprights", "viewing" or "viewpoint".
    text : str
    source : str
        Where the rule comes from.
    """

    about: str
    text: str
    source: str = PRACTICE


def trade_notes(case: Case, verdict: Verdict, *, lens_helps: bool = False) -> tuple[Note, ...]:
    """Gather the notes for a verdict; `lens_helps` if the lens alone is seen to raise it."""
    notes = [*_sense_of_place(case, verdict), *_table_top(case, verdict), *_band(case, verdict)]
    if case.vantage is not None:
        if not is_bare_ground(case.samples, case.vantage):
            notes += _subject(case, case.vantage, verdict)
        notes.append(uprights(case, case.vantage, verdict.setting))
    if verdict.reads_as is not None:
        notes += _viewing(case, verdict.setting)
    if verdict.marks.weakest == "viewpoint" and verdict.word is not Word.READS:
        way = "look steeper, from higher or nearer, and keep the horizon out"
        mends = "" if lens_helps else ", and no aperture or tilt mends it"
        costs = f"the viewpoint costs most here{mends}"
        notes.append(Note("viewpoint", f"{costs}: {way}"))
    return tuple(notes)


def frame_width_m(case: Case, measures: Measures) -> float:
    """How wide the frame is where its sharp band lies, m; ``inf`` in the sky."""
    camera, band = case.samples.camera, measures.band
    depth = case.samples.depth_towards(band.centre_x, band.centre_y)
    if math.isinf(depth):
        depth = measures.focus_m
    return camera.width_px / camera.focal_px * depth


def _sense_of_place(case: Case, verdict: Verdict) -> list[Note]:
    width = frame_width_m(case, verdict.measures)
    if math.isinf(width):  # the band lies in the sky: nothing there has a width
        return []
    text = f"the frame is {length_words(width)} wide at the band{_cars(width)}"
    return [Note("place", f"{text}: wide enough to show where this is?")]


def _cars(width_m: float) -> str:
    cars = round(width_m / _CAR_M)
    return f" ({cars} lengths of a car)" if cars > 1 else ""


def _table_top(case: Case, verdict: Verdict) -> list[Note]:
    """How the model would stand before the viewer; it repeats the distance, so it is no part."""
    if case.vantage is None or verdict.reads_as is None or math.isinf(verdict.apparent_m):
        return []
    eye_m = case.stand_m / verdict.reads_as.denominator
    near, eye = (apparent_words(part) for part in (verdict.apparent_m, eye_m))
    text = f"as if looked at from {near}, the eye {eye} above the board"
    return [Note("table", text, "follows from the distance and the scale")]


def _band(case: Case, verdict: Verdict) -> list[Note]:
    """The sharp band on the ground, down the middle of the picture."""
    if case.vantage is None:
        return []
    camera = case.samples.camera
    ground = seen_band(case, verdict.setting, verdict.coc_mm)
    if ground is None or not (math.isfinite(ground.near_m) and 0 < ground.near_m < ground.far_m):
        return []
    near, far = ground.edges_in(camera.height_px)
    if where := ground.outside(camera.height_px):
        text = f"down the middle the band meets the ground {where} the frame"
    elif ground.hidden:
        text = "down the middle something stands before the band where it meets the ground"
    elif math.isnan(near) and math.isnan(far):
        text = "along the ground the band fills the frame from its lower edge to its upper"
    else:
        begin = "the frame's lower edge" if math.isnan(near) else length_words(near)
        end = "the frame's upper edge" if math.isnan(far) else length_words(far)
        text = f"along the ground the band runs from {begin} to "
        text += "the horizon" if math.isinf(far) else end
        if math.isfinite(far - near):
            text += f", {length_words(far - near)} deep"
    return [Note("band", text, f"by a circle of confusion of {1000 * verdict.coc_mm:.0f} µm")]


def _subject(case: Case, vantage: Vantage, verdict: Verdict) -> list[Note]:
    """The thing at the focus spot, and what else stands in the sharp band."""
    samples = case.samples
    above = height_above_ground(samples, vantage)
    standing = stands(samples, vantage).reshape(samples.shape)
    lens = focus_lens(verdict.setting)
    sharp = looks_sharp(samples, lens, verdict.just_seen).reshape(samples.shape)
    named, count = scipy.ndimage.label(
        _without_jumps(standing, samples.inverse.reshape(samples.shape))
    )
    labels = _down_to_the_foot(np.asarray(named, np.intp), above.reshape(samples.shape))
    notes = []
    subject = _subject_cells(case, labels, verdict.setting)
    if subject is not None:
        notes.append(_subject_note(subject, verdict.measures))
    smallest = RULES.telltale_least_area * labels.size
    in_band = scipy.ndimage.sum_labels(sharp, labels, np.arange(1, count + 1))
    resting = int(np.sum(np.asarray(in_band) >= smallest))
    text = {
        0: "nothing stands in the sharp band for the eye to rest on: lay it on one thing",
        1: "one thing stands in the sharp band for the eye to rest on",
    }.get(resting, f"{_several(resting)} stand in the sharp band: is one of them the subject?")
    return [*notes, Note("rest", text)]


def _several(count: int) -> str:
    return f"{count} things" if count <= _COUNTABLE else f"more than {_COUNTABLE} things"


def _down_to_the_foot(labels: NDArray[np.intp], above_m: NDArray[np.float64]) -> NDArray[np.intp]:
    """Give each thing the cells between it and the ground."""
    reach = max(1, round(_FOOT_REACH * labels.shape[0]))
    lower = scipy.ndimage.maximum_filter1d(labels, 2 * reach + 1, axis=0, origin=reach)
    foot = (labels == 0) & (above_m > _ON_THE_GROUND_M)
    return np.where(foot, lower, labels)


def _without_jumps(standing: NDArray[np.bool_], inverse: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Cut things apart where one stands before another."""
    cut = standing.copy()
    for axis in (0, 1):
        near = np.maximum(inverse, np.roll(inverse, -1, axis))
        jump = np.abs(np.diff(inverse, axis=axis, append=inverse.take([-1], axis))) > (
            _SUBJECT_DEPTH * near
        )
        cut &= ~jump
    return cut


def _subject_cells(
    case: Case, labels: NDArray[np.intp], setting: LensSetting
) -> NDArray[np.bool_] | None:
    """Cells of the standing thing at or beside the focus spot."""
    if not isinstance(setting.focus, FocusSpot):
        return None
    camera, step = case.samples.camera, case.samples.step_px
    x, y = camera.positions((setting.focus.slope_x, setting.focus.slope_y)) / step
    reach = _NEAR_SPOT * labels.shape[0]
    rows, columns = np.nonzero(labels)
    off = np.hypot(rows + 0.5 - y, columns + 0.5 - x)
    if off.size == 0 or off.min() > reach:
        return None
    nearest = int(np.argmin(off))
    return np.asarray(labels == labels[rows[nearest], columns[nearest]])


def _subject_note(subject: NDArray[np.bool_], measures: Measures) -> Note:
    rows = np.flatnonzero(subject.any(axis=1))
    height = (rows[-1] - rows[0] + 1) / subject.shape[0]
    text = (
        f"the thing at the focus spot takes {percent(subject.mean())} of the frame and "
        f"{percent(height)} of its height"
    )
    bands = height / measures.band.height_fraction if measures.band.height_fraction > 0 else 0.0
    if bands > RULES.subject_band_heights:
        text += (
            f": {bands:.1f} times the sharp band, so its own top or foot goes soft and tells "
            "the trick; a broader band or a lower subject helps"
        )
    return Note("subject", text)


def uprights(case: Case, vantage: Vantage, setting: LensSetting, *, as_model: bool = True) -> Note:
    """How uprights lean, and the shift of a level sensor that keeps them parallel.

    They meet at ``1/tan p`` below the axis.

    Parameters
    ----------
    as_model : bool
        Whether a model is asked for, which may converge.
    """
    camera = case.samples.camera
    pitch = math.radians(vantage.pitch_deg)
    if abs(vantage.pitch_deg) < 0.05 and abs(vantage.roll_deg) < 0.05:
        return Note("uprights", "the sensor is level, so uprights stay upright")
    corner_x = camera.width_px / 2 / camera.focal_px
    top = -camera.centre_y_px / camera.focal_px
    lean = math.degrees(
        math.atan2(corner_x * math.sin(pitch), math.cos(pitch) - top * math.sin(pitch))
    )
    text = f"uprights lean by up to {abs(lean):.1f}° at the top corners"
    if abs(lean) <= _UPRIGHT_DEG:
        return Note("uprights", f"{text}, hardly seen")
    shift = abs(focus_lens(setting).extension_mm * math.tan(pitch))
    how = f"a level sensor with {shift:.0f} mm of {'fall' if pitch > 0 else 'rise'}"
    if shift > usual_limits(setting.focal_mm).shift_limit_mm:
        how += ", more than such lenses shift,"
    choice = " (a model seen from above converges too: choose)" if as_model and pitch > 0 else ""
    return Note("uprights", f"{text}; {how} in place of the pitch would keep them upright{choice}")


def _viewing(case: Case, setting: LensSetting) -> list[Note]:
    """People view pictures as if taken with about 50 mm on full frame."""
    sensor = case.samples.camera.sensor(setting.focal_mm)
    factor = setting.focal_mm * _FULL_FRAME_DIAGONAL_MM / sensor.diagonal_mm / _LOOKED_AT_MM
    if abs(math.log(factor)) < _SEEN_ALIKE:
        return []
    text = (
        "seen from the usual distance instead of the picture's own, the scale reads "
        f"{factor:.2g} times the number given"
    )
    source = "after Cooper, Piazza & Banks, J. Vision 12(5):8, 2012 (abstract)"
    return [Note("viewing", text, source)]

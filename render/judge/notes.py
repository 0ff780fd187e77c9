"""Notes of the trade: common practice without a source, shown beside the verdict, never scored."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from render.judge.advice import LensLimits
from render.judge.case import Case
from render.judge.measures import Measures
from render.judge.verdict import Verdict
from render.judge.weights import RULES
from render.optics.band import level_ground_per_m
from render.optics.camera import Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.words import metres

__all__ = ["Note", "trade_notes"]

PRACTICE = "common practice, no source"

_STANDING_M = 0.3  # higher above the ground than this is a thing, not the ground
_SUBJECT_DEPTH = 0.05  # a subject is this deep, as a share of its distance, from cell to cell
_NEAR_SPOT = 0.06  # the subject may stand this far from the focus spot, in picture heights
_FULL_FRAME_DIAGONAL_MM, _LOOKED_AT_MM = 43.27, 50.0
_UPRIGHT_DEG = 1.0  # lean of uprights at the frame's edge that is not yet seen


@dataclass(frozen=True, slots=True)
class Note:
    """One note.

    Attributes
    ----------
    about : str
        "place", "subject", "rest", "uprights", "viewing" or "viewpoint".
    text : str
    source : str
        Where the rule comes from.
    """

    about: str
    text: str
    source: str = PRACTICE


def trade_notes(case: Case, verdict: Verdict) -> tuple[Note, ...]:
    """Gather the notes for a verdict."""
    notes = [_sense_of_place(case, verdict)]
    if case.vantage is not None:
        notes += _subject(case, case.vantage, verdict)
        notes.append(_uprights(case, case.vantage, verdict.setting))
    notes.append(_viewing(case, verdict.setting))
    if verdict.marks.weakest == "viewpoint":
        notes.append(
            Note(
                "viewpoint",
                "the viewpoint costs most here, and no aperture or tilt mends it: look steeper, "
                "from higher or nearer, and keep the horizon out",
            )
        )
    return tuple(notes)


def _sense_of_place(case: Case, verdict: Verdict) -> Note:
    camera, band = case.samples.camera, verdict.measures.band
    depth = case.samples.depth_towards(band.centre_x, band.centre_y)
    if math.isinf(depth):
        depth = verdict.measures.focus_m
    width = camera.width_px / camera.focal_px * depth
    return Note(
        "place",
        f"the frame is {metres(width)} wide at the band ({width / 4.5:.0f} lengths of a car): "
        "wide enough to show where this is?",
    )


def _subject(case: Case, vantage: Vantage, verdict: Verdict) -> list[Note]:
    """The thing at the focus spot, and what else stands in the sharp band."""
    samples = case.samples
    across, down, along = level_ground_per_m(vantage) * vantage.height_m
    lower = samples.slope_x * across + samples.slope_y * down + along
    with np.errstate(divide="ignore", invalid="ignore"):
        above = np.where(samples.seen, vantage.height_m - lower / samples.inverse, 0.0)
    standing = (above > _STANDING_M).reshape(samples.shape)
    sharp = _sharp(case, verdict).reshape(samples.shape)
    named, count = ndimage.label(_without_jumps(standing, samples.inverse.reshape(samples.shape)))
    labels = np.asarray(named, np.intp)
    notes = []
    subject = _subject_cells(case, labels, verdict.setting)
    if subject is not None:
        notes.append(_subject_note(subject, verdict.measures))
    least = RULES.telltale_least_area * labels.size
    in_band = ndimage.sum_labels(sharp, labels, np.arange(1, count + 1))
    resting = int(np.sum(np.asarray(in_band) >= least))
    text = {
        0: "nothing stands in the sharp band for the eye to rest on: lay it on one thing",
        1: "one thing stands in the sharp band for the eye to rest on",
    }.get(resting, f"{resting} things stand in the sharp band: is one of them the subject?")
    return [*notes, Note("rest", text)]


def _sharp(case: Case, verdict: Verdict) -> NDArray[np.bool_]:
    samples, lens = case.samples, focus_lens(verdict.setting)
    slopes = np.stack([samples.slope_x, samples.slope_y], axis=-1)
    off = np.abs(samples.inverse - lens.sharp_inverse_depth(slopes))
    return np.asarray(2.0 * lens.aperture_radius_mm / 1000.0 * off <= _coc_rad(case, verdict))


def _coc_rad(case: Case, verdict: Verdict) -> float:
    return verdict.measures.coc_fraction * case.samples.slope_height


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
        f"the thing at the focus spot takes {100 * subject.mean():.2g} % of the picture and "
        f"{100 * height:.2g} % of its height"
    )
    bands = height / measures.band.height_fraction if measures.band.height_fraction > 0 else 0.0
    if bands > RULES.subject_band_heights:
        text += (
            f": {bands:.1f} times the sharp band, so its own top or foot goes soft and tells "
            "the trick; a broader band or a lower subject helps"
        )
    return Note("subject", text)


def _uprights(case: Case, vantage: Vantage, setting: LensSetting) -> Note:
    """Uprights meet at ``1/tan p`` below the axis; a level sensor keeps them parallel."""
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
    if shift > LensLimits().most_shift_mm:
        how += ", more than such lenses shift,"
    return Note(
        "uprights",
        f"{text}; {how} in place of the pitch would keep them upright (a model seen from above "
        "converges too: choose)",
    )


def _viewing(case: Case, setting: LensSetting) -> Note:
    """People view pictures as if taken with about 50 mm on full frame."""
    sensor = case.samples.camera.sensor(setting.focal_mm)
    factor = setting.focal_mm * _FULL_FRAME_DIAGONAL_MM / sensor.diagonal_mm / _LOOKED_AT_MM
    return Note(
        "viewing",
        "seen from the usual distance instead of the picture's own, the scale reads "
        f"{factor:.2g} times the number given",
        "after Cooper, Piazza & Banks, J. Vision 12(5):8, 2012 (abstract)",
    )

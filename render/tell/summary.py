"""What a render says: the same facts as lines for people and as a record for programs."""

import math

from render.errors import InputError
from render.load.case import on_its_ground
from render.load.prepared import Prepared
from render.optics.band import GroundBand
from render.optics.blur import BlurField
from render.optics.lens import LensSetting
from render.optics.plane import FocusedLens, focus_lens, sharp_plane
from render.optics.solving.holding import reach_words, ring_of, ring_words
from render.optics.summary import FocusSummary, LineBand, summarise_focus
from render.sheets.drawing.lettering import checked_text, drawable_text
from render.shot.shot import Shot
from render.tell.records.declared import BandRecord, SettingRecord, SummaryRecord
from render.tell.records.plain import plain
from render.words import (
    blur_words,
    focal_words,
    lateral_words,
    length_words,
    movement_words,
    rise_words,
    span_words,
    spell_f_number,
)

__all__ = [
    "check_names",
    "credit_words",
    "dotted",
    "fact_lines",
    "ground_words",
    "lens_words",
    "setting_record",
    "setting_words",
    "summary_lines",
    "summary_of",
    "summary_record",
    "title_of",
]


def summary_of(prepared: Prepared, field: BlurField) -> FocusSummary:
    """Band, blur, hinge and plane of the planned frame."""
    return summarise_focus(field, prepared.coc_mm, on_its_ground(prepared).scene.vantage)


def credit_words(prepared: Prepared) -> str:
    """Whom the scene's data is credited to, as sheets print it: "Map data: © ...", or nothing."""
    return f"Map data: {drawable_text(prepared.credit)}" if prepared.credit else ""


def setting_words(prepared: Prepared) -> str:
    """The setting in one phrase: "45 mm, f/2.8, lens up 8°, rise 6 mm"."""
    return lens_words(prepared.setting)


def undialled_words(prepared: Prepared) -> str:
    """That the focus ring of the named lens does not turn so far, and what helps; else nothing."""
    limits = prepared.limits
    return "" if limits is None else reach_words(limits, ring_of(limits, prepared.setting))


def lens_words(setting: LensSetting) -> str:
    """A lens setting in one phrase, as `setting_words`."""
    parts = [focal_words(setting.focal_mm), spell_f_number(setting.f_number)]
    parts += movement_words(setting.tilt_deg, setting.swing_deg)
    if setting.rise_mm:
        parts.append(rise_words(setting.rise_mm))
    if setting.lateral_mm:
        parts.append(lateral_words(setting.lateral_mm))
    if eye := setting.cats_eye:
        widest = spell_f_number(eye.widest_f_number)
        parts.append(f"cat's-eyes ({100 * eye.light_left:.0f} % left in the corners at {widest})")
    return ", ".join(parts)


def dotted(words: str) -> str:
    """A phrase's parts as sheets set them apart: "45 mm · f/2.8 · lens up 8°"."""
    return words.replace(", ", " · ")


def setting_record(prepared: Prepared) -> SettingRecord:
    """The setting and what hands find on the lens, the same in every command's record."""
    setting, lens = prepared.setting, focus_lens(prepared.setting)
    plane = sharp_plane(lens)
    limits = prepared.limits
    ring = None if limits is None else ring_of(limits, setting)
    record: SettingRecord = {
        "focal_mm": setting.focal_mm,
        "f_number": setting.f_number,
        "tilt_deg": setting.tilt_deg,
        "swing_deg": setting.swing_deg,
        "rise_mm": setting.rise_mm,
        "lateral_mm": setting.lateral_mm,
        "extension_mm": lens.extension_mm,
        "coc_mm": prepared.coc_mm,
        "hinge_distance_m": plane.hinge_distance_m,
        "plane_angle_deg": plane.angle_deg,
        "lens": limits.name if limits else None,
        "focus_ring_m": ring.distance_m if ring else None,
        "focus_ring_words": ring_words(ring) if ring else None,
        "named": [{"name": thing.name, "depth_m": thing.depth_m} for thing in prepared.named],
        "words": setting_words(prepared),
        "from_defaults": dict(prepared.shot.own),
    }
    return plain(record)


def check_names(prepared: Prepared) -> None:
    """Refuse names of things that no font at hand can draw, before they are drawn.

    Raises
    ------
    InputError
        In a sentence with the name.
    """
    for thing in prepared.named:
        checked_text(thing.name, f'the name "{thing.name}"')


def title_of(shot: Shot) -> str:
    """A heading for a page: what the shot's picture or scene is called.

    Raises
    ------
    InputError
        If our letters cannot print its name.
    """
    plain = shot.stem.replace("_", " ").replace("-", " ")
    try:
        return checked_text(plain[:1].upper() + plain[1:], "the name")
    except InputError:
        raise InputError(
            f"the file's name {shot.stem} cannot be printed as a title: give one with --title"
        ) from None


def summary_lines(
    prepared: Prepared, lens: FocusedLens, summary: FocusSummary, *, moment: str = ""
) -> list[str]:
    """The summary for people, a line for each fact; of which moment, where the lens moves."""
    frame = prepared.scene.frame
    size = f"{frame.width} x {frame.height} px of the picture"
    return [
        f"Setting{moment}: {setting_words(prepared)}; {size}",
        f"Depth: {prepared.depth_how}",
        *fact_lines(prepared, lens, summary),
        *(f"Note: {note}" for note in prepared.notes),
        *filter(None, [credit_words(prepared)]),
    ]


def fact_lines(prepared: Prepared, lens: FocusedLens, summary: FocusSummary) -> list[str]:
    """What is sharp, also on the ground, how soft the rest is, and where the hinge line lies."""
    frame = prepared.scene.frame
    lines = [
        *_band_lines(summary, frame.width, frame.height),
        "Blur across: "
        + ", ".join(
            f"{row.name} {blur_words(row.diameter_percent)} of the height" for row in summary.rows
        )
        + f" (sharp: up to {blur_words(100 * summary.coc_px / frame.height)}, "
        f"{1000 * summary.coc_mm:.0f} µm on the sensor)",
        _plane_line(summary),
        *_ring_lines(prepared),
    ]
    lost = 100 * (1 - lens.focal_mm / lens.extension_mm)  # of the width that it sees at infinity
    if abs(lost) >= 1:
        change = f"{abs(lost):.1f} % {'narrower' if lost > 0 else 'wider'}"
        lines.append(f"Framing: kept as taken; on site, focused so, the view is {change}")
    return lines


def summary_record(prepared: Prepared, summary: FocusSummary) -> SummaryRecord:
    """The same facts for a program; infinity and "there is none" are null."""
    frame, plane = prepared.scene.frame, summary.plane
    record: SummaryRecord = {
        "setting": setting_record(prepared),
        "frame_px": [frame.left, frame.top, frame.width, frame.height],
        "sensor_mm": [prepared.sensor.width_mm, prepared.sensor.height_mm],
        "depth": prepared.depth_how,
        "coc_mm": summary.coc_mm,
        "coc_px": summary.coc_px,
        "band": {c.name: _band_record(c, frame.height) for c in summary.columns},
        "band_across": {
            row.name: {"row_px": row.line, "runs": _runs_record(row, "left", "right")}
            for row in summary.across
        },
        "blur": {
            row.name: {"diameter_px": row.diameter_px, "percent_of_height": row.diameter_percent}
            for row in summary.rows
        },
        "sharp_percent": summary.sharp_percent,
        "hinge_distance_m": plane.hinge_distance_m,
        "hinge_m": plane.hinge_m,
        "plane_angle_deg": plane.angle_deg,
        "scheimpflug_distance_mm": plane.scheimpflug_distance_mm,
        "notes": list(prepared.notes),
        "guessed": list(prepared.guesses),
        "credit": prepared.credit or None,
        "map": dict(prepared.map_record) or None,
    }
    return plain(record)


def _ring_lines(prepared: Prepared) -> list[str]:
    """Where the focus ring stands, where the lens is named."""
    if prepared.limits is None:
        return []
    ring = ring_of(prepared.limits, prepared.setting)
    return [f"Focus ring of the {prepared.limits.name}: {ring_words(ring)}"]


def _band_lines(summary: FocusSummary, width_px: int, height_px: int) -> list[str]:
    """Where it is sharp: down three columns, or across three rows where the band stands upright."""
    bands, size_px = summary.columns, height_px
    way, start = "down", "from the top"
    if summary.upright:
        bands, size_px, way, start = summary.across, width_px, "across", "from the left"
    lines = [
        f"Sharp {way} the {band.name}: {_run_words(band, size_px, start)}"
        + (f"; {ground_words(band.ground, height_px)}" if band.ground else "")
        for band in bands
        if band.longest is not None
    ]
    if empty := [band.name for band in bands if band.longest is None]:
        lines.append(f"Sharp {way} the {' and the '.join(empty)}: nothing")
    return lines


def _run_words(band: LineBand, size_px: int, start: str) -> str:
    """The longest sharp stretch of a column or row, and how many more there are."""
    assert band.longest is not None
    first_px, last_px = band.longest.first_px, band.longest.last_px
    depths = span_words(band.longest.nearest_m, band.longest.farthest_m)
    if first_px <= 0 and last_px >= size_px:
        return f"all of it, depth {depths}"
    where = f"{_percent(first_px, size_px)} to {_percent(last_px, size_px)} % {start}"
    others = len(band.runs) - 1
    more = f" and {others} shorter stretch{'' if others == 1 else 'es'}" if others else ""
    return f"{where}{more}; depth {depths}"


def ground_words(ground: GroundBand, height_px: int) -> str:
    """Where the band lies on the ground, as far as the frame shows that."""
    if where := ground.outside(height_px):
        return f"the band meets the ground {where} the frame"
    if ground.hidden:
        return "where it meets the ground something stands before it"
    near, far = ground.edges_in(height_px)
    from_below = math.isnan(near) or near <= 0  # the frame begins within the band
    if from_below and not math.isfinite(far):
        return "all of the ground"
    if from_below:
        return f"from the frame's lower edge to {length_words(far)} along the ground"
    if math.isnan(far):
        return f"from {length_words(near)} along the ground on"
    return f"{span_words(near, far)} along the ground"


def _plane_line(summary: FocusSummary) -> str:
    plane = summary.plane
    if math.isinf(plane.hinge_distance_m):
        return "Plane of sharp focus: parallel to the sensor; without tilt there is no hinge line"
    x, y, _ = plane.hinge_m
    sides = [("below" if y > 0 else "above") if abs(y) >= abs(x) / 10 else ""]
    sides.append(("right" if x > 0 else "left") if abs(x) > abs(y) / 10 else "")
    return (
        (
            f"Plane of sharp focus: {plane.angle_deg:.1f}° to the sensor; hinge line "
            f"{length_words(plane.hinge_distance_m)} "
            f"{' and '.join(s for s in sides if s)} of the lens"
        )
        .replace("above of", "above")
        .replace("below of", "below")
    )


def _percent(place_px: float, size_px: int) -> str:
    return f"{100 * place_px / size_px:.0f}"


def _band_record(column: LineBand, height_px: int) -> BandRecord:
    """As far as the frame shows the ground: what lies outside it is null."""
    ground = column.ground
    near, far = ground.edges_in(height_px) if ground else (None, None)
    return {
        "column_px": column.line,
        "runs": _runs_record(column, "top", "bottom"),
        "ground_near_m": near,
        "ground_sharpest_m": ground.sharpest_in(height_px) if ground else None,
        "ground_far_m": far,
        "ground_outside": (ground.outside(height_px) or None) if ground else None,
        "ground_hidden": ground.hidden if ground else None,
    }


def _runs_record(band: LineBand, first: str, last: str) -> list[dict[str, float]]:
    return [
        {
            f"{first}_px": run.first_px,
            f"{last}_px": run.last_px,
            f"{first}_depth_m": run.first_m,
            f"{last}_depth_m": run.last_m,
            "nearest_m": run.nearest_m,
            "farthest_m": run.farthest_m,
        }
        for run in band.runs
    ]

"""`hingeline card`: the plan for the day, in words, as a record and as small pages."""

import math
from dataclasses import replace
from functools import partial
from pathlib import Path

from render.engine.photograph import photograph
from render.errors import InputError
from render.files.atomic import check_destination
from render.files.formats.metadata.exif import exposed_with
from render.files.painted import check_ending, profiled, write_bytes
from render.files.run import one_run
from render.film.ramps import Ramps, focus_between_words, ramps_of, setting_at
from render.jobs.made import Made, made
from render.load.case import on_its_ground
from render.load.plan import focus_on
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.optics.band import SharpRun
from render.optics.exposure import SUNNY_F_NUMBER
from render.optics.lens import LensSetting
from render.optics.summary import LineBand, column_band, row_band, stands_upright
from render.plan.card import FieldCard, plan_card
from render.plan.exposure import (
    Brightness,
    brightness_from_exposure,
    brightness_from_sky,
    brightness_from_weather,
    brightness_under,
)
from render.plan.focusing import FocusCheck
from render.scene.field import frame_field
from render.scene.resize import resized
from render.sheets.drawing.canvas import Drawing, stand_in_notes
from render.sheets.drawing.lettering import checked_text
from render.sheets.drawing.screen import screen_picture
from render.sheets.drawing.vector import pdf_bytes
from render.sheets.field_card import CardPictures, card_pages
from render.sheets.slice import Kind, slice_scene
from render.shot.shot import Shot, input_files
from render.shot.wishes import DayWishes
from render.tell.card_lines import card_lines
from render.tell.card_record import card_record
from render.tell.judged import judge_prepared, judged_record, to_do_lines
from render.tell.light import brightness_of, light_of, street_lux, subject_name, sun_seen
from render.tell.records.commands import CardRecord
from render.tell.seen import focused_name, sitters_of
from render.tell.stand import stand_of
from render.tell.summary import (
    check_names,
    credit_words,
    setting_record,
    setting_words,
    summary_of,
    title_of,
)
from render.words import movement_words, span_words, with_article

__all__ = ["card"]

_PHOTO_LONG_SIDE_PX = 900
#: Open shade is 4 stops below the sun by the sunny-16 rule, and heavy cloud no more (common
#: practice): a picture exposed for less was taken at another hour than the planned one.
_SHADE_MOST_STOPS = 5.0
_PACED = 0.05  # of a distance: what nobody paces out better (ours)


@one_run()
def card(
    shot: Shot,
    wishes: DayWishes,
    pdf: Path | None = None,
    *,
    overwrite: bool = False,
    progress: Progress,
) -> Made:
    """Plan the day for a shot.

    Parameters
    ----------
    pdf : Path or None
        Also write the card as small pages.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    inputs = input_files(shot)
    if pdf:
        check_ending(pdf, "the card", ".pdf")
        check_destination(pdf, overwrite=overwrite, inputs=inputs)
    title = checked_text(wishes.title, "the title") if wishes.title else ""
    prepared = prepare(shot, progress, for_render=False)
    if pdf:
        check_names(prepared)
    progress("planning", 0.5)
    sunlight = light_of(prepared)
    sun_deg = sunlight.planned.height_deg if sunlight is not None else None
    brightness = _brightness(prepared, wishes.weather, sun_deg)
    judged = judge_prepared(prepared)
    frame = prepared.scene.frame
    ramps = ramps_of(shot.key_frames, partial(focus_on, prepared), prepared.setting)
    name = subject_name(prepared) or focused_name(prepared)
    planned = plan_card(
        judged.case,
        judged.verdict,
        prepared.scene.picture[frame.rows, frame.columns],
        brightness,
        wishes,
        prepared.limits,
        named=prepared.named,
        people=sitters_of(prepared),
        stand=stand_of(prepared),
        sunlight=sunlight,
        sun_seen=sun_seen(prepared),
        light_at=None
        if sun_deg is None
        else partial(_light_at, prepared, wishes.weather, brightness, sun_deg),
        sensor=prepared.sensor,
        focused=with_article(name) if name else "",
        key_frames=shot.key_frames,
        lens_at=partial(setting_at, prepared.setting, ramps),
        between=_between_words(ramps, prepared.setting),
        film_s=shot.film_s,
        as_model=judged.sharpness is None,
        rest_soft=judged.sharpness is None or judged.sharpness.rest_is_soft,
        unseen=prepared.unseen,
    )
    pages: list[Drawing] = []
    if pdf:
        progress("rendering the thumbnail", 0.7)
        heading = title or _name(shot)
        pages = _pages(prepared, planned, heading)
        content = pdf_bytes(pages, title=f"Field card: {heading}")
        write_bytes(pdf, content, overwrite=overwrite, inputs=inputs)
    record: CardRecord = {
        "setting": setting_record(prepared),
        "verdict": judged_record(judged),
        **card_record(planned),
    }
    return made(
        [pdf] if pdf else [],
        (
            f"Setting: {setting_words(prepared)}",
            judged.headline,
            *to_do_lines(judged),
            *card_lines(planned),
            *(f"Note: {note}" for note in prepared.notes),
            *(f"Note: {note}" for note in stand_in_notes(pages)),
            *filter(None, [credit_words(prepared)]),
        ),
        record,
    )


def _between_words(ramps: Ramps, setting: LensSetting) -> str:
    """What becomes of the focus in the film, and which lens the rest of the card is for."""
    words = focus_between_words(ramps, setting)
    lens = ", ".join(movement_words(setting.tilt_deg, setting.swing_deg))
    return f"{words}; all else on this card is for {lens}" if words else ""


def _brightness(prepared: Prepared, weather: str | None, sun_deg: float | None) -> Brightness:
    """The light of the day: as was said, as the scene has it, as the picture was exposed.

    None is brighter than the sun of the planned moment makes it, where that is known.
    """
    scene = prepared.description
    if weather is not None:
        said = brightness_from_weather(weather)
        if sun_deg is None:
            return said
        return brightness_under(said, weather, sun_deg, street_lux(scene, sun_deg))
    if scene is not None:
        return brightness_of(scene, scene.light.sun_height_deg)
    assert prepared.file is not None
    found = exposed_with(prepared.file.kept.exif)
    if sun_deg is not None:
        sky = brightness_from_sky(sun_deg)
        if found is None:
            return sky
        own = brightness_from_exposure(found.f_number, found.shutter_s, found.iso)
        # what saturated in the picture's light saturates in the planned light, exposed for that
        told = sky.ev100 - _SHADE_MOST_STOPS <= own.ev100 <= sky.ev100
        return own if told else replace(sky, picture_ev100=sky.ev100)
    if found is None:
        known = ", ".join(SUNNY_F_NUMBER)
        raise InputError(
            f"{prepared.file.path.name} does not say how it was exposed, so the light is unknown: "
            f"give --weather, one of {known}; or --at, --when and --heading, and the sun tells"
        )
    return brightness_from_exposure(found.f_number, found.shutter_s, found.iso)


def _light_at(
    prepared: Prepared,
    weather: str | None,
    planned: Brightness,
    planned_deg: float,
    sun_deg: float,
) -> Brightness:
    """How bright it is with the sun at another height than planned."""
    if weather is not None:
        return _brightness(prepared, weather, sun_deg)
    if prepared.description is not None:
        return brightness_of(prepared.description, sun_deg)
    sky = brightness_from_sky(sun_deg)
    gained = sky.ev100 - brightness_from_sky(planned_deg).ev100
    return replace(sky, ev100=planned.ev100 + gained)


def _name(shot: Shot) -> str:
    try:
        return title_of(shot)
    except InputError:
        return "Field card"


def _pages(prepared: Prepared, planned: FieldCard, title: str) -> list[Drawing]:
    """The card as small pages, with a thumbnail and the side section."""
    prepared = on_its_ground(prepared)
    scene = resized(prepared.scene, _PHOTO_LONG_SIDE_PX)
    photo = profiled(screen_picture(photograph(scene, prepared.setting).light, prepared.encoding))
    setting = prepared.setting
    kind: Kind = "plan" if setting.swing_deg and not setting.tilt_deg else "side"
    through = prepared.named[0] if prepared.named else None
    section = slice_scene(prepared.scene, setting, prepared.coc_mm, kind, through)
    sharp = "" if prepared.named or planned.blind else _sharp_words(prepared, planned.checks[0])
    pictures = CardPictures(photo, section, sharp)
    return card_pages(planned, pictures, title, credit_words(prepared))


def _sharp_words(prepared: Prepared, spot: FocusCheck) -> str:
    """Where it is sharp along the line through the spot in focus, and in the thirds beside it.

    Along the ground if the spot's distance is told so too, so that both can be compared, else in
    depth.
    """
    field = frame_field(prepared.scene, prepared.setting)
    summary = summary_of(prepared, field)
    upright = stands_upright(field)
    if upright:
        row, along = min(int(spot.y_px), field.camera.height_px - 1), spot.x_px
        band = row_band(field, "", row, prepared.coc_mm)
    else:
        column, along = min(int(spot.x_px), field.camera.width_px - 1), spot.y_px
        vantage = on_its_ground(prepared).scene.vantage if spot.over_ground_m is not None else None
        band = column_band(field, "", column, prepared.coc_mm, vantage)
    on_ground = _shows_ground(band)
    through = (run for run in band.runs if run.first_px <= along <= run.last_px)
    span = _span(band, next(through, band.longest), on_ground)
    if span is None:
        return ""
    measure = "ground" if on_ground else "axis"
    lines = summary.across if upright else summary.columns
    beside = [(line.name, _span(line, line.longest, on_ground)) for line in (lines[0], lines[-1])]
    differs = any(other and _differs(other, span) for _, other in beside)
    aside = [f"{name} {span_words(*other)}" for name, other in beside if other and differs]
    return "; ".join((f"{span_words(*span)} along the {measure}", *aside))


def _shows_ground(band: LineBand) -> bool:
    return band.ground is not None and not math.isnan(band.ground.near_m)


def _span(band: LineBand, run: SharpRun | None, on_ground: bool) -> tuple[float, float] | None:
    """From where to where a line is sharp, along the ground or in depth, m."""
    if on_ground:
        ground = band.ground
        return (ground.near_m, ground.far_m) if ground is not None and _shows_ground(band) else None
    return None if run is None else (run.nearest_m, run.farthest_m)


def _differs(span: tuple[float, float], other: tuple[float, float]) -> bool:
    """Whether somebody who paces it out would find it elsewhere."""
    return not all(math.isclose(a, b, rel_tol=_PACED) for a, b in zip(span, other, strict=True))

"""The depth of a picture from a survey of the place."""

from dataclasses import replace
from pathlib import Path

from render.depth.depthmap import DepthMap
from render.depth.survey import View, eye_height, seen_from, view_from_pairs
from render.errors import InputError
from render.files.depthkeys import DepthKeys
from render.files.shots import VantageKeys
from render.files.surveys import read_survey
from render.jobs.vantages import pitch_of
from render.optics.camera import Camera

__all__ = ["from_survey"]

_EYE_M = 1.6  # of a person standing there; common practice, no source


def from_survey(keys: DepthKeys, held: VantageKeys, camera: Camera) -> DepthMap:
    """Depth of the survey that a shot names, seen from where it says.

    Raises
    ------
    InputError
        If the survey cannot be read, or place and direction are not given.
    """
    if keys.survey_from is None:
        raise InputError("a survey needs the place of the lens: --survey-from EAST,NORTH,ELEVATION")
    unit = keys.survey_unit_m or 1.0
    field = read_survey(Path(str(keys.survey)), unit)
    east, north, *up = (value * unit for value in keys.survey_from)
    eye = up[0] if up else eye_height(field, east, north, _EYE_M)
    if keys.survey_pairs:
        size = camera.width_px, camera.height_px
        pairs = []
        for wish in keys.survey_pairs:
            away_east, away_north, high = (value * unit for value in wish.place)
            pairs.append((wish.spot.at(*size), (away_east, away_north, high)))
        view = view_from_pairs(camera, pairs, east, north, eye)
        found = seen_from(field, camera, view)
        return _told(found, view)
    if keys.survey_heading_deg is None:
        raise InputError(
            "a survey needs the direction of the camera: --survey-heading with --pitch or "
            "--horizon, or three --survey-pair"
        )
    pitch = pitch_of(held, camera)
    if pitch is None:
        raise InputError("a survey needs the pitch of the camera: --pitch or --horizon")
    view = View(east, north, eye, keys.survey_heading_deg, pitch, held.roll_deg or 0.0)
    return seen_from(field, camera, view)


def _told(depth: DepthMap, view: View) -> DepthMap:
    remark = (
        f"by the marked pairs the camera heads {view.heading_deg:.1f}°, looks "
        f"{view.pitch_deg:.1f}° down and rolls {view.roll_deg:.1f}°"
    )
    return replace(depth, remarks=(*depth.remarks, remark))

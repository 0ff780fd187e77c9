"""The depth of a picture from a survey of the place."""

from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import DepthMap, Unsaid
from render.depth.survey import View, eye_height, seen_from, vantage_over, view_from_pairs
from render.errors import InputError
from render.files.formats.surveyunits import recorded_unit_m
from render.files.surveys import read_survey
from render.load.vantages import above_ground_m, pitch_of
from render.optics.camera import Camera, Vantage
from render.shot.depthkeys import DepthKeys
from render.shot.shot import VantageKeys
from render.words import pitch_words

__all__ = ["EYE_M", "from_survey", "relief"]

_FROM = np.array([-0.5, -0.8, -0.35])  # where the relief's light comes from, camera frame
EYE_M = 1.6  # of a person standing there; common practice, no source


def from_survey(keys: DepthKeys, held: VantageKeys, camera: Camera) -> tuple[DepthMap, Vantage]:
    """Depth of the survey that a shot names, seen from where it says, and over which ground.

    Raises
    ------
    InputError
        If the survey cannot be read, or place and direction are not given.
    """
    if keys.survey_from is None:
        raise InputError("a survey needs the place of the lens: --survey-from EAST,NORTH,ELEVATION")
    path = Path(str(keys.survey))
    unit, about_unit = _unit(keys.survey_unit_m, recorded_unit_m(path))
    field = read_survey(path, unit)
    east, north, *up = (value * unit for value in keys.survey_from)
    eye = up[0] if up else eye_height(field, east, north, above_ground_m(held) or EYE_M)
    if keys.survey_pairs:
        size = camera.width_px, camera.height_px
        pairs = []
        for wish in keys.survey_pairs:
            away_east, away_north, high = (value * unit for value in wish.place)
            pairs.append((wish.spot.at(*size), (away_east, away_north, high)))
        view = view_from_pairs(camera, pairs, east, north, eye)
        remarks = (_by_pairs(view), *about_unit)
        return _told(seen_from(field, camera, view), remarks), vantage_over(field, view)
    if keys.survey_heading_deg is None:
        raise InputError(
            "a survey needs the direction of the camera: --survey-heading with --pitch or "
            "--horizon, or three --survey-pair"
        )
    pitch = pitch_of(held, camera)
    if pitch is None:
        raise InputError("a survey needs the pitch of the camera: --pitch or --horizon")
    view = View(east, north, eye, keys.survey_heading_deg, pitch, held.roll_deg or 0.0)
    return _told(seen_from(field, camera, view), about_unit), vantage_over(field, view)


def _unit(said_m: float | None, recorded_m: float | None) -> tuple[float, tuple[str, ...]]:
    """Metres per unit, as said, else as the survey's own record has it, and what to say of it."""
    if said_m is not None:
        if recorded_m is None or abs(said_m / recorded_m - 1) < 1e-4:
            return said_m, ()
        return said_m, (
            f"--survey-unit says {said_m:g} m, the survey's own projection record {recorded_m:g} m",
        )
    if recorded_m is None:
        return 1.0, (
            "the survey's record names no unit: metres are taken (--survey-unit 0.3048 for feet)",
        )
    if recorded_m == 1.0:
        return 1.0, ()
    return recorded_m, (
        f"the survey's own projection record says that its unit is {recorded_m:g} m",
    )


def relief(depth_m: NDArray[np.float32], camera: Camera) -> NDArray[np.float32]:
    """A grey picture of a depth: surfaces lit from the upper left behind the camera, pale sky.

    For places that a survey shows and nobody has photographed: light (H, W, 3), matt and even.
    """
    x, y = np.meshgrid(*camera.grid())
    z = np.where(np.isfinite(depth_m), depth_m, 0.0).astype(np.float64)
    points = np.stack([x * z, y * z, z], axis=-1)
    down, across = np.gradient(points, axis=(0, 1))
    normal = np.cross(across, down)
    length = np.linalg.norm(normal, axis=-1, keepdims=True)
    normal = np.divide(normal, length, out=np.zeros_like(normal), where=length > 0)
    lit = np.abs(normal @ (_FROM / np.linalg.norm(_FROM)))
    shade = np.where(np.isfinite(depth_m), 0.06 + 0.5 * lit, 0.7).astype(np.float32)
    return np.repeat(shade[..., None], 3, axis=2)


def _by_pairs(view: View) -> str:
    return (
        f"by the marked pairs the camera heads {view.heading_deg:.1f}°, looks "
        f"{pitch_words(round(view.pitch_deg, 1))} and rolls {round(view.roll_deg, 1) + 0.0:.1f}°"
    )


def _told(depth: DepthMap, remarks: tuple[str, ...]) -> DepthMap:
    """With its remarks; a survey from the air holds no rail, wire or branch beside the lens."""
    return replace(depth, remarks=(*depth.remarks, *remarks), unsaid=Unsaid(near=True))

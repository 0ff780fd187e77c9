"""Where the camera stood, from whatever a shot says of it."""

from render.depth.ground import (
    pitch_from_horizon,
    vantage_from_distances,
    vantage_from_heights,
)
from render.depth.mark import Mark
from render.errors import SettingError
from render.optics.camera import Camera, Vantage
from render.shot.depthkeys import MarkWish
from render.shot.placekeys import AboveRoof
from render.shot.shot import VantageKeys
from render.words import length_words, pitch_words

__all__ = ["above_ground_m", "marks_of", "pitch_of", "vantage_of"]


def vantage_of(keys: VantageKeys, camera: Camera) -> tuple[Vantage | None, list[str]]:
    """Vantage that a shot gives, and in words how it was found; None where it gives none.

    Raises
    ------
    SettingError
        If it is given twice, or the height alone.
    """
    if keys.pitch_deg is not None and keys.horizon is not None:
        raise SettingError(
            "--pitch and --horizon both say how far down the camera looks: leave one of them out"
        )
    roll = keys.roll_deg or 0.0
    by_things = bool(keys.ground_marks) + bool(keys.uprights)
    by_hand = keys.height_m is not None or keys.pitch_deg is not None or keys.horizon is not None
    if by_things + by_hand > 1:
        raise SettingError(
            "the vantage is given twice: take --height with --pitch or --horizon, or "
            "--ground-mark, or --upright"
        )
    if by_things:
        found = (
            vantage_from_distances(camera, marks_of(keys.ground_marks, camera), roll)
            if keys.ground_marks
            else _from_uprights(keys, camera, roll)
        )
        how = "known distances" if keys.ground_marks else "known heights"
        return found, [
            f"from {how}, the camera stands {length_words(found.height_m)} high and looks "
            f"{pitch_words(found.pitch_deg)}"
        ]
    height_m = above_ground_m(keys)
    if height_m is None:
        return None, []
    pitch = pitch_of(keys, camera)
    if pitch is None:
        raise SettingError(
            "the height alone does not place the ground: add --pitch, or --horizon with the row "
            "where the horizon lies (hingeline depth PICTURE --propose reads a pitch from "
            "the picture's lines)"
        )
    return Vantage(height_m, pitch, roll), _horizon_words(keys, camera, pitch)


def _horizon_words(keys: VantageKeys, camera: Camera, pitch_deg: float) -> list[str]:
    """How the pitch was found, if from the horizon; pixels that look like a share are said."""
    if keys.pitch_deg is not None or keys.horizon is None:
        return []
    value, is_share = keys.horizon
    said = f"from the horizon, the camera looks {pitch_words(pitch_deg)}"
    if is_share or not 0 < abs(value) <= 100:
        return [said]
    share = 100 * value / camera.height_px
    meant = 100 * value if abs(value) < 1 else value
    return [
        f"{said}: --horizon {value:g} is a row in pixels, {share:.2g} % of the picture's height "
        f"from its top; write '{meant:g}%' for a share"
    ]


def above_ground_m(keys: VantageKeys) -> float | None:
    """Height above the ground that a shot gives, m.

    Raises
    ------
    SettingError
        If it is counted from a roof, which only a map knows.
    """
    if isinstance(keys.height_m, AboveRoof):
        raise SettingError("--height roof needs a map file: give the height in metres or storeys")
    return keys.height_m


def pitch_of(keys: VantageKeys, camera: Camera) -> float | None:
    """Pitch that a shot gives, as it is or by the horizon, degrees down."""
    if keys.pitch_deg is not None or keys.horizon is None:
        return keys.pitch_deg
    value, is_share = keys.horizon
    row = value * camera.height_px if is_share else value
    return pitch_from_horizon(camera, row, keys.roll_deg or 0.0)


def marks_of(wishes: tuple[MarkWish, ...], camera: Camera) -> tuple[Mark, ...]:
    """Marks of a shot in the pixels of its picture."""
    size = camera.width_px, camera.height_px
    return tuple(Mark(*wish.spot.at(*size), wish.distance_m, wish.measured) for wish in wishes)


def _from_uprights(keys: VantageKeys, camera: Camera, roll_deg: float) -> Vantage:
    size = camera.width_px, camera.height_px
    things = [(wish.foot.at(*size), wish.top.at(*size), wish.height_m) for wish in keys.uprights]
    return vantage_from_heights(camera, things, roll_deg)

"""Where the lens is at moments between key frames, in words: what a strip plays and scrubs."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from render.errors import SettingError
from render.film.ramps import ramps_of, setting_at
from render.load.prepared import Prepared
from render.optics.lens import Focus
from render.shot.keyframes import KeyFrame
from render.shot.shot import FocusWish, Shot, merged
from render.tell.setting_values import focus_words
from render.words import spell_direction

__all__ = ["moment_values"]


def moment_values(
    shot: Shot, planned: Callable[[Shot], Prepared], times_s: Sequence[float]
) -> list[dict[str, str]]:
    """Words of everything that moves, at each time; nothing where there are no key frames.

    Parameters
    ----------
    shot : Shot
        With its key frames.
    planned : callable
        Plans a shot on what is loaded; asked once for every key frame.

    Raises
    ------
    SettingError
        If the lens cannot be set as a key frame says, or key frames contradict each other.
    """
    still = replace(shot, key_frames=())
    prepared = planned(still)
    for frame in shot.key_frames:
        _checked(still, planned, frame)

    def focused(wish: FocusWish) -> Focus:
        return planned(replace(still, lens=replace(still.lens, focus=wish))).setting.focus

    ramps = ramps_of(shot.key_frames, focused, prepared.setting)
    found = []
    for at_s in times_s:
        setting = setting_at(prepared.setting, ramps, at_s)
        words = {
            "tilt": spell_direction("tilt", setting.tilt_deg, 2),
            "swing": spell_direction("swing", setting.swing_deg, 2),
            "f": f"{setting.f_number:.3g}",
            "focus": focus_words(setting, prepared),
        }
        values = {name: text for name, text in words.items() if name in ramps.tracks}
        height_m = ramps.height_m(at_s)
        if height_m is not None:
            values["height"] = f"{height_m:.4g} m"
        found.append(_as_given(values, shot.key_frames, at_s))
    return found


def _checked(shot: Shot, planned: Callable[[Shot], Prepared], frame: KeyFrame) -> None:
    """Refuse what the lens cannot do, and say when; heights are another place's, seen later."""
    given = {name: words for name, words in frame.given if name != "height"}
    try:
        planned(merged(shot, given, "{name}"))
    except SettingError as error:
        raise SettingError(f"at {frame.at_s:g} s: {error}") from None


def _as_given(values: dict[str, str], frames: Sequence[KeyFrame], at_s: float) -> dict[str, str]:
    """At a key frame's own time its own words stand."""
    here = next((frame for frame in frames if abs(frame.at_s - at_s) < 1e-6), None)
    return {**values, **dict(here.given)} if here else values

"""How a lens moves between key frames: smoothly, without overshoot, at rest at both ends."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.optics.lens import Focus, FocusDistance, FocusExtension, FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.shot.keyframes import KeyFrame
from render.shot.shot import FocusWish, shot_keys
from render.words import length_words, spell_direction, spell_f_number

__all__ = [
    "Ramps",
    "Track",
    "eased",
    "focus_between_words",
    "ramp_words",
    "ramps_of",
    "setting_at",
]

#: What moves, as a line names it.
_CALLED = {"tilt": "lens", "swing": "swing", "f": "stop", "focus": "focus", "height": "height"}


def eased(times_s: NDArray[np.float64], values: NDArray[np.float64], at_s: float) -> Any:
    """Value at a time between key frames.

    A cubic through all values whose slopes are those of F. N. Fritsch and J. Butland (SIAM J.
    Sci. Stat. Comput. 5, 1984, as scipy's PCHIP), but 0 at both ends: it never overshoots, does
    not stop on the way, and begins and ends at rest. Before the first and after the last time it
    holds their values.

    Parameters
    ----------
    times_s : ndarray, shape (n,), rising
    values : ndarray, shape (n,) or (n, m)
    """
    if len(times_s) == 1:
        return values[0]
    from scipy.interpolate import CubicHermiteSpline, PchipInterpolator  # most films move no lens

    slopes = PchipInterpolator(times_s, values, axis=0).derivative()(times_s)
    slopes[0] = slopes[-1] = 0.0
    at = min(max(at_s, times_s[0]), times_s[-1])
    return CubicHermiteSpline(times_s, values, slopes, axis=0)(at)


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """One value and the times at which it is given, s."""

    times_s: NDArray[np.float64]
    values: NDArray[np.float64]

    def at(self, at_s: float) -> Any:
        """Value at a time of the film."""
        return eased(self.times_s, self.values, at_s)


@dataclass(frozen=True, slots=True, eq=False)
class Ramps:
    """Every value that moves, by its name in a shot; `focus` tells how its numbers are meant."""

    tracks: Mapping[str, Track]
    focus: type[Focus] | None = None

    @property
    def end_s(self) -> float:
        """Time of the last key frame; 0 without any."""
        return max((float(track.times_s[-1]) for track in self.tracks.values()), default=0.0)

    @property
    def times_s(self) -> list[float]:
        """Times of all key frames, rising."""
        return sorted({float(at) for track in self.tracks.values() for at in track.times_s})

    def ended(self, last_s: float, lasts_s: float) -> "Ramps":
        """The same for a film whose last frame is at `last_s`: its end counts as that."""

        def brought(track: Track) -> Track:
            ends = (track.times_s > last_s) & (track.times_s <= lasts_s + 1e-6)
            if not ends.any():
                return track
            kept = ~ends & (track.times_s != last_s)
            kept[np.flatnonzero(ends)[-1]] = True
            return Track(np.where(ends, last_s, track.times_s)[kept], track.values[kept])

        return replace(self, tracks={name: brought(each) for name, each in self.tracks.items()})

    def height_m(self, at_s: float) -> float | None:
        """Height of the camera, where it moves."""
        return float(self.tracks["height"].at(at_s)) if "height" in self.tracks else None


def ramps_of(
    key_frames: Sequence[KeyFrame], focused: Callable[[FocusWish], Focus], setting: LensSetting
) -> Ramps:
    """Gather what key frames say of each value.

    Where the focus is a spot here and a distance there, the lens is racked between the extensions
    that they are.

    Parameters
    ----------
    focused : callable
        What a focus is on the scene: a spot becomes a ray and its depth.
    setting : LensSetting
        What does not move.

    Raises
    ------
    SettingError
        If two key frames have one time.
    """
    keys = shot_keys()
    given: dict[str, list[tuple[float, Any]]] = {}
    focuses: list[tuple[float, Focus]] = []
    for frame in sorted(key_frames, key=lambda each: each.at_s):
        for name, words in frame.given:
            value: Any = keys[name].read(words)
            if name == "focus":
                focuses.append((frame.at_s, focused(value)))
            elif name == "f":
                value = np.log(value)  # stops are steps of a ratio
            elif name == "height" and not isinstance(value, float):
                raise SettingError("a key frame takes a height in metres above the ground")
            times = [at for at, _ in given.setdefault(name, [])]
            if frame.at_s in times:
                raise SettingError(f"{name} is given twice at {frame.at_s:g} s")
            given[name].append((frame.at_s, value))
    tracks = {name: _track(each) for name, each in given.items() if name != "focus"}
    if not focuses:
        return Ramps(tracks)
    if len({type(focus) for _, focus in focuses}) > 1:
        focuses = [(at, _extended(setting, Ramps(tracks), at, focus)) for at, focus in focuses]
    tracks["focus"] = _track([(at, _focus_numbers(focus)) for at, focus in focuses])
    return Ramps(tracks, type(focuses[0][1]))


def _track(values: Sequence[tuple[float, Any]]) -> Track:
    return Track(np.array([at for at, _ in values]), np.array([each for _, each in values], float))


def _extended(setting: LensSetting, ramps: Ramps, at_s: float, focus: Focus) -> Focus:
    """The same focus as the extension that it is, with the lens as it is turned by then."""
    then = replace(setting_at(setting, ramps, at_s), focus=focus)
    return FocusExtension(focus_lens(then).extension_mm)


def setting_at(setting: LensSetting, ramps: Ramps, at_s: float) -> LensSetting:
    """The lens setting at a time of the film; what does not move stays as it is in `setting`."""
    found: dict[str, Any] = {}
    for name, field in (("tilt", "tilt_deg"), ("swing", "swing_deg")):
        if name in ramps.tracks:
            found[field] = float(ramps.tracks[name].at(at_s))
    if "f" in ramps.tracks:
        found["f_number"] = float(np.exp(ramps.tracks["f"].at(at_s)))
    if "focus" in ramps.tracks and ramps.focus is not None:
        found["focus"] = _focus_of(ramps.focus, ramps.tracks["focus"].at(at_s))
    return replace(setting, **found)


def _focus_numbers(focus: Focus) -> list[float]:
    """Numbers that lie evenly between two focuses: slopes, and depth as its inverse."""
    match focus:
        case FocusSpot(x, y, depth_m):
            return [x, y, 1.0 / depth_m]
        case FocusDistance(depth_m):
            return [1.0 / depth_m]
        case FocusExtension(extension_mm):
            return [extension_mm]


def _focus_of(kind: type[Focus], numbers: NDArray[np.float64]) -> Focus:
    if kind is FocusExtension:
        return FocusExtension(float(numbers[0]))
    depth_m = 1.0 / float(numbers[-1]) if numbers[-1] > 0 else float("inf")
    if kind is FocusDistance:
        return FocusDistance(depth_m)
    return FocusSpot(float(numbers[0]), float(numbers[1]), depth_m)


def ramp_words(ramps: Ramps) -> str:
    """What moves, in one line: "From 0 s lens straight to up 8° at 0.3 s"; nothing where none does.

    Examples
    --------
    >>> ramp_words(Ramps({"tilt": Track(np.array([0.0, 0.3]), np.array([0.0, -8.0]))}))
    'From 0 s lens straight to up 8° at 0.3 s'
    """
    parts = []
    for name, track in ramps.tracks.items():
        said = [_value_words(name, value, ramps.focus) for value in track.values]
        if all(each == said[0] for each in said):
            if not (name in ("tilt", "swing") and not track.values.any()):
                parts.append(f"{_CALLED[name]} {said[0]} throughout")
            continue
        times = [f"{at:g} s" for at in track.times_s]
        ways = ", ".join(f"to {w} at {at}" for w, at in zip(said[1:], times[1:], strict=True))
        parts.append(f"from {times[0]} {_CALLED[name]} {said[0]} {ways}")
    words = "; ".join(parts)
    return words[:1].upper() + words[1:]


def focus_between_words(ramps: Ramps, setting: LensSetting) -> str:
    """What becomes of the focus between key frames; nothing where neither it nor the lens moves.

    Parameters
    ----------
    setting : LensSetting
        What does not move.
    """

    def moves(name: str) -> bool:
        return name in ramps.tracks and bool(np.ptp(ramps.tracks[name].values, axis=0).any())

    leans = moves("tilt") or moves("swing")
    if moves("focus") and ramps.focus is FocusExtension:
        return "between key frames the lens moves smoothly from one extension to the next"
    if moves("focus"):
        follows = "both it and the lens" if leans else "it"
        return (
            "between key frames the place in focus moves smoothly from one to the next, and the "
            f"ring follows {follows}"
        )
    if not leans:
        return ""
    kind = ramps.focus or type(setting.focus)
    if kind is FocusExtension:
        return "between key frames the extension stays as it is, so that what is sharp moves"
    return (
        "between key frames what is in focus stays in focus: the ring turns with the lens, all the "
        "way from one reading to the next"
    )


def _value_words(name: str, value: Any, focus: type[Focus] | None) -> str:
    if name in ("tilt", "swing"):
        words = spell_direction(name, float(value), 2)
        return "straight" if words == "0" else f"{words}°"
    if name == "f":
        return spell_f_number(float(np.exp(value)))
    if name == "height":
        return length_words(float(value))
    assert focus is not None, "a focus that moves has a kind"
    match _focus_of(focus, value):
        case FocusExtension(extension_mm):
            return f"extension {extension_mm:.2f} mm"
        case FocusSpot(_, _, depth_m) | FocusDistance(depth_m):
            return "infinity" if np.isinf(depth_m) else length_words(depth_m)

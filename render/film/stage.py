"""The frames of a film, each from its moment: what stands still is worked out once."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from render.engine.held import HeldLens, hold_lens
from render.engine.highlights import where_blurred
from render.engine.photograph import Photograph, photograph
from render.film.ramps import Ramps, setting_at
from render.film.timing import Moment
from render.optics.lens import FocusSpot, LensSetting
from render.scene.scene import Scene

__all__ = ["FilmStage", "PictureStage", "SceneStage", "straight"]

Light = NDArray[np.float32]
Settle = Callable[[Photograph, Scene], Light]
#: Moments of a scene that one exposure is made of.
_EXPOSURES = 8


class FilmStage(Protocol):
    """Something that can be filmed: first what is seen at a moment, then the lens."""

    @property
    def ramps(self) -> Ramps:
        """What moves of lens and camera."""

    def seen(self, moment: Moment, number: int) -> Sequence[Scene] | Light:
        """What frame `number` of the film shows; may be asked on another thread."""

    def taken(self, seen: Sequence[Scene] | Light, moment: Moment) -> Light:
        """Its photograph, (h, w, 3) float32."""


def straight(setting: LensSetting) -> LensSetting:
    """The same lens without tilt and swing."""
    return replace(setting, tilt_deg=0.0, swing_deg=0.0)


@dataclass(slots=True)
class PictureStage:
    """Footage with a depth that holds for all of it.

    Attributes
    ----------
    scene : Scene
        The first frame with its depth and planned frame.
    setting : LensSetting
    ramps : Ramps
    lights : callable
        Linear light of the source's frames from one number to another.
    gains : sequence of float
        What each frame of the film is multiplied with; empty: nothing.
    steadied : callable or None
        Lays a frame on the first one.
    parted : callable or None
        Gives a frame of the source, by its light and number, a depth of its own.
    lift : callable or None
        Gives clipped spots their light back.
    settle : callable or None
        Makes of a photograph, and the scene that it was taken of, the light that is written.
    side_by_side : bool
        The straight lens on the left.
    """

    scene: Scene
    setting: LensSetting
    ramps: Ramps
    lights: Callable[[int, int], Iterator[Light]]
    gains: Sequence[float] = ()
    steadied: Callable[[Light], Light] | None = None
    parted: Callable[[Light, int], Scene] | None = None
    lift: Callable[[Light], Light] | None = None
    settle: Settle | None = None
    side_by_side: bool = False
    _held: Mapping[LensSetting, HeldLens] | None = None
    _latest: tuple[tuple[int, ...], Light] | None = None

    def seen(self, moment: Moment, number: int) -> Light:
        """Light of the moment: a frame, or the mean of those that its exposure holds."""
        if self._latest is None or self._latest[0] != moment.picks:
            self._latest = (moment.picks, self._mean(moment.picks))
        light = self._latest[1]
        if len(self.gains):
            light = light * np.float32(self.gains[number])
        return light

    def taken(self, seen: Sequence[Scene] | Light, moment: Moment) -> Light:
        """The photograph of the moment's light; one blur field serves as long as nothing moves."""
        assert isinstance(seen, np.ndarray)
        setting = setting_at(self.setting, self.ramps, float(moment.at_s))
        wanted = (straight(setting), setting) if self.side_by_side else (setting,)
        lifted = self.lift(seen) if self.lift else seen
        if self.parted is not None:
            scene = self.parted(seen, moment.picks[len(moment.picks) // 2])
            held = {each: hold_lens(scene, each) for each in wanted}
        else:
            self._held = held = {each: self._hold(each) for each in wanted}
        views = []
        for lens in (held[each] for each in wanted):
            light = seen
            if lifted is not seen:
                light = where_blurred(seen, lifted, lens.field, lens.scene.frame)
            recorded = replace(lens.scene, picture=seen, finer=None)
            views.append(_settled(self.settle, lens.photograph(light), recorded))
        return _beside(views)

    def _hold(self, setting: LensSetting) -> HeldLens:
        known = (self._held or {}).get(setting)
        return known or hold_lens(self.scene, setting)

    def _mean(self, picks: tuple[int, ...]) -> Light:
        total: Light | None = None
        for light in self.lights(picks[0], picks[-1] + 1):
            one = self.steadied(light) if self.steadied else light
            if total is None:
                total = one if len(picks) == 1 else one.copy()
            else:
                total += one
        assert total is not None, "a moment without frames"
        return total if len(picks) == 1 else total / np.float32(len(picks))


@dataclass(slots=True)
class SceneStage:
    """A scene whose things move and whose depth is known at every moment.

    Attributes
    ----------
    scene_at : callable
        The scene at so many seconds, from a height (None: its own).
    spot_at : callable or None
        What is kept sharp, at so many seconds from that height.
    setting : LensSetting
    ramps : Ramps
    open_s : float
        How long each exposure lasts; 0 is a moment.
    settle : callable or None
        As of a `PictureStage`.
    side_by_side : bool
    """

    scene_at: Callable[[float, float | None], Scene]
    setting: LensSetting
    ramps: Ramps
    spot_at: Callable[[float, float | None], FocusSpot] | None = None
    open_s: float = 0.0
    settle: Settle | None = None
    side_by_side: bool = False
    _held: tuple[Scene, LensSetting, Light] | None = None

    def seen(self, moment: Moment, number: int) -> Sequence[Scene]:
        """The scene at each part of the exposure."""
        height_m = self.ramps.height_m(float(moment.at_s))
        begins = float(moment.source_s)
        if not self.open_s:
            return (self.scene_at(begins, height_m),)
        steps = (np.arange(_EXPOSURES) + 0.5) / _EXPOSURES * self.open_s
        return tuple(self.scene_at(begins + float(step), height_m) for step in steps)

    def taken(self, seen: Sequence[Scene] | Light, moment: Moment) -> Light:
        """The mean of the photographs of what is seen: depth moves too, so light is laid after."""
        at_s = float(moment.at_s)
        setting = setting_at(self.setting, self.ramps, at_s)
        if self.spot_at is not None:
            spot = self.spot_at(float(moment.source_s), self.ramps.height_m(at_s))
            setting = replace(setting, focus=spot)
        if self._held and len(seen) == 1 and self._held[:2] == (seen[0], setting):
            return self._held[2]
        wanted = (straight(setting), setting) if self.side_by_side else (setting,)
        views = []
        for each in wanted:
            scenes = [scene for scene in seen if isinstance(scene, Scene)]
            photos = [photograph(scene, each) for scene in scenes]
            middle = len(photos) // 2
            photo = photos[middle]
            if len(photos) > 1:
                mean = np.mean([one.light for one in photos], axis=0, dtype=np.float32)
                photo = replace(photo, light=np.asarray(mean))
            views.append(_settled(self.settle, photo, scenes[middle]))
        light = _beside(views)
        if len(seen) == 1 and isinstance(seen[0], Scene):
            self._held = (seen[0], setting, light)
        return light


def _settled(settle: Settle | None, photo: Photograph, scene: Scene) -> Light:
    return settle(photo, scene) if settle is not None else photo.light


def _beside(views: list[Light]) -> Light:
    return views[0] if len(views) == 1 else np.concatenate(views, axis=1)

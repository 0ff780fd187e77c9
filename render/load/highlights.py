"""Light given back to clipped lamps and glints before a picture goes through the lens."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from render.engine.highlights import lift_highlights, where_blurred
from render.load.prepared import Prepared
from render.optics.lens import LensSetting
from render.scene.field import scene_field
from render.scene.resize import resized
from render.scene.scene import Scene

__all__ = ["MOCKUP_STOPS", "ToTake", "lift_words", "lifted", "stops_of", "to_take"]

#: On mock-ups, where the shot says nothing: our guess of how far a small lamp or glint clips.
MOCKUP_STOPS = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class ToTake:
    """A scene, and its picture with the highlights lifted; what a lens gets hangs on its focus.

    Attributes
    ----------
    scene : Scene
        As it was recorded.
    lifted : ndarray, shape (H, W, 3), float32, or None
        None where nothing was lifted.
    """

    scene: Scene
    lifted: NDArray[np.float32] | None = None

    def on(self, scene: Scene) -> "ToTake":
        """The same picture seen in another window or by another camera."""
        return replace(self, scene=scene)

    def resized(self, frame_long_px: int) -> "ToTake":
        """Lifted first and then made smaller, as light is."""
        small = resized(self.scene, frame_long_px)
        if self.lifted is None or small is self.scene:
            return replace(self, scene=small)
        light = resized(replace(self.scene, picture=self.lifted), frame_long_px).picture
        return ToTake(small, light)

    def through(self, setting: LensSetting) -> Scene:
        """What the lens gets: lifted where it blurs, as it was recorded where it is in focus."""
        if self.lifted is None:
            return self.scene
        field = scene_field(self.scene, setting)
        light = where_blurred(self.scene.picture, self.lifted, field, self.scene.frame)
        return replace(self.scene, picture=light)


def stops_of(prepared: Prepared, usual: float) -> float:
    """How far highlights are lifted: as the shot says, else by the usual.

    A demo scene, a float or an EXR picture holds its full light: 0.
    """
    if prepared.file is None or prepared.file.bits == 32:
        return 0.0
    stops = prepared.shot.taken.lift_stops
    return usual if stops is None else stops


def to_take(prepared: Prepared, usual: float = 0.0) -> ToTake:
    """What is rendered from, not judged or shown."""
    scene, stops = prepared.scene, stops_of(prepared, usual)
    light = lift_highlights(scene.picture, stops) if stops else scene.picture
    return ToTake(scene, None if light is scene.picture else light)


def lifted(prepared: Prepared, usual: float = 0.0) -> Prepared:
    """Return the same with its highlights lifted for its own setting.

    Where there are none to lift it is `prepared` itself.
    """
    take = to_take(prepared, usual)
    if take.lifted is None:
        return prepared
    return replace(prepared, scene=take.through(prepared.setting))


def lift_words(prepared: Prepared, usual: float = 0.0, *, found: bool) -> tuple[str, ...]:
    """Say what was done: one sentence, or none; `found` tells whether anything was lifted."""
    stops = stops_of(prepared, usual)
    if stops and found:
        return (
            f"small clipped spots out of focus carry up to {stops:g} stops more light than the "
            "picture holds: a guess",
        )
    if not prepared.shot.taken.lift_stops:
        return ()
    if not stops:
        return ("no highlights were lifted: this source holds its full light already",)
    return ("no highlights were lifted: no small clipped spot stands out in the picture",)

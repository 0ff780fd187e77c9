"""Light given back to clipped lamps and glints before a picture goes through the lens."""

from dataclasses import replace

from render.engine.develop import lift_highlights
from render.load.prepared import Prepared

__all__ = ["MOCKUP_STOPS", "lift_words", "lifted", "stops_of"]

#: On mock-ups, where the shot says nothing: our guess of how far a small lamp or glint clips.
MOCKUP_STOPS = 3.0


def stops_of(prepared: Prepared, usual: float) -> float:
    """How far highlights are lifted: as the shot says, else by the usual.

    A demo scene, a float or an EXR picture holds its full light: 0.
    """
    if prepared.file is None or prepared.file.bits == 32:
        return 0.0
    stops = prepared.shot.taken.lift_stops
    return usual if stops is None else stops


def lifted(prepared: Prepared, usual: float = 0.0) -> Prepared:
    """Return the same with its highlights lifted; to render from, not to judge or to show.

    Where there are none to lift it is `prepared` itself.
    """
    stops = stops_of(prepared, usual)
    if not stops:
        return prepared
    scene = prepared.scene
    picture = lift_highlights(scene.picture, stops)
    if picture is scene.picture:
        return prepared
    return replace(prepared, scene=replace(scene, picture=picture))


def lift_words(prepared: Prepared, usual: float = 0.0, *, found: bool) -> tuple[str, ...]:
    """Say what was done: one sentence, or none; `found` tells whether anything was lifted."""
    stops = stops_of(prepared, usual)
    if stops and found:
        return (
            f"small clipped spots carry {stops:g} stops more light than the picture holds: a guess",
        )
    if not prepared.shot.taken.lift_stops:
        return ()
    if not stops:
        return ("no highlights were lifted: this source holds its full light already",)
    return ("no highlights were lifted: no small clipped spot stands out in the picture",)

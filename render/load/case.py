"""What the judgement looks at, the same for every command that says a verdict."""

from dataclasses import replace
from pathlib import Path
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.files.pictures import read_picture
from render.judge.case import Case, look
from render.judge.samples import sample
from render.judge.scale import reference_pupil_mm
from render.judge.viewpoint import known_vantage
from render.load.prepared import Prepared
from render.optics.camera import Vantage
from render.optics.viewing import viewing_of
from render.scene.colour import SRGB, Encoding
from render.scene.scene import Scene
from render.shot.wishes import JudgeWishes

__all__ = ["NO_WISHES", "case_of", "on_its_ground"]

_MOST_UNSURE = 0.5  # beyond that nothing can be said of a scale anyway


#: Nothing asked besides the shot.
NO_WISHES = JudgeWishes()
#: What was found from the ground of scenes that are still held: a card asks three times.
_FOUND: WeakKeyDictionary[Scene, Vantage | None] = WeakKeyDictionary()


def case_of(prepared: Prepared, wishes: JudgeWishes = NO_WISHES) -> Case:
    """Look at what `prepare` made, the same for every command that says a verdict."""
    return look(
        prepared.scene,
        coc_mm=prepared.coc_mm,
        reference_pupil_mm=reference_pupil_mm(wishes.seen_by),
        rendered=_colours(prepared, wishes.rendered),
        visual_range_m=wishes.visual_range_m or _air_of(prepared),
        small_things=wishes.small_things,
        depth_error=_depth_error(prepared, wishes),
        unsaid=prepared.unsaid,
        viewing=viewing_of(wishes.shown),
    )


def on_its_ground(prepared: Prepared) -> Prepared:
    """The same with the vantage that the judgement knows: as given, or found from the ground.

    A depth that was spread from marks has no ground of its own to find it from.
    """
    scene = prepared.scene
    if scene.vantage is not None or prepared.unsaid.view:
        return prepared
    if scene not in _FOUND:
        try:
            _FOUND[scene], _ = known_vantage(sample(scene), None)
        except InputError:  # nothing but sky
            _FOUND[scene] = None
    return replace(prepared, scene=replace(scene, vantage=_FOUND[scene]))


def _depth_error(prepared: Prepared, wishes: JudgeWishes) -> float:
    """How far the depth's scale may be off: as said, else as unsure as the depth is of itself."""
    if wishes.depth_error is not None:
        return wishes.depth_error
    return min(prepared.depth_unsure, _MOST_UNSURE)


def _colours(prepared: Prepared, rendered: str | None) -> NDArray[np.float32] | None:
    """Light in sRGB primaries to measure colour on: of a rendering, or of a wide-gamut picture."""
    if rendered is not None:
        path = Path(rendered)
        file = read_picture(path)
        frame = prepared.scene.frame
        if file.light.shape[:2] != (frame.height, frame.width):
            raise InputError(
                f"{path.name} is {file.light.shape[1]} x {file.light.shape[0]} px, the planned "
                f"frame {frame.width} x {frame.height}: give a rendering of this shot"
            )
        return _in_srgb(file.light, file.encoding)
    if prepared.file is None or prepared.file.encoding.to_xyz == SRGB.to_xyz:
        return None
    frame = prepared.scene.frame
    return _in_srgb(prepared.scene.picture[frame.rows, frame.columns], prepared.file.encoding)


def _in_srgb(light: NDArray[np.float32], encoding: Encoding) -> NDArray[np.float32]:
    if encoding.to_xyz == SRGB.to_xyz:
        return light
    return np.asarray(np.maximum(light @ encoding.matrix_to(SRGB).astype(np.float32).T, 0))


def _air_of(prepared: Prepared) -> float | None:
    """Visual range that a demo scene states, m."""
    if prepared.description is None:
        return None
    return 1000.0 * prepared.description.light.visual_range_km

"""From a shot to what the engine and the judgement work on: scene, lens setting, planned camera."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import Unsaid
from render.depth.ground import LEVEL, height_over_ground
from render.errors import InputError
from render.files.formats.picturefile import PictureFile
from render.load.depths.near import near_outside
from render.load.depths.sources import PictureDepth, picture_depth
from render.load.flat import opened_picture
from render.load.footage import (
    first_still,
    frame_at,
    frame_words,
    is_footage,
    open_footage,
    whole_framed,
)
from render.load.named import focus_unseen, named_things
from render.load.plan import planned_on
from render.load.prepared import Notes, Prepared
from render.load.progress import Progress
from render.load.taken import guessed_camera, guesses_of, resting_on
from render.load.vantages import pitch_of, vantage_of
from render.optics.camera import Camera, Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.scene.resize import resized, sampled
from render.scene.scene import Scene
from render.shot.bare import bare_words
from render.shot.belonging import refuse_strange
from render.shot.shot import Shot
from render.words import length_words

__all__ = [
    "LaidOut",
    "as_judged",
    "focus_words",
    "framed",
    "lay_out",
    "prepare",
    "prepare_file",
    "seen_at",
    "stood",
]


def prepare(
    shot: Shot,
    progress: Progress,
    *,
    for_render: bool = True,
    held: bool = False,
    like: Prepared | None = None,
) -> Prepared:
    """Load what a shot names and work out its planned frame and lens setting.

    Parameters
    ----------
    for_render : bool
        Trace a demo scene finely, with what lies behind edges. Numbers alone do without, in a
        fraction of the time.
    held : bool
        Only this very setting will be rendered: a demo scene is traced behind edges only as far
        as that looks.
    like : Prepared or None
        What was prepared before: its scene's file is not read again, nor the scene built again
        where it is the same moment.

    Raises
    ------
    InputError, SettingError
        If something cannot be read, is missing, or cannot be.
    """
    if shot.scene:
        from render.load.scenes import prepare_scene  # compiled kernels: only when wanted

        built = like.built if like is not None and _world(shot) == _world(like.shot) else None
        # a file is read once, whatever becomes of it meanwhile; a map's words follow the vantage
        same = like is not None and like.shot.scene == shot.scene and not shot.on_map
        known = like.description if like is not None and same else None
        if for_render:
            return prepare_scene(shot, progress, held=held, built=built, description=known)
        return prepare_scene(
            shot, progress, samples=1, behind=False, built=built, description=known
        )
    if not shot.picture:
        raise InputError("nothing to look at: name a picture")
    refuse_strange(shot)
    progress(f"reading {Path(shot.picture).name}", 0.0)
    if not is_footage(shot.picture):
        return prepare_file(*opened_picture(shot), progress)
    footage = open_footage(shot.picture, None)
    try:
        shot, said = whole_framed(shot, footage)
        prepared = prepare_file(shot, first_still(footage), progress)
        number = frame_at(footage, shot.demo.time_s or 0.0)
        light = next(footage.frames(number, number + 1))
        said = (*said, frame_words(footage, number))
        return seen_at(prepared, light, footage.file(number), said)
    finally:
        footage.close()


def seen_at(
    first: Prepared, light: NDArray[np.float32], still: PictureFile | None, said: Sequence[str]
) -> Prepared:
    """What was prepared of the first frame of footage, with the light of another.

    Parameters
    ----------
    light : ndarray, shape (H, W, 3), float32
    still : PictureFile or None
        That the frame is from; None for one of a clip.
    said : sequence of str
        What is to be said of it beside what was.
    """
    assert first.file is not None, "a frame is a picture"
    return replace(
        first,
        scene=replace(first.scene, picture=light),
        file=still or replace(first.file, light=light),
        assumed=first.assumed.led_by(said),
    )


def as_judged(shot: Shot, rendered: Prepared, progress: Progress) -> Prepared:
    """What `judge` looks at for a shot, where `rendered` is what it is rendered from.

    A picture is the same for both; a demo scene may have been traced at another size, and the
    scale that is named must not depend on that.
    """
    if not shot.scene:
        return rendered
    return prepare(shot, progress, for_render=False, like=rendered)


def _world(shot: Shot) -> tuple[object, ...]:
    """All that a built scene depends on."""
    return shot.scene, shot.place, shot.demo.time_s or 0.0


def prepare_file(shot: Shot, file: PictureFile, progress: Progress) -> Prepared:
    """Work out the planned frame and lens setting of a shot whose picture has been read.

    Errors as in `prepare`.
    """
    taken = guessed_camera(file, shot.taken)
    guesses = guesses_of(shot, taken)
    with resting_on(guesses):
        laid = lay_out(shot, file, taken.camera, progress)
        notes = (*file.remarks, taken.how, *_half_a_sun(shot))
        return framed(shot, file, laid, notes, guesses)


def _half_a_sun(shot: Shot) -> tuple[str, ...]:
    """What to say where a photo's place or its day is given without the other: neither counts."""
    given = {"--at": shot.place.at_deg, "--when": shot.place.when}
    said = [option for option, value in given.items() if value is not None]
    if len(said) != 1:
        return ()
    missing = next(option for option in given if option not in said)
    return (f"{said[0]} alone says nothing of a photo's sun: give {missing} too, or leave it out",)


def framed(
    shot: Shot,
    file: PictureFile,
    laid: "LaidOut",
    notes: tuple[str, ...],
    guesses: Mapping[str, Mapping[str, str]],
) -> Prepared:
    """Plan a shot on a picture that has its depth.

    Parameters
    ----------
    file : PictureFile
        The picture, or a smaller one made of it.
    notes : tuple of str
        What was said of the picture so far; what is guessed and what the depth and the plan assume
        is added.
    guesses : mapping
        As of `Prepared`.

    Raises
    ------
    SettingError
        As `planned_on`.
    """
    scene, planned = planned_on(shot, laid.scene)
    named, unseen = named_things(shot, scene)
    unsaid = _named_in(laid, scene)
    return Prepared(
        shot=shot,
        scene=scene,
        setting=planned.setting,
        sensor=planned.sensor,
        file=file,
        depth_how=laid.depth_how,
        assumed=Notes(
            place=(*bare_words(shot), *dict.fromkeys((*notes, *guesses)), *laid.notes),
            lens=(
                *planned.notes,
                *focus_words(planned.setting, unsaid),
                *focus_unseen(shot.lens.focus, scene, planned.setting),
                *near_outside(shot.depth, scene, laid.near),
                *unseen,
            ),
        ),
        depth_unsure=laid.depth_unsure,
        unsaid=unsaid,
        near=laid.near,
        standing=laid.standing,
        guesses=guesses,
        limits=planned.limits,
        named=named,
    )


def focus_words(setting: LensSetting, unsaid: Unsaid) -> list[str]:
    """What to say where the focus spot lies above the ground and nothing is known to stand there.

    It is no sky then but a thing that nobody gave a distance, and infinity is a guess.
    """
    focus = setting.focus
    if not (unsaid.standing and isinstance(focus, FocusSpot) and math.isinf(focus.depth_m)):
        return []
    return [
        "if something stands at the focus spot, its distance is not known yet: give it as the "
        "focus ('60 m'), as a --mark, or by the thing's foot (--thing, --wall-foot)"
    ]


@dataclass(frozen=True, slots=True, eq=False)
class LaidOut:
    """A picture with its depth; no lens is planned yet.

    Attributes
    ----------
    scene : Scene
    depth_how : str
        How the depth was made, in words.
    depth_unsure : float
        Typical relative uncertainty, 0 where nobody can tell.
    unsaid : Unsaid
        What may stand there without being in the depth.
    notes : tuple of str
        What was assumed.
    near : ndarray, shape (H, W), bool, or None
        What was cut out as standing near the lens.
    standing : ndarray, shape (H, W), int16, or None
        Numbers of the things further off that were cut out from spots, 0 where none is.
    named : ndarray, shape (H, W), bool, or None
        Where the depth is a named thing's or wall's.
    """

    scene: Scene
    depth_how: str
    depth_unsure: float
    unsaid: Unsaid
    notes: tuple[str, ...]
    near: NDArray[np.bool_] | None = None
    standing: NDArray[np.int16] | None = None
    named: NDArray[np.bool_] | None = None

    def resized(self, long_px: int) -> "LaidOut":
        """The same with the scene's longer side `long_px` pixels; what was cut out goes along."""
        scene = resized(self.scene, long_px)
        size = scene.depth_m.shape
        return replace(
            self,
            scene=scene,
            near=None if self.near is None else sampled(self.near, *size),
            standing=None if self.standing is None else sampled(self.standing, *size),
            named=None if self.named is None else sampled(self.named, *size),
        )


def _named_in(laid: LaidOut, scene: Scene) -> Unsaid:
    """What was not said, with how much of the ground in the planned frame named things cover."""
    if laid.unsaid.named_share is None or laid.named is None:
        return laid.unsaid
    frame = scene.frame
    ground = np.isfinite(scene.depth_m[frame.rows, frame.columns])
    covered = laid.named[frame.rows, frame.columns][ground]
    return replace(laid.unsaid, named_share=float(covered.mean()) if covered.size else 0.0)


def lay_out(shot: Shot, file: PictureFile, camera: Camera, progress: Progress) -> LaidOut:
    """Give a picture its depth; no lens is planned yet.

    Parameters
    ----------
    file : PictureFile
        The picture, or a smaller one made of it.
    camera : Camera
        Of that size.
    """
    vantage, how_held = vantage_of(shot.vantage, camera)
    progress("working out the depth", 0.1)
    found = picture_depth(shot, file, camera, vantage, progress)
    depth = found.depth
    vantage, how_high = stood(shot, found, camera, vantage)
    scene = Scene(file.light, depth.depth_m, camera, vantage=vantage)
    unsure = depth.typical_uncertainty
    return LaidOut(
        scene,
        f"{depth.how} ({depth.words()})",
        unsure if np.isfinite(unsure) else 0.0,
        depth.unsaid,
        (*how_held, *how_high, *depth.remarks),
        depth.near,
        depth.standing,
        depth.named,
    )


def stood(
    shot: Shot, found: PictureDepth, camera: Camera, given: Vantage | None
) -> tuple[Vantage | None, list[str]]:
    """Where the camera stood and over what ground, and in words what of it the depth told.

    Parameters
    ----------
    found : PictureDepth
    given : Vantage or None
        What the shot says of it.
    """
    vantage, how = found.vantage or given, []
    pitch_deg = pitch_of(shot.vantage, camera)
    if vantage is None and pitch_deg is not None and not found.depth.unsaid.view:
        roll_deg = shot.vantage.roll_deg or 0.0
        height_m = height_over_ground(found.depth.depth_m, camera, pitch_deg, roll_deg)
        if height_m is not None:  # the pitch alone says how steeply one looks
            vantage = Vantage(height_m, pitch_deg, roll_deg)
            how = [
                f"with that pitch the lens stands {length_words(height_m)} over the lowest that "
                "the depth shows; --height puts it right"
            ]
    sloped = (shot.depth.slope or LEVEL) != LEVEL
    if vantage is not None and found.vantage is None and sloped:
        vantage = replace(vantage, terrain=shot.depth.slope)
    return vantage, how

"""Where the depth of a picture comes from: a branch for each source that a shot can name."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from render.depth.convert import RELATIVE_KINDS
from render.depth.depthmap import DepthMap
from render.depth.ground import LEVEL, ground_depth
from render.errors import InputError
from render.files.depthkeys import DepthKeys, SkyWish
from render.files.depths import metric_depth, read_depth_file
from render.files.pictures import PictureFile
from render.files.shots import Shot
from render.jobs.progress import Progress
from render.jobs.standing import with_things
from render.jobs.vantages import marks_of
from render.optics.camera import Camera, Vantage
from render.words import metres, pitch_words

if TYPE_CHECKING:
    from render.depth.marks import Misfit

__all__ = ["PictureDepth", "depth_of", "picture_depth"]

#: Level ground is rarely level: a slope of 1 % at the distances of a roof-top view.
_GROUND_UNCERTAINTY = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class PictureDepth:
    """The depth of a picture and how well its marks agree with it.

    Attributes
    ----------
    depth : DepthMap
    misfits : tuple of Misfit
        One for each marked distance.
    """

    depth: DepthMap
    misfits: "tuple[Misfit, ...]" = ()


def depth_of(
    shot: Shot, file: PictureFile, camera: Camera, vantage: Vantage | None, progress: Progress
) -> DepthMap:
    """Metric depth of the picture, from what the shot names. See `picture_depth`."""
    return picture_depth(shot, file, camera, vantage, progress).depth


def picture_depth(
    shot: Shot, file: PictureFile, camera: Camera, vantage: Vantage | None, progress: Progress
) -> PictureDepth:
    """Metric depth of the picture, from what the shot names, with what stands in it.

    Parameters
    ----------
    file : PictureFile
        The picture, upright.
    camera : Camera
        Of the picture.
    vantage : Vantage or None
        Where the camera stood, if that was given.

    Raises
    ------
    InputError
        If no source or more than one is named, or it cannot be used.
    """
    keys = shot.depth
    sky, remark = _sky(keys.sky, file.light, camera, vantage)
    found = _base(keys, file, camera, vantage, sky, progress)
    depth = with_things(found.depth, keys, file.light, camera, vantage)
    if sky is not None:
        depth_m = np.where(sky, np.float32(np.inf), depth.depth_m)
        depth = replace(depth, depth_m=depth_m, remarks=(*depth.remarks, *remark))
    return replace(found, depth=depth)


def _base(
    keys: DepthKeys,
    file: PictureFile,
    camera: Camera,
    vantage: Vantage | None,
    sky: NDArray[np.bool_] | None,
    progress: Progress,
) -> PictureDepth:
    if keys.file:
        return _from_file(Path(keys.file), keys, camera, vantage)
    if keys.marks:
        from render.depth.marks import spread_marks

        progress("spreading the marked distances", 0.15)
        ground_m = None
        if vantage is not None and not keys.no_ground:
            ground_m = ground_depth(camera, vantage, keys.slope or LEVEL)
        marks = marks_of(keys.marks, camera)
        spread = spread_marks(
            file.light, camera, marks, ground_m=ground_m, vantage=vantage, sky=sky
        )
        return PictureDepth(spread.depth, spread.misfits)
    if vantage is None:
        raise InputError(
            f"{file.path.name} has no depth: give a depth file with --depth, the ground with "
            "--height and --pitch (or --horizon), or known distances with --mark"
        )
    return PictureDepth(_ground(keys, camera, vantage))


def _ground(keys: DepthKeys, camera: Camera, vantage: Vantage) -> DepthMap:
    slope = keys.slope or LEVEL
    shape = "level" if slope == LEVEL else f"sloping ({slope.climb_deg:g}°)"
    how = (
        f"{shape} ground seen from {metres(vantage.height_m)}, looking "
        f"{pitch_words(vantage.pitch_deg)}"
    )
    flat = "things that stand on the ground are taken as flat"
    remarks = () if keys.things or keys.walls else (flat,)
    return DepthMap(ground_depth(camera, vantage, slope), how, _GROUND_UNCERTAINTY, remarks)


def _from_file(
    path: Path, keys: DepthKeys, camera: Camera, vantage: Vantage | None
) -> PictureDepth:
    held = read_depth_file(path, kind=keys.kind, scale=keys.scale)
    if held.kind not in RELATIVE_KINDS:
        return PictureDepth(metric_depth(held, camera))
    raise InputError(f"{path.name} holds relative depth: give known distances with --mark")


def _sky(
    wish: SkyWish | None, light: NDArray[np.float32], camera: Camera, vantage: Vantage | None
) -> tuple[NDArray[np.bool_] | None, tuple[str, ...]]:
    if wish is None:
        return None, ()
    if wish.rule == "none":
        return np.zeros(light.shape[:2], bool), ()
    if wish.rule == "outline":
        from render.depth.outline import inside_outline

        corners = [spot.at(camera.width_px, camera.height_px) for spot in wish.outline]
        return inside_outline(camera.height_px, camera.width_px, corners), ()
    from render.depth.sky import guess_sky

    guess = guess_sky(light, camera, vantage)
    return guess.region, (guess.remark,)

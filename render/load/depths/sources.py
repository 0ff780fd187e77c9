"""Where the depth of a picture comes from: a branch for each source that a shot can name."""

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from render.depth.convert import RELATIVE_KINDS
from render.depth.depthmap import DepthMap, Unsaid
from render.depth.ground import LEVEL, ground_depth
from render.depth.mark import depth_at, marked_depths, passed_over
from render.depth.marks import Misfit, spread_marks
from render.depth.mending import mend
from render.depth.network import network_depth, network_input
from render.depth.outline import inside_outline
from render.depth.relative import (
    by_distances,
    by_ground,
    made_metric,
    nearness_of,
    refuse_swapped,
)
from render.depth.sampling import enlarged
from render.depth.sky import guess_sky
from render.depth.stereo import by_features, by_rectified, offset_unsaid
from render.errors import InputError
from render.files.apart.network import run_network
from render.files.depths import DepthFile, metric_depth, read_depth_file
from render.files.formats.embedded import embedded_depth
from render.files.formats.picturefile import PictureFile
from render.files.networks import read_network_use
from render.files.pictures import read_picture
from render.load.depths.near import with_near
from render.load.depths.standing import with_things
from render.load.depths.surveyed import from_survey
from render.load.progress import Progress
from render.load.vantages import marks_of, pitch_of
from render.optics.camera import Camera, Vantage
from render.scene.colour import SRGB
from render.shot.depthkeys import DepthKeys, SkyWish
from render.shot.shot import Shot, VantageKeys
from render.words import length_words, pitch_words

__all__ = ["GROUND_UNCERTAINTY", "PictureDepth", "picture_depth"]

#: Holds 68 % of the pixels of 27 scenes with exact depth, height said 10 % and horizon 1.5 % of the
#: picture's height off, what stands on the ground included (median over scenes, measured).
GROUND_UNCERTAINTY = 0.16

#: Share of a picture; what lies above the horizon is asked about where it is more (ours).
_MUCH_SKY = 0.25


@dataclass(frozen=True, slots=True, eq=False)
class PictureDepth:
    """The depth of a picture and how well its marks agree with it.

    Attributes
    ----------
    depth : DepthMap
    misfits : tuple of Misfit
        One for each marked distance.
    before : DepthMap or None
        What it was before it was mended.
    vantage : Vantage or None
        Where the camera stands by a survey or a depth file, with its ground.
    metric : bool
        Whether the source has metres of its own, which marks check and do not move.
    """

    depth: DepthMap
    misfits: tuple[Misfit, ...] = ()
    before: DepthMap | None = None
    vantage: Vantage | None = None
    metric: bool = False


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
    found = _base(keys, shot.vantage, file, camera, vantage, sky, progress)
    stands = vantage if keys.survey else found.vantage or vantage  # a survey's ground is no plane
    depth = with_things(found.depth, keys, file.light, camera, stands)
    if sky is not None:
        depth_m = np.where(sky, np.float32(np.inf), depth.depth_m)
        depth = replace(depth, depth_m=depth_m, remarks=(*depth.remarks, *remark))
    if not keys.mend:
        whole = with_near(depth, keys, file.light, camera)
        return _at_marks(replace(found, depth=whole), keys, camera, stands)

    progress("mending the depth", 0.2)
    mended = with_near(mend(depth, file.light, sky=sky), keys, file.light, camera)
    return _at_marks(replace(found, depth=mended, before=depth), keys, camera, stands)


def _at_marks(
    found: PictureDepth, keys: DepthKeys, camera: Camera, vantage: Vantage | None
) -> PictureDepth:
    """The same, said how far the finished depth is from what was typed at each mark."""
    if not keys.marks:
        return found
    depth = found.depth
    if found.metric:
        return _checked(found, keys, camera, vantage)
    misfits = tuple(
        replace(misfit, spread_m=depth_at(depth.depth_m, misfit.mark)) for misfit in found.misfits
    )
    passed = passed_over(depth.depth_m, camera, marks_of(keys.marks, camera), vantage)
    return replace(found, depth=replace(depth, remarks=(*depth.remarks, *passed)), misfits=misfits)


def _checked(
    found: PictureDepth, keys: DepthKeys, camera: Camera, vantage: Vantage | None
) -> PictureDepth:
    """Metric depth with what marks say beside it: they move nothing there."""
    marks = marks_of(keys.marks, camera)
    marked = marked_depths(camera, marks, vantage)
    misfits = tuple(
        Misfit(mark, float(depth_m), depth_at(found.depth.depth_m, mark), math.nan)
        for mark, depth_m in zip(marks, marked, strict=True)
    )
    said = "; ".join(misfit.words() for misfit in misfits)
    remark = f"the depth has metres of its own, so --mark only checks them: {said}"
    depth = replace(found.depth, remarks=(*found.depth.remarks, remark))
    return replace(found, depth=depth, misfits=misfits)


def _base(
    keys: DepthKeys,
    held: VantageKeys,
    file: PictureFile,
    camera: Camera,
    vantage: Vantage | None,
    sky: NDArray[np.bool_] | None,
    progress: Progress,
) -> PictureDepth:
    named = [n for n in (keys.file, keys.second_picture, keys.network, keys.survey) if n]
    if len(named) > 1:
        raise InputError(f"depth is given more than once ({', '.join(named)}): keep one of them")
    if keys.file:
        return _from_file(Path(keys.file), keys, held, camera, vantage)
    if keys.second_picture:
        progress("matching the two pictures", 0.15)
        return PictureDepth(_from_pair(keys, file, camera), metric=True)
    if keys.network:
        progress("running the network", 0.15)
        return _from_network(Path(keys.network), keys, file, camera, vantage)
    if keys.survey:
        progress("looking at the survey", 0.15)
        surveyed, stands = from_survey(keys, held, camera)
        return PictureDepth(surveyed, vantage=stands, metric=True)
    if keys.marks:
        progress("spreading the marked distances", 0.15)
        ground_m = None
        if vantage is not None and not keys.no_ground:
            ground_m = ground_depth(camera, vantage, keys.slope or LEVEL)
        marks = marks_of(keys.marks, camera)
        spread = spread_marks(
            file.light, camera, marks, ground_m=ground_m, vantage=vantage, sky=sky
        )
        unsaid = Unsaid(
            near=True, standing=ground_m is not None, view=vantage is None, named_share=0.0
        )
        return PictureDepth(replace(spread.depth, unsaid=unsaid), spread.misfits)
    if vantage is None:
        return PictureDepth(_carried(file.path, camera))
    return PictureDepth(_ground(keys, held, camera, vantage))


def _ground(keys: DepthKeys, held: VantageKeys, camera: Camera, vantage: Vantage) -> DepthMap:
    slope = keys.slope or LEVEL
    shape = "level" if slope == LEVEL else f"sloping ({slope.climb_deg:g}°)"
    how = (
        f"{shape} ground seen from {length_words(vantage.height_m)}"
        f", looking {pitch_words(vantage.pitch_deg)}"
    )
    if held.guessed:
        how += f", its {' and '.join(held.guessed)} only guessed"
    named = len(keys.things) + len(keys.walls)
    besides = f" besides the {named} named" if named else ""
    flat = f"things that stand on the ground{besides} are taken as flat"
    unsaid = Unsaid(near=True, standing=True)
    depth_m = ground_depth(camera, vantage, slope)
    above = float(np.mean(np.isinf(depth_m)))
    remarks = [flat]
    no_sky = keys.sky is not None and keys.sky.rule == "none"
    if above > _MUCH_SKY and not keys.walls and (no_sky or keys.sky is None):
        remarks.append(
            "what is above the horizon is taken as sky"
            + (" all the same, since nothing gives it a distance" if no_sky else "")
            + ": where walls, indoors or along a street, stand there, draw their foot lines "
            "(--wall-foot)"
        )
    return DepthMap(depth_m, how, GROUND_UNCERTAINTY, tuple(remarks), unsaid)


def _from_file(
    path: Path, keys: DepthKeys, given: VantageKeys, camera: Camera, vantage: Vantage | None
) -> PictureDepth:
    held = read_depth_file(path, kind=keys.kind, scale=keys.scale)
    if keys.baseline_m is not None and held.kind != "disparity":
        raise InputError(
            f"{path} was taken as {held.kind}, and --baseline is for disparity: add --depth-kind "
            "disparity, or leave --baseline out"
        )
    if held.kind not in RELATIVE_KINDS:
        found = metric_depth(
            held,
            camera,
            baseline_m=keys.baseline_m,
            offset_px=keys.disparity_offset_px or 0.0,
            holes=bool(keys.mend),
        )
        foreign = held.kind == "disparity" and held.baseline_m is None  # ours says its baseline
        if foreign and keys.baseline_m and keys.disparity_offset_px is None:
            found = offset_unsaid(found, camera, keys.baseline_m)
        if vantage is not None:
            refuse_swapped(found.depth_m, ground_depth(camera, vantage, keys.slope or LEVEL))
        if held.known is None:
            return PictureDepth(found, metric=True)
        told = held.known.vantage_for(camera)
        if vantage is not None or pitch_of(given, camera) is not None or keys.slope:
            told = None  # who says it anew knows better
        remarks = found.remarks
        if told is not None:
            remarks = (
                *remarks,
                f"the depth file says that the camera stood {length_words(told.height_m)} high and "
                f"looked {pitch_words(round(told.pitch_deg, 1))}",
            )
        known = held.known
        found = replace(found, unsaid=known.unsaid, named=known.named, remarks=remarks)
        return PictureDepth(found, vantage=told, metric=True)
    values, stretched = _of_size(held.values, camera, path.name)
    nearness = nearness_of(values, held.kind)
    return PictureDepth(
        _metric(nearness, keys, camera, vantage, held.how, (*held.remarks, *stretched))
    )


def _from_pair(keys: DepthKeys, file: PictureFile, camera: Camera) -> DepthMap:
    """Stereo leaves holes where one picture hides what the other sees; they are mended here."""
    if keys.step_m is None:
        raise InputError("a second picture needs the length of the step between them: --step")
    second = read_picture(Path(str(keys.second_picture))).light
    if keys.rectified:
        offset = keys.disparity_offset_px
        found = by_rectified(file.light, second, camera, keys.step_m, offset_px=offset)
    else:
        found = by_features(file.light, second, camera, keys.step_m)
    return found if keys.mend else mend(found, file.light)


def _from_network(
    path: Path, keys: DepthKeys, file: PictureFile, camera: Camera, vantage: Vantage | None
) -> PictureDepth:
    use = read_network_use(path)
    codes = np.asarray(SRGB.codes(file.light, 8), np.float32) / np.float32(255)
    answer = run_network(path, network_input(use, codes))
    given = network_depth(str(path), use, answer, file.light)
    if use.gives == "metres":
        found = DepthMap(given, f"the network {path.name}", float("nan"))
        return PictureDepth(found, metric=True)
    nearness = nearness_of(given, use.gives)
    return PictureDepth(_metric(nearness, keys, camera, vantage, f"the network {path.name}", ()))


def _metric(
    nearness: NDArray[np.float32],
    keys: DepthKeys,
    camera: Camera,
    vantage: Vantage | None,
    source: str,
    remarks: tuple[str, ...],
) -> DepthMap:
    """Relative depth by the marks of a shot, else by the ground."""
    if keys.marks:
        fit = by_distances(nearness, camera, marks_of(keys.marks, camera), vantage)
    elif vantage is not None:
        fit = by_ground(nearness, ground_depth(camera, vantage, keys.slope or LEVEL))
    else:
        raise InputError(
            f"{source} has no unit: give two or more known distances with --mark, or the ground "
            "with --height and --pitch"
        )
    made = made_metric(nearness, fit, source)
    if not keys.mend and np.isnan(made.depth_m).any():
        raise InputError(f"{source} has pixels without depth: fill them with --mend")
    return replace(made, remarks=(*remarks, *made.remarks))


def _of_size(
    values: NDArray[np.float32], camera: Camera, name: str
) -> tuple[NDArray[np.float32], tuple[str, ...]]:
    """Relative depth at the picture's size: networks and phones give a smaller one."""
    height, width = values.shape
    if (width, height) == (camera.width_px, camera.height_px):
        return values, ()
    if not 0.97 < width * camera.height_px / (height * camera.width_px) < 1.03:
        raise InputError(
            f"{name} is {width} x {height} px, the picture {camera.width_px} x "
            f"{camera.height_px} px: they must have the same shape"
        )
    remark = f"the depth was enlarged from {width} x {height} px"
    return enlarged(values, camera.height_px, camera.width_px), (remark,)


def _sky(
    wish: SkyWish | None, light: NDArray[np.float32], camera: Camera, vantage: Vantage | None
) -> tuple[NDArray[np.bool_] | None, tuple[str, ...]]:
    if wish is None:
        return None, ()
    if wish.rule == "none":
        return np.zeros(light.shape[:2], bool), ()
    if wish.rule == "outline":
        corners = [spot.at(camera.width_px, camera.height_px) for spot in wish.outline]
        return inside_outline(camera.height_px, camera.width_px, corners), ()

    guess = guess_sky(light, camera, vantage)
    return guess.region, (guess.remark,)


def _carried(path: Path, camera: Camera) -> DepthMap:
    """Depth that a phone stored inside the picture, where nothing else was named."""
    found = embedded_depth(path) if path.is_file() else None
    if found is None:
        raise InputError(
            f"{path.name} has no depth: give a depth file with --depth, the ground with "
            "--height and --pitch (or --horizon), or known distances with --mark"
        )
    carried, remarks = found
    if carried.kind in RELATIVE_KINDS:
        raise InputError(
            f"{path.name} carries depth without a unit: name it with --depth and give two known "
            "distances with --mark"
        )
    values, _ = _of_size(carried.values, camera, path.name)
    held = DepthFile(path, values, carried.kind, carried.how)
    used = "no depth was named, so the depth inside the picture was used"
    return replace(metric_depth(held, camera), remarks=(used, *remarks))

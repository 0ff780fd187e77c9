"""Things and walls of a shot, put into the depth of its picture."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import DepthMap
from render.depth.ground import LEVEL, Slope, ground_plane
from render.depth.mark import plumb_line
from render.depth.outline import box_outline, inside_outline, lowest_place
from render.depth.standing import Standing, facing_plane, flat_plane, foot_point, stand, wall
from render.errors import InputError
from render.load.depths.spots import region_by_spots
from render.optics.camera import Camera, Vantage
from render.shot.depthkeys import DepthKeys, ThingWish, WallWish
from render.words import percent

__all__ = ["with_things"]


def with_things(
    depth: DepthMap,
    keys: DepthKeys,
    light: NDArray[np.float32],
    camera: Camera,
    vantage: Vantage | None,
) -> DepthMap:
    """Depth with the things and walls that a shot names.

    Raises
    ------
    InputError
        If one has no region, no foot on the ground, or needs a vantage that is not given.
    """
    if not (keys.things or keys.walls):
        return depth
    ground = None
    if vantage is not None:
        told = vantage.terrain if isinstance(vantage.terrain, Slope) else LEVEL
        ground = ground_plane(vantage, keys.slope or told)
    walls, things = [], []
    left_out: list[str] = []
    cut_out: NDArray[np.int16] | None = None
    taken: list[str] = []
    for number, wall_wish in enumerate(keys.walls, 1):
        with _named(f"wall {number}", left_out if keys.go_on else None) as name:
            walls.append(_wall(wall_wish, name, camera, vantage, ground))
    for number, wish in enumerate(keys.things, 1):
        with _named(f"thing {number}", left_out if keys.go_on else None) as name:
            thing, said = _thing(wish, name, light, camera, vantage, ground)
            things.append(thing)
            if wish.shape == "spot":
                cut_out = np.zeros(thing.region.shape, np.int16) if cut_out is None else cut_out
                cut_out[thing.region] = number  # of two the later
                share = percent(float(thing.region.mean()))
                taken.append(f"{name} takes {share} of the whole picture{said}")
    depth_m = stand(depth.depth_m, camera, walls, rule="nearer")
    depth_m = stand(depth_m, camera, things)
    named = depth_m != depth.depth_m
    if depth.named is not None:
        named |= depth.named
    counted = [
        f"{len(group)} {name}{'s' if len(group) > 1 else ''}"
        for group, name in ((things, "thing"), (walls, "wall"))
        if group
    ]
    how = f"{depth.how}, with {' and '.join(counted)}" if counted else depth.how
    return replace(
        depth,
        depth_m=depth_m,
        how=how,
        remarks=(*depth.remarks, *left_out, *taken),
        standing=cut_out,
        named=named,
    )


@contextmanager
def _named(name: str, left_out: list[str] | None) -> Iterator[str]:
    """Have a refusal name its thing; where there is a list, go on and put the refusal there."""
    try:
        yield name
    except InputError as error:
        said = str(error) if name in str(error) else f"{name}: {error}"
        if left_out is None:
            raise InputError(f"{said} (or go on without it: --go-on)") from None
        left_out.append(f"left out: {said}")


def _thing(
    wish: ThingWish,
    name: str,
    light: NDArray[np.float32],
    camera: Camera,
    vantage: Vantage | None,
    ground: NDArray[np.float64] | None,
) -> tuple[Standing, str]:
    said = ""
    size = camera.width_px, camera.height_px
    places = [spot.at(*size) for spot in wish.spots]
    if wish.shape == "spot":
        region, said = region_by_spots(wish, light)
    else:
        corners = box_outline(*places[0], *places[1]) if wish.shape == "box" else places
        region = inside_outline(camera.height_px, camera.width_px, corners)
    if wish.distance_m is not None:
        return Standing(region, flat_plane(wish.distance_m), name), said
    if vantage is None or ground is None:
        raise InputError(
            f'{name} stands on ground that is not known: give --height and --pitch, or say "at" '
            "and its distance"
        )
    foot_px = wish.foot.at(*size) if wish.foot else lowest_place(region)
    foot = foot_point(camera, ground, foot_px, name)
    plane = flat_plane(foot[2]) if wish.flat else facing_plane(foot, plumb_line(vantage))
    return Standing(region, plane, name), said


def _wall(
    wish: WallWish,
    name: str,
    camera: Camera,
    vantage: Vantage | None,
    ground: NDArray[np.float64] | None,
) -> Standing:
    if vantage is None or ground is None:
        raise InputError(f"{name} stands on ground that is not known: give --height and --pitch")
    first, last = (
        foot_point(camera, ground, spot.at(camera.width_px, camera.height_px), name)
        for spot in wish.feet
    )
    plumb = plumb_line(vantage)
    return wall(camera, (first, last), plumb, height_m=wish.height_m, name=name)

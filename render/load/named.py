"""Things called by name: where they are before the lens, for focus, cards and boards."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from itertools import starmap
from typing import TYPE_CHECKING

import numpy as np

from render.errors import InputError, SettingError
from render.optics.camera import Window
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.optics.solving.targets import ELSEWHERE, Target
from render.scene.scene import Scene
from render.shot.declaring import PictureSpot
from render.shot.shot import Shot
from render.shot.things import CheckWish, ThingName
from render.units import round_metres
from render.words import BESIDE, choices, length_words, listed, span_words

if TYPE_CHECKING:  # a photo needs no world
    from render.world.description import Description

__all__ = [
    "beside_frame",
    "focus_found",
    "focus_unseen",
    "known_thing",
    "named_things",
    "names_in_file",
    "not_in_a_picture",
    "outside_the_frame",
    "refuse_unknown",
    "thing_found",
]

Things = Mapping[str, tuple[float, float, float]]

#: Nearer to a distance that was said nobody takes one.
_AS_SAID = 0.01


def named_things(
    shot: Shot, scene: Scene, things: Things | None = None
) -> tuple[tuple[Target, ...], tuple[str, ...]]:
    """The things a shot names to be looked at, and which of them its frame does not show.

    Parameters
    ----------
    scene : Scene
        With its planned frame.
    things : mapping of name to (x, y, z), optional
        What is seen of the things of a demo scene or map, in the camera's frame; None for a
        picture, whose spots are counted over all of it, not over the frame.

    Returns
    -------
    things, notes

    Raises
    ------
    SettingError, InputError
        If one is not known, lies outside the picture or on the sky.
    """
    whole = Window(0, 0, scene.camera.width_px, scene.camera.height_px)
    counted = whole if things is None else scene.frame
    found, notes = [], []
    drawn: dict[str, list[tuple[str, float, float]]] = {}  # by side: name, what shows, what is said
    for wish in shot.lens.checks:
        if isinstance(wish.where, PictureSpot):
            beyond = _beyond(scene, counted, wish)
            spot = beyond or _spot_in(scene, counted, wish.where, f"--check {wish.name}")
            if wish.depth_m is not None:
                if not _there(spot.depth_m, wish.depth_m):
                    side = BESIDE[spot.depth_m < wish.depth_m]
                    drawn.setdefault(side, []).append((wish.name, spot.depth_m, wish.depth_m))
                spot = replace(spot, depth_m=wish.depth_m)
            if math.isinf(spot.depth_m):
                raise InputError(
                    f"--check {wish.name} lies on the sky, where nothing can be sharp: choose a "
                    "spot on a thing, or say by --wall-foot or --thing what stands there"
                )
        else:
            if things is None:
                raise not_in_a_picture(wish.where, "--check")
            spot = _shown(known_thing(wish.where, things, "--check"), wish.name)
        if scene.frame_camera.shows(spot.slope_x, spot.slope_y):
            found.append(Target(spot.slope_x, spot.slope_y, spot.depth_m, name=wish.name))
        else:
            far = length_words(spot.depth_m)
            notes.append(f"{wish.name}, {far} along the camera's axis, is not in the frame")
    return tuple(found), (*starmap(_drawn_as, drawn.items()), *notes)


def _beyond(scene: Scene, counted: Window, wish: CheckWish) -> FocusSpot | None:
    """A thing beyond the picture's edge whose distance is said; None of one inside, or unsaid."""
    assert isinstance(wish.where, PictureSpot), "a thing by its name is looked up"
    x, y = wish.where.at(counted.width, counted.height)
    if wish.depth_m is None or (0 <= x <= counted.width and 0 <= y <= counted.height):
        return None
    slope_x, slope_y = scene.camera.slopes(counted.left + x, counted.top + y)
    return FocusSpot(float(slope_x), float(slope_y), wish.depth_m)


def _there(shown_m: float, said_m: float) -> bool:
    return abs(shown_m / said_m - 1.0) <= _AS_SAID


def _drawn_as(side: str, places: Sequence[tuple[str, float, float]]) -> str:
    """What to say where a picture's depth shows something else than what must be sharp there."""
    names, shown, said = zip(*places, strict=True)
    one = len(places) == 1
    is_, they, them = ("is", "it", "it") if one else ("are", "they", "them")
    return (
        f"{listed(names)}, {span_words(*said)} along the camera's axis, {is_} judged there, but "
        f"the depth shows what lies {side} {them} ({span_words(*shown)}), and the picture draws "
        f"{them} as soft as that: to see {them} as {they} will be, give {them} "
        f"{'its distance' if one else 'their distances'} with --thing"
    )


def thing_found(shot: Shot, scene: Scene, things: Things) -> Shot:
    """The shot with a focus that was called by name turned into a ray and a depth.

    Raises
    ------
    InputError
        If the scene has no such thing.
    """
    wish = shot.lens.focus
    if not isinstance(wish, ThingName):
        return shot
    spot = _shown(known_thing(wish, things, "--focus"), wish.name)
    return replace(shot, lens=replace(shot.lens, focus=spot))  # type: ignore[arg-type]


def focus_found(shot: Shot, scene: Scene, things: Things) -> Shot:
    """The same, and a spot of a traced scene's frame too, which lies inside its margin.

    Errors as in `thing_found`; a spot outside the frame is a SettingError.
    """
    wish = shot.lens.focus
    if not isinstance(wish, PictureSpot):
        return thing_found(shot, scene, things)
    spot = _spot_in(scene, scene.frame, wish, "--focus")
    return replace(shot, lens=replace(shot.lens, focus=spot))  # type: ignore[arg-type]


def beside_frame(
    view: tuple[float, float, float, float], slopes: Sequence[tuple[float, float]]
) -> str:
    """Say where rays lie if the frame does not hold them: "below the frame"; else nothing.

    Several rays of one thing are said to lie there in part.

    Parameters
    ----------
    view : (left, top, right, bottom)
        Slopes of the frame's edges.
    slopes : sequence of (x, y)
    """
    left, top, right, bottom = view
    sides = {
        "left of": [x < left - 1e-9 for x, _ in slopes],
        "right of": [x > right + 1e-9 for x, _ in slopes],
        "above": [y < top - 1e-9 for _, y in slopes],
        "below": [y > bottom + 1e-9 for _, y in slopes],
    }
    out = [side for side, hits in sides.items() if any(hits)]
    part = "partly " if out and not all(map(any, zip(*sides.values(), strict=True))) else ""
    return f"{part}{' and '.join(out)} the frame" if out else ""


def focus_unseen(wish: object, scene: Scene, setting: LensSetting) -> tuple[str, ...]:
    """What to say where a thing that is focused on by its name lies outside the planned frame.

    So where a distance is focused on beyond all that the frame shows.
    """
    spot = setting.focus
    if isinstance(spot, FocusDistance) and math.isfinite(spot.depth_m):
        depth_m = scene.depth_m[scene.frame.rows, scene.frame.columns]
        farthest_m = float(np.max(depth_m, where=np.isfinite(depth_m), initial=0.0))
        if spot.depth_m > (1 + ELSEWHERE) * farthest_m > 0:
            focused, farthest = length_words(spot.depth_m), length_words(farthest_m)
            return (f"nothing in the frame stands at {focused}: the farthest there is {farthest}",)
    if not (isinstance(wish, ThingName) and isinstance(spot, FocusSpot)):
        return ()
    camera = scene.frame_camera
    (left, right), (top, bottom) = camera.slopes([0, camera.width_px], [0, camera.height_px]).T
    edges = float(left), float(top), float(right), float(bottom)
    where = beside_frame(edges, [(spot.slope_x, spot.slope_y)])
    return (f"{wish.name} lies {where}: turn, shift or step back to see it",) if where else ()


def outside_the_frame(name: str, frame: Window, picture_px: tuple[int, int]) -> str:
    """What is said of a spot of the picture that its planned frame does not show.

    Parameters
    ----------
    picture_px : (width, height)
    """
    across = [100 * x / picture_px[0] for x in (frame.left, frame.left + frame.width)]
    down = [100 * y / picture_px[1] for y in (frame.top, frame.top + frame.height)]
    return (
        f"{name} lies in the picture but outside what the planned lens sees "
        f"({across[0]:.0f} to {across[1]:.0f} % across, {down[0]:.0f} to {down[1]:.0f} % down): "
        "choose a spot in there, a shorter lens or some shift"
    )


def not_in_a_picture(thing: ThingName, option: str) -> SettingError:
    """The refusal of a name where there is only a picture: pixels have no names."""
    return SettingError(
        f'{option} "{thing.name}": a picture knows no names; write the spot, such as "50%,62%", or '
        f'a distance such as "{round_metres(18.0, 2)}" (things of scenes and maps have names)'
    )


def known_thing(thing: ThingName, things: Things, option: str) -> tuple[float, float, float]:
    """Where a thing is; an InputError if there is no such thing: those there are get named."""
    _check_known(thing, things, option)
    return things[thing.name]


def names_in_file(description: "Description") -> frozenset[str] | None:
    """The names of all that has one, as the scene's file has them.

    None where only building tells: faces name their parts.
    """
    named = [thing for thing in description.things if thing.name]
    if any(t.kind.name == "bust" or t.values.get("near") for t in named):
        return None
    return frozenset((*description.marks, *(thing.name for thing in named)))


def refuse_unknown(shot: Shot, names: Collection[str]) -> None:
    """Refuse a focus or a check on what a scene does not have, before minutes of work.

    Raises
    ------
    InputError
        As `known_thing`.
    """
    asked = [("--focus", shot.lens.focus), *(("--check", c.where) for c in shot.lens.checks)]
    for option, wish in asked:
        if isinstance(wish, ThingName):
            _check_known(wish, names, option)


def _check_known(thing: ThingName, names: Collection[str], option: str) -> None:
    if thing.name not in names:
        known = choices(sorted(names), thing.name) or "none"
        raise InputError(f'{option}: there is no "{thing.name}" here; things with names: {known}')


def _spot_in(scene: Scene, counted: Window, spot: PictureSpot, name: str) -> FocusSpot:
    x, y = spot.at(counted.width, counted.height)
    if not (0 <= x <= counted.width and 0 <= y <= counted.height):
        raise SettingError(f"{name} lies outside the picture: choose a spot inside")
    column = counted.left + min(int(x), counted.width - 1)
    row = counted.top + min(int(y), counted.height - 1)
    slope_x, slope_y = scene.camera.slopes(column + 0.5, row + 0.5)
    return FocusSpot(float(slope_x), float(slope_y), float(scene.depth_m[row, column]))


def _shown(point: tuple[float, float, float], name: str) -> FocusSpot:
    """A thing's place as a focus; a SettingError if it lies behind the camera."""
    x, y, z = point
    if not z > 0:
        raise SettingError(f'"{name}" lies behind the camera: turn round or step back')
    return FocusSpot(x / z, y / z, z)

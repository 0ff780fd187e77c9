"""A picture that stays loaded with its depth, at the sizes it is looked at.

A long lens sees a small part of a picture, so the size to work at follows from the frame.
"""

import math
from collections import OrderedDict
from dataclasses import dataclass, fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.engine.highlights import lift_highlights
from render.errors import InputError
from render.files.formats.picturefile import PictureFile
from render.files.pictures import read_picture
from render.files.sequences import place_of
from render.live.reel import Reel
from render.load.flat import as_taken
from render.load.footage import is_footage
from render.load.highlights import ToTake, stops_of
from render.load.plan import Plan
from render.load.prepare import LaidOut, framed, lay_out
from render.load.prepared import Prepared
from render.load.progress import silent
from render.load.taken import Taken, guessed_camera, guesses_of
from render.scene.resize import averaged
from render.scene.scene import Scene
from render.shot.declaring import PictureSpot
from render.shot.depthkeys import DepthKeys
from render.shot.shot import CameraKeys, LensKeys, Shot, VantageKeys

__all__ = ["Places"]

#: Sizes kept at once, and the largest of them; the picture itself is kept too.
_MOST_PLACES = 5
_MOST_WHOLE_PX = 6_000_000
_USUAL_WHOLE_PX = 1_000_000


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    """A picture of some size with its depth; no lens is planned yet."""

    file: PictureFile
    taken: Taken
    laid: LaidOut


class Places:
    """Keeps what the last shots needed. One task at a time: it is not for several threads."""

    def __init__(self) -> None:
        self._whole: PictureFile | None = None
        self._reel: Reel | None = None
        self._view: tuple[object, PictureFile, VantageKeys] | None = None
        self._middle: PictureFile | None = None
        self._stamp: tuple[str, int, int] = ("", 0, 0)
        self._places: OrderedDict[tuple[Shot, int], _Place] = OrderedDict()
        self._lifted: tuple[float, int, NDArray[np.float32]] | None = None

    def planned(self, shot: Shot, frame_px: int, *, exact: bool = False) -> Prepared:
        """Prepare a shot at the size at which its frame has about `frame_px` pixels.

        What is said of it, the depth at the focus spot first, is that of the picture's own size
        once that was laid out; before, while hands are on the place, that of a usual one.

        Parameters
        ----------
        exact : bool
            Lay the picture's own size out, if that has not been done.
        """
        asked, (shot, file) = shot, self.opened(shot)
        shot = _in_shares(shot, file.light.shape[1], file.light.shape[0])
        full_px = file.light.shape[0] * file.light.shape[1]
        is_there = (_bare(shot), 0) in self._places
        said = self._framed(
            shot, file, 0 if exact or is_there else _steps(full_px, _USUAL_WHOLE_PX)
        )
        frame, depth_m = said.scene.frame, said.scene.depth_m
        wanted = min(frame_px * depth_m.size / (frame.width * frame.height), _MOST_WHOLE_PX)
        shown = self._place(_bare(shot), file, _steps(full_px, wanted))
        plan = Plan(said.setting, said.sensor, ())
        prepared = replace(
            said,
            scene=plan.laid_over(shown.laid.scene),
            near=shown.laid.near,
            standing=shown.laid.standing,
            file=shown.file,
            times_smaller=file.light.shape[1] / shown.file.light.shape[1],
        )
        return self._reel.seen(asked, prepared) if self._reel else prepared

    def full(self, shot: Shot) -> Prepared:
        """Prepare a shot at the picture's own size."""
        asked, (shot, file) = shot, self.opened(shot)
        prepared = self._framed(_in_shares(shot, file.light.shape[1], file.light.shape[0]), file, 0)
        return self._reel.seen(asked, prepared) if self._reel else prepared

    def reel(self, shot: Shot) -> dict[str, float] | None:
        """What a `Reel` says of itself; None of a picture."""
        self.opened(shot)
        return self._reel.about() if self._reel else None

    def lifted(self, prepared: Prepared) -> Scene:
        """As the lens gets it: highlights lifted, as the shot says, before it was made smaller."""
        stops, scene = stops_of(prepared, 0.0), prepared.scene
        if not stops:
            return scene
        _, file = self.opened(prepared.shot)
        number, light = self._reel.at(prepared.shot) if self._reel else (0, file.light)
        kept = self._lifted
        if kept is None or kept[:2] != (stops, number) or kept[2].shape != scene.picture.shape:
            whole = lift_highlights(light, stops)
            self._lifted = kept = stops, number, averaged(whole, *scene.picture.shape[:2])
        return ToTake(scene, kept[2]).through(prepared.setting)

    def _framed(self, shot: Shot, file: PictureFile, steps: int) -> Prepared:
        place = self._place(_bare(shot), file, steps)
        notes = (*file.remarks, place.taken.how)
        return framed(shot, place.file, place.laid, notes, guesses_of(shot, place.taken))

    def _place(self, shot: Shot, file: PictureFile, steps: int) -> _Place:
        key = shot, steps
        if key not in self._places:
            if not steps:  # the largest: one is enough
                for old in [kept for kept in self._places if not kept[1]]:
                    del self._places[old]
            self._places[key] = self._laid_out(shot, file, steps)
            while len(self._places) > _MOST_PLACES:
                self._places.popitem(last=False)
        self._places.move_to_end(key)
        return self._places[key]

    def _laid_out(self, shot: Shot, file: PictureFile, steps: int) -> _Place:
        height, width = _stepped(file.light, steps)
        if steps and _in_whole_pixels(shot):
            whole = self._place(shot, file, 0)
            laid = whole.laid.resized(max(height, width))
            return replace(whole, file=replace(file, light=laid.scene.picture), laid=laid)
        taken = guessed_camera(file, shot.taken)
        smaller = self._smaller(file, height, width)
        laid = lay_out(shot, smaller, taken.camera.resized(width, height), silent)
        return _Place(smaller, taken, laid)

    def _smaller(self, file: PictureFile, height: int, width: int) -> PictureFile:
        if (height, width) == file.light.shape[:2]:
            return file
        for place in self._places.values():
            if place.file.light.shape[:2] == (height, width):
                return place.file
        source = self._middle
        if source is None or height * width * 2 > source.light.shape[0] * source.light.shape[1]:
            source = file
        return replace(file, light=averaged(source.light, height, width))

    def opened(self, shot: Shot) -> tuple[Shot, PictureFile]:
        """Return a shot and its picture; it is read once, and anew where its file has changed.

        Of a panorama it is the view that the shot looks at.
        """
        if not shot.picture:
            raise InputError("nothing to look at: name a picture")
        path = Path(shot.picture)
        try:
            about = place_of(path).stat()
        except OSError as error:
            raise InputError(f"{path.name} cannot be read ({error.strerror})") from None
        stamp = str(path), about.st_mtime_ns, about.st_size
        if self._whole is None or stamp != self._stamp:
            self._whole = self._view = None  # let go of the old one first: both may be large
            self._forget()
            if self._reel is not None:
                self._reel.close()
            self._reel = Reel(shot.picture) if is_footage(shot.picture) else None
            self._whole = self._reel.first() if self._reel else read_picture(path)
            self._stamp = stamp
        if self._reel is not None:
            shot = self._reel.framed(shot)
        if self._view is None or self._view[0] != _look(shot):
            level, file = (shot, self._whole) if self._reel else as_taken(shot, self._whole)
            if self._view is None or file is not self._view[1]:
                self._forget()
                full_px = file.light.shape[0] * file.light.shape[1]
                size = _stepped(file.light, _steps(full_px, _MOST_WHOLE_PX))
                self._middle = self._smaller(file, *size)
            self._view = _look(shot), file, level.vantage
        _, file, vantage = self._view
        return (shot if file is self._whole else replace(shot, vantage=vantage)), file

    def _forget(self) -> None:
        """Let go of everything that was made of the picture."""
        self._middle = self._lifted = None
        self._places.clear()


def _look(shot: Shot) -> tuple[object, ...]:
    """All that the view of a panorama depends on."""
    lens, seen = shot.lens, (shot.demo.heading_deg, shot.taken.field_deg, shot.camera)
    return shot.vantage, *seen, lens.focal_mm, lens.rise_mm, lens.lateral_mm


def _bare(shot: Shot) -> Shot:
    """The part of a shot that its depth depends on."""
    demo = replace(shot.demo, time_s=None)
    bare = replace(shot, camera=CameraKeys(), lens=LensKeys(), demo=demo, key_frames=())
    return replace(bare, written=(), own=())


def _in_whole_pixels(shot: Shot) -> bool:
    """Whether the depth hangs on the picture's own pixels: files, and places given in px."""
    held = shot.vantage
    return shot.depth != DepthKeys() or bool(held.ground_marks or held.uprights)


def _steps(full_px: int, wanted_px: float) -> int:
    """How many steps smaller to come nearest to `wanted_px`; two steps halve the area."""
    return max(0, round(2 * math.log2(full_px / wanted_px)))


def _stepped(light: NDArray[np.float32], steps: int) -> tuple[int, int]:
    scale = 2.0 ** (-steps / 4)
    return max(1, round(light.shape[0] * scale)), max(1, round(light.shape[1] * scale))


def _in_shares(shot: Shot, width_px: int, height_px: int) -> Shot:
    """Turn places given in pixels of the whole picture into shares, which hold at any size."""
    horizon = shot.vantage.horizon
    if horizon is not None and not horizon[1]:
        share = horizon[0] / height_px, True
        shot = replace(shot, vantage=replace(shot.vantage, horizon=share))
    tables = {
        name: _shared(getattr(shot, name), width_px, height_px)
        for name in ("vantage", "depth", "lens")
    }
    return replace(shot, **tables)


def _shared(value: Any, width_px: int, height_px: int) -> Any:
    """The same value with every spot in it in shares."""
    if isinstance(value, PictureSpot):
        return PictureSpot(
            value.x if value.x_is_share else value.x / width_px,
            value.y if value.y_is_share else value.y / height_px,
            x_is_share=True,
            y_is_share=True,
        )
    if isinstance(value, tuple):
        return tuple(_shared(part, width_px, height_px) for part in value)
    if is_dataclass(value) and not isinstance(value, type):
        parts = {
            f.name: _shared(getattr(value, f.name), width_px, height_px) for f in fields(value)
        }
        return replace(value, **parts)
    return value

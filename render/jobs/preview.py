"""Pictures while the knobs are turned: the scene stays loaded, at the size that is looked at.

A preview is the same photograph as `render` makes, from the same parts, only from a picture that
was made smaller first. A long lens sees a small part of a picture, so the size to work at follows
from the frame.
"""

import io
import math
from collections import OrderedDict
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.depth.ground import horizon_row
from render.engine.photograph import photograph
from render.engine.quality import FINAL, PREVIEW
from render.errors import HingelineError, InputError
from render.files.pictures import PictureFile, read_picture
from render.files.shots import CameraKeys, LensKeys, PictureSpot, Shot, TakenKeys, merged
from render.jobs.prepare import Prepared, plan, prepare_file, taken_camera
from render.jobs.progress import silent
from render.jobs.shown import screen_picture
from render.jobs.summary import coc_of, setting_words
from render.optics.blur import blur_field
from render.optics.camera import Camera, Window
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.scene.colour import SRGB
from render.scene.resize import averaged, resized
from render.scene.scene import Behind, Scene

__all__ = ["Look", "Looked", "Preview"]

#: Sizes kept at once, and the largest of them; the picture itself is kept too.
_MOST_SIZES = 4
_MOST_WHOLE_PX = 6_000_000
_USUAL_WHOLE_PX = 1_000_000
#: Blur reaches in from outside the frame: this share of its longer side is kept round it.
_MARGIN = 0.15
_GUESSED_LENS = {"focal-35": "28"}
_GUESSED_GROUND = {"height": "10 m", "horizon": "25%"}


@dataclass(frozen=True, slots=True)
class Look:
    """How a picture is wanted.

    Attributes
    ----------
    pixels : int
        About how many the frame should have.
    fine : bool
        Worked out as finely as a photograph for keeps.
    before : bool
        Without blur.
    whole : bool
        The whole picture as handed in, without blur, in place of the planned frame.
    """

    pixels: int
    fine: bool = False
    before: bool = False
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Looked:
    """A JPEG and what is said about it."""

    jpeg: bytes
    told: dict[str, Any]


class Preview:
    """Keeps what the last shots needed. One task at a time: it is not for several threads."""

    def __init__(self) -> None:
        self._file: PictureFile | None = None
        self._middle: PictureFile | None = None
        self._stamp: tuple[str, int, int] = ("", 0, 0)
        self._sizes: OrderedDict[tuple[Shot, int], Prepared] = OrderedDict()

    def guess(self, shot: Shot) -> dict[str, str]:
        """Values to begin with where a picture comes without them, for its owner to put right.

        Raises
        ------
        HingelineError
            If the picture cannot be used, whatever is said about it.
        """
        guessed: dict[str, str] = {}
        for more in ({}, _GUESSED_LENS, _GUESSED_GROUND, {**_GUESSED_LENS, **_GUESSED_GROUND}):
            guessed = {name: text for name, text in more.items()}
            try:
                self._planned(merged(shot, guessed, "{name}"), _USUAL_WHOLE_PX)
            except HingelineError as error:
                failed = error
            else:
                return guessed
        raise failed

    def look(self, shot: Shot, wish: Look) -> Looked:
        """Take the photograph of a shot, small.

        Raises
        ------
        HingelineError
            As `prepare` and `photograph`.
        """
        prepared = self._planned(shot, wish.pixels)
        scene, setting = prepared.scene, prepared.setting
        remarks: tuple[str, ...] = ()
        if wish.whole:
            light = scene.picture
        elif wish.before:
            light = scene.picture[scene.frame.rows, scene.frame.columns]
        else:
            photo = photograph(_near_frame(scene), setting, quality=FINAL if wish.fine else PREVIEW)
            light, remarks = photo.light, photo.remarks
        told = {**self._told(prepared, shot), "remarks": list(remarks)}
        return Looked(_jpeg(light, prepared, fine=wish.fine), told)

    def _planned(self, shot: Shot, frame_px: int) -> Prepared:
        """Prepare a shot at the size at which its frame has about `frame_px` pixels."""
        file = self._opened(shot)
        shot = _in_shares(shot, file)
        full_px = file.light.shape[0] * file.light.shape[1]
        prepared = self._framed(shot, file, _halvings(full_px, _USUAL_WHOLE_PX))
        frame, depth = prepared.scene.frame, prepared.scene.depth_m
        wanted = min(frame_px * depth.size / (frame.width * frame.height), _MOST_WHOLE_PX)
        return self._framed(shot, file, _halvings(full_px, wanted))

    def _framed(self, shot: Shot, file: PictureFile, halvings: int) -> Prepared:
        place = replace(shot, camera=CameraKeys(), lens=LensKeys(), written=())
        key = place, halvings
        if key not in self._sizes:
            self._sizes[key] = self._at_size(place, file, halvings)
            while len(self._sizes) > _MOST_SIZES:
                self._sizes.popitem(last=False)
        self._sizes.move_to_end(key)
        whole = self._sizes[key]
        scene, setting, sensor, notes = plan(shot, whole.scene)
        return replace(
            whole, shot=shot, scene=scene, setting=setting, sensor=sensor, notes=whole.notes + notes
        )

    def _at_size(self, place: Shot, file: PictureFile, halvings: int) -> Prepared:
        """Prepare the whole picture with its area halved so many times; no lens is planned yet."""
        camera, how_taken = taken_camera(file, place.taken)
        height, width = _halved(file, halvings)
        small = self._smaller(file, height, width)
        view = math.degrees(2 * math.atan(camera.width_px / (2 * camera.focal_px)))
        prepared = prepare_file(replace(place, taken=TakenKeys(field_deg=view)), small, silent)
        kept = tuple(note for note in prepared.notes if "°" not in note or "across" not in note)
        return replace(prepared, notes=(how_taken, *kept))

    def _smaller(self, file: PictureFile, height: int, width: int) -> PictureFile:
        if (height, width) == file.light.shape[:2]:
            return file
        source = self._middle
        if source is None or 2 * height * width > source.light.shape[0] * source.light.shape[1]:
            source = file
        return replace(file, light=averaged(source.light, height, width))

    def _opened(self, shot: Shot) -> PictureFile:
        if not shot.picture:
            raise InputError("nothing to look at: name a picture")
        path = Path(shot.picture)
        try:
            about = path.stat()
        except OSError as error:
            raise InputError(f"{path.name} cannot be read ({error.strerror})") from None
        stamp = str(path), about.st_mtime_ns, about.st_size
        if self._file is None or stamp != self._stamp:
            self._file = self._middle = None  # let go of the old one first: both may be large
            self._sizes.clear()
            self._file, self._stamp = read_picture(path), stamp
            height, width = _halved(
                self._file, _halvings(self._file.light[..., 0].size, _MOST_WHOLE_PX)
            )
            self._middle = self._smaller(self._file, height, width)
        return self._file

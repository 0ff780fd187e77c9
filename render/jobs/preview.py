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

from render.depth.ground import horizon_row
from render.engine.photograph import photograph
from render.engine.quality import FINAL, PREVIEW
from render.errors import HingelineError, InputError
from render.files.pictures import PictureFile, read_picture
from render.files.shots import CameraKeys, LensKeys, PictureSpot, Shot, merged
from render.jobs.opinion import opinion
from render.jobs.prepare import Prepared, lay_out, plan, taken_camera
from render.jobs.progress import silent
from render.jobs.shown import frame_field, screen_picture
from render.jobs.summary import coc_of, setting_words
from render.optics.camera import Window
from render.optics.lens import FocusDistance, FocusSpot
from render.optics.plane import focus_lens
from render.scene.colour import SRGB
from render.scene.resize import averaged
from render.scene.scene import Behind, Scene
from render.sheets.overlay import band_regions

__all__ = ["Look", "Looked", "Preview"]

#: Sizes kept at once, and the largest of them; the picture itself is kept too.
_MOST_PLACES = 4
_MOST_WHOLE_PX = 6_000_000
_USUAL_WHOLE_PX = 1_000_000
_JUDGED_PX = 400_000
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
    band: bool = False


@dataclass(frozen=True, slots=True)
class Looked:
    """A JPEG and what is said about it."""

    jpeg: bytes
    told: dict[str, Any]


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    """A picture of some size with its depth; no lens is planned yet."""

    file: PictureFile
    scene: Scene
    depth_how: str
    notes: tuple[str, ...]


class Preview:
    """Keeps what the last shots needed. One task at a time: it is not for several threads."""

    def __init__(self) -> None:
        self._file: PictureFile | None = None
        self._middle: PictureFile | None = None
        self._stamp: tuple[str, int, int] = ("", 0, 0)
        self._places: OrderedDict[tuple[Shot, int], _Place] = OrderedDict()

    def guess(self, shot: Shot) -> dict[str, str]:
        """Values to begin with where a picture comes without them, for its owner to put right.

        Raises
        ------
        HingelineError
            If the picture cannot be used, whatever is said about it.
        """
        guesses: tuple[dict[str, str], ...] = (
            {},
            _GUESSED_GROUND,
            _GUESSED_LENS,
            {**_GUESSED_LENS, **_GUESSED_GROUND},
        )
        for guessed in guesses:
            try:
                self._planned(merged(shot, dict(guessed), "{name}"), _USUAL_WHOLE_PX)
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
        scene = prepared.scene
        remarks: tuple[str, ...] = ()
        if wish.whole:
            light = scene.picture
        elif wish.before:
            light = scene.picture[scene.frame.rows, scene.frame.columns]
        else:
            quality = FINAL if wish.fine else PREVIEW
            photo = photograph(_near_frame(scene), prepared.setting, quality=quality)
            light, remarks = photo.light, photo.remarks
        told = {**_told(prepared), "remarks": list(remarks)}
        if wish.band:
            told["band"] = _band(prepared)
        return Looked(_jpeg(light, prepared, fine=wish.fine), told)

    def verdict(self, shot: Shot) -> dict[str, Any]:
        """Judge a shot at the size at which it is looked at."""
        return opinion(self._planned(shot, _JUDGED_PX))

    def _planned(self, shot: Shot, frame_px: int) -> Prepared:
        """Prepare a shot at the size at which its frame has about `frame_px` pixels."""
        file = self._opened(shot)
        shot = _in_shares(shot, file.light.shape[1], file.light.shape[0])
        full_px = file.light.shape[0] * file.light.shape[1]
        prepared = self._framed(shot, file, _steps(full_px, _USUAL_WHOLE_PX))
        frame, depth_m = prepared.scene.frame, prepared.scene.depth_m
        wanted = min(frame_px * depth_m.size / (frame.width * frame.height), _MOST_WHOLE_PX)
        return self._framed(shot, file, _steps(full_px, wanted))

    def _framed(self, shot: Shot, file: PictureFile, steps: int) -> Prepared:
        laid = replace(shot, camera=CameraKeys(), lens=LensKeys(), written=())
        key = laid, steps
        if key not in self._places:
            self._places[key] = self._laid_out(laid, file, steps)
            while len(self._places) > _MOST_PLACES:
                self._places.popitem(last=False)
        self._places.move_to_end(key)
        place = self._places[key]
        scene, setting, sensor, notes = plan(shot, place.scene)
        return Prepared(
            shot, scene, setting, sensor, place.file, place.depth_how, (*place.notes, *notes)
        )

    def _laid_out(self, shot: Shot, file: PictureFile, steps: int) -> _Place:
        camera, how_taken = taken_camera(file, shot.taken)
        height, width = _stepped(file.light, steps)
        small = self._smaller(file, height, width)
        scene, how, notes = lay_out(shot, small, camera.resized(width, height), silent)
        return _Place(small, scene, how, (*file.remarks, how_taken, *notes))

    def _smaller(self, file: PictureFile, height: int, width: int) -> PictureFile:
        for place in self._places.values():
            if place.file.light.shape[:2] == (height, width):
                return place.file
        source = self._middle
        if source is None or height * width * 2 > source.light.shape[0] * source.light.shape[1]:
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
            self._places.clear()
            self._file, self._stamp = read_picture(path), stamp
            full_px = self._file.light.shape[0] * self._file.light.shape[1]
            size = _stepped(self._file.light, _steps(full_px, _MOST_WHOLE_PX))
            self._middle = self._smaller(self._file, *size)
        return self._file


def _steps(full_px: int, wanted_px: float) -> int:
    """How many steps smaller to come nearest to `wanted_px`; two steps halve the area."""
    return max(0, round(2 * math.log2(full_px / wanted_px)))


def _stepped(light: NDArray[np.float32], steps: int) -> tuple[int, int]:
    scale = 2.0 ** (-steps / 4)
    return max(1, round(light.shape[0] * scale)), max(1, round(light.shape[1] * scale))


def _in_shares(shot: Shot, width_px: int, height_px: int) -> Shot:
    """Turn places given in pixels of the whole picture into shares, which hold at any size."""
    focus, horizon = shot.lens.focus, shot.vantage.horizon
    if isinstance(focus, PictureSpot):
        focus = PictureSpot(
            focus.x if focus.x_is_share else focus.x / width_px,
            focus.y if focus.y_is_share else focus.y / height_px,
            x_is_share=True,
            y_is_share=True,
        )
        shot = replace(shot, lens=replace(shot.lens, focus=focus))
    if horizon is not None and not horizon[1]:
        share = horizon[0] / height_px, True
        shot = replace(shot, vantage=replace(shot.vantage, horizon=share))
    return shot


def _near_frame(scene: Scene) -> Scene:
    """Leave out what lies farther outside the frame than blur reaches in."""
    frame, (height, width) = scene.frame, scene.depth_m.shape
    margin = round(_MARGIN * max(frame.width, frame.height))
    left, top = max(0, frame.left - margin), max(0, frame.top - margin)
    outer = Window(
        left,
        top,
        min(width, frame.left + frame.width + margin) - left,
        min(height, frame.top + frame.height + margin) - top,
    )
    if (outer.width, outer.height) == (width, height):
        return scene
    rows, columns = outer.rows, outer.columns
    behind = scene.behind
    return Scene(
        scene.picture[rows, columns],
        scene.depth_m[rows, columns],
        scene.camera.cropped(outer),
        window=Window(frame.left - left, frame.top - top, frame.width, frame.height),
        behind=behind and Behind(behind.picture[rows, columns], behind.depth_m[rows, columns]),
        vantage=scene.vantage,
    )


def _jpeg(light: NDArray[np.float32], prepared: Prepared, *, fine: bool) -> bytes:
    encoding = prepared.file.encoding if prepared.file else SRGB
    out = io.BytesIO()
    quality = 92 if fine else 85
    screen_picture(light, encoding).save(out, "JPEG", quality=quality, subsampling=0)
    return out.getvalue()


def _told(prepared: Prepared) -> dict[str, Any]:
    """What the page says and draws beside the picture; places are shares of the frame."""
    scene, setting, frame = prepared.scene, prepared.setting, prepared.scene.frame
    whole = scene.camera
    focus = setting.focus
    spot = distance_m = None
    if isinstance(focus, FocusSpot):
        x, y = whole.positions((focus.slope_x, focus.slope_y))
        spot = [(x - frame.left) / frame.width, (y - frame.top) / frame.height]
        distance_m = focus.depth_m
    elif isinstance(focus, FocusDistance):
        distance_m = focus.depth_m
    vantage = scene.vantage
    return {
        "words": setting_words(prepared),
        "depth": prepared.depth_how,
        "notes": list(prepared.notes),
        "frame": [
            frame.left / whole.width_px,
            frame.top / whole.height_px,
            frame.width / whole.width_px,
            frame.height / whole.height_px,
        ],
        "shape": frame.width / frame.height,
        "whole_shape": whole.width_px / whole.height_px,
        "lens": setting.focal_mm,
        "f": setting.f_number,
        "tilt": setting.tilt_deg,
        "swing": setting.swing_deg,
        "rise": setting.rise_mm,
        "shift": setting.lateral_mm,
        "focus": spot,
        "focus_m": _plain(distance_m),
        "extension_mm": focus_lens(setting).extension_mm,
        "height": vantage and vantage.height_m,
        "pitch": vantage and vantage.pitch_deg,
        "roll": vantage and vantage.roll_deg,
        "horizon": vantage and horizon_row(whole, vantage) / whole.height_px,
    }


def _band(prepared: Prepared) -> list[list[list[list[float]]]]:
    """Outlines of what is sharp, with their holes, in shares of the frame."""
    field = frame_field(prepared.scene, prepared)
    width, height = field.camera.width_px, field.camera.height_px
    return [
        [
            [[round(float(x) / width, 4), round(float(y) / height, 4)] for x, y in ring]
            for ring in region
        ]
        for region in band_regions(field, coc_of(prepared))
    ]


def _plain(value: float | None) -> float | None:
    """JSON has no infinity: the sky is as far as 1e9 m."""
    return None if value is None else min(float(value), 1e9)

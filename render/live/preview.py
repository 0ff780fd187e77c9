"""Pictures while the knobs are turned: the scene stays loaded, at the size that is looked at.

A preview is the same photograph as `render` makes, from the same parts, only from a picture that
was made smaller first.
"""

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.depth.cutout import cutout_by_spots, outline_around
from render.engine.photograph import photograph
from render.engine.quality import FINAL, PREVIEW
from render.errors import HingelineError, InputError
from render.live.moments import moment_values
from render.live.places import Places
from render.live.stages import Stages
from render.load.asked.place import site_in
from render.load.asked.wish import parse_wish
from render.load.depths.spots import in_doubt
from render.load.prepared import Prepared
from render.optics.camera import Window
from render.optics.lens import FocusExtension
from render.optics.solving.solve import best_plane
from render.optics.solving.targets import Freedom, Target
from render.scene.crop import cut_out
from render.scene.field import frame_field
from render.scene.scene import Scene
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.overlay import blur_map
from render.shot.declaring import Words
from render.shot.shot import Shot, merged
from render.shot.things import ThingName
from render.shot.wishes import JudgeWishes
from render.tell.preview_record import (
    band_handles,
    band_outlines,
    counted_in,
    preview_record,
    spot_words,
)
from render.tell.preview_verdict import preview_verdict, stop_strip
from render.tell.setting_values import setting_values
from render.units import in_feet

__all__ = ["Look", "Looked", "Preview", "Showing"]

_GUESSED_AT_PX, _OUTLINED_PX = 400_000, 1_000_000
#: Blur reaches in from outside the frame: this share of its longer side is kept round it.
_MARGIN, _MOST_MARGIN_PX = 0.15, 400
_SHOWS_THROUGH = 0.25
_STAYS = 0.7  # of the picture, under a depth that is laid over it
#: Side of the square that the loupe shows, pixels of the photograph.
_LOUPE_PX = 240
_GUESSED_HORIZON = "25%"
#: Usual limit of lenses that swing (common practice); the band is not laid beyond it.
_MOST_SWING_DEG = 15.0

Showing = Literal["photograph", "before", "whole", "depth", "laid", "map"]


@dataclass(frozen=True, slots=True)
class Look:
    """How a picture is wanted.

    Attributes
    ----------
    pixels : int
        About how many the frame should have.
    showing : str
        The photograph; "before", without blur; "whole", the picture as handed in; "depth" of
        the whole picture; "laid", that depth thinly over it; "map", the blur map of the frame.
    fine : bool
        Worked out as finely as a photograph for keeps.
    band : bool
        Also say where the sharp band lies.
    passing : bool
        One of many that follow each other: nothing better is made of it meanwhile.
    """

    pixels: int
    showing: Showing = "photograph"
    fine: bool = False
    band: bool = False
    passing: bool = False


@dataclass(frozen=True, slots=True)
class Looked:
    """A JPEG and what is said about it."""

    jpeg: bytes
    told: dict[str, Any]


class Preview:
    """Keeps what the last shots needed. One task at a time: it is not for several threads.

    Parameters
    ----------
    left : callable
        As of `Stages`.
    """

    def __init__(self, left: Callable[[], bool] = lambda: False) -> None:
        self._places = Places()
        self._stages = Stages(left)

    def close(self) -> None:
        """End what is still being made."""
        self._stages.close()

    def guess(self, shot: Shot) -> dict[str, Words]:
        """Values to begin with where a picture comes without them, for its owner to put right.

        What the shot says itself is no guess.

        Raises
        ------
        HingelineError
            If the picture cannot be used, whatever is said about it.
        """
        high = "33 ft" if in_feet() else "10 m"
        said = dict(shot.written).keys()
        ground: dict[str, Words] = {} if "height" in said else {"height": high}
        ground |= {} if {"horizon", "pitch"} & said else {"horizon": _GUESSED_HORIZON}
        for guessed in ({}, {**ground, "guessed": tuple(ground)}):
            try:
                self._planned(merged(shot, guessed, "{name}"), _GUESSED_AT_PX)
            except HingelineError as error:
                failed = error
            else:
                return guessed
        raise failed

    def may_be_depth(self, shot: Shot) -> bool:
        """Tell whether the picture of a shot is of the kind that depth is kept in."""
        _, file = self._places.opened(shot)
        return not self._places.reel(shot) and file.grey and file.bits > 8

    def look(self, shot: Shot, wish: Look) -> Looked:
        """Show a shot, small.

        Raises
        ------
        HingelineError
            As `prepare` and `photograph`.
        """
        prepared = self._planned(shot, wish.pixels, exact=wish.fine, passing=wish.passing)
        if wish.showing == "photograph":
            image, remarks = _taken(self._to_take(prepared), wish.fine)
        else:
            image, remarks = _image(prepared, wish), ()
        said = {**preview_record(prepared), "remarks": list(remarks)}
        if shot.scene:
            said |= self._stages.stance(shot)
            if wish.passing:
                said["waiting"] = None
        else:
            said["reel"] = self._places.reel(shot)
        if wish.band:
            field, coc_mm = frame_field(prepared.scene, prepared.setting), prepared.coc_mm
            said["band"] = band_outlines(field, coc_mm)
            said["handles"] = band_handles(prepared)
        return Looked(_jpeg(image, 92 if wish.fine else 85), said)

    def loupe(self, shot: Shot, x: float, y: float) -> Looked:
        """The photograph round a place of the frame (shares), pixel for pixel."""
        prepared = self._full(shot)
        frame = prepared.scene.frame
        width, height = min(_LOUPE_PX, frame.width), min(_LOUPE_PX, frame.height)
        left = min(max(0, round(x * frame.width) - width // 2), frame.width - width)
        top = min(max(0, round(y * frame.height) - height // 2), frame.height - height)
        part = Window(frame.left + left, frame.top + top, width, height)
        margin = min(_MOST_MARGIN_PX, round(_MARGIN * max(frame.width, frame.height)))
        scene = self._to_take(prepared).scene
        photo = photograph(cut_out(scene, part, margin), prepared.setting)
        said = {"x": (left + width / 2) / frame.width, "y": (top + height / 2) / frame.height}
        return Looked(_jpeg(_screen(photo.light, prepared), 92), said)

    def _to_take(self, prepared: Prepared) -> Prepared:
        """As the lens gets it: highlights lifted where the shot asks for it."""
        if prepared.shot.scene:
            return prepared
        return replace(prepared, scene=self._places.lifted(prepared))

    def moments(self, shot: Shot, times_s: Sequence[float]) -> list[dict[str, str]]:
        """Words of everything that key frames move, at each time.

        Raises
        ------
        HingelineError
            As `look`, and if the lens cannot be set as a key frame says.
        """
        return moment_values(
            shot, lambda one: self._planned(one, _GUESSED_AT_PX, passing=True), times_s
        )

    def _planned(
        self, shot: Shot, wanted_px: int, *, exact: bool = False, passing: bool = False
    ) -> Prepared:
        if shot.scene:
            return self._stages.planned(shot, passing=passing)
        return self._places.planned(shot, wanted_px, exact=exact)

    def _full(self, shot: Shot) -> Prepared:
        """As large as there is: the picture's own size, or what was traced of a scene."""
        return self._stages.planned(shot) if shot.scene else self._places.full(shot)

    def _judged(self, shot: Shot) -> Prepared:
        """What `judge` looks at: the picture's own size, a scene as it is traced for that."""
        return self._stages.judged(shot) if shot.scene else self._places.full(shot)

    def at(self) -> dict[str, Any]:
        """What somebody waits for, ``what`` and ``share``; it may be asked while a task runs."""
        what, share = self._stages.at() or ("", 0.0)
        return {"what": what, "share": share}

    def verdict(self, shot: Shot, wishes: JudgeWishes) -> dict[str, Any]:
        """Judge a shot, the same as `judge` does; what comes of a draft says so."""
        said = preview_verdict(self._judged(shot), wishes)
        said["draft"] = bool(shot.scene) and self._stages.drafted(shot)
        if said["draft"]:
            said["why"] = f"From a draft, to be judged anew. {said['why']}"
        return said

    def stops(self, shot: Shot, wishes: JudgeWishes) -> list[dict[str, Any]]:
        """What each whole stop would be judged as."""
        return stop_strip(self._judged(shot), wishes)

    def outline(
        self,
        shot: Shot,
        spot: tuple[float, float],
        more: Sequence[tuple[float, float]] = (),
        less: Sequence[tuple[float, float]] = (),
    ) -> tuple[list[str], str]:
        """Corners of the thing at a place of the whole picture (shares), as spots of a shot.

        And in words what else the place may mean.

        Parameters
        ----------
        more, less : sequences of (x, y)
            Places that belong to it too, and places that do not.

        Raises
        ------
        InputError
            If nothing stands out there, or finding outlines needs a package that is missing.
        """
        prepared = self._planned(shot, _OUTLINED_PX)
        light = prepared.scene.picture
        height, width = light.shape[:2]
        at, more_px, less_px = (
            [(min(x * width, width - 1.0), min(y * height, height - 1.0)) for x, y in part]
            for part in ([spot], more, less)
        )
        cut = cutout_by_spots(light, at[0], more_px=more_px, less_px=less_px)
        corners = [spot_words(prepared, *corner) for corner in outline_around(cut.region)]
        return corners, in_doubt(cut)

    def heed(self, shot: Shot, kind: str, text: str) -> None:
        """Refuse what cannot be wished sharp or soft where a shot is taken.

        Raises
        ------
        HingelineError
            As `render.load.asked.site.Site.targets`.
        """
        site_in(self._planned(shot, _GUESSED_AT_PX)).targets(parse_wish(kind, text))

    def heed_name(self, shot: Shot, thing: ThingName) -> None:
        """Refuse a thing to focus on that the scene of a shot does not show.

        Raises
        ------
        HingelineError
            As `render.live.stages.Stages.heed_name`.
        """
        self._stages.heed_name(shot, thing)

    def lay_band(self, shot: Shot, points: Sequence[tuple[float, float]]) -> dict[str, str | None]:
        """Values that lay the sharp band through points of the frame.

        The tilt stays; one point moves the focus, two also turn the swing.

        Parameters
        ----------
        points : sequence of (x, y)
            Shares of the frame; the last one becomes the focus spot.

        Raises
        ------
        SettingError
            If no swing within reach does it.
        """
        prepared = self._judged(shot)
        setting = prepared.setting
        targets = [_target(prepared.scene, point) for point in points]
        freedom = Freedom(
            tilt=False,
            swing=len(targets) > 1,
            tilt_deg=setting.tilt_deg,
            swing_deg=setting.swing_deg,
            limit_deg=prepared.limits.tilt_limit_deg
            if prepared.limits
            else max(_MOST_SWING_DEG, abs(setting.tilt_deg)) + 1.0,
        )
        found = best_plane(targets, setting.focal_mm, freedom)
        swing_deg = round(found.swing_deg, 2) if len(targets) > 1 else setting.swing_deg
        wanted = replace(setting, swing_deg=swing_deg, focus=FocusExtension(found.extension_mm))
        values = setting_values(wanted, prepared)
        frame, (x, y) = prepared.scene.frame, points[-1]
        values["focus"] = spot_words(
            prepared, frame.left + x * frame.width, frame.top + y * frame.height
        )
        return values


def _image(prepared: Prepared, wish: Look) -> Image.Image:
    scene = prepared.scene
    if wish.showing in ("whole", "depth", "laid"):
        whole = counted_in(prepared)
        shown = _screen(scene.picture[whole.rows, whole.columns], prepared)
        if wish.showing == "whole":
            return shown
        depth_m = scene.depth_m[whole.rows, whole.columns]
        if wish.showing == "depth":
            return Image.blend(_depth_image(depth_m), shown.convert("L"), _SHOWS_THROUGH)
        return Image.blend(_depth_image(depth_m).convert("RGB"), shown.convert("RGB"), _STAYS)
    before = scene.picture[scene.frame.rows, scene.frame.columns]
    if wish.showing == "before":
        return _screen(before, prepared)
    field = frame_field(scene, prepared.setting)
    map_ = blur_map(_screen(before, prepared), field, prepared.coc_mm, lettered=False)
    return paint(map_).convert("RGB")


def _taken(prepared: Prepared, fine: bool) -> tuple[Image.Image, tuple[str, ...]]:
    scene = prepared.scene
    margin = round(_MARGIN * max(scene.frame.width, scene.frame.height))
    photo = photograph(
        cut_out(scene, scene.frame, margin),
        prepared.setting,
        quality=FINAL if fine else PREVIEW,
    )
    return _screen(photo.light, prepared), photo.remarks


def _depth_image(depth_m: NDArray[np.float32]) -> Image.Image:
    """Near is light, each doubling of the distance darker by the same step, the sky black."""
    with np.errstate(divide="ignore"):
        doublings = np.log2(depth_m)
    known = np.isfinite(doublings)
    if not known.any():
        raise InputError("the picture is all sky: it has no depth to show")
    near, far = np.quantile(doublings[known], (0.002, 0.998))
    share = np.clip((far - doublings) / max(far - near, 1e-6), 0, 1)
    grey = np.where(known, 40 + 205 * share, 0).astype(np.uint8)
    return Image.fromarray(grey, "L")


def _target(scene: Scene, point: tuple[float, float]) -> Target:
    frame = scene.frame
    column = frame.left + min(int(point[0] * frame.width), frame.width - 1)
    row = frame.top + min(int(point[1] * frame.height), frame.height - 1)
    slope_x, slope_y = scene.camera.slopes(column + 0.5, row + 0.5)
    return Target(float(slope_x), float(slope_y), float(scene.depth_m[row, column]))


def _screen(light: NDArray[np.float32], prepared: Prepared) -> Image.Image:
    return screen_picture(light, prepared.encoding)


def _jpeg(image: Image.Image, quality: int) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=quality, subsampling=0)
    return out.getvalue()

"""Close-ups: two small places of a photograph at its own pixels, where it matters.

One is planned sharp; the other is another thing that is named and that the other settings lose,
or else is planned soft.

They are chosen once, under the setting that is planned, and shown under every other one too:
what looks alike in a small picture then differs.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from render.engine.photograph import photograph
from render.engine.quality import FINAL
from render.files.painted import profiled
from render.load.highlights import ToTake
from render.load.prepared import Prepared
from render.optics.blur import BlurField, blur_mm
from render.optics.camera import Window
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import FocusedLens, focus_lens
from render.optics.solving.dialling import UNSEEN_CIRCLES
from render.optics.solving.targets import Target
from render.scene.colour import Encoding
from render.scene.crop import cut_out
from render.scene.field import frame_field
from render.scene.resize import resized
from render.scene.scene import Scene
from render.sheets.close_ups import CloseUps, Place
from render.sheets.drawing.screen import screen_picture

__all__ = ["CloseUp", "chosen_close_ups", "close_ups_as_it_is", "take_close_ups"]

#: Places are looked for at this size.
_SEARCHED_PX = 480
#: A place counts as soft in full from this share of the blur that nearly all stays below.
_SOFT, _NEARLY_ALL = 0.8, 0.98
#: How far from the spot in focus a sharp place is looked for, a share of the longer side.
_NEAR = 0.12


@dataclass(frozen=True, slots=True)
class CloseUp:
    """A small place of the frame, shares of its width and height."""

    left: float
    top: float
    width: float
    height: float
    planned: str = "sharp"

    @property
    def place(self) -> Place:
        """The same as plain numbers."""
        return self.left, self.top, self.width, self.height

    def window(self, frame: Window) -> Window:
        """The place in the pixels of a picture, given its frame."""
        width = min(max(1, round(self.width * frame.width)), frame.width)
        height = min(max(1, round(self.height * frame.height)), frame.height)
        left = min(round(self.left * frame.width), frame.width - width)
        top = min(round(self.top * frame.height), frame.height - height)
        return Window(frame.left + left, frame.top + top, width, height)

    def moved(self, frame: Window, other: Window) -> "CloseUp":
        """The same pixels in another frame of the picture, or the nearest that it holds."""
        here = self.window(frame)
        width, height = min(here.width, other.width), min(here.height, other.height)
        left = min(max(here.left - other.left, 0), other.width - width)
        top = min(max(here.top - other.top, 0), other.height - height)
        across, down = other.width, other.height
        return CloseUp(left / across, top / down, width / across, height / down, self.planned)

    def overlaps(self, other: "CloseUp") -> bool:
        """Whether the two show some of the same."""
        across, down = self.left - other.left, self.top - other.top
        return abs(across) < self.width and abs(down) < self.height


def chosen_close_ups(
    base: Prepared, width_px: int, height_px: int, others: Sequence[LensSetting] = ()
) -> tuple[CloseUp, CloseUp]:
    """Choose where to look closely: where the planned setting is sharp, and what tells it apart.

    The first holds the first thing that is named, else the most detail that is sharp, near to the
    spot in focus. The second holds, beside it, the thing named that another setting blurs
    otherwise by the most; where none of them does so visibly, the most detail for the most blur.

    Parameters
    ----------
    width_px, height_px : int
        Of a close-up, in pixels of the picture.
    others : sequence of LensSetting
        What the planned setting is shown beside.
    """
    frame = base.scene.frame
    share = min(1.0, width_px / frame.width), min(1.0, height_px / frame.height)
    small = resized(base.scene, _SEARCHED_PX)
    field = frame_field(small, base.setting)
    blurred_mm = 2.0 * field.lens.aperture_radius_mm * np.abs(field.defocus)
    detail = _detail(small, base.encoding)
    most = float(np.quantile(blurred_mm, _NEARLY_ALL))
    soft = detail * np.minimum(blurred_mm / max(_SOFT * most, base.coc_mm), 1.0)
    sharp: NDArray[np.floating] = detail * (blurred_mm <= base.coc_mm)
    if base.named:
        first = _round(_spot(field, base.named[0]), share)
    else:
        if isinstance(base.setting.focus, FocusSpot):
            sharp = sharp * _nearness(_spot(field, base.setting.focus), detail.shape)
        first = _richest(sharp, share)
    lenses = [focus_lens(other) for other in others if other.focal_mm == base.setting.focal_mm]
    apart = {
        _round(_spot(field, thing), share): _told_apart(field.lens, lenses, thing)
        for thing in base.named[1:]
    }
    apart = {place: by_mm for place, by_mm in apart.items() if not place.overlaps(first)}
    if apart and max(apart.values()) > UNSEEN_CIRCLES * base.coc_mm:
        return first, max(apart, key=lambda place: apart[place])
    second = _richest(soft, share, beside=first)
    width, height = blurred_mm.shape[::-1]
    rows = slice(round(second.top * height), round((second.top + second.height) * height) + 1)
    columns = slice(round(second.left * width), round((second.left + second.width) * width) + 1)
    if float(np.median(blurred_mm[rows, columns])) > base.coc_mm:
        second = replace(second, planned="soft")
    return first, second


def _told_apart(lens: FocusedLens, others: Sequence[FocusedLens], thing: Target) -> float:
    """By how much the blur of a thing differs at most between a lens and others, mm."""
    at, inverse = (thing.slope_x, thing.slope_y), 1.0 / thing.depth_m
    here_mm = blur_mm(lens, at, inverse)
    return max((abs(float(blur_mm(o, at, inverse) - here_mm)) for o in others), default=0.0)


def take_close_ups(
    take: ToTake, setting: LensSetting, chosen: tuple[CloseUp, CloseUp], encoding: Encoding
) -> CloseUps:
    """Photograph two small places, each with as much round it as blur can reach."""
    scene, lit = take.scene, take.through(setting)
    small = frame_field(resized(scene, _SEARCHED_PX), setting)
    scale = scene.frame.width / small.camera.width_px
    reach_px = int(np.ceil(scale * float(np.abs(small.radius_px()).max()))) + 4
    first, second = (
        photograph(cut_out(lit, one.window(scene.frame), reach_px), setting, quality=FINAL).light
        for one in chosen
    )
    return _shown(first, second, chosen, encoding)


def close_ups_as_it_is(
    scene: Scene, chosen: tuple[CloseUp, CloseUp], encoding: Encoding
) -> CloseUps:
    """Two small places as the scene shows them, without any lens."""
    windows = [one.window(scene.frame) for one in chosen]
    first, second = (scene.picture[window.rows, window.columns] for window in windows)
    return _shown(first, second, chosen, encoding)


def _shown(
    first: NDArray[np.float32],
    second: NDArray[np.float32],
    chosen: tuple[CloseUp, CloseUp],
    encoding: Encoding,
) -> CloseUps:
    one, other = (profiled(screen_picture(light, encoding)) for light in (first, second))
    here, there = chosen
    return CloseUps(one, other, (here.place, there.place), (here.planned, there.planned))


def _detail(scene: Scene, encoding: Encoding) -> NDArray[np.float32]:
    """How much codes change from pixel to pixel of the frame."""
    frame = scene.frame
    codes = np.asarray(screen_picture(scene.picture[frame.rows, frame.columns], encoding))
    grey = codes.astype(np.float32).mean(axis=2)
    down, across = np.gradient(grey) if min(grey.shape) > 1 else (grey, grey)
    return np.asarray(np.abs(down) + np.abs(across), np.float32)


def _richest(
    worth: NDArray[np.floating], share: tuple[float, float], beside: CloseUp | None = None
) -> CloseUp:
    """The place of a size that holds the most, what is in its middle counting most.

    It shows nothing of the place it is to lie `beside`, if the frame has room.
    """
    height, width = worth.shape
    size = max(1, round(share[1] * height)), max(1, round(share[0] * width))
    half = tuple(side // 2 + 1 for side in size)
    sums = ndimage.uniform_filter(worth, half, mode="constant")
    sums = ndimage.uniform_filter(sums, half, mode="constant")
    rows = slice(size[0] // 2, height - (size[0] - 1) // 2)
    columns = slice(size[1] // 2, width - (size[1] - 1) // 2)
    inside = sums[rows, columns]
    if beside is not None:
        apart = np.ones(inside.shape, bool)
        upper, left = round(beside.top * height), round(beside.left * width)
        apart[
            max(0, upper - size[0] + 1) : upper + size[0],
            max(0, left - size[1] + 1) : left + size[1],
        ] = False
        inside = np.where(apart, inside, -np.inf) if apart.any() else inside
    row, column = divmod(int(np.argmax(inside)), inside.shape[1])
    return CloseUp(min(column / width, 1.0 - share[0]), min(row / height, 1.0 - share[1]), *share)


def _spot(field: BlurField, at: Target | FocusSpot) -> tuple[float, float]:
    """Where something lies in the frame, shares of its width and height."""
    x, y = field.camera.positions((at.slope_x, at.slope_y)).tolist()
    return x / field.camera.width_px, y / field.camera.height_px


def _nearness(spot: tuple[float, float], shape: tuple[int, ...]) -> NDArray[np.float64]:
    """1 at a spot of the frame, falling off over `_NEAR` of its longer side."""
    height, width = shape
    rows = (np.arange(height) + 0.5 - spot[1] * height)[:, None]
    columns = (np.arange(width) + 0.5 - spot[0] * width)[None, :]
    reach = _NEAR * max(height, width)
    return np.asarray(np.exp(-(rows**2 + columns**2) / (2 * reach**2)))


def _round(spot: tuple[float, float], share: tuple[float, float]) -> CloseUp:
    """A place round a spot, moved inside."""
    left, top = (
        min(max(0.0, at - one / 2), 1.0 - one) for at, one in zip(spot, share, strict=True)
    )
    return CloseUp(left, top, *share)

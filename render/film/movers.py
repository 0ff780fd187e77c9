"""What moves across a still picture: told from the clean plate, and stood on the ground."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from render.film.evening import brightness_step
from render.scene.scene import Behind, Scene

__all__ = ["Plate", "clean_plate", "mover_mask", "standing_depth", "with_movers"]

Light = NDArray[np.float32]

#: A pixel belongs to something that moves from this difference on, in square roots of light, and
#: from so many times the noise of what stands still (ours).
_DIFFERS, _NOISES = 0.045, 5.0
#: Share of light that a cast shadow leaves, and how much bluer it may be: sky light stays (ours).
_SHADE, _BLUER, _SLACK = (0.2, 0.97), 2.0, 1.06
#: Smaller than this nothing is followed: px, and share of the picture.
_LEAST_PX, _LEAST_SHARE = 12, 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """The place without what moves.

    Attributes
    ----------
    light : ndarray, shape (H, W, 3), float32
        Median of frames at distant moments.
    noise : float
        Of a frame against it where nothing moves, one sigma, in square roots of light.
    """

    light: Light
    noise: float


def clean_plate(frames: Sequence[Light]) -> Plate:
    """Median of frames: what is seen at a pixel most of the time.

    Parameters
    ----------
    frames : sequence of ndarray, each (H, W, 3) float32
        Five or more moments, far enough apart that nothing stands in one place in half of them.
    """
    coded = np.stack([np.sqrt(frame).astype(np.float16) for frame in frames])
    height = coded.shape[1]
    light = np.empty(frames[0].shape, np.float32)
    for row in range(0, height, 64):  # a median of all at once would take the memory twice
        part = np.median(coded[:, row : row + 64].astype(np.float32), axis=0)
        light[row : row + 64] = part * part
    off = np.abs(coded[0].astype(np.float32) - np.sqrt(light)).max(axis=2)
    return Plate(light, 1.4826 * float(np.median(off)))


def mover_mask(light: Light, plate: Plate) -> NDArray[np.bool_]:
    """Pixels of what is there now and not on the plate; cast shadows left out.

    A shadow leaves the sky's light, so it is darker and rather bluer; exposure that changed as a
    whole does not count.
    Small gaps are closed, holes filled, specks dropped.
    """
    even = light * np.float32(np.exp(-brightness_step(plate.light, light)))
    off = np.abs(np.sqrt(even) - np.sqrt(plate.light)).max(axis=2)
    mask = off > max(_DIFFERS, _NOISES * plate.noise)
    mask &= ~_shaded(even, plate.light)
    mask = ndimage.binary_opening(mask, np.ones((2, 2), bool))
    mask = ndimage.binary_closing(mask, np.ones((3, 3), bool), iterations=2)
    mask = ndimage.binary_fill_holes(mask)
    parts, count = ndimage.label(mask, np.ones((3, 3), bool))
    if not count:
        return np.asarray(mask)
    least = max(_LEAST_PX, _LEAST_SHARE * mask.size)
    large = np.bincount(parts.ravel(), minlength=count + 1) >= least
    large[0] = False
    return np.asarray(large[parts])


def _shaded(light: Light, place: Light) -> NDArray[np.bool_]:
    """Pixels that may be the place in a shadow: darker, and no redder than it was."""
    ratio = light / np.maximum(place, 1e-4)
    red, green, blue = ratio[..., 0], ratio[..., 1], ratio[..., 2]
    cold = (red <= _SLACK * green) & (green <= _SLACK * blue) & (blue <= _BLUER * red)
    return np.asarray(cold & (green > _SHADE[0]) & (green < _SHADE[1]))


def standing_depth(mask: NDArray[np.bool_], depth_m: NDArray[np.float32]) -> NDArray[np.float32]:
    """Depth of the place with what moves standing in it, each upright at its foot.

    The foot of a part of the mask is its lowest row; it is as far away as the ground there is.
    What would stand behind the place's own surface stays with that.

    Parameters
    ----------
    mask : ndarray, shape (H, W), bool
    depth_m : ndarray, shape (H, W), float32
        Of the place without what moves.
    """
    parts, _ = ndimage.label(mask, np.ones((3, 3), bool))
    depth = depth_m.copy()
    for number, box in enumerate(ndimage.find_objects(parts), 1):
        own = parts[box] == number
        foot = own.shape[0] - 1
        columns = np.flatnonzero(own[foot])
        row = min(box[0].start + foot + 1, mask.shape[0] - 1)
        stands_m = float(np.median(depth_m[row, box[1].start + columns]))
        if np.isfinite(stands_m):
            part = depth[box]
            part[own] = np.minimum(part[own], np.float32(stands_m))
    return depth


def with_movers(scene: Scene, plate: Plate, light: Light) -> Scene:
    """The scene of one frame: what moves has its own depth, and the plate is known behind it.

    Parameters
    ----------
    scene : Scene
        The place; its depth is that of the plate.
    light : ndarray, shape (H, W, 3), float32
        The frame.
    """
    mask = mover_mask(light, plate)
    if not mask.any():
        return replace(scene, picture=light, finer=None)
    depth = standing_depth(mask, scene.depth_m)
    near = ndimage.binary_dilation(mask, iterations=2) & (depth < scene.depth_m)
    gain = np.float32(np.exp(brightness_step(plate.light, light)))
    behind_m = np.where(near, scene.depth_m, np.float32(np.nan))
    behind = Behind(plate.light * gain, behind_m)
    return replace(scene, picture=light, depth_m=depth, behind=behind, finer=None)

"""What moves across a still picture: told from the clean plate, and stood on the ground."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from render.film.evening import brightness_step
from render.scene.scene import Behind, Scene

__all__ = ["Plate", "clean_plate", "mover_mask", "standing_depth", "with_movers"]

Light = NDArray[np.float32]
Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: A pixel belongs to something that moves from this difference on, in square roots of light, and
#: from so many times the noise there; beside such pixels from the second pair (all here ours).
_SEED, _BESIDE = (0.035, 5.0), (0.022, 3.0)
#: Share of light that a cast shadow leaves; how much redder its light may be, and how much bluer.
_SHADE, _REDDER, _BLUER = (0.05, 0.97), 1.1, 3.0
#: A shadow keeps the pattern of the ground: variance of the ratio over that of the place.
_KEPT, _LOST = 0.4, 1.0
#: Variance of the logarithm of light from which there is a pattern, in squares of so many px.
_PATTERN, _SQUARE_PX = 4e-4, 7
#: Columns as tall as this share of the tallest may be a body that looks like shade.
_TALL = 0.6
#: With less of its own colour than the first share a thing is told by its shape alone, with more
#: than the second by its colours alone.
_COLOURED = (0.15, 0.5)
#: A part whose outline is so many times clearer on the plate is a place that was uncovered.
_UNCOVERED = 1.5
#: Share of all looks that have to show the same for the plate to take it over.
_AGREED = 0.25
#: Smaller than this nothing is followed: px, and share of the picture.
_LEAST_PX, _LEAST_SHARE = 12, 1e-5
#: How far to each side a foot is looked for, in heights of the part.
_ASIDE = 0.25
#: Taller than this, m, is no walker, bus or tram: things that cannot be told apart, or surf.
_TALLEST_M = 8.0
_GREY = np.array([0.25, 0.65, 0.1], np.float32)
_TWO, _AROUND = np.ones((2, 2), bool), np.ones((3, 3), bool)


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """The place without what moves.

    Attributes
    ----------
    light : ndarray, shape (H, W, 3), float32
        Median of frames at distant moments.
    noise : ndarray, shape (H, W), float32
        Of a frame against it where nothing moves, one sigma, in square roots of light.
    """

    light: Light
    noise: Floats


def clean_plate(frames: Iterable[Light]) -> Plate:
    """Median of frames: what is seen at a pixel most of the time.

    Where something stood longer than that and then left, the place that it uncovered is taken
    from the frames that show it: there the outline of the change lies in the median, not in them.

    Parameters
    ----------
    frames : iterable of ndarray, each (H, W, 3) float32
        Five or more moments, far apart; each is let go of once its half floats are kept.
    """
    coded = [np.sqrt(frame).astype(np.float16) for frame in frames]
    height, width = coded[0].shape[:2]
    root, noise = np.empty((height, width, 3), np.float32), np.empty((height, width), np.float32)
    for row in range(0, height, 64):  # a median of all at once would take the memory twice
        part = np.stack([each[row : row + 64] for each in coded]).astype(np.float32)
        root[row : row + 64] = middle = np.median(part, axis=0)
        # what three of ten stay within: 0.385 sigma of a Gaussian, and movers hardly count
        off = np.abs(part - middle).max(axis=3)
        noise[row : row + 64] = np.quantile(off, 0.3, axis=0) / 0.385
    most = max(0.02, 4.0 * float(np.median(noise)))
    noise = ndimage.uniform_filter(np.minimum(noise, np.float32(most)), 5)
    plate = Plate(root * root, noise)
    for frame in coded:
        _uncover(plate, frame.astype(np.float32), coded)
    return plate


def _uncover(plate: Plate, root: Floats, looks: Sequence[NDArray[np.float16]]) -> None:
    """Take over, in place, what a frame (square roots of light) shows of the place behind."""
    even = _evened(root * root, plate)
    seed = _over(np.abs(np.sqrt(even) - np.sqrt(plate.light)).max(axis=2), _SEED, plate)
    mask = ndimage.binary_opening(seed, _TWO)
    parts, count = ndimage.label(ndimage.binary_closing(mask, _AROUND, iterations=2), _AROUND)
    if not count:
        return
    clearer = _clearer(parts, count, even, plate.light) > _UNCOVERED
    clearer &= np.bincount(parts.ravel())[1:] >= 2 * _least(mask)
    for number, box in enumerate(ndimage.find_objects(parts)):
        if not clearer[number]:
            continue
        own = parts[box] == number + 1
        off = np.abs(np.stack([each[box] for each in looks]) - root[box]).max(axis=3)
        alike = (off < np.maximum(_SEED[0], _SEED[1] * plate.noise[box])).sum(axis=0)
        clearer[number] = np.median(alike[own]) >= _AGREED * len(looks)
    taken = np.concatenate([[False], clearer])[parts]
    if taken.any():
        taken = ndimage.binary_dilation(taken, iterations=2)
        plate.light[taken] = even[taken]


def mover_mask(light: Light, plate: Plate) -> Mask:
    """Pixels of what is there now and not on the plate; cast shadows left out.

    Exposure that changed as a whole does not count, nor does a place that something left.
    Small gaps are closed, holes filled, specks dropped.
    """
    even = _evened(light, plate)
    step = np.sqrt(even) - np.sqrt(plate.light)
    off = np.abs(step).max(axis=2)
    calm = np.abs(ndimage.uniform_filter(step, (3, 3, 0))).max(axis=2)
    beside = _over(calm, _BESIDE, plate)
    seed = _over(off, _SEED, plate) & beside
    beside &= ndimage.binary_dilation(seed, iterations=2) & _over(off, _BESIDE, plate)
    changed = ndimage.binary_opening(seed | beside, _TWO)
    mask = ndimage.binary_opening(changed & ~_shadows(even, plate, changed), _TWO)
    mask = ndimage.binary_closing(mask, _AROUND, iterations=2)
    parts, count = ndimage.label(ndimage.binary_fill_holes(mask), _AROUND)
    if not count:
        return np.asarray(mask)
    followed = np.bincount(parts.ravel()) >= _least(mask)
    followed[1:] &= _clearer(parts, count, even, plate.light) < _UNCOVERED
    followed[0] = False
    return np.asarray(followed[parts])


def _evened(light: Light, plate: Plate) -> Light:
    return light * np.float32(np.exp(-brightness_step(plate.light, light)))


def _over(off: Floats, limits: tuple[float, float], plate: Plate) -> Mask:
    return np.asarray(off > np.maximum(limits[0], limits[1] * plate.noise))


def _least(mask: Mask) -> float:
    return max(_LEAST_PX, _LEAST_SHARE * mask.size)


def _shadows(light: Light, plate: Plate, changed: Mask) -> Mask:
    """Changed pixels that are the place in a shadow.

    A shadow leaves the sky's light: it is darker and no redder. So are grey things on a grey
    street, so two more questions are asked. Does the pattern of the ground go on below it? Where
    the ground has none, is it as tall as the thing that it belongs to, or inside its colours?
    """
    shade = changed & _shade(light, plate.light)
    inside = ndimage.binary_erosion(changed, _AROUND, iterations=2) & shade
    seen, place = (np.maximum(each @ _GREY, np.float32(1e-3)) for each in (light, plate.light))
    pattern = _variance(np.log(place), inside)
    grain = (2 * plate.noise) ** 2 / seen
    left = np.maximum(_variance(np.log(seen / place), inside) - grain, 0)
    kept = inside & (pattern > _PATTERN) & (left < _KEPT * pattern)
    lost = inside & (pattern > 4 * _PATTERN) & (left > _LOST * pattern)
    around = max(7, round(shade.shape[1] / 40)) | 1
    says = _mean(lost.astype(np.float32) - kept, shade, around)
    body = ndimage.binary_opening((changed & ~shade) | (shade & (says > 0.3)), _TWO)
    told = shade & (says < -0.3) & ~body
    asked = changed & ~body & ~told
    shadow = told.copy()
    parts, _ = ndimage.label(ndimage.binary_closing(changed, _AROUND) | changed, _AROUND)
    for number, box in enumerate(ndimage.find_objects(parts), 1):
        own = parts[box] == number
        mine = asked[box] & own
        if mine.any():
            whole = own & ~told[box]
            shadow[box] |= mine & ~_bodily(whole, body[box] & own)
    return np.asarray(shadow)


def _shade(light: Light, place: Light) -> Mask:
    """Pixels, alone or with those around them, that are darker and no redder than the place."""
    found = np.zeros(light.shape[:2], bool)
    for size in (1, 3):
        now, then = (ndimage.uniform_filter(each, (size, size, 0)) for each in (light, place))
        ratio = (now + np.float32(2e-3)) / (then + np.float32(2e-3))
        red, green, blue = ratio[..., 0], ratio[..., 1], ratio[..., 2]
        cold = (red <= _REDDER * green) & (green <= _REDDER * blue) & (blue <= _BLUER * red)
        found |= cold & (green > _SHADE[0]) & (green < _SHADE[1])
    return found


def _bodily(whole: Mask, coloured: Mask) -> Mask:
    """Where a part that might be shade is a body: by its shape, and by what has its own colours."""
    tall = whole.sum(axis=0)
    upright = np.broadcast_to(tall >= _TALL * tall.max(), whole.shape)
    share = coloured.sum() / whole.sum()
    if share < _COLOURED[0]:
        return np.asarray(upright)
    above, below = (np.maximum.accumulate(each, 0) for each in (coloured, coloured[::-1]))
    left, right = (np.maximum.accumulate(each, 1) for each in (coloured, coloured[:, ::-1]))
    inside = (above & below[::-1]) | (left & right[:, ::-1] & upright)
    if share >= _COLOURED[1]:
        return np.asarray(inside)
    last = int(np.flatnonzero(coloured.any(axis=1))[-1])
    return np.asarray(inside | (upright & (np.arange(len(whole)) <= last)[:, None]))


def _mean(values: Floats, where: Mask, size: int) -> Floats:
    """Mean of the values in a square round each pixel, of those that count."""
    count = ndimage.uniform_filter(where.astype(np.float32), size)
    total = ndimage.uniform_filter(np.where(where, values, np.float32(0)), size)
    return np.asarray(total / np.maximum(count, np.float32(1e-6)))


def _variance(values: Floats, where: Mask) -> Floats:
    mean = _mean(values, where, _SQUARE_PX)
    return np.maximum(_mean(values * values, where, _SQUARE_PX) - mean * mean, np.float32(0))


def _clearer(
    parts: NDArray[np.int32], count: int, light: Light, place: Light
) -> NDArray[np.float64]:
    """How many times clearer the outline of each part is on the plate than in a frame.

    What covers the place brings an outline along; where it left, the plate alone has one.
    """
    mask = parts > 0
    inward = _slopes(mask.astype(np.float32))
    steep = np.hypot(*inward)
    outline = ndimage.binary_dilation(mask) & ~ndimage.binary_erosion(mask) & (steep > 0.05)
    around = ndimage.grey_dilation(parts, size=(3, 3))
    sums = []
    for each in (place, light):
        down, right = _slopes(np.sqrt(each) @ _GREY)
        across = np.abs(down * inward[0] + right * inward[1]) / np.maximum(steep, 1e-6)
        sums.append(np.bincount(around[outline], across[outline], count + 1)[1:])
    return np.asarray(sums[0] / np.maximum(sums[1], 1e-9))


def _slopes(values: Floats) -> tuple[Floats, Floats]:
    down, right = (ndimage.gaussian_filter(values, 1.0, order) for order in ((1, 0), (0, 1)))
    return down, right


def standing_depth(mask: Mask, depth_m: Floats, focal_px: float) -> Floats:
    """Depth of the place with what moves standing in it, upright on its foot.

    The foot of a column is the lowest pixel of its part within a quarter of the part's height to
    either side, so people who stand side by side have a foot each; it is as far away as the place
    is there. What would stand behind the place's own surface stays with that, and so does what
    would be 8 m tall and more.

    Parameters
    ----------
    mask : ndarray, shape (H, W), bool
    depth_m : ndarray, shape (H, W), float32
        Of the place without what moves.
    focal_px : float
    """
    parts, _ = ndimage.label(mask, _AROUND)
    depth = depth_m.copy()
    for number, box in enumerate(ndimage.find_objects(parts), 1):
        own = parts[box] == number
        last = len(own) - 1 - own[::-1].argmax(axis=0)
        at = depth_m[box][last, np.arange(own.shape[1])]
        tall = int(own.sum(axis=0).max())
        aside = int(np.ceil(_ASIDE * tall))
        foot = ndimage.maximum_filter1d(last, 2 * aside + 1, mode="nearest")
        stands_m = np.empty_like(at)
        for column, lowest in enumerate(foot):
            near = slice(max(0, column - aside), column + aside + 1)
            stands_m[column] = np.median(at[near][last[near] == lowest])
        if np.median(stands_m) * tall > _TALLEST_M * focal_px:
            continue
        part = depth[box]
        stands = np.broadcast_to(stands_m, own.shape)
        ahead = own & (stands < part)
        part[ahead] = stands[ahead]
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
    depth = standing_depth(mask, scene.depth_m, scene.camera.focal_px)
    near = ndimage.binary_dilation(mask, iterations=2) & (depth < scene.depth_m)
    gain = np.float32(np.exp(brightness_step(plate.light, light)))
    behind_m = np.where(near, scene.depth_m, np.float32(np.nan))
    behind = Behind(plate.light * gain, behind_m)
    return replace(scene, picture=light, depth_m=depth, behind=behind, finer=None)

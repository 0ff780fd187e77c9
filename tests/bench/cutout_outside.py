"""Things in pictures from elsewhere, found at the steps of their true depth.

    python tests/bench/cutout_outside.py TRUTH DATA FOLDER [--sheet SHEET.jpg]

Writes views of the form of `cutout_views.py`, for `cutout.py` to measure with: three scenes of a
general-purpose renderer (TRUTH/NAME/picture.npz: linear light and depth) and real pictures with
measured depth (DATA: stereo sets with true disparity, a phone's depth). A thing is a connected
region without a step of depth in it, off the ground where the ground is known, whose outline is
mostly the near side of a step; so a thing is what stands before something else. --sheet draws
what was taken, to be looked at.
"""

import argparse
import json
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scipy import ndimage

from render.depth.ground import ground_depth
from render.optics.camera import Camera, Vantage
from render.scene.colour import SRGB_CURVE

Mask = NDArray[np.bool_]
Codes = NDArray[np.uint8]
Floats = NDArray[np.float64]
Place = tuple[float, float]

_LONG_PX = 1280
_SPOTS = 8
_STEP = 0.03  # of inverse depth, between neighbours: another thing
_LEAST_SHARE, _MOST_SHARE = 0.0012, 0.3
_LEAST_PX = 4.0  # half width at the thickest place
_OFF_GROUND = 0.01  # inverse depth above the ground's
_FLAT = 0.025  # of disparity: lies on the floor
_NEAR_SIDE = 0.5  # of the outline: another thing may hide a part of this one
_NECK_PX = 2
_SOFT_PX = 9
#: Where things stand on what carries them no depth tells: drawn by hand.
_FEET: dict[str, Sequence[Sequence[Place]]] = {
    "cones": (
        ((0, 363), (15, 361), (30, 355), (40, 345), (42, 338)),
        ((68, 325), (75, 338), (95, 352), (125, 358), (150, 350), (162, 341), (166, 333)),
        ((192, 330), (200, 343), (215, 353), (238, 361), (262, 357), (280, 348), (288, 340)),
        ((28, 274), (40, 288), (60, 298), (85, 300), (105, 293)),
        ((100, 221), (110, 230), (130, 240), (150, 243)),
        ((0, 241), (15, 239), (28, 231)),
        ((150, 308), (165, 322), (180, 323), (200, 314), (205, 293), (217, 284)),
        ((262, 300), (285, 330), (304, 350)),
        ((300, 373), (370, 373), (449, 368)),
        ((26, 203), (72, 208)),
        ((97, 205), (130, 196)),
    ),
    "hillside": (
        ((108, 132), (130, 136), (155, 139), (190, 136), (222, 131)),
        ((284, 146), (368, 147)),
        ((406, 147), (433, 160), (484, 157), (484, 131), (530, 130), (554, 114)),
        ((620, 113), (711, 118), (718, 99)),
        ((20, 105), (30, 110), (102, 110)),
        ((343, 383), (390, 396), (512, 419), (534, 403)),
    ),
}
#: Places in regions that are no thing (a table, a terrace, a shelf), and of a phone's coarse depth
#: of leaves the only ones that are.
_NO_THING = {"cones": ((150, 368),), "hillside": ((145, 497),), "motorcycle": ((650, 110),)}
_ALONE = {"flower": ((300, 720), (700, 620), (415, 430), (720, 460))}


def things_in(inverse: Floats, ground: Mask, feet: Sequence[Sequence[Place]]) -> list[Mask]:
    """Regions of one thing each; inverse depth is nan where unknown.

    A neck of a few pixels (a trunk's foot, a tyre on the floor) holds nothing together.
    """
    usable = np.isfinite(inverse) & ~ground & ~_drawn(feet, inverse.shape)
    core = ndimage.binary_erosion(usable & ~_steps(inverse), iterations=_NECK_PX)
    label, count = ndimage.label(core)
    apart, (row, column) = ndimage.distance_transform_edt(~core, return_indices=True)
    with np.errstate(invalid="ignore"):
        alike = np.abs(inverse - inverse[row, column]) < 2 * _STEP * inverse
    label = np.where(usable & alike & (apart < 2.5 * _NECK_PX), label[row, column], 0)
    areas = np.bincount(label.ravel(), minlength=count + 1) / inverse.size
    found = []
    for name in 1 + np.flatnonzero((areas[1:] > _LEAST_SHARE) & (areas[1:] < _MOST_SHARE)):
        pieces, count = ndimage.label(label == name)
        sizes = ndimage.sum_labels(pieces > 0, pieces, np.arange(1, count + 1))
        mask = _without_specks(pieces == 1 + np.argmax(sizes))
        deep = ndimage.distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1].max()
        if deep >= _LEAST_PX and _stands_before(mask, inverse, ~usable & np.isfinite(inverse)):
            found.append(mask)
    return found


def _steps(inverse: Floats) -> Mask:
    """Pixels beside a step of depth."""
    filled = np.where(np.isfinite(inverse), inverse, 0.0)
    found = np.zeros(inverse.shape, bool)
    for axis in (0, 1):
        one, other = np.moveaxis(filled, axis, 0)[1:], np.moveaxis(filled, axis, 0)[:-1]
        step = np.abs(one - other) > _STEP * np.maximum(one, other)
        beside = np.moveaxis(found, axis, 0)
        beside[1:] |= step
        beside[:-1] |= step
    return found


def _drawn(feet: Sequence[Sequence[Place]], shape: tuple[int, int]) -> Mask:
    image = Image.new("1", shape[::-1])
    for line in feet:
        ImageDraw.Draw(image).line([tuple(p) for p in line], fill=1, width=3)
    return np.asarray(image)


def _without_specks(mask: Mask) -> Mask:
    """Holes under a hundredth of the thing are none."""
    holes, count = ndimage.label(~mask)
    sizes = ndimage.sum_labels(~mask, holes, np.arange(1, count + 1))
    small = 1 + np.flatnonzero(sizes < 0.01 * mask.sum())
    return np.asarray(mask | np.isin(holes, small))


def _stands_before(mask: Mask, inverse: Floats, ground: Mask) -> bool:
    """Whether most of the outline is the near side of a step, or a foot on what carries it."""
    rim = mask & ~ndimage.binary_erosion(mask, border_value=1)
    filled = np.where(np.isfinite(inverse), inverse, np.inf)
    around = ndimage.minimum_filter(np.where(mask, np.inf, filled), 7, mode="nearest")
    foot = ndimage.binary_dilation(ground, iterations=3)
    before = (around < (1 - _STEP) * inverse) | (foot & np.isfinite(inverse))
    return bool(before[rim].mean() > _NEAR_SIDE)


def pictures(truth: Path, data: Path) -> Iterator[tuple[str, Codes, Floats, Mask]]:
    """Name, sRGB codes, inverse depth (any scale, nan where unknown), and where ground is."""
    for name in ("harbour", "hillside", "bench"):
        with np.load(truth / name / "picture.npz") as held:
            light, depth_m = np.clip(held["linear"].astype(float), 0, 1), held["depth_m"]
        about = json.loads((truth / name / "flat_f2.8.json").read_text("utf-8"))
        height, width = depth_m.shape
        camera = Camera(width, height, about["fx_px"])
        inverse = 1.0 / depth_m.astype(float)
        ground = np.zeros(depth_m.shape, bool)
        if name != "hillside":  # its ground rises in terraces
            vantage = Vantage(about["height_m"], about["pitch_deg"])
            ground = inverse < (1 + _OFF_GROUND) / ground_depth(camera, vantage).astype(float)
        yield name, np.uint8(255 * SRGB_CURVE.encode(light) + 0.5), inverse, ground
    code = np.asarray(Image.open(data / "motorcycle/motorcycle_left.png").convert("RGB"))
    with np.load(data / "motorcycle/motorcycle_disp.npz") as held:
        shift = held["arr_0"].astype(float)
    shift[~np.isfinite(shift) | (shift <= 0)] = np.nan
    yield "motorcycle", code, shift, _floor(shift)
    import tifffile

    code = np.uint8(tifffile.imread(data / "cones/left_rgb.tif"))
    shift = tifffile.imread(data / "cones/disp_left.tif").astype(float)
    shift[shift <= 0] = np.nan
    yield "cones", code, shift, np.zeros(shift.shape, bool)
    picture = Image.open(data / "flower/flower_sharp.jpg").convert("RGB")
    coded = Image.open(data / "flower/flower_depth_rangeinverse.png").convert("L")
    small = round(picture.width * _LONG_PX / picture.height), _LONG_PX
    near, far = 18.849538803100586, 633.323486328125  # as the file says
    part = np.asarray(coded.resize(small, Image.Resampling.NEAREST), float) / 255
    inverse = (far - part * (far - near)) / (far * near)
    code = np.asarray(picture.resize(small, Image.Resampling.LANCZOS))
    yield "flower", code, _sharpened(inverse), np.zeros(inverse.shape, bool)
    import pillow_heif

    file = pillow_heif.open_heif(data / "files/dog_depth_p3.heic")
    coded = file.info["depth_images"][0].to_pillow().convert("L")
    small = 2 * coded.width, 2 * coded.height
    code = np.asarray(file.to_pillow().convert("RGB").resize(small, Image.Resampling.LANCZOS))
    part = np.asarray(coded.resize(small, Image.Resampling.NEAREST), float) / 255
    inverse = _sharpened(1.498 + part * (4.383 - 1.498))  # as the file says
    yield "dog", code, inverse, np.zeros(inverse.shape, bool)


def _sharpened(inverse: Floats) -> Floats:
    """A phone's soft steps made hard: each pixel takes the nearer one of both sides' depths."""
    smooth = ndimage.uniform_filter(inverse, 3)
    low, high = (f(smooth, _SOFT_PX) for f in (ndimage.minimum_filter, ndimage.maximum_filter))
    hard = np.where(smooth - low < high - smooth, low, high)
    return np.asarray(np.where(high - low > _STEP * high, hard, smooth))


def _floor(shift: Floats) -> Mask:
    """What lies on the plane through the picture's lowest rows; planes are affine in disparity."""
    height, width = shift.shape
    y, x = np.mgrid[:height, :width]
    used = np.isfinite(shift) & (y > 0.92 * height)
    planes = np.stack([x, y, np.ones_like(x)], axis=-1).astype(float)
    for _ in range(4):
        plane = np.linalg.lstsq(planes[used], shift[used], rcond=None)[0]
        off = shift / (planes @ plane) - 1
        used = np.isfinite(shift) & (y > 0.75 * height) & (np.abs(off) < _FLAT)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.abs(off) < _FLAT) & (y > 0.5 * height)


def main() -> None:
    """Find the things and write them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("truth", type=Path)
    parser.add_argument("data", type=Path)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--sheet", type=Path)
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    rng, drawn = np.random.default_rng(0), []
    for name, code, inverse, ground in pictures(asked.truth, asked.data):
        ids, boxes, spots = np.zeros(inverse.shape, np.uint8), [], []
        for mask in things_in(inverse, ground, _FEET.get(name, ())):
            if any(mask[y, x] for x, y in _NO_THING.get(name, ())):
                continue
            if name in _ALONE and not any(mask[y, x] for x, y in _ALONE[name]):
                continue
            deep = ndimage.distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1]
            inner = np.argwhere(deep >= rng.uniform(0.35, 0.8) * deep.max())
            chosen = inner[rng.integers(len(inner), size=_SPOTS)]
            rows, columns = np.nonzero(mask)
            spots.append(chosen[:, ::-1] + 0.5)
            edges = columns.min(), rows.min(), columns.max() + 1, rows.max() + 1
            boxes.append((*edges, len(rows)))
            ids[mask] = len(boxes)
        print(name, len(boxes), "things")
        box, pts = np.array(boxes, np.int32), np.array(spots, np.float32)
        np.savez(asked.folder / f"{name}-0-0.npz", pic=code, ids=ids, box=box, pts=pts)
        colour = rng.uniform(60, 255, (len(boxes) + 1, 3))
        shown = np.where(ids[..., None] > 0, 0.35 * code + 0.65 * colour[ids], 0.5 * code)
        image = Image.fromarray(np.uint8(np.hstack([code, shown])))
        drawn.append(image.resize((round(image.width * 360 / image.height), 360)))
    if asked.sheet:
        sheet = Image.new("RGB", (max(d.width for d in drawn), 360 * len(drawn)))
        for row, image in enumerate(drawn):
            sheet.paste(image, (0, 360 * row))
        sheet.save(asked.sheet)


if __name__ == "__main__":
    main()

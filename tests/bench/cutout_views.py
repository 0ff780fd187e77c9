"""Views of the shipped scenes in which every pixel's thing is known, from anywhere, in any light.

    python tests/bench/cutout_views.py FOLDER [--seconds 250] [--workers 16] [--seed 0]
        [--only held|learnt]

What `cutout_training.py` learns from and `cutout.py` measures with. Each view is one NPZ file,
SCENE-WORKER-NUMBER: `pic` (H, W, 3) uint8 sRGB codes; `ids` (H, W) uint8, 0 none, else 1 and up;
`box` (N, 5) left, top, right, bottom, pixels of each thing; `pts` (N, 8, 2) spots inside it, px.
Things on the ground or flat upon it, in many pieces or thinner than four pixels are left out.
"""

import argparse
import math
import multiprocessing
import os
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

WIDTH, HEIGHT = 576, 384
SCENES = (
    *("market", "yard", "quay", "fair", "beach", "slope", "corner", "town", "village", "park"),
    *("crossing", "stadium", "street", "market", "yard", "corner", "village", "town"),
    *("workshop", "hall", "bench"),
)
#: Never learnt from, so that the figures in `render/depth/README.md` are true of the weights.
HELD = ("park", "town", "street", "stadium")
INDOORS = ("workshop", "hall", "bench")
_EACH = 6  # views in one light
_LEAST_PX, _MOST_SHARE, _MOST_THINGS = 90, 0.3, 40
_SPOTS = 8


def _moved(description, rng: np.random.Generator):
    """The scene's view from another place, through another lens."""
    from render.trace.trace import view_of

    words, number = description.vantage, rng.uniform
    (x, y), (to_x, to_y) = words.stand_m, words.look_at_m[:2]
    away, heading = math.hypot(to_x - x, to_y - y), math.degrees(math.atan2(to_x - x, to_y - y))
    if description.name in INDOORS:
        away *= math.exp(number(-0.5, 0.15))
        height = words.height_m * math.exp(number(-0.4, 0.4))
        heading += number(-30, 30)
        focal = words.focal_mm * math.exp(number(-0.3, 0.5))
    else:
        away *= math.exp(number(-1.5, 0.25))
        height = max(1.5, words.height_m * math.exp(number(-1.6, 0.5)))
        heading += number(-50, 50) if rng.random() < 0.7 else number(-180, 180)
        focal = float(np.clip(words.focal_mm * math.exp(number(-0.8, 0.5)), 20, 150))
    view = view_of(
        description,
        height_m=height,
        distance_m=away,
        heading_deg=heading,
        focal_mm=focal,
        width_px=WIDTH,
        portrait=False,
    )
    pitch = float(np.clip(view.pitch_deg + rng.normal(0, 4), -30, 75))
    heading = view.heading_deg + rng.normal(0, 6)
    return replace(view, heading_deg=heading, pitch_deg=pitch, rise_mm=0.0)


def _relit(description, rng: np.random.Generator):
    """The scene at another hour, one time in three under a veiled sun."""
    if description.name in INDOORS:
        return description
    light = replace(
        description.light,
        sun_heading_deg=rng.uniform(0, 360),
        sun_height_deg=rng.uniform(10, 65),
        visual_range_km=float(np.exp(rng.uniform(np.log(3), np.log(40)))),
        exposure_ev=description.light.exposure_ev + rng.uniform(-0.6, 0.5),
    )
    if rng.random() < 0.3:
        sun, sky = 0.4 * light.sun_level, 1.3 * light.sky_level
        light = replace(light, sun_softness_deg=15.0, sun_level=sun, sky_level=sky)
    return replace(description, light=light)


def seen_things(built, view, depth_m: NDArray[np.float32]):
    """Which thing each pixel shows, (H, W), their names, and each pixel's height (m)."""
    import numba

    from render.trace.rays import ray_rooms
    from render.trace.walk import closest_hit, walkable

    @numba.njit
    def followed(walk, room, eye, rays, place, triangle):  # type: ignore[no-untyped-def]
        for i in range(rays.shape[0]):
            for j in range(rays.shape[1]):
                x, y, z = rays[i, j]
                _, place[i, j], triangle[i, j], _, _ = closest_hit(
                    walk, room, eye[0], eye[1], eye[2], x, y, z, 1e-3, 1e6
                )

    turn, fall = math.radians(view.heading_deg), math.radians(view.pitch_deg)
    ahead = np.array(
        [math.sin(turn) * math.cos(fall), math.cos(turn) * math.cos(fall), -math.sin(fall)]
    )
    right = np.array([math.cos(turn), -math.sin(turn), 0.0])
    x, y = np.meshgrid(*view.camera().grid())
    rays = np.stack([x, y, np.ones_like(x)], axis=-1) @ np.stack(
        [right, np.cross(ahead, right), ahead]
    )
    place, triangle = np.empty(x.shape, np.int64), np.empty(x.shape, np.int64)
    room = ray_rooms(1)
    followed(
        walkable(built.world), room.ctypes.data, tuple(map(float, view.at_m)), rays, place, triangle
    )
    part = built.surfaces.thing[np.where(place >= 0, triangle, 0)]
    keys, number = np.unique(np.where(place >= 0, place * 100_000 + part, -1), return_inverse=True)
    names = ["" if key < 0 else built.names[key // 100_000][key % 100_000] for key in keys]
    with np.errstate(invalid="ignore"):
        height_m = view.height_m + rays[..., 2] * depth_m
    return number.reshape(x.shape), names, np.where(np.isfinite(height_m), height_m, -9.0)


def _kept(number, names, height_m, anywhere: bool, rng: np.random.Generator):
    """Numbers of the things that somebody would click on, their boxes and spots in them."""
    ids, boxes, spots = np.zeros(number.shape, np.uint8), [], []
    areas, places = np.bincount(number.ravel()), ndimage.find_objects(number + 1)
    for k in np.argsort(-areas):
        if names[k] in ("", "ground") or not _LEAST_PX <= areas[k] <= _MOST_SHARE * number.size:
            continue
        box = places[k]
        pieces, count = ndimage.label(number[box] == k)
        sizes = ndimage.sum_labels(np.ones(pieces.shape), pieces, np.arange(1, count + 1))
        if sizes.max() < 0.7 * areas[k]:
            continue
        mask = pieces == 1 + np.argmax(sizes)
        whole = ndimage.binary_fill_holes(mask)
        mask = whole if whole.sum() < 1.1 * mask.sum() else mask
        deep = ndimage.distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1]
        if deep.max() < 2.0 or not (anywhere or np.median(height_m[box][mask]) > 0.25):
            continue
        inner = np.argwhere(deep >= rng.uniform(0.35, 0.8) * deep.max())
        chosen = inner[rng.integers(len(inner), size=_SPOTS)]
        top, left = box[0].start, box[1].start
        spots.append(chosen[:, ::-1] + (left + 0.5, top + 0.5))
        boxes.append((left, top, box[1].stop, box[0].stop, int(mask.sum())))
        ids[box][mask] = len(boxes)
        if len(boxes) >= _MOST_THINGS:
            break
    return ids, np.array(boxes, np.int32), np.array(spots, np.float32)


def _work(folder: Path, stop: float, seed: int, only: str | None) -> None:
    from render.errors import HingelineError
    from render.load.scenes import load_scene
    from render.scene.colour import SRGB_CURVE
    from render.trace.build import build
    from render.trace.trace import trace_built

    rng, turn, made = np.random.default_rng(seed), seed, 0
    scenes = [name for name in SCENES if only is None or (name in HELD) == (only == "held")]
    while time.time() < stop:
        name, turn = scenes[turn % len(scenes)], turn + 1
        description = _relit(load_scene(name), rng)
        built = build(description)
        for _ in range(_EACH):
            if time.time() > stop:
                return
            view = _moved(description, rng)
            try:
                scene = trace_built(description, built, view, samples=4)
            except HingelineError:  # inside something, or below the ground
                continue
            seen = seen_things(built, view, scene.depth_m)
            ids, boxes, spots = _kept(*seen, name in INDOORS, rng)
            if len(boxes) < 2:
                continue
            code = np.uint8(255 * SRGB_CURVE.encode(np.clip(scene.picture, 0, 1)) + 0.5)
            np.savez(folder / f"{name}-{seed}-{made}.npz", pic=code, ids=ids, box=boxes, pts=spots)
            made += 1


def main() -> None:
    """Make views until the time is up."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=float, default=250.0)
    parser.add_argument("--workers", type=int, default=os.cpu_count())
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--only", choices=("held", "learnt"))
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    os.environ["NUMBA_NUM_THREADS"] = "1"  # read by the processes below when they load numba
    context, stop = multiprocessing.get_context("spawn"), time.time() + asked.seconds
    tasks = [
        context.Process(target=_work, args=(asked.folder, stop, asked.seed + number, asked.only))
        for number in range(asked.workers)
    ]
    for task in tasks:
        task.start()
    for task in tasks:
        task.join()
    print(len(list(asked.folder.glob("*.npz"))), "views")


if __name__ == "__main__":
    main()

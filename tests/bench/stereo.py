"""How far hand-held pairs are off, on views of the shipped scenes whose depth is exact.

    python tests/bench/stereo.py

Each scene is traced from its vantage and from one and two steps to the right of it, by hand: the
steps stray 6 % ahead and 4 % up, the camera turns by 1° sideways and 0.7° up or down (one standard
deviation each). The first picture is paired with either; once more with a focal length 5 % off.
Said of each pair: share matched, median and 68 % error of depth, the doubt that was stated.
"""

import math
from dataclasses import replace

import numpy as np

from render.depth.stereo import by_features
from render.errors import InputError
from render.load.progress import silent
from render.load.scenes import load_scene, prepare_scene
from render.optics.camera import Camera
from render.shot.shot import Shot, merged
from render.trace.builds import built_scene
from render.trace.trace import trace_built

WIDTH_PX = 900
#: Scene, what its vantage changes, and the step (m).
PLACES: tuple[tuple[str, dict[str, str], float], ...] = (
    ("market", {}, 1.0),
    ("market", {"height": "9", "pitch": "7", "lens": "50"}, 0.5),
    ("corner", {}, 1.0),
    ("village", {}, 2.0),
    ("yard", {}, 1.5),
    ("quay", {"lens": "35"}, 1.0),
    ("workshop", {}, 0.1),
    ("street", {}, 0.3),
    ("park", {}, 1.0),
    ("town", {}, 3.0),
)


def three_views(number: int) -> tuple[list[np.ndarray], np.ndarray, float, list[float]]:
    """Pictures from one of `PLACES` and two steps beside it, depth of the first, focal, steps."""
    name, words, step_m = PLACES[number]
    rng = np.random.default_rng(number)
    shot = merged(Shot(scene=name), {"width": "96", **words}, "{name}")
    view = prepare_scene(shot, silent, samples=1, behind=False).view
    assert view is not None
    view = replace(view, width_px=WIDTH_PX, margin_px=0, rise_mm=0.0, lateral_mm=0.0)
    turn = math.radians(view.heading_deg)
    right = np.array([math.cos(turn), -math.sin(turn), 0.0])
    ahead = np.array([math.sin(turn), math.cos(turn), 0.0])
    views, steps_m = [view], []
    for far in (1.0, 2.0):
        stray = 0.06 * rng.normal() * ahead + 0.04 * rng.normal() * np.array([0.0, 0.0, 1.0])
        off = far * step_m * (right + stray)
        east, north, up = np.asarray(view.at_m) + off
        moved = replace(
            view,
            at_m=(float(east), float(north), float(up)),
            height_m=view.height_m + float(off[2]),
            heading_deg=view.heading_deg + rng.normal(),
            pitch_deg=view.pitch_deg + 0.7 * rng.normal(),
        )
        views.append(moved)
        steps_m.append(float(np.linalg.norm(off)))
    description = load_scene(name)
    built = built_scene(description, 0.0)
    seen = [trace_built(description, built, one, samples=6) for one in views]
    pictures = [scene.picture for scene in seen]
    return pictures, seen[0].depth_m, view.camera().focal_px, steps_m


def main() -> None:
    """Measure every pair."""
    for number, (name, _, _) in enumerate(PLACES):
        pictures, true_m, focal_px, steps_m = three_views(number)
        height, width = true_m.shape
        for second, longer in ((1, 1.0), (2, 1.0), (1, 1.05)):
            words = f"{name:9s} {second} step{'s' * (second - 1):1s} focal x {longer}:"
            camera = Camera(width, height, longer * focal_px)
            try:
                found = by_features(pictures[0], pictures[second], camera, steps_m[second - 1])
            except InputError as error:
                print(words, error)
                continue
            with np.errstate(divide="ignore", invalid="ignore"):
                off = np.abs(np.log(found.depth_m / true_m))
            off = off[np.isfinite(off)]
            print(
                f"{words} {100 * np.isfinite(found.depth_m).mean():.0f} % matched, off by "
                f"{100 * np.median(off):.1f} % (68 %: {100 * np.quantile(off, 0.68):.1f}), stated "
                f"{100 * found.typical_uncertainty:.1f} %"
            )


if __name__ == "__main__":
    main()

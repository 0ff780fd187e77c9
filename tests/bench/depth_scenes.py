"""How near few marks come to the truth on the shipped scenes, which nothing was tuned on.

Run: python tests/bench/depth_scenes.py [SCENE ...]

Marks are drawn like a person's: spread over the picture, away from depth edges, at true distances.
Sky is given as it is. Figures: median relative error of inverse depth, per cent, over everything
that is not sky; the share of pixels within the stated doubt; for one mark on a thing nearer than
the ground, the error far from it.
"""

import sys

import numpy as np

from render.depth.ground import ground_depth
from render.depth.mark import Mark
from render.depth.marks import spread_marks
from render.load.progress import silent
from render.load.scenes import list_scenes, prepare_scene
from render.scene.scene import Scene
from render.shot.shot import Shot, merged

SEEDS = range(4)
COUNTS = (3, 6, 12)


def cut(name: str) -> Scene:
    """The scene's own frame, without its margin, 480 px wide."""
    shot = merged(Shot(scene=name), {"width": "480"}, "{name}")
    whole = prepare_scene(shot, silent, samples=4, behind=False).scene
    rows, columns = whole.frame.rows, whole.frame.columns
    return Scene(
        whole.picture[rows, columns],
        whole.depth_m[rows, columns],
        whole.frame_camera,
        vantage=whole.vantage,
    )


def draw(scene: Scene, count: int, seed: int) -> list[Mark]:
    """Spots as far from each other as can be, on smooth depth, from a random beginning."""
    random = np.random.default_rng(seed)
    inverse = 1.0 / scene.depth_m
    down, across = np.gradient(inverse)
    smooth = np.hypot(down, across) < 0.02 * np.maximum(inverse, 1e-9)
    usable = np.argwhere(smooth & np.isfinite(scene.depth_m))
    usable = usable[random.permutation(len(usable))[:4000]]
    place = usable / scene.depth_m.shape[1]
    far = np.log(scene.depth_m[usable[:, 0], usable[:, 1]]) / 4
    at = np.column_stack([place, far])
    chosen = [int(random.integers(len(at)))]
    while len(chosen) < count:
        apart = np.min([np.linalg.norm(at - at[k], axis=1) for k in chosen], axis=0)
        chosen.append(int(np.argmax(apart)))
    return [
        Mark(float(x) + 0.5, float(y) + 0.5, float(scene.depth_m[y, x])) for y, x in usable[chosen]
    ]


def errors(scene: Scene, depth_m: np.ndarray) -> np.ndarray:
    """Relative error of inverse depth where there is something."""
    seen = np.isfinite(scene.depth_m)
    return np.abs(scene.depth_m[seen] / depth_m[seen] - 1.0)


def measure(name: str) -> dict[str, float]:
    """Figures of one scene."""
    scene = cut(name)
    assert scene.vantage is not None
    ground = ground_depth(scene.camera, scene.vantage)
    sky = np.isinf(scene.depth_m)
    found = {"ground": 100 * float(np.median(errors(scene, ground)))}
    held = []
    for count in COUNTS:
        for kind, below in (("", None), (" over ground", ground)):
            figures = []
            for seed in SEEDS:
                marks = draw(scene, count, seed)
                made = spread_marks(
                    scene.picture,
                    scene.camera,
                    marks,
                    ground_m=below,
                    vantage=scene.vantage,
                    sky=sky,
                ).depth
                off = errors(scene, made.depth_m)
                figures.append(float(np.median(off)))
                unsure = np.broadcast_to(made.uncertainty, sky.shape)[~sky]
                held.append(float(np.mean(off < unsure)))
            found[f"{count} marks{kind}"] = 100 * float(np.mean(figures))
    found["within doubt"] = 100 * float(np.mean(held))
    one = []
    for seed in SEEDS:  # one mark, wherever it falls
        mark = draw(scene, 1, seed)
        made = spread_marks(
            scene.picture, scene.camera, mark, ground_m=ground, vantage=scene.vantage, sky=sky
        ).depth
        one.append(float(np.median(errors(scene, made.depth_m))))
    found["1 mark over ground"] = 100 * float(np.mean(one))
    return found


def main() -> None:
    """Print a row for each scene and the means."""
    names = sys.argv[1:] or [scene.name for scene in list_scenes()]
    rows = {name: measure(name) for name in names}
    keys = list(next(iter(rows.values())))
    print("scene".ljust(10), *(key.rjust(14) for key in keys))
    for name, row in rows.items():
        print(name.ljust(10), *(f"{row[key]:14.1f}" for key in keys))
    means = [np.mean([row[key] for row in rows.values()]) for key in keys]
    print("mean".ljust(10), *(f"{value:14.1f}" for value in means))
    middle = [np.median([row[key] for row in rows.values()]) for key in keys]
    print("median".ljust(10), *(f"{value:14.1f}" for value in middle))


if __name__ == "__main__":
    main()

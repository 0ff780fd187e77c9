"""How well a thing is cut out from one, two and three spots, on views of `cutout_views.py`.

    python tests/bench/cutout.py FOLDER [--weights FILE] [--only held|learnt|NAME,..]
        [--most 120] [--each 4] [--spots 3]

Pictures from elsewhere come in the same form from `cutout_outside.py`.
The first spot is one of the view's own, in the inner half of the thing; each further one lies in
the middle of the largest mistake, as a person would put it. Printed: overlap (intersection over
union) with the true region, median and mean, the share over 0.7, how often a further spot made
the outline worse by more than 0.02, and processor seconds a call. --weights measures other weights
than the shipped ones, such as those of a training that has not seen the scenes.
"""

import argparse
import time
from pathlib import Path

import numpy as np
from cutout_views import HELD
from numpy.typing import NDArray
from scipy import ndimage

from render.depth.cutout import cutout_by_spots
from render.depth.near import insides
from render.errors import InputError
from render.scene.colour import SRGB_CURVE

Mask = NDArray[np.bool_]
#: Smaller things are left out, shares of the picture.
_LEAST_SHARE, _MOST_SHARE = 0.0012, 0.25


def overlap(one: Mask, other: Mask) -> float:
    """Intersection over union."""
    return float((one & other).sum() / max((one | other).sum(), 1))


def next_spot(found: Mask, true: Mask) -> tuple[bool, tuple[float, float]] | None:
    """Whether the largest mistake is a part that is missing, and its middle."""
    best: tuple[float, bool, tuple[float, float]] | None = None
    for belongs, wrong in ((True, true & ~found), (False, found & ~true)):
        pieces, count = ndimage.label(wrong)
        if not count:
            continue
        sizes = ndimage.sum_labels(wrong, pieces, np.arange(1, count + 1))
        if best is None or sizes.max() > best[0]:
            piece = np.pad(pieces == 1 + np.argmax(sizes), 1)
            deep = ndimage.distance_transform_edt(piece)[1:-1, 1:-1]
            y, x = np.unravel_index(int(deep.argmax()), deep.shape)
            best = float(sizes.max()), belongs, (x + 0.5, y + 0.5)
    return best and best[1:]


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--weights", type=Path)
    parser.add_argument("--only", default="")
    parser.add_argument("--most", type=int, default=120)
    parser.add_argument("--each", type=int, default=4, help="things of a view, at most")
    parser.add_argument("--spots", type=int, default=3)
    asked = parser.parse_args()
    if asked.weights:
        with asked.weights.open("rb") as file:
            network = insides.network_from(file)
        insides.shipped_network = lambda: network
    views = sorted(asked.folder.glob("*.npz"))
    if asked.only in ("held", "learnt"):
        views = [v for v in views if (v.name.split("-")[0] in HELD) == (asked.only == "held")]
    elif asked.only:
        views = [v for v in views if v.name.split("-")[0] in asked.only.split(",")]
    rng = np.random.default_rng(0)
    overlaps: list[list[float]] = [[] for _ in range(asked.spots)]
    worse = calls = refused = 0
    start = time.process_time()
    for path in rng.permutation(np.array(views)):
        with np.load(path) as view:
            light = SRGB_CURVE.decode(view["pic"] / 255.0).astype(np.float32)
            ids, boxes, spots = view["ids"], view["box"], view["pts"]
        share = boxes[:, 4] / ids.size
        usable = np.flatnonzero((share > _LEAST_SHARE) & (share < _MOST_SHARE))
        for number in rng.permutation(usable)[: asked.each]:
            true, first = ids == number + 1, tuple(map(float, spots[number][0]))
            more: list[tuple[float, float]] = []
            less: list[tuple[float, float]] = []
            for click in range(asked.spots):
                try:
                    found = cutout_by_spots(light, first, more_px=more, less_px=less).region
                except InputError:
                    found, refused = np.zeros(true.shape, bool), refused + 1
                calls += 1
                overlaps[click].append(overlap(found, true))
                worse += click > 0 and overlaps[click][-1] < overlaps[click - 1][-1] - 0.02
                wrong = next_spot(found, true)
                if wrong is not None:
                    (more if wrong[0] else less).append(wrong[1])
        if len(overlaps[0]) >= asked.most:
            break
    for click, values in enumerate(overlaps, 1):
        over = np.mean(np.array(values) > 0.7)
        print(
            f"{click} spots: {len(values)} things, median {np.median(values):.2f}, "
            f"mean {np.mean(values):.2f}, over 0.7: {over:.0%}"
        )
    each = (time.process_time() - start) / calls
    print(f"worse after a further spot: {worse}; refused: {refused}; {each:.2f} s a call")


if __name__ == "__main__":
    main()

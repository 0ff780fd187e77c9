"""How well rails over busy pictures are cut out along one stroke.

    python tests/bench/cutout_strokes.py PICTURE.jpg [PICTURE.jpg ...]

Rails of 6 and 10 px in four colours (black, grey, rust, red) are laid over each picture at four
heights, lit as a tube is, and a stroke is drawn along each, about 1.5 px off. Printed: overlap
(intersection over union) with the true rail, and processor seconds a stroke.
"""

import argparse
import itertools
import time
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.depth.near.along import thing_along
from render.scene.colour import SRGB_CURVE

_RAILS = (
    *((10, (0.04, 0.04, 0.05)), (10, (0.35, 0.36, 0.38))),
    *((6, (0.3, 0.08, 0.05)), (10, (0.5, 0.2, 0.12))),
)
_HEIGHTS = (0.3, 0.45, 0.6, 0.75)  # shares of the picture's
_SLOPE, _HAND_PX, _NOISE = 0.04, 1.5, 0.004


def railed(light: NDArray[np.float32], share: float, rail: int, rng: np.random.Generator):
    """A picture with a rail over it, where the rail is, and a stroke along it."""
    height, width = light.shape[:2]
    thick, colour = _RAILS[rail]
    top = int(share * height)
    down = np.arange(height)[:, None] - top - _SLOPE * (np.arange(width) - width / 2)
    region = (down >= 0) & (down < thick)
    lit = np.clip(1.3 - 0.9 * np.abs(down / thick - 0.3), 0.4, 1.4)[..., None]
    picture = np.where(region[..., None], np.array(colour) * lit, light)
    picture = np.clip(picture + rng.normal(0, _NOISE, picture.shape), 0, 1).astype(np.float32)
    x = np.linspace(0.05 * width, 0.95 * width, 4)
    y = top + thick / 2 + _SLOPE * (x - width / 2) + rng.normal(0, _HAND_PX, 4)
    return picture, region, list(zip(x, y, strict=True))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pictures", type=Path, nargs="+")
    overlaps, start = [], None
    for path in parser.parse_args().pictures:
        code = np.asarray(Image.open(path).convert("RGB"), float) / 255
        light = SRGB_CURVE.decode(code).astype(np.float32)
        for (i, share), rail in itertools.product(enumerate(_HEIGHTS), range(len(_RAILS))):
            if (i + rail) % 2:
                continue
            picture, region, line = railed(light, share, rail, np.random.default_rng((i, rail)))
            if start is None:  # the loops are compiled by now
                thing_along(picture, line)
                start = time.process_time()
            found = thing_along(picture, line)
            overlaps.append(float((found & region).sum() / (found | region).sum()))
    each = (time.process_time() - (start or 0.0)) / len(overlaps)
    print(
        f"{len(overlaps)} rails: overlap median {np.median(overlaps):.2f}, mean "
        f"{np.mean(overlaps):.2f}, worst {min(overlaps):.2f}; {each:.2f} s a stroke"
    )


if __name__ == "__main__":
    main()

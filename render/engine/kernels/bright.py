"""Bright points: single pixels that stand out of their block are spread one by one."""

import numpy as np

from render.compiled import step
from render.engine.kernels.tables import BIN, BLOCK, BLUE, DEFOCUS, GREEN, LAMPS, RED, SHARE, X, Y

__all__ = ["keep_lamp", "lamp_limits"]


@step()
def lamp_limits(picture, row0, column0):
    """From which sum of colours, and from which largest colour on, a pixel of a block is a lamp."""
    one = np.float32(1.0)
    h, w = picture.shape[0], picture.shape[1]
    bright, pixels = 0, 0
    glow_r, glow_g, glow_b = np.float32(0.0), np.float32(0.0), np.float32(0.0)
    j0, j1 = max(column0, 0), min(column0 + BLOCK, w)
    for i in range(max(row0, 0), min(row0 + BLOCK, h)):
        for j in range(j0, j1):
            r, g, b = picture[i, j, 0], picture[i, j, 1], picture[i, j, 2]
            glow_r += r
            glow_g += g
            glow_b += b
            bright += max(r, max(g, b)) > one
        pixels += j1 - j0
    lamp = np.float32(6.0) * (glow_r + glow_g + glow_b) / np.float32(max(pixels, 1))
    return lamp, one if bright <= 256 else np.float32(np.inf)


@step(forceinline=True)
def keep_lamp(fragments, at, r, g, b, d, i, j, key):
    """Write a bright pixel as a fragment of its own; its share stays with its bin."""
    half = np.float32(0.5)
    fragments[at, RED], fragments[at, GREEN], fragments[at, BLUE] = r, g, b
    fragments[at, SHARE], fragments[at, DEFOCUS] = np.float32(0.0), d
    fragments[at, X] = np.float32(j) + half
    fragments[at, Y] = np.float32(i) + half
    fragments[at, BIN] = np.float32(key + LAMPS)

"""Bright points: single pixels that stand out of their block are spread one by one."""

import numpy as np

from render.compiled import step
from render.engine.kernels.tables import BIN, BLOCK, BLUE, DEFOCUS, GREEN, LAMPS, RED, SHARE, X, Y

__all__ = ["keep_lamp", "lamp_limits"]


@step()
def lamp_limits(picture, row0, column0):
    """From which sum of colours, and from which largest colour on, a pixel of a block is a lamp.

    Also the mean light, r, g, b, of the block's pixels up to white: a lamp is what a pixel has
    more than these.
    """
    one = np.float32(1.0)
    h, w = picture.shape[0], picture.shape[1]
    bright, pixels = 0, 0
    glow, plain_r, plain_g, plain_b = one - one, one - one, one - one, one - one
    j0, j1 = max(column0, 0), min(column0 + BLOCK, w)
    for i in range(max(row0, 0), min(row0 + BLOCK, h)):
        for j in range(j0, j1):
            r, g, b = picture[i, j, 0], picture[i, j, 1], picture[i, j, 2]
            glow += r + g + b
            if max(r, max(g, b)) > one:
                bright += 1
            else:
                plain_r += r
                plain_g += g
                plain_b += b
        pixels += j1 - j0
    lamp = np.float32(6.0) * glow / np.float32(max(pixels, 1))
    share = one / np.float32(max(pixels - bright, 1))
    cap = one if bright <= 256 else np.float32(np.inf)
    return lamp, cap, share * plain_r, share * plain_g, share * plain_b


@step(forceinline=True)
def keep_lamp(fragments, at, r, g, b, d, i, j, key):
    """Write a bright pixel as a fragment of its own; its share stays with its bin."""
    half = np.float32(0.5)
    fragments[at, RED], fragments[at, GREEN], fragments[at, BLUE] = r, g, b
    fragments[at, SHARE], fragments[at, DEFOCUS] = np.float32(0.0), d
    fragments[at, X] = np.float32(j) + half
    fragments[at, Y] = np.float32(i) + half
    fragments[at, BIN] = np.float32(key + LAMPS)

"""A pair of glasses, in the frame of a head (see `faces`)."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import Mesh, join, moved, tube

__all__ = ["glasses_mesh"]

Floats = NDArray[np.float64]

#: Middle of the left rim, half its width and height, mm; lenses of 46 mm with 18 between them are
#: common practice, no source.
_RIM_MM, _HALF_MM = (32.5, -101.0, -3.0), (23.5, 19.0)


def glasses_mesh(round_rims: bool) -> Mesh:
    """Rims, bridge and temples in metres, slot rims; the lenses themselves are not seen."""
    turn = np.linspace(0, 2 * np.pi, 37)
    power = 1.0 if round_rims else 0.55
    across, up = (np.sign(f) * np.abs(f) ** power for f in (np.cos(turn), np.sin(turn)))
    x = _RIM_MM[0] + _HALF_MM[0] * across
    rim = np.stack(
        [
            x,
            _RIM_MM[1] + 0.010 * (x - 8) ** 2 * (x > 8),  # wrapped about the face a little
            _RIM_MM[2] + _HALF_MM[1] * up - 1.5 * across * (up < 0),
        ],
        -1,
    )
    corner = rim[0] + [1.0, 1.5, 7.0]
    ear = [corner, corner + [12, 18, 1], (77.5, -34, 8), (76.5, 6, 9), (73.5, 24, -6)]
    nose = [(9.2, -101.0, 1.5), (4.0, -104.6, 4.0), (0.0, -105.6, 4.6)]
    parts: list[Mesh] = []
    for line, radius in ((rim, 1.15), (np.array(ear, float), 1.5), (np.array(nose), 1.2)):
        parts += [tube(a, b, radius, "rims", sides=7) for a, b in pairwise(line)]
    left = join(parts)
    return moved(join([left, moved(left, matrix=np.diag([-1.0, 1.0, 1.0]))]), size=0.001)

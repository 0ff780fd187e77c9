"""Where a moving thing is at a time."""

import math

import numpy as np

from render.world.description import Motion

__all__ = ["along_path"]


def along_path(motion: Motion, copy: int, time_s: float) -> tuple[float, float, float]:
    """Position (x, y) and the turn that faces the way it goes, degrees.

    Things face -y before turning, so one that goes north is turned by 180 degrees.
    """
    path = np.asarray(motion.path_m)
    legs = np.diff(path, axis=0)
    run = np.concatenate([[0.0], np.cumsum(np.hypot(legs[:, 0], legs[:, 1]))])
    length = run[-1]
    s = motion.speed_m_s * (time_s + motion.start_s) + motion.spread_m * copy
    back = False
    if motion.returns:
        s = s % (2 * length)
        back = s > length
        s = 2 * length - s if back else s
    else:
        s = s % length
    leg = int(np.clip(np.searchsorted(run, s, side="right") - 1, 0, len(legs) - 1))
    x, y = float(np.interp(s, run, path[:, 0])), float(np.interp(s, run, path[:, 1]))
    heading = math.degrees(math.atan2(legs[leg, 1], legs[leg, 0])) + 90.0
    return x, y, heading + (180.0 if back else 0.0)

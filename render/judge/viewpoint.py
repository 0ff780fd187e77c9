"""How steeply the camera looks at the band, how much sky there is, what stands too near."""

import math
from dataclasses import dataclass

import numpy as np

from render.judge.fitting import plane_fit
from render.judge.samples import Samples
from render.judge.weights import RULES
from render.optics.camera import Vantage

__all__ = ["Stance", "depression_deg", "ground_vantage", "stance"]


@dataclass(frozen=True, slots=True)
class Stance:
    """The camera's stance towards the band.

    Attributes
    ----------
    depression_deg : float
        phi: the band below eye level, degrees; NaN where height and pitch are unknown.
    vantage : Vantage or None
        As given, or as found from the depth.
    found : bool
        True where the vantage was found from the depth of the ground.
    sky_share : float
        Sky as a share of the picture.
    foreground_share : float
        Share of the picture nearer than a quarter of the focus distance.
    """

    depression_deg: float
    vantage: Vantage | None
    found: bool
    sky_share: float
    foreground_share: float


def stance(
    samples: Samples,
    vantage: Vantage | None,
    centre: tuple[float, float],
    focus_inverse: float,
) -> Stance:
    """Gather the stance for a band whose middle has the slopes `centre`."""
    found = None if vantage else ground_vantage(samples)
    known = vantage or found
    near = samples.inverse > max(focus_inverse, 0.0) / RULES.foreground_ratio
    return Stance(
        depression_deg=depression_deg(known, centre) if known else math.nan,
        vantage=known,
        found=found is not None,
        sky_share=samples.sky_share,
        foreground_share=float(near.mean()) if focus_inverse > 0 else 0.0,
    )


def depression_deg(vantage: Vantage, slopes: tuple[float, float]) -> float:
    """Angle of a ray below the horizon: pitch + atan(y) for an unrolled camera at x = 0."""
    pitch, roll = math.radians(vantage.pitch_deg), math.radians(vantage.roll_deg)
    down = (math.sin(roll) * math.cos(pitch), math.cos(roll) * math.cos(pitch), math.sin(pitch))
    x, y = slopes
    sine = (x * down[0] + y * down[1] + down[2]) / math.sqrt(1.0 + x * x + y * y)
    return math.degrees(math.asin(max(-1.0, min(1.0, sine))))


def ground_vantage(samples: Samples) -> Vantage | None:
    """Height and pitch from the depth, if most of the lower half is one level-looking plane.

    On a plane 1/z is linear in the picture: ``1/z = (sin p + y cos p) / h`` for the ground.
    """
    middle = samples.camera.height_px / 2 - samples.camera.centre_y_px
    lower = samples.seen & (samples.slope_y * samples.camera.focal_px > middle)
    if lower.sum() < 30:
        return None
    x, y, inverse = samples.slope_x[lower], samples.slope_y[lower], samples.inverse[lower]
    weight = np.ones_like(inverse)
    for _ in range(15):
        plane, _ = plane_fit(x, y, inverse, weight)
        off = np.abs(plane[0] * x + plane[1] * y + plane[2] - inverse) / inverse
        weight = 1.0 / (1.0 + (off / max(float(np.median(off)), 1e-9)) ** 2)
    across, down, along = (float(part) for part in plane)
    steep = math.hypot(across, down)
    if not (np.mean(off < 0.05) > 0.6 and down > 0.05 * np.median(inverse)):
        return None
    if abs(across) > 0.3 * down:  # more than 17 degrees of roll: a wall, not the ground
        return None
    return Vantage(
        height_m=1.0 / math.hypot(steep, along),
        pitch_deg=math.degrees(math.atan2(along, steep)),
        roll_deg=math.degrees(math.atan2(across, down)),
    )

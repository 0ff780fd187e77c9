"""How the camera looks at the band: how steeply, over what, and what rises above eye level."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.judge.fitting import plane_fit
from render.judge.samples import Samples
from render.judge.weights import RULES
from render.optics.band import level_ground_per_m
from render.optics.blur import blur_slope
from render.optics.camera import Vantage
from render.optics.plane import FocusedLens
from render.optics.terrain import level_axes, rise_m

__all__ = [
    "Stance",
    "above_share",
    "crowded",
    "crowded_share",
    "depression_deg",
    "ground_vantage",
    "height_above_ground",
    "in_the_way",
    "is_bare_ground",
    "known_vantage",
    "looks_sharp",
    "roof_in_view",
    "stance",
    "stand_m",
    "stands",
    "underfoot",
]

#: Higher above the ground than this is a thing, not the ground.
LEAST_STANDING_M = 0.3
_EYE_M = 1.6  # of a person who stands
_SIGMAS = 4.0  # noise that lifts a cell further than this is rare enough
#: Nearer than this share of one's height above the ground none of the ground can be.
CROWDS = 0.5
_MOST_OF_IT, _SAME_PITCH_DEG, _ON_IT = 0.5, 5.0, 0.1
_RAISED = 0.15  # of one's height: a plane that lies less above the ground may be the ground
_UNEVEN = 0.01  # the ground may be so uneven, as a share of its distance
#: Ground is found where so much of the lower half lies so near one plane, which comes nearer down
#: the picture by so much of 1/z in one focal length (ours).
_ON_PLANE, _MOST_ON_PLANE, _RISES = 0.05, 0.6, 0.05
_MOST_ROLL = 0.3  # as a tangent, 17°: a plane that leans more is a wall, not the ground (ours)


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
    above_share : float
        Share of the picture above eye level, be it sky or not; the sky where the vantage is
        unknown.
    standing_share : float
        Share of the picture that stands on the ground inside the sharp band; NaN where the
        vantage is unknown.
    foreground_share : float
        Share of the picture nearer than a quarter of the focus distance.
    """

    depression_deg: float
    vantage: Vantage | None
    found: bool
    sky_share: float
    above_share: float
    standing_share: float
    foreground_share: float


def stance(
    samples: Samples,
    vantage: Vantage | None,
    found: bool,
    standing: NDArray[np.bool_] | None,
    centre: tuple[float, float],
    focus_inverse: float,
    sharp: NDArray[np.float64],
) -> Stance:
    """Gather the stance for a band whose middle has the slopes `centre`.

    Parameters
    ----------
    standing : ndarray, shape (N,), or None
        True for samples that stand on the ground, as `stands`; None without a vantage.
    sharp : ndarray, shape (N,)
        How sharp each sample looks, 0 to 1.
    """
    near = samples.inverse > max(focus_inverse, 0.0) / RULES.foreground_ratio
    return Stance(
        depression_deg=depression_deg(vantage, centre) if vantage else math.nan,
        vantage=vantage,
        found=found,
        sky_share=samples.sky_share,
        above_share=above_share(samples, vantage),
        standing_share=math.nan if standing is None else float(np.mean(sharp * standing)),
        foreground_share=float(near.mean()) if focus_inverse > 0 else 0.0,
    )


def known_vantage(samples: Samples, given: Vantage | None) -> tuple[Vantage | None, bool]:
    """Return the vantage given, or one found from the depth of the ground, and which it is."""
    if given is not None:
        return given, False
    found = ground_vantage(samples)
    return found, found is not None


def crowded_share(samples: Samples, vantage: Vantage | None) -> float:
    """Share of the picture that shows what stands within reach, such as one's own roof."""
    if vantage is None:
        return 0.0
    distance_per_depth = np.sqrt(1.0 + samples.slope_x**2 + samples.slope_y**2)
    near = samples.inverse > distance_per_depth / (CROWDS * vantage.height_m)
    if vantage.terrain is not None:  # ground that climbs comes nearer than that
        near &= height_above_ground(samples, vantage) > LEAST_STANDING_M
    return float(np.mean(near))


def crowded(
    samples: Samples, given: Vantage | None, known: Vantage | None
) -> tuple[Vantage | None, float]:
    """How one stands over one's own roof (`underfoot`), and what share of the picture crowds it.

    One share for a verdict and for a proposal: the roof's where it is most of the picture, even
    where it lies out of reach, or else that of what stands within reach.

    Parameters
    ----------
    given, known : Vantage or None
        As given, and as given or found from the depth.
    """
    own_roof, own_share = underfoot(samples.thinned(), given)
    return own_roof, max(own_share, crowded_share(samples, known))


def in_the_way(samples: Samples, vantage: Vantage | None) -> NDArray[np.bool_]:
    """True for samples of what stands near the lens, before the place: no advice focuses there.

    Nearer than a quarter of the middle distance of what is seen, and no ground.
    """
    if not samples.seen.any():
        return np.zeros(samples.inverse.shape, bool)
    middle = float(np.median(samples.inverse[samples.seen]))
    near = samples.inverse > middle / RULES.foreground_ratio
    if vantage is not None:
        near &= height_above_ground(samples, vantage) > LEAST_STANDING_M
    return np.asarray(near)


def underfoot(samples: Samples, vantage: Vantage | None) -> tuple[Vantage | None, float]:
    """How one stands over one's own roof or deck where that is most of the picture, and its share.

    Then it is the ground that is looked at, from a person's height; the place is out of sight.
    """
    found, share = roof_in_view(samples, vantage)
    if found is None or vantage is None or found.height_m >= CROWDS * vantage.height_m:
        return None, 0.0
    return found, share


def roof_in_view(samples: Samples, vantage: Vantage | None) -> tuple[Vantage | None, float]:
    """How one stands over a level roof or deck that is most of the picture, and its share."""
    if vantage is None:
        return None, 0.0
    high = height_above_ground(samples, vantage) > _RAISED * vantage.height_m
    found = ground_vantage(samples) if np.mean(high) > _MOST_OF_IT else None
    if found is None or abs(found.pitch_deg - vantage.pitch_deg) > _SAME_PITCH_DEG:
        return None, 0.0
    across, down, along = level_ground_per_m(found)
    plane = across * samples.slope_x + down * samples.slope_y + along
    share = float(np.mean(np.abs(plane - samples.inverse) < _ON_IT * plane))
    raised = found.height_m < (1 - _RAISED) * vantage.height_m
    return (found, share) if raised and share > _MOST_OF_IT else (None, 0.0)


def depression_deg(vantage: Vantage, slopes: tuple[float, float]) -> float:
    """Angle of a ray below the horizon: pitch + atan(y) for an unrolled camera at x = 0."""
    down = level_ground_per_m(vantage) * vantage.height_m
    x, y = slopes
    sine = float(down @ (x, y, 1.0)) / math.sqrt(1.0 + x * x + y * y)
    return math.degrees(math.asin(max(-1.0, min(1.0, sine))))


def height_above_ground(samples: Samples, vantage: Vantage) -> NDArray[np.float64]:
    """Height of each sample above the ground below it, metres, shape (N,); 0 for the sky."""
    right, lower, ahead = (_along(samples, axis) for axis in level_axes(vantage))
    above = vantage.height_m - lower - rise_m(vantage, right, ahead)
    return np.where(samples.seen, above, 0.0)


def _along(samples: Samples, axis: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far each sample lies along an axis of the camera's frame, metres; the sky at 1 m."""
    x, y, z = axis  # a sum of three costs less than a product of matrices of three columns
    ray = x * samples.slope_x + y * samples.slope_y + z
    return np.asarray(ray / np.where(samples.seen, samples.inverse, 1.0))


def stand_m(samples: Samples, vantage: Vantage) -> float:
    """How high the lens stands over the ground that the frame shows, metres.

    On a hillside or at a cliff that is more than over the ground below the lens: the median over
    the frame, at least an eye's height where the ground in view lies higher.
    """
    if vantage.terrain is None:
        return vantage.height_m
    falls = _along(samples, level_axes(vantage)[1])
    lens = (falls + height_above_ground(samples, vantage))[samples.seen]
    return max(float(np.median(lens)), min(vantage.height_m, _EYE_M)) if lens.size else math.nan


def above_share(samples: Samples, vantage: Vantage | None) -> float:
    """Share of the picture whose rays do not fall: what is seen there rises above eye level."""
    if vantage is None:
        return samples.sky_share
    across, down, along = level_ground_per_m(vantage)
    falls = across * samples.slope_x + down * samples.slope_y + along > 0
    return max(samples.sky_share, float(1.0 - falls.mean()))


def stands(samples: Samples, vantage: Vantage) -> NDArray[np.bool_]:
    """True for samples that stand on the ground, shape (N,).

    The ground may be uneven by a share of its distance, and noise of the depth lifts it.
    """
    with np.errstate(divide="ignore"):
        least = np.maximum(LEAST_STANDING_M, _UNEVEN / samples.inverse)
    least = np.maximum(least, _SIGMAS * samples.noise * vantage.height_m)
    return np.asarray(height_above_ground(samples, vantage) > least)


def looks_sharp(samples: Samples, lens: FocusedLens, most: float) -> NDArray[np.bool_]:
    """True where the blur is at most a fraction `most` of the picture's height, shape (N,)."""
    slopes = np.stack([samples.slope_x, samples.slope_y], axis=-1)
    blur = blur_slope(lens, slopes, samples.inverse)
    return np.asarray(blur <= most * samples.slope_height) & samples.seen


def is_bare_ground(samples: Samples, vantage: Vantage) -> bool:
    """True if everything in the frame that is not sky is the ground itself."""
    above = height_above_ground(samples, vantage)
    return bool(np.all(np.abs(above) <= max(1e-3, 4.0 * samples.noise) * vantage.height_m))


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
    if not (np.mean(off < _ON_PLANE) > _MOST_ON_PLANE and down > _RISES * np.median(inverse)):
        return None
    if abs(across) > _MOST_ROLL * down:
        return None
    return Vantage(
        height_m=1.0 / math.hypot(steep, along),
        pitch_deg=math.degrees(math.atan2(along, steep)),
        roll_deg=math.degrees(math.atan2(across, down)),
    )

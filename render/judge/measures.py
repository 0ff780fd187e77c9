"""What blur and depth say together: the equivalent plain lens, how well it fits, the sharp band.

A tilted lens of pupil A = f/N blurs a point by the angle ``A |delta|`` with the signed defocus
``delta = 1/z + 1/v - n.D/f``. A plain lens of pupil A_eq focused at z_f blurs it by
``A_eq |1/z - 1/z_f|``. Fitting the second to the first over the picture gives the plain lens that
the picture seems to have been taken with; on flat ground the fit is exact (derived here).
The mechanism is that of Held, Cooper, O'Brien & Banks, ACM Trans. Graphics 29(2):19, 2010.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from render.judge.fitting import (
    correlation,
    huber_line,
    leverage_weights,
    plane_fit,
    quantiles,
    reach_of,
    reliability,
    weighted_mean,
    without_noise,
)
from render.judge.samples import Samples
from render.judge.weights import RULES
from render.optics.blur import defocus, slope_per_defocus
from render.optics.plane import FocusedLens

__all__ = ["Band", "Measures", "equivalent_lens", "measure"]

Floats = NDArray[np.float64]

#: Samples with less detail than this show no blur to speak of.
_DETAILED = 0.1
#: Below this share of explained variance the blur has no single direction in the picture.
_PLANAR = 0.8
_OFF_FOCUS = 0.1  # of the spread of 1/z: nearer to the focus blur over distance is all noise (ours)


@dataclass(frozen=True, slots=True)
class Band:
    """The sharp band as a strip across the picture.

    Attributes
    ----------
    height_fraction : float
        Its height across the direction in which blur grows, as a fraction of picture height; may
        exceed 1 where everything is sharp.
    centre_x, centre_y : float
        Slopes of its middle.
    edge_x, edge_y : float
        Slopes from the middle to its lower (or right) edge.
    from_top : float
        Middle from the top of the picture, as a fraction of its height.
    inside : bool
        False where the middle lies outside the frame.
    direction_deg : float
        Direction in which blur grows: 90 is up and down the picture, 0 sideways.
    """

    height_fraction: float
    centre_x: float
    centre_y: float
    edge_x: float
    edge_y: float
    from_top: float
    inside: bool
    direction_deg: float


@dataclass(frozen=True, slots=True)
class Measures:
    """What was measured from depth, camera and setting; nothing here is a judgement.

    Attributes
    ----------
    pupil_m : float
        A_eq: pupil of the plain lens that fits the blur best.
    focus_inverse : float
        1/z_f of that lens in 1/m; 0 or below where it is focused beyond everything.
    slope, intercept : float
        The fit itself: ``A delta ~ slope / z + intercept``, radians.
    follows : float
        Weighted correlation of blur with ``|1/z - 1/z_f|``, seen or not; up to 1.
    correlation : float
        C: that, as far as blur and distances are seen (`RULES.blur_noise`, `RULES.depth_seen`),
        less what stands near without the blur of a model (`RULES.near_cost`).
    near_unlike : float
        Share of the picture that stands nearer than a quarter of z_f without the blur that a
        model's would have there, weighed by what is missing.
    spread_ln : float
        s: spread of the scale votes, natural log; NaN without votes.
    orientation_deg : float
        psi: between the picture directions in which blur and in which depth change, 0 to 90; NaN
        where one of them does not change.
    edge_blur : float
        95th percentile of the blur's diameter over detailed samples, fraction of picture height.
    following_blur : float
        The same of the fitted plain lens alone: the blur that follows depth.
    coc_fraction : float
        The circle of confusion as a fraction of picture height.
    sharp_area : float
        Share of the whole frame, sky and blank things too, blurred by less than the circle of
        confusion.
    sharp_share : float
        Share of the detailed samples blurred by less than the circle of confusion.
    looks_sharp : float
        Share of the detailed samples that the fitted plain lens blurs by less than is just seen.
    seen_sharp : float
        The same of the blur that is really there, whether it follows depth or not.
    sharp_m : float
        How far away what is really sharp is, by its mean 1/z; ``inf`` for the sky.
    sharp_x, sharp_y : float
        Slopes of the middle of what the fitted plain lens leaves sharp.
    depth_gradient : tuple of 2 floats
        Change of 1/z per unit of slope, right and down (1/m).
    band : Band
    """

    pupil_m: float
    focus_inverse: float
    slope: float
    intercept: float
    follows: float
    correlation: float
    near_unlike: float
    spread_ln: float
    orientation_deg: float
    edge_blur: float
    following_blur: float
    coc_fraction: float
    sharp_area: float
    sharp_share: float
    looks_sharp: float
    seen_sharp: float
    sharp_m: float
    sharp_x: float
    sharp_y: float
    depth_gradient: tuple[float, float]
    band: Band

    def sharpness(self, samples: Samples, just_seen: float) -> Floats:
        """How sharp the fitted plain lens shows each sample, 0 to 1, shape (N,); 0 for the sky.

        Soft on purpose: a cell that crosses a limit moves nothing.
        """
        blur = np.abs(self.slope * samples.inverse + self.intercept) / samples.slope_height
        return np.exp(-0.5 * (blur / (2.0 * just_seen)) ** 2) * samples.seen

    @property
    def near_left(self) -> float:
        """Share of the agreement that things near the lens leave, above 0."""
        return float(max((1.0 - self.near_unlike) ** RULES.near_cost, 1e-9))

    @property
    def focus_m(self) -> float:
        """z_f in metres; ``inf`` where the fitted lens is focused at infinity or beyond."""
        return 1.0 / self.focus_inverse if self.focus_inverse > 0 else math.inf


def equivalent_lens(signed_blur: Floats, inverse: Floats, weight: Floats) -> tuple[float, float]:
    """Slope and intercept of ``A delta ~ a q + b``; ``|a|`` is A_eq and ``-b/a`` is 1/z_f.

    Parameters
    ----------
    signed_blur : ndarray, shape (N,)
        A delta, radians.
    inverse : ndarray, shape (N,)
        q = 1/z, 1/m.
    weight : ndarray, shape (N,)
    """
    return huber_line(inverse, signed_blur, weight)


def measure(
    samples: Samples, lens: FocusedLens, coc_mm: float, just_seen: float = 0.002
) -> Measures:
    """Measure one setting on a sampled scene.

    Parameters
    ----------
    coc_mm : float
        Circle of confusion: largest blur diameter on the sensor that counts as sharp.
    just_seen : float
        Blur diameter that is just seen at the viewing size, fraction of picture height.
    """
    rays = _rays_of(samples)
    x, y, inverse, weight, noise = rays.x, rays.y, rays.inverse, rays.weight, rays.noise
    of_the_rest, reach, detailed = rays.of_the_rest, rays.reach, rays.detailed
    angle_per_defocus = slope_per_defocus(lens)
    blur = angle_per_defocus * defocus(lens, rays.slopes, inverse)
    coc = coc_mm / lens.extension_mm / samples.slope_height
    fraction = np.abs(blur) / samples.slope_height

    at_infinity, at_a_metre = (float(defocus(lens, (0.0, 0.0), q)) for q in (0.0, 1.0))
    slope, intercept = without_noise(
        equivalent_lens(blur, inverse, of_the_rest),
        inverse,
        blur,
        of_the_rest,
        noise,
        angle_per_defocus * (at_a_metre - at_infinity),
    )
    focus_inverse = -intercept / slope if slope != 0 else 0.0
    from_focus = np.abs(inverse - focus_inverse)
    bounded = np.minimum(from_focus, reach)
    following = abs(slope) * from_focus / samples.slope_height
    # Spearman's correction for attenuation, 1904 (from memory)
    kept = math.sqrt(reliability(bounded, weight, noise))
    middle = _least_blurred(following, weight, just_seen)
    sharp_inverse = weighted_mean(inverse, _least_blurred(fraction, weight, just_seen))
    spread = _vote_spread(np.abs(blur), from_focus, inverse, weight, fraction > coc)
    blur_plane, explained = plane_fit(x, y, blur, of_the_rest)
    sharp_share = weighted_mean(fraction <= coc, weight)
    agreed = min(1.0, correlation(np.abs(blur), bounded, weight) / kept)
    near = inverse > focus_inverse / RULES.foreground_ratio
    unlike = _sharper_share(near, fraction, following, weight) if focus_inverse > 0 else 0.0
    shows = _blur_shows(fraction, weight, just_seen)
    return Measures(
        pupil_m=abs(slope),
        focus_inverse=focus_inverse,
        slope=slope,
        intercept=intercept,
        follows=agreed,
        correlation=agreed * shows * rays.told * (1.0 - unlike) ** RULES.near_cost,
        near_unlike=unlike,
        spread_ln=spread,
        orientation_deg=_angle_between(blur_plane[:2], rays.depth_plane[:2], inverse.max()),
        edge_blur=float(np.quantile(fraction[detailed], 0.95)),
        following_blur=float(np.quantile(following[rays.rest], 0.95)),
        coc_fraction=coc,
        sharp_area=_sharp_area(samples, lens, angle_per_defocus, fraction, coc),
        sharp_share=sharp_share,
        looks_sharp=weighted_mean(following <= just_seen, weight),
        seen_sharp=weighted_mean(fraction <= just_seen, weight),
        sharp_m=1.0 / sharp_inverse if sharp_inverse > 0 else math.inf,
        sharp_x=weighted_mean(x, middle),
        sharp_y=weighted_mean(y, middle),
        depth_gradient=(float(rays.depth_plane[0]), float(rays.depth_plane[1])),
        band=_band(samples, blur_plane, explained, coc, fraction, sharp_share),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Rays:
    """What is seen, and what no lens changes of it: rays, depths, weights, their plain fits."""

    slopes: Floats
    x: Floats
    y: Floats
    inverse: Floats
    weight: Floats
    noise: Floats
    of_the_rest: Floats
    detailed: NDArray[np.bool_]
    rest: NDArray[np.bool_]
    reach: float
    depth_plane: Floats
    told: float


@lru_cache(maxsize=4)  # a search turns the lens on the same rays some fifty times
def _rays_of(samples: Samples) -> _Rays:
    seen = samples.seen
    x, y = samples.slope_x[seen], samples.slope_y[seen]
    inverse, weight = samples.inverse[seen], samples.detail[seen]
    middle, reach = reach_of(inverse)
    of_the_rest = weight * leverage_weights(inverse, middle, reach)
    detailed = weight > _DETAILED * weight.max()
    rest = detailed & (of_the_rest >= 0.5 * weight)
    return _Rays(
        slopes=np.stack([x, y], axis=-1),
        x=x,
        y=y,
        inverse=inverse,
        weight=weight,
        noise=samples.noise * inverse,
        of_the_rest=of_the_rest,
        detailed=detailed,
        rest=rest if np.any(rest) else detailed,
        reach=reach,
        depth_plane=plane_fit(x, y, inverse, of_the_rest)[0],
        told=_depth_told(inverse, of_the_rest),
    )


def _sharp_area(
    samples: Samples, lens: FocusedLens, angle_per_defocus: float, fraction: Floats, coc: float
) -> float:
    """Share of the frame that is sharp, sky and all."""
    sky = ~samples.seen
    slopes = np.stack([samples.slope_x[sky], samples.slope_y[sky]], axis=-1)
    of_sky = angle_per_defocus * np.abs(defocus(lens, slopes, np.zeros(len(slopes))))
    sharp = np.count_nonzero(fraction <= coc)
    sharp += np.count_nonzero(of_sky <= coc * samples.slope_height)
    return float(sharp / samples.inverse.size)


def _sharper_share(
    near: NDArray[np.bool_], fraction: Floats, following: Floats, weight: Floats
) -> float:
    """By how much of its blur what is near is sharper than the lens that follows depth has it."""
    asked = np.maximum(following, 1e-300)
    return weighted_mean(near * np.maximum(1.0 - fraction / asked, 0.0), weight)


def _blur_shows(fraction: Floats, weight: Floats, just_seen: float) -> float:
    """Share of the spread of blur that is no noise: none where all is blurred alike."""
    varies = weighted_mean(fraction**2, weight)
    varies -= weighted_mean(fraction, weight) ** 2
    return math.sqrt(max(varies, 0.0) / (max(varies, 0.0) + (RULES.blur_noise * just_seen) ** 2))


def _least_blurred(fraction: Floats, weight: Floats, just_seen: float) -> Floats:
    """Weights of what is blurred least; soft, so that a cell at a limit moves a mean by nothing."""
    excess = (fraction - fraction.min()) / (2.0 * just_seen)
    return np.asarray(np.maximum(weight, 1e-9) * np.exp(-0.5 * excess * excess))


def _depth_told(inverse: Floats, weight: Floats) -> float:
    """What is left of a correlation with depth where the eye tells distances apart only so far."""
    mean = weighted_mean(inverse, weight)
    variance = weighted_mean((inverse - mean) ** 2, weight)
    return math.sqrt(variance / (variance + (RULES.depth_seen * mean) ** 2))


def _vote_spread(
    blur: Floats, from_focus: Floats, inverse: Floats, weight: Floats, visible: NDArray[np.bool_]
) -> float:
    """Spread of ln(pupil) that single points vote for; NaN without votes."""
    mean = weighted_mean(inverse, weight)
    deviation = math.sqrt(weighted_mean((inverse - mean) ** 2, weight))
    voters = visible & (from_focus > _OFF_FOCUS * deviation) & (weight > 0)
    if deviation <= 1e-9 * mean or not np.any(voters):
        return math.nan
    votes = np.log(blur[voters] / from_focus[voters])
    low, high = quantiles(votes, weight[voters], (0.25, 0.75))
    return float((high - low) / 1.349)


def _band(
    samples: Samples,
    blur_plane: Floats,
    explained: float,
    coc: float,
    fraction: Floats,
    sharp_share: float,
) -> Band:
    """The strip ``|blur| <= coc`` of the plane fitted to the signed blur.

    Where blur does not run in one direction, or the strip's middle lies outside the frame, the
    height is the measured share of sharp samples.
    """
    camera, height = samples.camera, samples.slope_height
    middle_x = (camera.width_px / 2 - camera.centre_x_px) / camera.focal_px
    middle_y = (camera.height_px / 2 - camera.centre_y_px) / camera.focal_px
    gx, gy, c = blur_plane
    steepness = math.hypot(gx, gy)
    if steepness * height <= 1e-9:
        return Band(math.inf, middle_x, middle_y, 0.0, height / 2, 0.5, True, 90.0)
    if explained >= _PLANAR:
        reach = -(gx * middle_x + gy * middle_y + c) / steepness**2
        centre_x, centre_y = middle_x + reach * gx, middle_y + reach * gy
        inside = (
            abs(centre_x - middle_x) * camera.focal_px <= camera.width_px / 2
            and abs(centre_y - middle_y) * camera.focal_px <= camera.height_px / 2
        )
        extent = 2.0 * coc / steepness if inside else sharp_share
        side = math.copysign(0.5 * extent * height / steepness, gy if abs(gy) >= abs(gx) else gx)
        edge_x, edge_y = side * gx, side * gy
    else:
        seen = samples.seen
        share = samples.detail[seen] * (fraction <= max(coc, float(fraction.min())))
        share = share if share.sum() > 0 else samples.detail[seen]
        centre_x = weighted_mean(samples.slope_x[seen], share)
        centre_y = weighted_mean(samples.slope_y[seen], share)
        inside, extent = sharp_share > 0, sharp_share
        edge_x, edge_y = 0.0, 0.5 * extent * height
    return Band(
        height_fraction=float(extent),
        centre_x=float(centre_x),
        centre_y=float(centre_y),
        edge_x=float(edge_x),
        edge_y=float(edge_y),
        from_top=float(0.5 + (centre_y - middle_y) / height),
        inside=bool(inside),
        direction_deg=math.degrees(math.atan2(abs(gy), abs(gx))),
    )


def _angle_between(first: Floats, second: Floats, scale: float) -> float:
    """Angle between two directions of change, without regard to sign, degrees."""
    norms = float(np.hypot(*first)), float(np.hypot(*second))
    if norms[0] <= 1e-12 or norms[1] <= 1e-9 * scale:
        return math.nan
    cosine = abs(float(first @ second)) / (norms[0] * norms[1])
    sine = abs(float(first[0] * second[1] - first[1] * second[0])) / (norms[0] * norms[1])
    return math.degrees(math.atan2(sine, cosine))

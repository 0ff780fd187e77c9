"""The light of a clear day by the height of the sun: sky, direct sun, twilight, exposure."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.scene.colour import LUMINANCE, SRGB
from render.world.description import LightWords

__all__ = [
    "STREET_LUX",
    "afterglow",
    "clear_light",
    "direct_lux",
    "horizontal_lux",
    "lamplight",
    "sky_light",
    "sky_lux",
    "sun_colour",
    "sun_height_words",
    "sun_words",
]

#: Clear air; 2 is very clear, 6 is hazy.
_TURBIDITY = 2.5
#: Share of a picture's change of light that its exposure takes back: dusk is kept a stop or so
#: darker than noon. Common practice, no source.
_TAKEN_BACK = 0.92
#: The usual sun of a scene, at which nothing changes.
_USUAL_DEG = 42.0
#: Half of what is seen lies level, and of the upright half one in two faces the sun: ours.
_LEVEL, _UPRIGHT = 0.5, 0.25
#: Half of what is seen is lit by lamps, more or less: ours.
_FACING = 0.5
#: A sky in the frame counts more than the ground it lights, or it would burn out at dusk: ours.
_SKY_COUNTS = 1.5
#: Beyond nautical dusk nothing is seen without lamps.
_NIGHT_DEG = -12.0
#: Down to which height of the sun each twilight lasts.
_TWILIGHTS = ((-6.0, "civil"), (-12.0, "nautical"), (-18.0, "astronomical"))
#: Where the sky near the horizon is asked: elevation, and azimuths from the sun (towards it the
#: glow round the sun stands for it).
_LOW_DEG, _ROUND_DEG = 6.0, (60.0, 90.0, 120.0, 150.0, 180.0)

#: How much of the light on level ground the tracer's sky takes from overhead, and how much from the
#: horizon: the cosine's mean of its gradient, 1 - (1 - z)^4.
_OVERHEAD, _LOW_DOWN = 14.0 / 15.0, 1.0 / 15.0

#: Light on a street from its lamps, lux (usual in towns, from memory).
STREET_LUX = 10.0
#: The sky low down on the sun's side at dusk, times the mean round it, and the height of the sun
#: whose colour it has: ours, after pictures; no table was found.
_SUNSIDE, _SUNSIDE_DEG = 1.6, 3.0

_TO_RGB = np.array(
    [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
)

#: Perez coefficients A to E of luminance and chromaticity, as (slope, offset) in turbidity.
_PEREZ = {
    "Y": (
        (0.1787, -1.4630),
        (-0.3554, 0.4275),
        (-0.0227, 5.3251),
        (0.1206, -2.5771),
        (-0.0670, 0.3703),
    ),
    "x": (
        (-0.0193, -0.2592),
        (-0.0665, 0.0008),
        (-0.0004, 0.2125),
        (-0.0641, -0.8989),
        (-0.0033, 0.0452),
    ),
    "y": (
        (-0.0167, -0.2608),
        (-0.0950, 0.0092),
        (-0.0079, 0.2102),
        (-0.0441, -1.6537),
        (-0.0109, 0.0529),
    ),
}
#: Chromaticity overhead: rows by the square of turbidity, turbidity and 1; columns by powers of
#: the sun's angle from the zenith, the cube first.
_ZENITH_X = (
    (0.00166, -0.00375, 0.00209, 0.0),
    (-0.02903, 0.06377, -0.03202, 0.00394),
    (0.11693, -0.21196, 0.06052, 0.25886),
)
_ZENITH_Y = (
    (0.00275, -0.00610, 0.00317, 0.0),
    (-0.04214, 0.08970, -0.04153, 0.00516),
    (0.15346, -0.26756, 0.06670, 0.26688),
)

#: Chromaticity of the sky at dusk overhead and low down, away from the sun: ozone leaves blue
#: (some 20,000 and 9,000 K). Ours, after pictures; no table was found.
_DUSK_ZENITH, _DUSK_HORIZON = (0.245, 0.250), (0.285, 0.292)

#: log10 of lux as cubics in (height / 90), by ranges of the sun's height.
_LUX = (
    (20.0, (3.74, 3.97, -4.07, 1.47)),
    (5.0, (3.05, 13.28, -45.98, 64.33)),
    (-0.8, (2.88, 22.26, -207.64, 1034.30)),
    (-5.0, (2.88, 21.81, -258.11, -858.36)),
    (-12.0, (2.70, 12.17, -431.69, -1899.83)),
    (-18.0, (13.84, 262.72, 1447.42, 2797.93)),
)


def horizontal_lux(sun_height_deg: float) -> float:
    """Light of sun and clear sky on level ground, lux; below -18 degrees that of -18.

    References
    ----------
    P. K. Seidelmann (ed.), *Explanatory Supplement to the Astronomical Almanac*, 1992, 9.3
    (coefficients from memory; 759 lx at 0, 3.4 at -6, 0.008 at -12 degrees).
    """
    height = min(max(sun_height_deg, -18.0), 90.0)
    cubic = next(c for low, c in _LUX if height >= low)
    x = height / 90.0
    return float(10.0 ** sum(k * x**power for power, k in enumerate(cubic)))


def sky_lux(sun_height_deg: float) -> float:
    """Light of the clear sky alone on level ground, lux; below the horizon all there is.

    The whole of `horizontal_lux`, parted into sky and sun as the daylight model of the
    Illuminating Engineering Society parts it for a clear day: 0.8 + 15.5 sin^0.5(a) klx of sky,
    127.5 exp(-0.21 m) klx of sun squarely; the air mass m after Kasten and Young 1989.

    References
    ----------
    IESNA *Lighting Handbook*, 9th ed., 2000, chapter 8 (after Gillette, Pierpoint and Treado 1984;
    coefficients from memory).
    """
    sky, sun, a = _clear_klx(sun_height_deg)
    return horizontal_lux(sun_height_deg) * sky / (sky + sun * a)


def direct_lux(sun_height_deg: float) -> float:
    """Light of the sun alone on a surface that faces it, lux; 0 once it has set."""
    sky, sun, a = _clear_klx(sun_height_deg)
    return horizontal_lux(sun_height_deg) * sun / (sky + sun * a)


def _clear_klx(sun_height_deg: float) -> tuple[float, float, float]:
    """Sky on level ground, sun squarely (klx), and the sine of its height."""
    if sun_height_deg <= 0.0:
        return 0.8, 0.0, 0.0
    a = math.sin(math.radians(min(sun_height_deg, 90.0)))
    return 0.8 + 15.5 * math.sqrt(a), 127.5 * math.exp(-0.21 * _air_mass(sun_height_deg)), a


def _air_mass(height_deg: float) -> float:
    """How much more air the sun shines through than from overhead, after Kasten and Young 1989."""
    return float(
        1.0 / (math.sin(math.radians(height_deg)) + 0.50572 * (height_deg + 6.07995) ** -1.6364)
    )


def sky_light(
    sun_height_deg: float, elevation_deg: float, azimuth_deg: float
) -> NDArray[np.float64]:
    """Light of the clear sky in a direction, linear sRGB, kcd/m2, shape (3,).

    Colours and shape are the model's; all of it is dimmed so that level ground has `sky_lux`, for
    the model's zenith is far too bright once the sun is low.

    Parameters
    ----------
    sun_height_deg : float
        Below the horizon the sky of sunset, dimmed as level ground is, and bluer.
    elevation_deg, azimuth_deg : float
        Of the direction; azimuth counts from the sun's.

    References
    ----------
    A. J. Preetham, P. Shirley, B. Smits, "A practical analytic model for daylight", SIGGRAPH
    1999 (turbidity 2.5; coefficients from memory).
    """
    return _published(sun_height_deg) * _modelled(sun_height_deg, elevation_deg, azimuth_deg)


@lru_cache(maxsize=256)
def _published(sun_height_deg: float) -> float:
    """What the model's sky is to be multiplied with to give level ground the published light."""
    overhead = LUMINANCE @ _modelled(sun_height_deg, 90.0, 0.0)
    low = LUMINANCE @ np.mean([_modelled(sun_height_deg, _LOW_DEG, a) for a in _ROUND_DEG], axis=0)
    level = 1000.0 * math.pi * (_OVERHEAD * overhead + _LOW_DOWN * low)
    return sky_lux(max(sun_height_deg, -18.0)) / float(level)


def _modelled(
    sun_height_deg: float, elevation_deg: float, azimuth_deg: float
) -> NDArray[np.float64]:
    """The model's own light in a direction, linear sRGB, kcd/m2, shape (3,)."""
    zenith_angle = math.radians(90.0 - max(sun_height_deg, 0.0))
    theta = math.radians(90.0 - elevation_deg)
    gamma = math.acos(
        min(
            1.0,
            math.cos(theta) * math.cos(zenith_angle)
            + math.sin(theta) * math.sin(zenith_angle) * math.cos(math.radians(azimuth_deg)),
        )
    )
    chi = (4.0 / 9.0 - _TURBIDITY / 120.0) * (math.pi - 2.0 * zenith_angle)
    powers = np.array([zenith_angle**3, zenith_angle**2, zenith_angle, 1.0])
    air = np.array([_TURBIDITY**2, _TURBIDITY, 1.0])
    at_zenith = {
        "Y": (4.0453 * _TURBIDITY - 4.9710) * math.tan(chi) - 0.2155 * _TURBIDITY + 2.4192,
        "x": float(air @ np.array(_ZENITH_X) @ powers),
        "y": float(air @ np.array(_ZENITH_Y) @ powers),
    }
    found = {
        name: value * _perez(name, theta, gamma) / _perez(name, 0.0, zenith_angle)
        for name, value in at_zenith.items()
    }
    luminance, dusk = found["Y"], _dusk(sun_height_deg)
    low = math.cos(math.radians(elevation_deg)) ** 3
    x, y = (
        (1 - dusk) * found[name] + dusk * ((1 - low) * blue + low * pale)
        for name, blue, pale in zip("xy", _DUSK_ZENITH, _DUSK_HORIZON, strict=True)
    )
    light = _TO_RGB @ np.array([luminance * x / y, luminance, luminance * (1 - x - y) / y])
    return np.asarray(np.maximum(light, 0.0))


def sun_colour(height_deg: float) -> tuple[float, float, float]:
    """Colour of direct sun: air takes blue away first, the more the lower the sun stands.

    Air mass after Kasten and Young 1989; extinction per air mass by colour is ours, chosen so
    that a sun of 40 degrees is slightly warm.
    """
    mass = _air_mass(max(height_deg, 0.1))
    r, g, b = (math.exp(-k * mass) for k in (0.055, 0.115, 0.215))
    return 1.22 * r, 1.22 * g, 1.22 * b


def clear_light(words: LightWords) -> LightWords:
    """The light of a place at the sun's own height: colours of the sky, and the exposure for it.

    Clouds, haze and lamps stay as they were. Where there are lamps the exposure is theirs.

    Raises
    ------
    InputError
        If it is night and there is no lamp.
    """
    height = words.sun_height_deg
    if height < _NIGHT_DEG and not words.lamps and words.street_lux is None:
        raise InputError(
            f"the sun stands {-height:.0f}° below the horizon, which is night, and there are no "
            f"lamps (moonlight is not rendered): choose a time until the sun is "
            f"{-_NIGHT_DEG:.0f}° down"
        )
    zenith, horizon = _zenith_and_horizon(height)
    level = max(zenith.max() / 0.55, horizon.max() / 0.80)
    exposure = words.exposure_ev
    if not words.lamps:
        metered = _metered(height)
        if words.street_lux is not None:
            metered += _FACING * lamplight(words.street_lux / math.pi)
        exposure += _TAKEN_BACK * math.log2(_metered(_USUAL_DEG) / metered)
    return replace(
        words,
        sky_colour=_hex(zenith / (0.55 * level)),
        horizon_colour=_hex(horizon / (0.80 * level)),
        sky_level=float(level),
        exposure_ev=exposure,
        sun_level=words.sun_level * _sun_level(height),
    )


def lamplight(luminance: float) -> float:
    """A luminance, cd/m2, in the light of a place, whose sky and sun are the published ones."""
    return luminance / _unit_cd()


@lru_cache(maxsize=1)
def _unit_cd() -> float:
    """Luminance that the scenes' light counts as 1, cd/m2: white squarely in their usual sun."""
    return direct_lux(_USUAL_DEG) / math.pi / float(LUMINANCE @ np.array(sun_colour(_USUAL_DEG)))


def _sun_level(height_deg: float) -> float:
    """How strong the sun is beside the colour that `sun_colour` gives it; 1 at the usual height."""
    own = float(LUMINANCE @ np.array(sun_colour(height_deg)))
    return direct_lux(height_deg) / math.pi / _unit_cd() / own if height_deg > 0 else 0.0


def afterglow(sun_height_deg: float, horizon: NDArray[np.float64]) -> NDArray[np.float64]:
    """Light that the sky low down has more on the side of a low or sunken sun, shape (3,).

    Parameters
    ----------
    horizon : ndarray, shape (3,)
        Light low down round it; what comes back is in its unit.
    """
    share = min(max((6.0 - sun_height_deg) / 6.0, 0.0), 1.0)
    share *= min(max((sun_height_deg + 14.0) / 12.0, 0.0), 1.0)
    colour = np.array(sun_colour(_SUNSIDE_DEG))
    return share * _SUNSIDE * float(LUMINANCE @ horizon) * colour / float(LUMINANCE @ colour)


def sun_words(heading_deg: float, height_deg: float) -> str:
    """Where the sun stands, in words, and what that is called."""
    heading = f"heading {heading_deg:.0f}°"
    if height_deg >= 0.5:
        return f"the sun stands {height_deg:.0f}° high, {heading}"
    if height_deg >= 0:
        return f"the sun stands {sun_height_words(height_deg)}, {heading}"
    called = next((name for low, name in _TWILIGHTS if height_deg >= low), "")
    twilight = f" ({called} twilight)" if called else " (night)"
    return f"the sun is {sun_height_words(height_deg)}, {heading}{twilight}"


def sun_height_words(height_deg: float) -> str:
    """How high the sun stands, in whole degrees; nobody says 0° of it.

    >>> [sun_height_words(height) for height in (12.4, 0.3, -0.3, -5.2)]
    ['12° up', 'on the horizon', 'just below the horizon', '5° below the horizon']
    """
    if abs(height_deg) < 0.5:
        return "on the horizon" if height_deg >= 0 else "just below the horizon"
    return f"{height_deg:.0f}° up" if height_deg > 0 else f"{-height_deg:.0f}° below the horizon"


def _dusk(sun_height_deg: float) -> float:
    """How far the colours are those of dusk, 0 to 1: the model knows no blue hour."""
    share = min(max((6.0 - sun_height_deg) / 10.0, 0.0), 1.0)
    return share * share * (3.0 - 2.0 * share)


def _perez(name: str, theta: float, gamma: float) -> float:
    a, b, c, d, e = (slope * _TURBIDITY + offset for slope, offset in _PEREZ[name])
    low = 1.0 + a * math.exp(b / max(math.cos(theta), 1e-3))
    return low * (1.0 + c * math.exp(d * gamma) + e * math.cos(gamma) ** 2)


def _zenith_and_horizon(height_deg: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The sky overhead and low down away from the sun, in the scenes' own light."""
    unit_kcd = _unit_cd() / 1000.0
    zenith = sky_light(height_deg, 90.0, 0.0) / unit_kcd
    low = [sky_light(height_deg, _LOW_DEG, azimuth) for azimuth in _ROUND_DEG]
    return zenith, np.mean(low, axis=0) / unit_kcd


def _metered(height_deg: float) -> float:
    """How bright a place is under the sun at a height, in the scenes' own light."""
    sun = _sun_level(height_deg) * np.array(sun_colour(height_deg))
    zenith, horizon = _zenith_and_horizon(height_deg)
    height = math.radians(max(height_deg, 0.0))
    faces = _LEVEL * math.sin(height) + _UPRIGHT * math.cos(height)
    return float(LUMINANCE @ (faces * sun + _SKY_COUNTS * (zenith + horizon) / 2))


def _hex(linear: NDArray[np.float64]) -> str:
    light = np.clip(linear, 0.0, 1.0).astype(np.float32)
    return "#{:02x}{:02x}{:02x}".format(*np.asarray(SRGB.codes(light[None, None], 8))[0, 0])

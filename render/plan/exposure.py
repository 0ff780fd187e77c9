"""Exposure on the day: shutter, filter, bracket, and the histogram to expect."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.optics.exposure import (
    MARKED_SHUTTER,
    exposure_value,
    marked_iso,
    marked_shutter_s,
    metered_exposure_lx_s,
    nd_density,
    nd_stops,
    saturation_exposure_lx_s,
    shutter_s,
    sunny_exposure_value,
)
from render.scene.colour import LUMINANCE
from render.world.night import STREET_LAMPS_LUX
from render.world.sky import horizontal_lux, sun_height_words

__all__ = [
    "FASTEST_S",
    "MARK_STOPS",
    "METER_CAVEAT",
    "UNSEEN_STOPS",
    "Brightness",
    "ExposurePlan",
    "Histogram",
    "Shutter",
    "brightness_from_exposure",
    "brightness_from_lux",
    "brightness_from_sky",
    "brightness_from_weather",
    "brightness_under",
    "filter_words",
    "filtered",
    "lit_by_sky",
    "plan_exposure",
    "predicted_histogram",
    "share_words",
    "shutter_words",
    "sun_words",
]

#: Common practice, no source.
METER_CAVEAT = (
    "meter before tilting and shifting, then lock: a tilted or shifted lens misleads some meters "
    "that read through it"
)
#: What is said where it is so dark that lamps may give most of the light.
_METER = "only sun, twilight and sky are counted, lamps are not: meter on site"
FASTEST_S = 1.0 / 4000.0  # common practice: what most shutters reach
_INCIDENT_C = 250.0
_INDOORS = ("window light", "lamplight")
_BRACKET_EV = (-2.0, 0.0, 2.0)  # common practice
#: Exposure is changed by the step between the marks of a camera.
MARK_STOPS = 1.0 / 3.0
#: Half of it: a change that is less nobody sets or sees, and it is not worth a word.
UNSEEN_STOPS = MARK_STOPS / 2
_DARKEST_STOPS = -8  # below saturation: deeper shadows drown in noise (common practice)
_STOPS = tuple(range(-10, 3))

_LUMINANCE = LUMINANCE.astype(np.float32)


@dataclass(frozen=True, slots=True)
class Brightness:
    """How bright the scene is, and how that is known.

    Attributes
    ----------
    ev100 : float
    source : str
        "the picture's own exposure" or the condition of daylight.
    picture_ev100 : float or None
        EV100 of the exposure that the picture's white would saturate in the planned light, where
        the picture's own exposure tells.
    unlit : bool
        Whether it is so dark that lamps may give most of the light, and none is counted.
    """

    ev100: float
    source: str
    picture_ev100: float | None = None
    unlit: bool = False


def brightness_from_exposure(f_number: float, exposure_s: float, iso: float) -> Brightness:
    """Brightness from the exposure a picture was taken with (its EXIF)."""
    value = exposure_value(f_number, exposure_s, iso)
    return Brightness(value, "the picture's own exposure", value)


def brightness_from_weather(condition: str) -> Brightness:
    """Brightness from a condition of daylight by the sunny-16 rule (common practice)."""
    return Brightness(sunny_exposure_value(condition), f"{condition.strip().lower()}, by sunny 16")


def brightness_from_lux(lux: float, source: str) -> Brightness:
    """Brightness from the light on level ground, as a flat incident meter reads it, at most sun.

    ``EV100 = log2(100 E / C)`` with C = 250 (ISO 2720, from memory); what faces a sun that is up
    is lit no brighter than the sunny-16 rule has it.

    Examples
    --------
    >>> round(brightness_from_lux(750.0, "sunset").ev100, 1)
    8.2
    """
    value = math.log2(100.0 * lux / _INCIDENT_C)
    return Brightness(min(value, sunny_exposure_value("sun")), source)


def brightness_from_sky(sun_height_deg: float, street_lux: float = 0.0) -> Brightness:
    """Brightness of a clear day or night by the sun's height, with the street lamps that are lit.

    From where street lamps come on, it says which lamps are left out.
    """
    sky_lux = horizontal_lux(sun_height_deg)
    source = f"clear sky, {sun_words(sun_height_deg)}"
    found = brightness_from_lux(sky_lux + street_lux, source)
    return _without_lamps(found, sky_lux, street_lux)


def brightness_under(
    said: Brightness, condition: str, sun_height_deg: float, street_lux: float = 0.0
) -> Brightness:
    """A condition of daylight as bright as the sun's height leaves it; indoors as it is.

    The condition takes as many stops from the clear sky of that height as from the sunny-16 rule's
    sun (common practice), and is no brighter than by that rule; lit street lamps come to it.
    """
    if not lit_by_sky(condition):
        return said
    sunny = sunny_exposure_value("sun")
    lost = sunny - brightness_from_sky(sun_height_deg).ev100
    if lost < UNSEEN_STOPS:
        return said
    name = said.source.partition(",")[0]
    source = f"{name}, {sun_words(sun_height_deg)}"
    lux = _INCIDENT_C / 100.0 * 2.0 ** (said.ev100 - lost)
    found = brightness_from_lux(lux + street_lux, source)
    return _without_lamps(found, horizontal_lux(sun_height_deg), street_lux)


def _without_lamps(found: Brightness, sky_lux: float, street_lux: float) -> Brightness:
    """The same, and what is not counted in it once lamps matter."""
    if street_lux:
        lit = f"{found.source}, street lamps lit, other lamps not counted"
        return replace(found, source=lit)
    if sky_lux >= STREET_LAMPS_LUX:
        return found
    return replace(found, source=f"{found.source}; {_METER}", unlit=True)


def lit_by_sky(condition: str) -> bool:
    """Whether it is the sky that lights under a condition of light."""
    return condition.strip().lower() not in _INDOORS


def sun_words(height_deg: float) -> str:
    """Where the sun stands: "the sun 3° below the horizon"."""
    return f"the sun {sun_height_words(height_deg)}"


@dataclass(frozen=True, slots=True)
class Shutter:
    """One way to expose, in values that camera and filters are marked with.

    Attributes
    ----------
    name : str
    time_s : float
        Marked on the shutter.
    filter_stops : float
        Neutral density to screw on, whole stops; 0 where none is. Below 0: so many stops too
        dark for the planned ISO.
    filter_density : float
        The same as optical density.
    off_stops : float
        What rounding to marks leaves: above 0 so many stops lighter than metered, below 0 darker.
    iso : float
        To set: the planned one, or a marked one that makes up for what is too dark.
    """

    name: str
    time_s: float
    filter_stops: float
    filter_density: float
    off_stops: float
    iso: float

    @property
    def sentence(self) -> str:
        """One line: "half the interval: 1/4 s, 10 stops of neutral density (density 3.0)"."""
        text = f"{self.name}: {shutter_words(self.time_s)}"
        if self.filter_stops > 0.05:
            text += f", {filter_words(self.filter_stops)} (density {self.filter_density:.1f})"
        elif self.filter_stops < -0.05:
            text += f", {-self.filter_stops:.1f} stops too dark: raise the ISO to {self.iso:g}"
        else:
            text += ", no filter"
        if abs(self.off_stops) > UNSEEN_STOPS:
            way = "lighter" if self.off_stops > 0 else "darker"
            text += f" ({abs(self.off_stops):.1f} of a stop {way} than metered)"
        return text


@dataclass(frozen=True, slots=True)
class ExposurePlan:
    """Exposure at the planned f-number.

    Attributes
    ----------
    brightness : Brightness
    iso, f_number : float
    extension_stops : float
        Light lost because the lens stands farther from the sensor than its focal length; counted
        in everything here. A meter that reads through the lens counts it by itself.
    metered : Shutter
        The shutter for this light; with a filter where no shutter is fast enough.
    choices : tuple of Shutter
        Other shutter times asked for.
    bracket_s : tuple of floats
        Marked shutter times of the bracket, darkest first.
    bracket_filter_stops : float
        Neutral density for the bracket in whole stops, so that its fastest time is one that
        shutters reach.
    """

    brightness: Brightness
    iso: float
    f_number: float
    extension_stops: float
    metered: Shutter
    choices: tuple[Shutter, ...]
    bracket_s: tuple[float, ...]
    bracket_filter_stops: float


def plan_exposure(
    brightness: Brightness,
    f_number: float,
    iso: float,
    wanted: dict[str, float],
    longest: dict[str, float] | None = None,
    extension_stops: float = 0.0,
) -> ExposurePlan:
    """Work out shutter times, filters and the bracket.

    Filters come in whole stops and shutters in thirds: the filter is taken to the whole stop
    first, and the shutter makes up for the rest.

    Parameters
    ----------
    wanted : dict of name to seconds
        Shutter times to come near to, by their purpose.
    longest : dict of name to seconds, optional
        Shutter times that must not be passed, by their purpose.
    extension_stops : float
        ``2 log2(N_eff / N)``: light lost to the lens's extension.

    Raises
    ------
    SettingError
        If a shutter time, the f-number or the ISO is not above 0.
    """
    if not (math.isfinite(iso) and iso > 0):
        raise SettingError(f"the ISO must be a number above 0, not {iso!r}")
    metered_s = shutter_s(brightness.ev100, f_number, iso) * 2.0**extension_stops
    glare = max(0, math.ceil(nd_stops(metered_s, FASTEST_S) - UNSEEN_STOPS))
    least_middle_s = FASTEST_S * 2.0 ** -_BRACKET_EV[0]
    bracket_stops = max(0, math.ceil(nd_stops(metered_s, least_middle_s) - UNSEEN_STOPS))
    middle_s = metered_s * 2.0**bracket_stops
    choices = [_chosen(name, metered_s, s, iso, round) for name, s in wanted.items()]
    choices += [_chosen(name, metered_s, s, iso, math.floor) for name, s in (longest or {}).items()]
    return ExposurePlan(
        brightness=brightness,
        iso=iso,
        f_number=f_number,
        extension_stops=extension_stops,
        metered=filtered("metered", metered_s, glare, iso),
        choices=tuple(choices),
        bracket_s=tuple(marked_shutter_s(middle_s * 2.0**stops) for stops in _BRACKET_EV),
        bracket_filter_stops=float(bracket_stops),
    )


def _chosen(
    name: str, metered_s: float, wanted_s: float, iso: float, whole: Callable[[float], int]
) -> Shutter:
    """Come near to a wanted time with a filter of whole stops, or with more ISO."""
    stops = nd_stops(metered_s, wanted_s)
    if stops > -UNSEEN_STOPS:
        return filtered(name, metered_s, max(0, whole(stops + UNSEEN_STOPS / 2)), iso)
    time_s = marked_shutter_s(wanted_s)
    missing = nd_stops(time_s, metered_s)
    raised = marked_iso(iso * 2.0**missing)
    return Shutter(name, time_s, -missing, 0.0, math.log2(raised / iso) - missing, float(raised))


def filtered(name: str, metered_s: float, stops: int, iso: float) -> Shutter:
    """What is metered with a filter of so many whole stops, by marks."""
    right_s = metered_s * 2.0**stops
    time_s = marked_shutter_s(right_s)
    off = math.log2(time_s / right_s)
    return Shutter(name, time_s, float(stops), nd_density(stops), off, iso)


@dataclass(frozen=True, slots=True)
class Histogram:
    """The predicted exposure of a picture, in stops under saturation.

    Attributes
    ----------
    stops : tuple of ints
        Lower edges of the bins, stops relative to saturation; the last is open upwards, the
        first holds everything darker.
    shares : tuple of floats
        Share of the picture in each bin; they add to 1.
    clipped_share : float
        Share of pixels of which a channel saturates.
    dark_share : float
        Share more than 8 stops under saturation.
    basis : str
        What ties the picture's light to the exposure.
    """

    stops: tuple[int, ...]
    shares: tuple[float, ...]
    clipped_share: float
    dark_share: float
    basis: str


def predicted_histogram(
    light: NDArray[np.float32],
    brightness: Brightness,
    f_number: float,
    time_s: float,
    iso: float,
    *,
    filter_stops: float = 0.0,
    step_px: int = 1,
) -> Histogram:
    """Predict how a planned exposure falls.

    Where the picture's own exposure is known, its white (1.0) is what that exposure saturated.
    Else the mean of the light is taken to be what a meter reads, 8.1/78 of saturation (metered
    exposure q K / S against 78 / S; ISO 2720 and ISO 12232, from memory).

    Parameters
    ----------
    light : ndarray, shape (h, w, 3)
        Linear light of the frame.
    step_px : int
        Every how many pixels to look.
    """
    looked_at = np.asarray(light[::step_px, ::step_px], np.float32)
    planned = exposure_value(f_number, time_s, iso) + filter_stops
    if brightness.picture_ev100 is not None:
        gain = 2.0 ** (brightness.picture_ev100 - planned)
        basis = "the picture's white is what its own exposure saturated"
    else:
        mean = float((looked_at @ _LUMINANCE).mean())
        metered = metered_exposure_lx_s(iso) / saturation_exposure_lx_s(iso)
        gain = metered / max(mean, 1e-12) * 2.0 ** (brightness.ev100 - planned)
        basis = "the mean of the picture is what a meter would read"
    exposed = looked_at * np.float32(gain)
    with np.errstate(divide="ignore"):
        stops = np.log2(exposed @ _LUMINANCE)
    edges = np.array([-np.inf, *_STOPS[1:], np.inf])
    counts, _ = np.histogram(np.maximum(stops, -100.0), np.clip(edges, -1e3, 1e3))
    return Histogram(
        stops=_STOPS,
        shares=tuple(float(share) for share in counts / stops.size),
        clipped_share=float((exposed.max(axis=-1) >= 1.0).mean()),
        dark_share=float((stops < _DARKEST_STOPS).mean()),
        basis=basis,
    )


def share_words(share: float) -> str:
    """A share of the picture that is clipped or dark: "2.3 %", "12 %" or "under 0.1 %"."""
    if 0 < share < 0.001:
        return "under 0.1 %"
    return f"{100 * share:.1f} %" if share < 0.095 else f"{100 * share:.0f} %"


def shutter_words(time_s: float) -> str:
    """A shutter time by the mark nearest to it on the camera.

    >>> shutter_words(1 / 3265), shutter_words(0.26), shutter_words(2.1), shutter_words(45.0)
    ('1/3200 s', '1/4 s', '2 s', '45 s')
    """
    marked = marked_shutter_s(time_s)
    names = (name for name, known in MARKED_SHUTTER.items() if known == marked)
    return next(names, f"{marked:.0f} s")


def filter_words(stops: float) -> str:
    """A filter of whole stops in words."""
    return f"{stops:.0f} stop{'' if round(stops) == 1 else 's'} of neutral density"

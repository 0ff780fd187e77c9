"""The light of a clear day by the height of the sun."""

import math

import numpy as np
import pytest

from render.errors import InputError
from render.trace.build import light_numbers
from render.world.description import Lamp, LightWords
from render.world.sky import (
    clear_light,
    direct_lux,
    horizontal_lux,
    lamplight,
    sky_light,
    sky_lux,
    sun_colour,
    sun_words,
)
from render.world.surfaces.material import linear_rgb

LUMINANCE = np.array([0.2126, 0.7152, 0.0722])


@pytest.mark.parametrize(
    ("height_deg", "lux"), [(0.0, 759), (-6.0, 3.4), (-12.0, 0.008), (-18.0, 6.5e-4)]
)
def test_level_ground_has_the_published_light(height_deg: float, lux: float) -> None:
    """Sunset and the ends of the twilights: Explanatory Supplement 1992, 9.3 (from memory)."""
    assert horizontal_lux(height_deg) == pytest.approx(lux, rel=0.03)


def test_light_never_jumps_and_only_falls() -> None:
    """The ranges of the cubics meet within 12 %; from noon to night each step has less."""
    heights = np.arange(90, -18.1, -0.1)
    lux = np.array([horizontal_lux(h) for h in heights])

    assert np.all(np.diff(lux) <= 0.002 * lux[:-1])
    assert np.all(lux[1:] / lux[:-1] > 0.86)


@pytest.mark.parametrize("height_deg", [60.0, 42.0, 20.0, 8.0, 2.0, 0.0, -4.0])
def test_snow_is_as_bright_as_published(height_deg: float) -> None:
    """Level white under the tracer's own sky and sun has the published lux, whatever the height.

    The sky's gradient, 1 - (1 - z)^4 from horizon to zenith, has 14 / 15 of its cosine's mean
    from the zenith's colour.
    """
    words = clear_light(LightWords(sun_height_deg=height_deg))
    light = light_numbers(words)
    sky = (14 * light.zenith + light.horizon) / 15
    white = LUMINANCE @ (sky + max(light.sun_to[2], 0.0) * light.sun) / 2**words.exposure_ev

    assert white == pytest.approx(lamplight(horizontal_lux(height_deg) / math.pi), rel=0.02)


@pytest.mark.parametrize(
    ("height_deg", "sky_klx", "sun_klx"),
    [(60.0, 15.2, 100.3), (42.0, 13.5, 93.2), (10.0, 7.3, 40.0)],
)
def test_sky_and_sun_share_the_light_as_published(
    height_deg: float, sky_klx: float, sun_klx: float
) -> None:
    """A clear day of the IESNA Lighting Handbook (9th ed., chapter 8; from memory).

    0.8 + 15.5 sin^0.5 klx of sky, 127.5 exp(-0.21 m) klx of sun, 5.6 air masses at 10 degrees;
    the two stand to each other as there; their sum is the almanac's, up to a quarter below.
    """
    sky, sun = sky_lux(height_deg) / 1000, direct_lux(height_deg) / 1000

    assert sky / sun == pytest.approx(sky_klx / sun_klx, rel=0.02)
    assert 0.75 * sun_klx < sun < 1.05 * sun_klx


@pytest.mark.parametrize("height_deg", [60.0, 42.0, 20.0, 8.0])
def test_the_sky_pales_downward_as_the_standard_clear_sky(height_deg: float) -> None:
    """Low sky over zenith lies within a third of ISO 15469's sky 12, away from the sun.

    Clear, low turbidity: a = -1, b = -0.32, c = 10, d = -3, e = 0.45 (from memory).
    """

    def standard(elevation_deg: float, azimuth_deg: float) -> float:
        zenith, sun = math.radians(90 - elevation_deg), math.radians(90 - height_deg)
        away = math.acos(
            math.cos(sun) * math.cos(zenith)
            + math.sin(sun) * math.sin(zenith) * math.cos(math.radians(azimuth_deg))
        )
        glow = (
            1 + 10 * (math.exp(-3 * away) - math.exp(-1.5 * math.pi)) + 0.45 * math.cos(away) ** 2
        )
        return float(glow * (1 - math.exp(-0.32 / math.cos(zenith))))

    round_deg = (60.0, 90.0, 120.0, 150.0, 180.0)
    own = np.mean([LUMINANCE @ sky_light(height_deg, 6.0, a) for a in round_deg])
    own /= LUMINANCE @ sky_light(height_deg, 90.0, 0.0)
    theirs = np.mean([standard(6.0, a) for a in round_deg]) / standard(90.0 - 1e-6, 0.0)

    assert 0.67 < own / theirs < 1.33


def test_a_low_sun_is_red_and_weak() -> None:
    """At 10 degrees through 5.6 air masses (Kasten and Young 1989), at 42 through 1.5."""
    low, usual = np.array(sun_colour(10.0)), np.array(sun_colour(42.0))

    np.testing.assert_allclose(
        low,
        1.22 * np.exp(-5.58 * np.array([0.055, 0.115, 0.215])),
        rtol=5e-3,
    )
    assert low[0] / low[2] > 1.8 * usual[0] / usual[2]


def test_the_sky_is_blue_overhead_and_pale_low_down() -> None:
    """With the sun at 42 degrees some 5 kcd/m2 overhead; towards the sun it is brightest."""
    zenith, low = sky_light(42, 90, 0), sky_light(42, 6, 150)

    assert 3 < LUMINANCE @ zenith < 8
    assert zenith[2] / zenith[0] > 2.5
    assert low[2] / low[0] < 0.6 * zenith[2] / zenith[0]
    assert LUMINANCE @ low > LUMINANCE @ zenith
    assert LUMINANCE @ sky_light(20, 20, 5) > 2 * LUMINANCE @ sky_light(20, 20, 180)


def test_dusk_is_bluer_and_darker_than_noon_but_seen() -> None:
    """What the exposure takes back leaves the sky at dusk bluer and a stop or two below noon."""
    noon, dusk = (clear_light(LightWords(sun_height_deg=height)) for height in (42.0, -6.0))
    sky = [
        np.array(linear_rgb(w.horizon_colour)) * w.sky_level * 2**w.exposure_ev
        for w in (noon, dusk)
    ]

    assert sky[1][2] / sky[1][0] > 1.1 * sky[0][2] / sky[0][0]
    assert 0.3 < (LUMINANCE @ sky[1]) / (LUMINANCE @ sky[0]) < 3
    assert noon.exposure_ev == pytest.approx(0, abs=1e-9)
    assert 8 < dusk.exposure_ev < 14


def test_night_needs_lamps() -> None:
    """Without any, nothing would be seen; with some, the exposure is theirs."""
    night = LightWords(sun_height_deg=-19.0, exposure_ev=0.5)

    with pytest.raises(InputError, match=r"19° below the horizon, which is night.*no lamps"):
        clear_light(night)

    lit = clear_light(LightWords(sun_height_deg=-19.0, exposure_ev=0.5, lamps=(Lamp((0, 0, 5)),)))
    assert lit.exposure_ev == 0.5
    assert lit.sky_level < 1e-4


def test_the_sun_is_said_in_words() -> None:
    """Height, heading, and the name of a twilight."""
    assert sun_words(251.2, 12.4) == "the sun stands 12° high, heading 251°"
    assert sun_words(313, -5.2).endswith("5° below the horizon, heading 313° (civil twilight)")
    assert sun_words(311, -0.3).startswith("the sun is just below the horizon, heading 311°")
    assert sun_words(311, 0.3) == "the sun stands on the horizon, heading 311°"
    assert sun_words(313, -8).endswith("(nautical twilight)")
    assert sun_words(0, -40).endswith("(night)")

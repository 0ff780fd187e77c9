"""The light of a clear day by the height of the sun."""

import numpy as np
import pytest

from render.errors import InputError
from render.world.description import Lamp, LightWords
from render.world.sky import clear_light, horizontal_lux, sky_light, sun_colour, sun_words
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
    assert sun_words(313, -8).endswith("(nautical twilight)")
    assert sun_words(0, -40).endswith("(night)")

"""What is lit when it gets dark."""

import math
from dataclasses import replace

import numpy as np
import pytest

from render.errors import InputError
from render.trace.build import light_numbers
from render.world.description import Description
from render.world.night import light_words, lit_share, under_the_sun
from render.world.scenefile import read_description
from render.world.sky import afterglow, horizontal_lux, lamplight
from render.world.surfaces.material import Material, material_row
from render.world.surfaces.rules import PANE_STEP_M, _pane
from tests.steps import opened

STREET = {
    "line": "A street.",
    "things": [
        {"kind": "lamp post", "style": "arm", "height_m": 6.0, "at_m": [0.0, 0.0]},
        {"kind": "house", "at_m": [20.0, 0.0]},
        {"kind": "car", "at_m": [0.0, 9.0]},
        {"kind": "car", "moves": {"path_m": [[0, 20], [90, 20]], "speed_m_s": 9.0}},
        {"kind": "house", "shop": True, "size_m": [9.5, 8.0, 6.0], "at_m": [40.0, 0.0]},
    ],
}
EVENING = "2026-09-20T20:00+02:00"


def _street(height_deg: float, when: str = EVENING) -> Description:
    return under_the_sun(read_description("street", STREET), 280.0, height_deg, when)


def test_by_day_nothing_is_switched_on() -> None:
    """Materials, things and lamps are those of the description itself: nothing can be slower."""
    before = read_description("street", STREET)
    day = under_the_sun(before, 180.0, 30.0, "2026-09-20T12:00+02:00")

    assert day.materials is before.materials
    assert day.things is before.things
    assert day.light.lamps == ()
    assert light_words(day.light) == ("the sun stands 30° high, heading 180°",)


def test_a_lamp_stands_to_daylight_as_published() -> None:
    """Under the mast 700 cd / (6.1 m)^2 = 19 lx fall on white, beside 3.4 lx of the sky at -6."""
    dusk = _street(-6.0)
    (lamp,) = dusk.light.lamps
    numbers = light_numbers(dusk.light)
    gain = 2.0**dusk.light.exposure_ev
    under = numbers.lamp[0, 3:6].max() / lamp.at_m[2] ** 2
    daylight = lamplight(horizontal_lux(-6.0) / math.pi) * gain

    assert under / daylight == pytest.approx(700 / 6.1**2 / 3.4, rel=0.05)
    overhead = (14 * numbers.zenith + numbers.horizon) / 15  # the cosine's mean of its gradient
    white = overhead @ np.array([0.2126, 0.7152, 0.0722])
    assert daylight == pytest.approx(white, rel=0.01)


def test_the_exposure_is_the_lamps_once_they_outshine_the_sky() -> None:
    """From nautical dusk into the night it hardly moves, as the light on the street does not."""
    evs = [_street(height).light.exposure_ev for height in (-11.0, -14.0, -17.0)]

    assert np.ptp(evs) < 0.1
    with pytest.raises(InputError, match="no lamps"):
        under_the_sun(replace(read_description("street", STREET), things=()), 280.0, -14.0, EVENING)


def test_windows_are_lit_by_the_hour_and_the_dark() -> None:
    """None by day, most in the evening, few at three; never more before it is dark."""
    assert lit_share(20.0, 20.0) == 0.0
    assert lit_share(-8.0, 20.0) > 2 * lit_share(-8.0, 23.9) > 2 * lit_share(-8.0, 3.0) > 0
    shares = [lit_share(height, 19.0) for height in np.arange(5.0, -10.0, -0.5)]
    assert np.all(np.diff(shares) >= 0)


@pytest.mark.parametrize("share", [0.1, 0.5])
def test_as_many_panes_are_lit_as_are_said(share: float) -> None:
    """Each pane as a whole, another choice in each copy of a house."""
    row = material_row(Material(rule="panes", lit=share, glow_level=1.0))
    shines = opened(_pane)
    lit = np.zeros((40, 25), bool)
    for copy, pane in np.ndindex(lit.shape):
        for u, v in ((0.3, 0.4), (1.2, 1.4)):
            out = np.ones(9)
            shines(row.ctypes.data, PANE_STEP_M * pane + u, v, copy, out)
            assert u < 1 or (out[4] > 0) == lit[copy, pane]
            lit[copy, pane] = out[4] > 0

    assert lit.mean() == pytest.approx(share, abs=0.04)
    assert not np.array_equal(lit[0], lit[1])


def test_only_what_moves_has_its_lights_on() -> None:
    """A parked car is dark; lamp glass and panes change, the rest stays."""
    dusk = _street(-5.0)
    post, house, car, driven, shop = dusk.things

    assert post.stuff["lamp"] == "lit lamp glass"
    assert house.stuff["pane"] == "lit pane"
    assert car.stuff["light"] == "head lamp"
    assert driven.stuff["light"] != "head lamp"
    assert [len(thing.lamps) for thing in (post, house, car, driven, shop)] == [0, 0, 0, 1, 2]
    assert dusk.materials["brick"] == read_description("street", STREET).materials["brick"]
    said = " ".join(light_words(dusk.light))
    assert "civil twilight" in said
    assert "about 10 lx" in said
    assert "of windows lit by rule" in said
    before = " ".join(light_words(dusk.light, dusk.things))
    assert "1 car and 1 shop light what is before them" in before


def test_dipped_head_lamps_are_as_bright_as_they_must_be() -> None:
    """Of each 12 lx on a wall 25 m ahead, as UN Regulation 112 asks of the point 75R (from memory).

    A shop's lamps together send what 8 m by 2 m of glass of 45 cd/m2 does.
    """
    driven, shop = _street(-5.0).things[3:]

    assert driven.lamps[0].strength * math.pi / lamplight(1.0) / 25**2 == pytest.approx(2 * 12)
    candelas = sum(lamp.strength for lamp in shop.lamps) * math.pi / lamplight(1.0)
    assert candelas == pytest.approx(45.0 * 8 * 2)


def test_the_sky_is_red_on_the_side_of_a_sunken_sun() -> None:
    """More red than blue, at its most near sunset, none by day and in the night."""
    grey = np.full(3, 0.2)
    at = {height: afterglow(height, grey) for height in (20.0, 0.0, -6.0, -15.0)}

    assert at[0.0][0] > 3 * at[0.0][2] > 0
    assert at[0.0][0] > at[-6.0][0] > 0
    assert at[20.0].max() == at[-15.0].max() == 0

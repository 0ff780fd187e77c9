"""The map projection against a published geodesic."""

import math

import numpy as np
import pytest

from render.world.place.projection import LocalFrame


def _degrees(d: int, m: int, s: float) -> float:
    return math.copysign(abs(d) + m / 60 + s / 3600, d)


def test_the_surveyors_line_from_flinders_peak_to_buninyong() -> None:
    """54,972.271 m at 306 deg 52' 05.37", within 5 mm and a tenth of a second.

    Worked example of Vincenty's formulae in the *Geocentric Datum of Australia Technical Manual*
    (ICSM), on GRS 80, which WGS 84 equals to a tenth of a millimetre; values from memory.
    """
    here = _degrees(-37, 57, 3.72030), _degrees(144, 25, 29.52440)
    there = _degrees(-37, 39, 10.15610), _degrees(143, 55, 35.38390)

    x, y = LocalFrame(*here).to_metres(np.array([[there[1], there[0]]]))[0]

    assert math.hypot(x, y) == pytest.approx(54972.271, abs=0.005)
    bearing = math.degrees(math.atan2(x, y)) % 360
    assert bearing == pytest.approx(_degrees(306, 52, 5.37), abs=0.1 / 3600)

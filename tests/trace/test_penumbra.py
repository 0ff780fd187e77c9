"""The sun in penumbrae, beside what geometry says of them."""

import numpy as np
import pytest
from numpy.typing import NDArray

from render.trace import penumbra, trace
from render.trace.build import build
from render.trace.trace import trace_built
from tests.world.worlds import described, eye_level

#: From the west, as high as it is far; the floor has one colour.
_LIGHT = {"sun_heading_deg": 270.0, "sun_height_deg": 45.0, "sky_level": 0.0}
_FLOOR = {"kind": "box", "at_m": [0, 20], "size_m": [80, 60, 0.02], "side": "#a0a0a0"}


def _picture(softness_deg: float, things: list[dict[str, object]]) -> NDArray[np.float32]:
    light = {**_LIGHT, "sun_softness_deg": softness_deg}
    d = described([_FLOOR, *things], light=light, ground={"none": True})
    return trace_built(d, build(d), eye_level(), samples=4).picture


def test_a_penumbra_follows_the_disc_of_the_sun(monkeypatch: pytest.MonkeyPatch) -> None:
    """A wall 6 m high shades the floor 6 m beyond it: the free segment of a disc 3 degrees wide.

    Along 12 rows, 2 m below the lens; its own four rays alone leave nearly twice the error.
    """
    wall = {"kind": "box", "at_m": [-6.5, 20], "size_m": [1, 60, 6], "side": "#a0a0a0"}
    row = np.arange(54, 66)[:, None] + 0.5
    away_m = 1.98 * 100 / (row - 33.5)
    east_m = (np.arange(100) + 0.5 - 50) * away_m / 100
    u = np.clip((east_m + 0.02) / (2 * 5.98 * np.tan(np.radians(1.5))), -1, 1)
    want = 1 - (np.arccos(u) - u * np.sqrt(1 - u * u)) / np.pi
    dim = (np.abs(u) < 1) & (np.abs(east_m) < 2)

    whole = _picture(3.0, [])[54:66, :, 1]

    def error() -> float:
        share = _picture(3.0, [wall])[54:66, :, 1] / whole
        return float(np.sqrt(np.mean((share - want)[dim] ** 2)))

    shared = error()
    monkeypatch.setattr(trace, "sun_seen", lambda *_: penumbra.NO_SUN)
    alone = error()

    assert shared < 0.06
    assert alone > 1.8 * shared


def test_a_shadow_sharper_than_a_pixel_stays_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    """That of a low curb, bit for bit."""
    curb = {"kind": "box", "at_m": [-0.5, 20], "size_m": [1, 60, 0.5], "side": "#a0a0a0"}
    shared = _picture(0.53, [curb])
    monkeypatch.setattr(trace, "sun_seen", lambda *_: penumbra.NO_SUN)

    np.testing.assert_array_equal(shared, _picture(0.53, [curb]))

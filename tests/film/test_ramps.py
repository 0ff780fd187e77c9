"""A lens between key frames."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.film.ramps import eased, ramps_of, setting_at
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.shot.keyframes import KeyFrame

BASE = LensSetting(focal_mm=90, f_number=4.0, focus=FocusDistance(30.0), swing_deg=2.0)


def _ramps(*frames: tuple[float, dict[str, str]]) -> object:
    given = [KeyFrame(at, tuple(each.items())) for at, each in frames]
    return ramps_of(given, lambda wish: wish, BASE)  # type: ignore[arg-type, return-value]


def test_key_frames_are_met_and_the_rest_stays() -> None:
    """Tilt runs from straight to up 8; swing, which no key names, stays."""
    ramps = _ramps((0, {"tilt": "0"}), (4, {"tilt": "up 8"}))

    tilts = [setting_at(BASE, ramps, t).tilt_deg for t in (-1, 0, 2, 4, 9)]  # type: ignore[arg-type]
    assert tilts == pytest.approx([0, 0, -4, -8, -8])
    assert setting_at(BASE, ramps, 2).swing_deg == 2.0  # type: ignore[arg-type]
    # a second at 2 frames a second: the key at its end is the frame at half a second
    short = _ramps((0, {"tilt": "0"}), (1, {"tilt": "up 8"}), (2, {"tilt": "0"})).ended(0.5, 1.0)
    assert setting_at(BASE, short, 0.5).tilt_deg == pytest.approx(-8)
    assert short.times_s == [0, 0.5, 2]


def test_stops_pass_evenly() -> None:
    """Half way from f/2 to f/8 is f/4: the f-number is a ratio."""
    ramps = _ramps((0, {"f": "2"}), (2, {"f": "8"}))

    assert setting_at(BASE, ramps, 1).f_number == pytest.approx(4.0)  # type: ignore[arg-type]


def test_focus_passes_evenly_in_inverse_depth() -> None:
    """Half way from 10 m to infinity is 20 m, as a focus ring turns."""
    ramps = _ramps((0, {"focus": "10 m"}), (2, {"focus": "infinity"}))

    half = setting_at(BASE, ramps, 1).focus  # type: ignore[arg-type]
    assert isinstance(half, FocusDistance)
    assert half.depth_m == pytest.approx(20.0)
    assert setting_at(BASE, ramps, 2).focus == FocusDistance(float("inf"))  # type: ignore[arg-type]


def test_spots_become_rays_and_depths() -> None:
    """What lies between two spots is a ray and a depth between theirs."""
    spots = iter((FocusSpot(-0.1, 0.0, 10.0), FocusSpot(0.1, 0.2, 40.0)))
    frames = [KeyFrame(t, (("focus", "10%,10%"),)) for t in (0.0, 2.0)]
    ramps = ramps_of(frames, lambda _: next(spots), BASE)

    half = setting_at(BASE, ramps, 1).focus
    assert isinstance(half, FocusSpot)
    assert (half.slope_x, half.slope_y, half.depth_m) == pytest.approx((0.0, 0.1, 16.0))


def test_a_spot_and_a_distance_lie_on_one_focusing_ring() -> None:
    """From a spot 10 m away to 30 m along the axis: both ends are met, with the tilt of then."""
    at = {"10%,10%": FocusSpot(0.0, -0.2, 10.0)}
    frames = [
        KeyFrame(0.0, (("focus", "10%,10%"), ("tilt", "0"))),
        KeyFrame(2.0, (("focus", "30 m"), ("tilt", "up 6"))),
    ]
    wishes = iter((at["10%,10%"], FocusDistance(30.0)))
    ramps = ramps_of(frames, lambda _: next(wishes), BASE)

    def sharp_m(time_s: float, slopes: tuple[float, float]) -> float:
        lens = focus_lens(setting_at(BASE, ramps, time_s))
        return 1 / float(lens.sharp_inverse_depth(np.array(slopes)))

    assert sharp_m(0.0, (0.0, -0.2)) == pytest.approx(10.0)
    assert sharp_m(2.0, (0.0, 0.0)) == pytest.approx(30.0)
    assert 10.0 < sharp_m(1.0, (0.0, 0.0)) < 30.0


@given(st.lists(st.floats(-10, 10), min_size=2, max_size=6))
def test_it_never_overshoots_and_rests_at_both_ends(values: list[float]) -> None:
    """Between two keys the value stays between theirs; it starts and ends without a jerk."""
    times = np.arange(len(values), dtype=float)
    keys = np.array(values)
    for k in range(len(values) - 1):
        low, high = sorted(values[k : k + 2])
        for share in (0.1, 0.5, 0.9):
            assert low - 1e-9 <= eased(times, keys, k + share) <= high + 1e-9
    assert abs(eased(times, keys, 1e-3) - values[0]) <= 4e-6 * (abs(values[1] - values[0]) + 1e-9)


@pytest.mark.parametrize(
    "frames",
    [
        [(0, {"tilt": "0"}), (0, {"tilt": "up 2"})],
        [(0, {"height": "roof"}), (1, {"height": "12"})],
    ],
)
def test_contradictions_are_refused(frames: list[tuple[float, dict[str, str]]]) -> None:
    """One moment twice, a distance and an extension, a height that is no number."""
    with pytest.raises(SettingError):
        _ramps(*frames)

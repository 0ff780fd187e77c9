"""Which frames of the source a film shows."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.film.timing import Shutter, Timing, as_taken, moments

TIMES = tuple(Fraction(k, 25) for k in range(100))
END = Fraction(4)


def _timing(**more: object) -> Timing:
    given = {"rate": Fraction(25), "start_s": Fraction(0), "stop_s": END, **more}
    return Timing(**given)  # type: ignore[arg-type]


def test_as_taken_is_every_frame_once() -> None:
    """At speed 1 and the source's rate each frame is shown when it was taken."""
    found = moments(TIMES, _timing())

    assert [m.picks for m in found] == [(k,) for k in range(100)]
    assert found == as_taken(TIMES, Fraction(0), END)


def test_ten_times_faster_picks_every_tenth() -> None:
    """Length is a tenth, and the frames between are left out."""
    found = moments(TIMES, _timing(speed=10.0))

    assert [m.picks for m in found] == [(k,) for k in range(0, 100, 10)]


def test_an_angle_averages_its_share_of_the_interval() -> None:
    """360 degrees of ten frames are ten frames, 180 are five, 36 one."""
    for angle, count in ((360.0, 10), (180.0, 5), (36.0, 1)):
        found = moments(TIMES, _timing(speed=10.0, shutter=Shutter(angle_deg=angle)))
        assert {len(m.picks) for m in found} == {count}


def test_a_time_averages_what_falls_in_it() -> None:
    """0.2 s of the source are five frames of 25 a second."""
    found = moments(TIMES, _timing(speed=10.0, shutter=Shutter(seconds=0.2)))

    assert found[3].picks == (30, 31, 32, 33, 34)


def test_on_twos_every_picture_stands_for_two_frames() -> None:
    """Pairs share their picks, and the pace stays."""
    found = moments(TIMES, _timing(speed=4.0, on_twos=True))

    assert [m.picks for m in found[:4]] == [(0,), (0,), (8,), (8,)]


@given(st.fractions(1, 60), st.floats(0.1, 40), st.integers(1, 60))
def test_picks_lie_in_the_source_and_never_go_back(
    rate: Fraction, speed: float, frames: int
) -> None:
    """Whatever the rates, frames follow the source's order, and time runs evenly."""
    times = TIMES[:frames]
    stop = times[-1] + Fraction(1, 25)
    found = moments(times, Timing(rate=rate, start_s=Fraction(0), stop_s=stop, speed=speed))
    picks = [m.picks[0] for m in found]

    assert picks == sorted(picks)
    assert 0 <= picks[0] <= picks[-1] < frames
    assert [m.at_s for m in found] == [k / rate for k in range(len(found))]


@pytest.mark.parametrize(
    "make",
    [
        lambda: _timing(rate=Fraction(0)),
        lambda: _timing(speed=float("nan")),
        lambda: _timing(stop_s=Fraction(0)),
        lambda: Shutter(),
        lambda: Shutter(angle_deg=400.0),
        lambda: Shutter(seconds=0.0),
        lambda: as_taken(TIMES, Fraction(7), Fraction(8)),
    ],
)
def test_what_cannot_be_is_refused(make: object) -> None:
    """A rate of 0, a speed that is no number, an end before the beginning."""
    with pytest.raises(SettingError):
        make()  # type: ignore[operator]

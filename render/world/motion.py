"""Where a moving thing is at a time."""

import functools
import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.world.description import Motion
from render.world.line import run_along

__all__ = ["along_path", "round_s", "way_done"]

#: How fast walkers and cars gather speed and lose it where they wait, m/s²: common practice,
#: no source.
_GATHERS_M_S2 = 1.4
#: How long whoever returns takes to turn round, where nothing else is said: a walker's slow turn.
#: Common practice, no source.
_TURNS_S = 1.2
#: Half the length that a thing looks along its path, so that it turns a corner and does not jump.
_LOOKS_M = 1.0


@dataclass(frozen=True, slots=True)
class _Stage:
    """One part of a way: between two distances, from a time on."""

    from_m: float
    to_m: float
    start_s: float
    end_s: float
    #: Whether it starts from rest, and ends at rest.
    rests: tuple[bool, bool] = (True, True)

    def way_m(self, time_s: float, speed_m_s: float) -> float:
        """Distance along the path at a time within the stage."""
        length, lasts = self.to_m - self.from_m, self.end_s - self.start_s
        t = min(max(time_s - self.start_s, 0.0), lasts)
        ramp = _ramp_s(length, speed_m_s)
        way = speed_m_s * t
        if self.rests[0]:
            way -= speed_m_s * (t - t * t / (2 * ramp) if t < ramp else ramp / 2)
        late = t - (lasts - ramp)
        if self.rests[1] and late > 0:
            way -= speed_m_s * late * late / (2 * ramp)
        return self.from_m + min(max(way, 0.0), length)


def _ramp_s(length_m: float, speed_m_s: float) -> float:
    """How long a thing takes to its speed, and to rest again; no longer than the way allows."""
    return min(speed_m_s / _GATHERS_M_S2, length_m / speed_m_s)


def _lasts_s(length_m: float, speed_m_s: float, rests: tuple[bool, bool] = (True, True)) -> float:
    """How long a way takes that starts or ends at rest."""
    return length_m / speed_m_s + sum(rests) * _ramp_s(length_m, speed_m_s) / 2


@functools.lru_cache(maxsize=4096)
def _round(motion: Motion) -> tuple[float, tuple[_Stage, ...]]:
    """How long a round takes, and its stages: a round way begins and ends at rest."""
    length, speed = _length(motion.path_m), motion.speed_m_s
    closed = motion.path_m[0] == motion.path_m[-1]
    stages: list[_Stage] = []

    def go(to_m: float, from_s: float, ends: bool) -> float:
        at = stages[-1].to_m if stages else 0.0
        rests = (closed or bool(stages), ends)
        end = from_s + _lasts_s(to_m - at, speed, rests)
        stages.append(_Stage(at, to_m, from_s, end, rests))
        return end

    clock = 0.0
    for at_m, until_s in motion.waits:
        gone = stages[-1].to_m if stages else 0.0
        if clock + (at_m - gone) / speed < until_s:  # else it finds the way free
            clock = max(go(at_m, clock, True), until_s)
    clock = go(length, clock, closed)
    return max(clock, motion.every_s), tuple(stages)


@functools.lru_cache(maxsize=4096)
def _length(path_m: tuple[tuple[float, ...], ...]) -> float:
    return sum(math.dist(a, b) for a, b in itertools.pairwise(path_m))


def round_s(motion: Motion) -> float:
    """How long a round takes whose waits are all waited."""
    return _round(motion)[0]


def way_done(motion: Motion, copy: int, time_s: float) -> tuple[float, float, bool]:
    """Distance along the path, how far it has turned round, whether it goes.

    0 looks ahead, 1 back, up to 2 ahead again; in a loop the distance is that of a circle's middle.
    """
    length = _length(motion.path_m)
    ahead = motion.spread_m * (copy + motion.loose * _chance(copy))
    if motion.speed_m_s <= 0:
        return ahead % length, 0.0, False
    time = time_s + motion.start_s
    if motion.waits or motion.every_s:
        lasts, stages = _round(motion)
        time = (time + ahead / motion.speed_m_s) % lasts
        stage = next((s for s in reversed(stages) if s.start_s <= time), stages[0])
        return stage.way_m(time, motion.speed_m_s), 0.0, time < stage.end_s
    if not motion.returns:
        return (motion.speed_m_s * time + ahead) % length, 0.0, True
    if motion.aside_m and not motion.pause_s:
        return _loop(motion, length, motion.speed_m_s * time + ahead)
    return _to_and_fro(motion, length, time + ahead / motion.speed_m_s)


def _loop(motion: Motion, length: float, gone_m: float) -> tuple[float, float, bool]:
    """There on the right and back on the right, round half a circle at either end."""
    r = min(motion.aside_m, length / 4)
    straight, arc = length - 2 * r, math.pi * r
    half, s = divmod(gone_m, straight + arc)
    way, turned = r + min(s, straight), max(s - straight, 0.0) / arc
    return (way, turned, True) if half % 2 == 0 else (length - way, 1.0 + turned, True)


def _to_and_fro(motion: Motion, length: float, time: float) -> tuple[float, float, bool]:
    """There, a rest in which it turns round, back, and a rest."""
    goes = _lasts_s(length, motion.speed_m_s)
    pause_s = motion.pause_s or _TURNS_S
    half, time = divmod(time, goes + pause_s)
    way = _Stage(0.0, length, 0.0, goes).way_m(time, motion.speed_m_s)
    turned = min(max((time - goes) / pause_s, 0.0), 1.0)
    if half % 2 == 0:
        return way, turned, time < goes
    return length - way, 1.0 - turned, time < goes


@functools.lru_cache(maxsize=4096)
def _chance(copy: int) -> float:
    """A number from -0.5 to 0.5 of a copy's own."""
    return float(np.random.default_rng([copy, 991]).uniform(-0.5, 0.5)) if copy else 0.0


def along_path(
    motion: Motion, copy: int, time_s: float, aside_m: float = 0.0
) -> tuple[float, float, float]:
    """Position (x, y) and the turn that faces the way it goes, degrees.

    Things face -y before turning, so one that goes north is turned by 180 degrees. `aside_m` is
    how far to the right of the path it goes, there and back: round half a circle at the ends, or,
    where it rests, nearer to the path.
    """
    path = np.asarray(motion.path_m)
    run = run_along(path)
    s, turned, _goes = way_done(motion, copy, time_s)
    x, y = _there(run, path, s)
    look = min(_LOOKS_M, run[-1] / 4)
    ahead, behind = (_there(run, path, min(max(s + k * look, 0.0), run[-1])) for k in (1, -1))
    heading = math.degrees(math.atan2(ahead[1] - behind[1], ahead[0] - behind[0])) + 90.0
    heading += 180.0 * turned
    if aside_m:
        right = math.radians(heading - 180.0)
        near = 1.0 if not motion.pause_s else min(s, run[-1] - s) / (2 * aside_m)
        aside = min(aside_m, run[-1] / 4) * min(near, 1.0)
        x, y = x + aside * math.cos(right), y + aside * math.sin(right)
    return x, y, heading


def _there(run: NDArray[np.float64], path: NDArray[np.float64], s: float) -> tuple[float, float]:
    return float(np.interp(s, run, path[:, 0])), float(np.interp(s, run, path[:, 1]))

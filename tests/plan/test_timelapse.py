"""Time-lapse and video."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.plan.timelapse import (
    lens_turns,
    look_interval_s,
    paced_interval_s,
    plan_timelapse,
    plan_video,
    schedule,
)
from render.shot.keyframes import KeyFrame, unreached_words
from render.shot.pace import Pace

CHECKS = json.loads((Path(__file__).parents[1] / "data" / "miniature_checks.json").read_text())


@pytest.mark.parametrize("row", CHECKS["froude"], ids=lambda row: f"1:{row['S']}")
def test_a_model_s_interval_is_the_root_of_its_scale_over_the_rate(row):
    """Froude scaling: a 1:16 model is filmed at four times the rate (film makers' practice)."""
    assert look_interval_s("model", 25, row["S"]) == pytest.approx(row["interval_25fps"], rel=1e-5)


def _schedule(**given):
    usual = {"look": "toy traffic", "look_s": 1.0, "frames_per_s": 25, "usual_clip_s": 10}
    return schedule(**{**usual, **given})


def _planned(**given):
    return plan_timelapse(_schedule(**given), 25, 24)


def test_ten_seconds_of_clip():
    """10 s at 25 are 250 frames; at 2 s between them, 498 s on site (arithmetic)."""
    plan = _planned(look_s=2.0)

    assert plan.interval.frames == 250
    assert plan.interval.on_site_s == pytest.approx(498)
    assert plan.smooth_s == 1.0
    assert plan.snap_s == pytest.approx(2 / 12)
    assert plan.card_gb == pytest.approx(250 * 24 * 1.25 / 1000)
    assert plan.by_remote


def test_less_than_a_second_is_no_interval_of_a_remote():
    """0.5 s is a burst or video, said first; no shutter is longer than video's own frame."""
    plan = _planned(look_s=0.5)

    assert not plan.by_remote
    assert "rather video" in plan.remarks[0]
    assert plan.smooth_s <= 1 / 25


def test_ten_minutes_at_a_frame_a_second():
    """One frame a second for ten minutes: 601 frames, 24 s of clip (common practice)."""
    plan = _planned(interval_s=1.0, on_site_s=600.0)

    assert plan.interval.frames == 601
    assert plan.interval.on_site_s == 600
    assert plan.clip_s == pytest.approx(24.04)
    assert plan.smooth_s == pytest.approx(0.5)


@given(st.integers(1, 20), st.integers(2, 2000))
def test_any_two_give_the_third(interval, frames):
    """Interval and frames give the time on site; that and either of them give the other."""
    site = (frames - 1) * interval
    assert _schedule(interval_s=float(interval), frames=frames).frames == frames
    if site:
        by_site = _schedule(interval_s=float(interval), on_site_s=float(site))
        by_count = _schedule(frames=frames, on_site_s=float(site))
        assert (by_site.frames, by_site.interval_s) == (frames, interval)
        assert (by_count.frames, by_count.interval_s) == (frames, interval)


def test_the_time_there_is_is_not_overrun():
    """250 frames in ten minutes are 2.41 s apart: 2 s for a remote, and done before."""
    planned = _schedule(clip_s=10.0, on_site_s=600.0)

    assert planned.interval_s == 2.0
    assert (planned.frames - 1) * planned.interval_s <= 600


def test_what_does_not_go_together_is_said():
    """Three that differ, and a clip that is not so many frames: one sentence each."""
    with pytest.raises(SettingError, match="give any two"):
        _schedule(interval_s=1.0, frames=100, on_site_s=600.0)
    with pytest.raises(SettingError, match="leave one of them out"):
        _schedule(clip_s=10.0, frames=100)


def test_the_shutter_leaves_time_to_write():
    """Of one second, half is shutter; whatever the wish, 0.3 s are left."""
    plan = _planned(interval_s=1.0)

    assert plan.longest_s == pytest.approx(0.7)
    assert plan.smooth_s <= plan.longest_s


def test_video_runs_for_the_clip_times_its_speed_up():
    """A model's 0.5 s at 25 a second: record 12.5 times as long, frames no longer than 1/25 s."""
    video = plan_video(_planned(look_s=0.5))

    assert video.speed_up == 12.5
    assert video.record_s == 125
    assert video.smooth_s == pytest.approx(1 / 25)
    assert video.snap_s == pytest.approx(1 / 25)


@pytest.mark.parametrize(
    "wrong",
    [
        {"interval_s": -1.0},
        {"interval_s": 0.0},
        {"interval_s": float("nan")},
        {"frames_per_s": 0},
        {"clip_s": -10.0},
        {"on_site_s": 0.0},
    ],
)
def test_intervals_that_cannot_be_are_refused(wrong):
    """Negative, zero and no numbers: one sentence each."""
    with pytest.raises(SettingError, match="must be"):
        _schedule(**wrong)
    with pytest.raises(SettingError, match="megapixels must be"):
        plan_timelapse(_schedule(), 25, 0)


def test_a_look_that_is_unknown_or_has_no_scale_says_what_would_work():
    """The known looks are named."""
    with pytest.raises(SettingError, match="toy traffic"):
        look_interval_s("ballet", 25, 87)
    with pytest.raises(SettingError, match="give the interval itself"):
        look_interval_s("model", 25, None)
    assert look_interval_s("toy walkers", 25, None) == 2.0


def test_a_pace_is_the_interval_times_the_rate():
    """50 times as fast at 25 a second is a frame every 2 s; a model of 1:64 runs 8 times."""
    assert paced_interval_s(Pace(factor=50), 25, None) == pytest.approx(2.0)
    assert paced_interval_s(Pace(scale=64), 25, 200) == pytest.approx(8 / 25)
    assert paced_interval_s(Pace(), 25, 64) == pytest.approx(8 / 25)
    with pytest.raises(SettingError, match="needs a scale"):
        paced_interval_s(Pace(), 25, None)


def test_key_frames_come_at_their_frame_and_time_on_site():
    """4 s of clip at 25 are 100 frames on: after 200 s where they are 2 s apart."""
    keys = [KeyFrame(4.0, (("tilt", "up 8"), ("f", "2.8"))), KeyFrame(0.0, (("tilt", "0"),))]
    first, last = lens_turns(keys, _planned(look_s=2.0))

    assert (first.frame, first.after_s, first.words) == (1, 0, "tilt 0")
    assert (last.frame, last.after_s) == (101, 200)
    assert last.sentence == (
        "after 3 min 20 s on site (frame 101 of the finished clip): tilt up 8, f/2.8"
    )
    assert lens_turns([KeyFrame(11.0, (("tilt", "0"),))], _planned(look_s=2.0)) == ()
    (end,) = lens_turns([KeyFrame(10.0, (("tilt", "0"),))], _planned(look_s=2.0))
    assert end.frame == 250  # the clip's end is its last frame
    # a video 18 times as fast: 3 s of the clip are recorded for 54 s, at 25 a second 1350 frames
    (third,) = lens_turns(
        [KeyFrame(3.0, (("tilt", "up 8"),))], _planned(interval_s=18 / 25, clip_s=6.0)
    )
    assert (third.frame, third.recorded_frame) == (76, 1351)
    assert third.sentence.startswith("after 54 s on site (frame 76 of the finished clip, 1351 of")
    assert unreached_words([10.0, 11.0], 10.0) == [
        "the key at 11 s is never reached: the film lasts 10 s"
    ]

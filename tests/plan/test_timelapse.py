"""Time-lapse and video."""

import json
from pathlib import Path

import pytest

from render.errors import SettingError
from render.plan.timelapse import look_interval_s, plan_timelapse, plan_video

CHECKS = json.loads((Path(__file__).parents[1] / "data" / "miniature_checks.json").read_text())


@pytest.mark.parametrize("row", CHECKS["froude"], ids=lambda row: f"1:{row['S']}")
def test_a_model_s_interval_is_the_root_of_its_scale_over_the_rate(row):
    """Froude scaling: a 1:16 model is filmed at four times the rate (film makers' practice)."""
    assert look_interval_s("model", 25, row["S"]) == pytest.approx(row["interval_25fps"], rel=1e-5)


def test_ten_seconds_of_clip():
    """10 s at 25 are 250 frames; at 0.5 s between them, 125 s on site (arithmetic)."""
    plan = plan_timelapse("model", 0.5, 25, 10, 24)

    assert plan.interval.frames == 250
    assert plan.interval.on_site_s == pytest.approx(124.5)
    assert plan.smooth_s == 0.25
    assert plan.snap_s == pytest.approx(0.5 / 12)
    assert plan.card_gb == pytest.approx(250 * 24 * 1.25 / 1000)
    assert any("slow burst" in remark for remark in plan.remarks)


def test_the_usual_time_lapse_of_people():
    """One frame a second for five to ten minutes makes 12 to 24 s at 25 (common practice)."""
    short, long = (plan_timelapse("toy traffic", 1.0, 25, clip, 24) for clip in (12, 24))

    assert short.interval.on_site_s / 60 == pytest.approx(5, abs=0.1)
    assert long.interval.on_site_s / 60 == pytest.approx(10, abs=0.1)
    assert not any("slow burst" in remark for remark in short.remarks)


def test_video_runs_for_the_clip_times_its_speed_up():
    """A model's 0.5 s at 25 a second: record 12.5 times as long, frames no longer than 1/25 s."""
    video = plan_video(0.5, 25, 10)

    assert video.speed_up == 12.5
    assert video.record_s == 125
    assert video.smooth_s == pytest.approx(1 / 25)
    assert video.snap_s == pytest.approx(1 / 25)


@pytest.mark.parametrize(
    "wrong",
    [
        ("model", -1.0, 25, 10, 24),
        ("model", 0.0, 25, 10, 24),
        ("model", float("nan"), 25, 10, 24),
        ("model", 0.5, 0, 10, 24),
        ("model", 0.5, 25, -10, 24),
        ("model", 0.5, 25, 10, 0),
    ],
)
def test_intervals_that_cannot_be_are_refused(wrong):
    """Negative, zero and no numbers: one sentence each."""
    with pytest.raises(SettingError, match="must be"):
        plan_timelapse(*wrong)


def test_a_look_that_is_unknown_or_has_no_scale_says_what_would_work():
    """The known looks are named."""
    with pytest.raises(SettingError, match="toy traffic"):
        look_interval_s("ballet", 25, 87)
    with pytest.raises(SettingError, match="give the interval itself"):
        look_interval_s("model", 25, None)
    assert look_interval_s("toy walkers", 25, None) == 2.0

"""Notes of the trade."""

import math
from dataclasses import replace

import numpy as np
import pytest

from render.judge.case import look
from render.judge.notes import trade_notes
from render.judge.verdict import judge_case
from render.optics.lens import FocusDistance


def _notes(here, fronts=(), f_number=4.0):
    case = look(here.scene(fronts))
    return {n.about: n for n in trade_notes(case, judge_case(case, here.setting(f_number)))}


def test_the_frame_s_width_at_the_band_is_in_metres(roof):
    """At 58 m a 90 mm lens sees 23 m across."""
    here = roof()
    width = 240 / here.camera().focal_px * here.focus_m

    written = float(_notes(here)["place"].text.split("frame is ")[1].split(" m")[0])
    assert written == pytest.approx(width, abs=0.2)


def test_the_subject_s_share_and_a_subject_taller_than_the_band(roof, front):
    """A 6 m house in a thin band is told that its top goes soft; a stopped-down lens is not."""
    here = roof()
    house = [front(here.foot_m, 6.0, -3.0, 3.0)]

    assert "its own top or foot goes soft" in _notes(here, house)["subject"].text
    assert "goes soft" not in _notes(here, house, 45.0)["subject"].text
    share = (here.inverse(house) > here.inverse()).mean()
    written = _notes(here, house)["subject"].text.split("takes ")[1].split(" %")[0]
    assert float(written) == pytest.approx(100 * share, rel=0.06)


def test_an_empty_band_has_nothing_to_rest_on(roof, front):
    """A house elsewhere: nothing; one in the band: one thing; two: is one of them the subject."""
    here = roof()
    left, right = front(here.foot_m, 4.0, -9.0, -6.0), front(here.foot_m, 4.0, 3.0, 6.0)

    far = front(1.15 * here.foot_m, 4.0, -9.0, -6.0)

    assert "rest" not in _notes(here)  # bare ground tells nothing of what stands on it
    assert _notes(here, [far])["rest"].text.startswith("nothing stands")
    assert _notes(here, [left])["rest"].text.startswith("one thing")
    assert _notes(here, [left, right])["rest"].text.startswith("2 things")


def test_uprights_of_a_pitched_camera_lean_and_a_level_one_s_do_not(roof):
    """The lean at the corner is that of a traced vertical; a nearly level camera hardly leans."""
    here = roof()
    text = _notes(here)["uprights"].text
    pitch = math.radians(20)
    corner = np.array([*here.camera().slopes(240, 0), 1.0])
    up = corner - 1e-6 * np.array([0, math.cos(pitch), math.sin(pitch)])
    step = up[:2] / up[2] - corner[:2]
    lean = math.degrees(math.atan2(step[0], -step[1]))

    assert f"{lean:.1f}°" in text
    assert "fall" in text
    assert "hardly seen" in _notes(roof(pitch_deg=2.0))["uprights"].text


def test_the_viewpoint_s_note_comes_only_where_it_is_weakest(roof):
    """From 4 m at 5 degrees no aperture mends it."""
    here = roof(height_m=4.0, pitch_deg=5.0, focal_mm=45.0)
    low = _notes(here)
    case = look(here.scene(()))
    helped = trade_notes(case, judge_case(case, here.setting(4)), lens_helps=True)

    assert "no aperture" in low["viewpoint"].text
    assert not any("no aperture" in note.text for note in helped)
    assert any(note.text.startswith("the viewpoint costs most here: look") for note in helped)
    assert "viewpoint" not in _notes(roof())


def test_sources_are_named(roof):
    """Trade facts say so; the viewing distance names its paper."""
    notes = _notes(roof())

    assert notes["place"].source == "common practice, no source"
    assert "2012" in notes["viewing"].source
    assert "1.8 times" in notes["viewing"].text
    assert "viewing" not in _notes(roof(focal_mm=50.0))


@pytest.mark.parametrize("known", [True, False])
def test_notes_need_no_known_vantage(roof, known):
    """With the vantage found from the depth, or none, the notes still come."""
    case = look(roof().scene(known=known))

    assert len(trade_notes(case, judge_case(case, roof().setting(4)))) >= 3


def test_the_table_top_and_the_band_on_the_ground_are_put_in_plain_lengths(roof):
    """Worked line at f/4: from 35 cm, the eye 12 cm up; the band 53.4 to 56.6 m (computed)."""
    here = roof()
    case = look(here.scene(), coc_mm=0.03)
    notes = {n.about: n.text for n in trade_notes(case, judge_case(case, here.setting(4)))}

    assert notes["table"] == "as if looked at from 35 cm, the eye 12 cm above the board"
    assert notes["band"] == "along the ground the band runs from 53.4 m to 56.6 m, 3.15 m deep"


@pytest.mark.parametrize(
    ("at_m", "told"),
    [
        (12.0, "down the middle the band meets the ground below the frame"),
        (40.0, "along the ground the band runs from the frame's lower edge to "),
        (5000.0, "down the middle the band meets the ground above the frame"),
    ],
)
def test_the_band_on_the_ground_is_told_as_far_as_the_frame_shows_it(roof, at_m, told):
    """A plain lens at f/2.8: no distance is told of ground that the frame does not show."""
    here = roof()
    case = look(here.scene(), coc_mm=0.03)
    setting = replace(here.setting(2.8, 0.0), focus=FocusDistance(at_m))
    (note,) = [n for n in trade_notes(case, judge_case(case, setting)) if n.about == "band"]

    assert note.text.startswith(told)


def test_ground_that_a_wall_hides_is_not_told(roof, front):
    """The band reaches the ground behind a wall across the frame, where nobody sees it."""
    here = roof()
    case = look(here.scene([front(here.foot_m - 25.0, 19.0, -40.0, 40.0)]), coc_mm=0.03)
    (note,) = [
        n for n in trade_notes(case, judge_case(case, here.setting(4.0))) if n.about == "band"
    ]

    assert note.text.startswith("down the middle something stands before the band")


def test_no_scale_no_table_top(roof):
    """Blur sideways stands on no table."""
    here = roof()
    case = look(here.scene())
    about = {n.about for n in trade_notes(case, judge_case(case, here.setting(4, 0, 8)))}

    assert "table" not in about

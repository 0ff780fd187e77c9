"""Focus checks."""

import dataclasses
import itertools
from typing import Any

import pytest

from render.judge.case import Case, look
from render.judge.verdict import Verdict, judge_case
from render.optics.lens import FocusDistance
from render.optics.solving.limits import usual_limits
from render.optics.solving.targets import Target
from render.plan.focusing import FocusCheck, focus_checks, nothing_sharp
from render.plan.setting_up import setting_up, what_voids


def _checked(case: Case, verdict: Verdict, *rest: Any) -> tuple[FocusCheck, ...]:
    return focus_checks(case, verdict, *rest, blind=nothing_sharp(case, verdict))


def _steps(case: Case, verdict: Verdict, *rest: Any, **more: Any) -> tuple[str, ...]:
    return setting_up(case, verdict, *rest, blind=nothing_sharp(case, verdict), **more)


def _checks(here, setting):
    case = look(here.scene(), coc_mm=0.03)
    return case, {c.name: c for c in _checked(case, judge_case(case, setting))}


def test_the_centre_is_crisp_the_edges_are_at_the_limit_and_one_spot_is_soft(roof):
    """Blur 0 in the middle, the circle of confusion at both edges, far more at the soft spot."""
    here = roof(size_px=(720, 480))
    _, checks = _checks(here, here.setting(4))
    coc = 0.03 / 24

    assert checks["band, centre"].blur_fraction < 0.15 * coc
    assert checks["band, upper edge"].blur_fraction == pytest.approx(coc, rel=0.1)
    assert checks["band, lower edge"].blur_fraction == pytest.approx(coc, rel=0.1)
    assert checks["must be soft"].blur_fraction > 10 * coc
    assert checks["band, upper edge"].y_px < 240 < checks["band, lower edge"].y_px
    assert checks["band, upper edge"].depth_m > checks["band, lower edge"].depth_m


def test_the_spot_focused_on_is_the_one_to_check(roof):
    """A focus at the right of the frame is checked there, at the distance that it was given."""
    here = roof()
    aside = dataclasses.replace(here.setting(4).focus, slope_x=0.15)
    case, checks = _checks(here, dataclasses.replace(here.setting(4), focus=aside))
    camera = case.samples.camera

    assert checks["band, centre"].x_px == pytest.approx(120 + 0.15 * camera.focal_px, abs=0.5)
    assert checks["band, centre"].depth_m == aside.depth_m


@pytest.mark.parametrize("aside", [0.0, 0.15, -0.15, 0.18])
def test_the_edges_are_looked_at_apart_and_still_are_edges(roof, aside):
    """On either side of the spot focused on, a fifth of the height away, with the blur of c."""
    here = roof(size_px=(480, 320))
    focus = dataclasses.replace(here.setting(4).focus, slope_x=aside)
    _, checks = _checks(here, dataclasses.replace(here.setting(4), focus=focus))
    spots = [(checks[f"band, {name}"].x_px) for name in ("upper edge", "centre", "lower edge")]

    assert min(abs(a - b) for a, b in itertools.combinations(spots, 2)) > 0.2 * 320 - 1
    for name in ("upper edge", "lower edge"):
        assert checks[f"band, {name}"].blur_fraction == pytest.approx(0.03 / 24, rel=0.2)
    assert checks["band, upper edge"].y_px < checks["band, lower edge"].y_px


def test_edges_of_an_upright_band_are_left_and_right(roof):
    """A swung lens over flat ground lays the band upright."""
    here = roof()
    _, checks = _checks(here, here.setting(4, 0.0, 8.0))

    assert checks["band, left edge"].x_px < 120 < checks["band, right edge"].x_px


def test_spots_stay_inside_the_frame(roof):
    """A band as high as the picture, or one outside it, is checked at the frame's edge."""
    here = roof()
    far = dataclasses.replace(here.setting(4).focus, slope_y=-0.3, depth_m=90.0)
    for setting in (here.setting(45), dataclasses.replace(here.setting(4), focus=far)):
        case, checks = _checks(here, setting)

        for check in checks.values():
            assert 0 <= check.x_px <= case.samples.camera.width_px
            assert 0 <= check.y_px <= case.samples.camera.height_px


def test_a_card_where_nothing_is_sharp_checks_no_band(roof):
    """Focused far before the whole frame; what is named is told, what is unseen framed again."""
    here = roof()
    case = look(here.scene())
    verdict = judge_case(case, dataclasses.replace(here.setting(4, 0.0), focus=FocusDistance(0.6)))
    thing = Target(0.0, 0.0, here.focus_m, name="Ann")
    steps = _steps(case, verdict, usual_limits(90), unseen=("Ben",))

    assert _checked(case, verdict) == ()
    assert [c.must.split(",")[0] for c in _checked(case, verdict, [thing])] == [
        "as crisp as it gets"
    ]
    assert steps[0].startswith("Reframe: Ben is not in the frame")
    assert any("Nothing in the frame is sharp" in step for step in steps)
    assert not nothing_sharp(case, judge_case(case, here.setting(4)))


def test_where_the_sharpest_spot_is_just_soft_nothing_is_called_crisp(roof):
    """A band just below the frame: one spot, by how much it is soft, and no edges to balance."""
    here = roof()
    below = dataclasses.replace(here.setting(2.8).focus, slope_y=0.135, depth_m=42.65)
    case = look(here.scene(), coc_mm=0.03)
    verdict = judge_case(case, dataclasses.replace(here.setting(2.8), focus=below))
    spot, soft = _checked(case, verdict)
    steps = " ".join(_steps(case, verdict, usual_limits(90.0), edges=False))

    assert (spot.name, soft.must) == ("sharpest spot", "soft")
    assert spot.must.startswith("as crisp as it gets, ")
    assert spot.blur_fraction > 0.03 / 24
    assert what_voids(False, (spot, soft), (), ()) == (
        f"nothing in the frame is quite sharp: its sharpest spot is {spot.must}",
    )
    assert "edges" not in steps


def test_what_is_sharp_by_rounding_alone_is_just_crisp(roof):
    """As `judge` calls it just sharp: its blur stands beside a circle that prints smaller."""
    here = roof()
    thing = Target(0.0, 0.05, here.focus_m, name="Ann")
    wide = look(here.scene(), coc_mm=9.0)
    verdict = judge_case(wide, here.setting(4))
    near = _checked(wide, verdict, [thing])[0]
    coc_mm = 9.0 * near.blur_fraction / verdict.measures.coc_fraction / 1.04
    case = look(here.scene(), coc_mm=coc_mm)
    just = _checked(case, judge_case(case, here.setting(4)), [thing])[0]

    assert (near.must.split(",")[0], near.crisp) == ("crisp", True)
    assert (just.must.split(",")[0], just.crisp) == ("just crisp", True)


def test_a_spot_reads_as_shares_of_the_frame(roof):
    """As shares across and down, with its distance and what to see there."""
    here = roof()
    _, checks = _checks(here, here.setting(4))

    assert (
        checks["band, centre"]
        .sentence(240, 160)
        .startswith("band, centre: 50 % across, 50 % down the frame, 58")
    )
    assert "just fading" in checks["band, upper edge"].sentence(240, 160)


def test_named_things_are_what_is_checked(roof):
    """Two faces by name are the spots, each at its own depth; one is told to be softer."""
    here = roof(size_px=(480, 320))
    case = look(here.scene(), coc_mm=0.03)
    verdict = judge_case(case, here.setting(4))
    faces = [
        Target(0.0, 0.0, here.focus_m, name="Ann"),
        Target(0.05, 0.05, 0.9 * here.focus_m, name="Ben"),
    ]
    ann, ben, soft = _checked(case, verdict, faces)
    steps = "\n".join(_steps(case, verdict, usual_limits(90), faces, raised=False))

    assert (ann.name, ann.must) == ("Ann", "crisp")
    assert ben.must.startswith("as crisp as it gets, ")
    assert ben.depth_m == pytest.approx(0.9 * here.focus_m)
    assert soft.must == "soft"
    assert "full aperture on Ann, 50 % across" in steps
    assert "Look at Ben; turn tilt and focus" in steps
    assert "Tripod weighted" in steps


def test_nobody_is_sent_to_look_at_what_does_not_show(roof):
    """A place known by a row's line alone is checked with what is seen there, in no step."""
    here = roof()
    case = look(here.scene())
    verdict = judge_case(case, here.setting(4))
    there = [Target(x, 0.0, here.focus_m, name=name) for x, name in ((-0.1, "one"), (0.1, "three"))]
    gap = Target(0.0, 0.0, 0.5 * here.focus_m, name="row's middle")
    steps = "\n".join(_steps(case, verdict, usual_limits(90), [gap, *there]))

    assert "Look at three; turn tilt" in steps
    assert "middle" not in steps
    (check,) = [c for c in _checked(case, verdict, [gap, *there]) if c.name == "row's middle"]
    assert "if it shows: what one sees there is 58" in check.must

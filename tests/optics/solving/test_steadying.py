"""No wilder lens for what the distances are not known to."""

from dataclasses import replace

import pytest

from render.optics.solving.limits import usual_limits
from render.optics.solving.serving import serve
from render.optics.solving.steadying import within_doubt
from render.optics.solving.targets import Target
from tests.lenses import LONG


def _taped(x_m: float, y_m: float, z_m: float) -> Target:
    return replace(Target.at(x_m, y_m, z_m), doubt_m=0.02)


@pytest.mark.parametrize("off_m", [-0.01, 0.0, 0.02])
def test_points_measured_along_a_row_fix_no_plane(off_m: float) -> None:
    """A third point off a row by the tape's doubt turns no lens; what lies off it truly does."""
    row = [(-0.43, 0.14, 1.09), (0.71, 0.05, 2.41)]
    seventh = tuple(a + 0.525 * (b - a) for a, b in zip(*row, strict=True))
    two = [_taped(*place) for place in row]
    third = _taped(seventh[0] + off_m, *seventh[1:])
    above = _taped(seventh[0], seventh[1] - 0.5, seventh[2])
    ends, all_three, plane = (
        serve(points, LONG, LONG.freedom(), 0.029, 1e-4, least_f_number=8).tilted
        for points in (two, [*two, third], [*two, above])
    )

    assert ends is not None
    assert all_three is not None
    assert plane is not None
    assert all_three.exact.swing_deg == pytest.approx(ends.exact.swing_deg, abs=0.15)
    assert all_three.exact.total_tilt_deg < ends.exact.total_tilt_deg + 0.15
    assert all_three.through_all.total_tilt_deg > 4 * abs(off_m) * 50
    assert plane.exact is plane.through_all
    assert within_doubt(all_three.exact, all_three.through_all)


def test_what_is_all_sharp_wide_open_with_slack_needs_no_wilder_lens() -> None:
    """A point off a row that a few degrees hold at f/2.8; a lens of f/1 needs the plane itself."""
    row = [Target.at(0, 0.24, 2.07), Target.at(0, 0.07, 3.06)]
    off = Target.at(0.05, 0.10, 2.56)
    wide = replace(usual_limits(45.0), tilt_limit_deg=8.0)
    fast = replace(wide, widest_f_number=1.0)

    tilted, needed = (
        serve([*row, off], lens, lens.freedom(), 0.029, 1e-4).tilted for lens in (wide, fast)
    )
    assert tilted is not None
    assert needed is not None
    assert (tilted.f_number, tilted.slack) == (2.8, True)
    assert tilted.exact.total_tilt_deg < 5.0 < tilted.through_all.total_tilt_deg
    assert needed.exact is needed.through_all

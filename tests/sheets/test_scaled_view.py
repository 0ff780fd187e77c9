"""A view keeps proportions and its scale bar is true."""

import pytest

from render.sheets.drawing.canvas import Drawing, Path
from render.sheets.scaled_view import draw_scale_bar, fit


@pytest.mark.parametrize("frame", [(0, -5, 100, 5), (-1, -40, 1, 40), (0, 0, 0.3, 0.2)])
def test_a_fitted_view_shows_the_whole_frame_to_scale(
    frame: tuple[float, float, float, float],
) -> None:
    """One scale both ways; all of the frame is in view and the rectangle is filled."""
    view = fit(frame, 300.0, 200.0)
    left, bottom, right, top = frame

    assert view.holds((left, bottom))
    assert view.holds((right, top))
    assert (view.width, view.height) == pytest.approx((300.0, 200.0))
    assert view.at((right, bottom))[0] - view.at((left, bottom))[0] == pytest.approx(
        (right - left) * view.pt_per_m
    )


@pytest.mark.parametrize("metres_across", [0.05, 0.7, 12.0, 340.0, 9000.0])
def test_the_scale_bar_is_as_long_as_it_says(metres_across: float) -> None:
    """From centimetres to kilometres the bar's length is its label times the scale."""
    drawing = Drawing(300, 200, unit_pt=1.0)
    view = fit((0.0, 0.0, metres_across, metres_across), 300.0, 300.0)
    draw_scale_bar(drawing, view, 190.0, 8.0)
    bar = next(item for item in drawing.items if isinstance(item, Path)).runs[0]
    number, unit = drawing.texts()[0].text.split()
    length_m = float(number) * {"m": 1.0, "cm": 0.01}[unit]

    assert bar[1][0] - bar[0][0] == pytest.approx(length_m * view.pt_per_m)
    assert 20 < bar[1][0] - bar[0][0] < 150

"""Side section and plan: what they say, to scale, and inside their page."""

import numpy as np
import pytest

from render.optics.camera import Camera, Sensor, Vantage
from render.optics.lens import FocusDistance, LensSetting
from render.scene.scene import Scene
from render.sheets.drawing.canvas import Drawing, Path
from render.sheets.drawing.style import FOCUS_PLANE
from render.sheets.drawing.vector import pdf_bytes, svg_text
from render.sheets.section import section_sheet
from render.tell.summary import dotted, lens_words


def _scene(vantage: Vantage | None, depth_m: float = 30.0) -> Scene:
    camera = Camera.from_lens(90, 60, 45.0, Sensor())
    depth = np.full((60, 90), depth_m, np.float32)
    return Scene(np.full((60, 90, 3), 0.2, np.float32), depth, camera, vantage=vantage)


def _setting(tilt_deg: float = -8.0, swing_deg: float = 0.0, focal_mm: float = 45) -> LensSetting:
    return LensSetting(
        focal_mm=focal_mm,
        f_number=2.8,
        tilt_deg=tilt_deg,
        swing_deg=swing_deg,
        focus=FocusDistance(25.0),
    )


def _section(scene: Scene, setting: LensSetting) -> Drawing:
    return section_sheet(scene, setting, 0.03, dotted(lens_words(setting)))


def _words(drawing: Drawing) -> list[str]:
    return [item.text for item in drawing.texts()]


@pytest.mark.parametrize("vantage", [Vantage(11, 19), Vantage(400, 60), Vantage(1.6, -20), None])
@pytest.mark.parametrize("movement", [(-8, 0), (6, 0), (0, 0), (5, -4), (0, 7), (0.05, 0)])
def test_every_word_stays_on_the_page(
    vantage: Vantage | None, movement: tuple[float, float]
) -> None:
    """High, low, looking up, unknown; tilted either way, swung, or neither: nothing is cut."""
    drawing = _section(_scene(vantage), _setting(*movement))
    for item in drawing.texts():
        assert item.x >= -0.5
        assert item.x + item.width <= drawing.width + 0.5
        assert 0 <= item.y <= drawing.height


def test_the_section_says_what_it_shows() -> None:
    """Setting, hinge, both lines, the height and the scale stand in words."""
    words = _words(_section(_scene(Vantage(11, 19)), _setting()))
    text = " | ".join(words)

    assert "45 mm · f/2.8 · lens up 8°" in words
    assert "hinge line 0.323 m above the lens" in text
    assert {"Scheimpflug line", "sensor", "lens", "11.0 m"} <= set(words)
    assert "plane of sharp focus" in words
    assert not any("Plan" in word for word in words)


def test_swing_adds_a_plan() -> None:
    """A lens that is tilted and swung is drawn from above too; one that is only swung, alone so."""
    words = _words(_section(_scene(Vantage(11, 19)), _setting(0.0, 5.0)))
    both = _words(_section(_scene(Vantage(11, 19)), _setting(-4.0, 5.0)))

    assert "From above, through the middle" in words
    assert not any(text.startswith("Side section") for text in words)
    assert "Side section, through the middle" in both
    assert "From above, through the middle" in both
    assert any("right of the lens" in word for word in words)


def test_without_tilt_the_plane_is_parallel_to_the_sensor() -> None:
    """No hinge is marked, no detail is drawn, and the sentence says so."""
    words = _words(_section(_scene(None), _setting(0.0)))

    assert any("parallel to the sensor" in word for word in words)
    assert "At the camera" not in words
    assert not any("hinge" in word for word in words)


def test_the_drawing_is_to_scale() -> None:
    """The plane of sharp focus crosses the camera's axis at 25 m by the scale bar."""
    drawing = _section(_scene(None), _setting(0.0))
    paths = [item for item in drawing.items if isinstance(item, Path) and item.runs]
    plane = next(p for p in paths if p.colour == FOCUS_PLANE).runs[0]
    bar_text = next(t for t in drawing.texts() if t.text.endswith(" m") and t.text != "25 m")
    bar = next(
        p.runs[0]
        for p in paths
        if p.runs[0][0][1] == p.runs[0][1][1] and abs(p.runs[0][0][1] - bar_text.y) < 5
    )
    pt_per_m = (bar[1][0] - bar[0][0]) / float(bar_text.text.split()[0])
    left = min(x for p in paths for x, _ in p.runs[0])
    limits = [p.runs[0] for p in paths if len(p.runs) == 1]
    lens_x = max(
        (run[0][0] for run in limits if [r[0] for r in limits].count(run[0]) > 1), default=left
    )

    assert plane[0][0] == pytest.approx(plane[1][0])
    assert (plane[0][0] - lens_x) / pt_per_m == pytest.approx(25.0, rel=0.01)


def test_the_same_section_goes_to_svg_and_pdf() -> None:
    """Both vector forms hold the words as text."""
    drawing = _section(_scene(Vantage(11, 19)), _setting())

    assert "hinge line, 0.323 m" in svg_text(drawing, title="Side section")
    assert pdf_bytes([drawing], title="Side section").startswith(b"%PDF-")

"""The planned frame and setting, worked out before or after there is a picture."""

import numpy as np
import pytest

from render.errors import SettingError
from render.load.plan import plan, planned_on
from render.optics.camera import Camera
from render.optics.framing import planned_window
from render.optics.lens import FocusDistance
from render.optics.plane import focus_lens
from render.scene.scene import Scene
from render.shot.shot import Shot, merged


def _shot(**given: str) -> Shot:
    return merged(Shot(picture="roof.jpg"), given, "{name}")


def test_depth_is_asked_for_only_where_the_focus_is_a_spot() -> None:
    """A distance needs no picture; a spot asks for the one pixel under it."""
    camera, asked = Camera(300, 200, 300.0), []

    def depth_at(row: int, column: int) -> float:
        asked.append((row, column))
        return 20.0

    planned = plan(_shot(lens="60", focus="18 m"), camera, depth_at)
    assert planned.setting.focus == FocusDistance(18.0)
    assert asked == []

    plan(_shot(lens="60", focus="150,75"), camera, depth_at)
    assert asked == [(75, 150)]


@pytest.mark.parametrize("tilt", ["0", "up 3"])
def test_a_dialled_focus_stays_where_it_was_through_another_lens(tilt: str) -> None:
    """As far along the camera's axis as before, not as far from the sensor; and that is said."""
    camera = Camera(300, 200, 200.0)
    lenses = [_shot(lens=lens, tilt=tilt, focus="18 m") for lens in ("28", "90")]
    dialled, wanted = (
        focus_lens(plan(shot, camera, lambda *_: 20.0).setting).extension_mm for shot in lenses
    )
    solved = _shot(lens="28", tilt=tilt, focus=f"extension {dialled:.6f} mm of 28 mm")
    changed = plan(merged(solved, {"lens": "90"}, ""), camera, lambda *_: 20.0)

    assert focus_lens(changed.setting).extension_mm == pytest.approx(wanted, abs=1e-4)
    assert "stays where it was, 18.0 m on the camera's axis" in " ".join(changed.notes)
    assert not any("the focus, " in note for note in plan(solved, camera, lambda *_: 20.0).notes)
    with pytest.raises(SettingError, match=r"as near as one of 28 mm .* give --focus"):
        plan(_shot(lens="90", focus="extension 60 mm of 28 mm"), camera, lambda *_: 20.0)


def test_a_focus_spot_outside_the_planned_frame_is_said() -> None:
    """A long lens sees less than the picture: a spot beside its frame is noted, one inside not."""
    camera = Camera(300, 200, 300.0)
    said = {
        spot: any(
            note.startswith("the focus spot lies in the picture but outside what the planned lens")
            for note in plan(_shot(lens="90", focus=spot), camera, lambda row, column: 20.0).notes
        )
        for spot in ("50%,50%", "66%,66%", "72%,50%", "50%,28%")
    }

    assert said == {"50%,50%": False, "66%,66%": False, "72%,50%": True, "50%,28%": True}


def test_a_frame_that_the_picture_does_not_hold_is_refused_before_anything_is_traced() -> None:
    """A lens wider than what took the picture has no frame in it."""
    with pytest.raises(SettingError, match="missing of the frame"):
        plan(_shot(lens="12", focus="18 m"), Camera(300, 200, 300.0), lambda row, column: 20.0)


def test_a_plan_laid_over_a_scene_heeds_its_margin() -> None:
    """The same lens over a picture with more around it: the same frame, moved by the margin."""
    shot = _shot(lens="60", focus="18 m")
    small, wide = Camera(300, 200, 300.0), Camera(340, 220, 300.0)

    frames = [
        planned_on(
            shot,
            Scene(
                np.zeros((c.height_px, c.width_px, 3), np.float32),
                np.full((c.height_px, c.width_px), 20.0, np.float32),
                c,
            ),
        )[0].frame
        for c in (small, wide)
    ]

    assert (frames[1].left - frames[0].left, frames[1].top - frames[0].top) == (20, 10)
    assert (frames[1].width, frames[1].height) == (frames[0].width, frames[0].height)


@pytest.mark.parametrize("size_px", [(1920, 1080), (1080, 1920), (480, 640), (406, 720)])
@pytest.mark.parametrize("share", [0.8, 1.0, 1.2071])
def test_the_widest_lens_loses_no_pixel_upright_or_lying(
    size_px: tuple[int, int], share: float
) -> None:
    """On a format of the picture's own shape all of it is seen, both across and down."""
    wide, high = size_px
    camera = Camera(wide, high, share * max(size_px))
    scale = 36.0 / max(size_px)
    format_mm = f"{max(size_px) * scale}x{min(size_px) * scale}"

    planned = plan(_shot(format=format_mm, focus="18 m"), camera, lambda row, column: 20.0)
    seen = planned_window(camera, planned.sensor, planned.setting.focal_mm)

    assert (seen.width, seen.height) == size_px

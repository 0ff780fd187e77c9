"""Pixels that are more than one surface."""

from dataclasses import replace

import numpy as np
import pytest

from render.engine.holes import looks_behind, part_pixels
from render.optics.blur import blur_field
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Behind, Scene

NEAR, FAR = np.array([0.8, 0.1, 0.1]), np.array([0.1, 0.3, 0.7])


def _post(behind: bool = False) -> Scene:
    """A red post of columns 10 to 17 before a blue wall; column 17 is three quarters post."""
    picture = np.tile(FAR, (24, 30, 1))
    picture[:, 10:17] = NEAR
    picture[:, 17] = 0.75 * NEAR + 0.25 * FAR
    depth = np.full((24, 30), 20.0, np.float32)
    depth[:, 10:18] = 4.0
    known = None
    if behind:
        hidden = np.full((24, 30, 3), 0.9, np.float32)
        known = Behind(hidden, np.where(depth < 5, 20.0, np.nan).astype(np.float32))
    return Scene(picture.astype(np.float32), depth, Camera(30, 24, 1200.0), behind=known)


def _parts(scene: Scene):  # type: ignore[no-untyped-def]
    setting = LensSetting(focal_mm=50, f_number=2, focus=FocusDistance(20))
    return part_pixels(scene, blur_field(focus_lens(setting), scene.camera, scene.depth_m))


def test_near_and_far_part_add_up_to_the_picture() -> None:
    """At every edge pixel, so that what is in focus can come back unchanged."""
    scene = _post()
    parts = _parts(scene)

    rows, columns = np.nonzero(parts.index >= 0)
    record = parts.record[parts.index[rows, columns]]
    np.testing.assert_allclose(
        record[:, 0:3] + record[:, 5:8], scene.picture[rows, columns], atol=1e-6
    )


def test_a_mixed_pixel_is_parted_by_its_share() -> None:
    """Three quarters of the post and a quarter of the wall are found in the colour."""
    parts = _parts(_post())

    near_share = parts.record[parts.index[12, 17], 3]
    assert near_share == pytest.approx(0.75, abs=0.02)
    np.testing.assert_allclose(parts.record[parts.index[12, 17], 5:8], 0.25 * FAR, atol=0.02)


def test_what_a_post_hides_is_guessed_from_the_wall_beside_it() -> None:
    """Just inside the post the hidden surface has the wall's colour and the rest of the light."""
    record = _parts(_post()).record[_parts(_post()).index[12, 11]]

    assert record[12] > 0
    np.testing.assert_allclose(record[9:12] / record[12], FAR, atol=0.02)


def test_what_is_known_to_lie_behind_is_not_guessed() -> None:
    """A scene that brings its second surface has it used."""
    parts = _parts(_post(behind=True))
    record = parts.record[parts.index[12, 12]]

    np.testing.assert_allclose(record[9:12] / record[12], 0.9, atol=0.02)


def test_a_plain_wall_has_no_parts() -> None:
    """Neither has steep ground, whose inverse depth runs straight."""
    wall = Scene(
        np.ones((24, 30, 3), np.float32), np.full((24, 30), 9.0, np.float32), Camera(30, 24, 1200.0)
    )
    rows = np.arange(24, dtype=np.float32)[:, None]
    ground = Scene(
        wall.picture, np.broadcast_to(60 / (4 + rows), (24, 30)).astype(np.float32), wall.camera
    )

    assert _parts(wall).record.shape[0] == 0
    assert _parts(ground).record.shape[0] == 0


def test_nothing_is_asked_of_what_lies_behind_other_pixels() -> None:
    """Known only where the lens looks, hidden light gives the same parts, byte for byte."""
    scene = _post(behind=True)
    setting = LensSetting(focal_mm=50, f_number=2, focus=FocusDistance(20))
    looks = looks_behind(blur_field(focus_lens(setting), scene.camera, scene.depth_m))
    assert scene.behind is not None
    known = np.where(looks, scene.behind.depth_m, np.nan).astype(np.float32)
    less = replace(scene, behind=replace(scene.behind, depth_m=known))

    assert 0 < looks.mean() < 0.5
    assert _parts(less).record.tobytes() == _parts(scene).record.tobytes()


def test_a_texture_behind_an_edge_fades_with_the_way_instead_of_drawing_streaks() -> None:
    """Rows of unlike light run together far behind the edge, and their mean is kept."""
    rows = np.random.default_rng(3).random((60, 1, 1))
    picture = np.full((60, 80, 3), 0.5, np.float32)
    picture[:, :20] = rows
    depth = np.full((60, 80), 20.0, np.float32)
    depth[:, 20:] = 0.4
    parts = _parts(Scene(picture, depth, Camera(80, 60, 1200.0)))

    behind = parts.record[parts.index[15:45, 50], 9]
    assert np.abs(np.diff(behind)).mean() < 0.2 * np.abs(np.diff(rows[:, 0, 0])).mean()
    assert behind.mean() == pytest.approx(rows[15:45].mean(), abs=0.05)

"""A scene at its moments."""

from pathlib import Path

import numpy as np
import pytest

from render.errors import SettingError
from render.load.moving import MovingScene
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.shot.shot import Shot, merged
from tests.jobs.test_film import SQUARE


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    """A square that two cars cross, small."""
    path = tmp_path_factory.mktemp("square") / "square.toml"
    path.write_text(SQUARE)
    return prepare(merged(Shot(scene=str(path)), {"width": "64"}, "{name}"), silent)


def test_its_first_moment_is_the_still(prepared: Prepared) -> None:
    """Picture and depth of the frame are those of `render`, byte for byte."""
    moving = MovingScene(prepared, (prepared.setting,))
    scene = moving.scene(0.0)

    np.testing.assert_array_equal(scene.picture, prepared.scene.picture)
    np.testing.assert_array_equal(scene.depth_m, prepared.scene.depth_m)
    assert moving.moves


def test_a_lens_that_stands_still_films_the_still(tmp_path: Path) -> None:
    """Traced for one lens alone, the first moment is what `render` traces for it."""
    (tmp_path / "square.toml").write_text(SQUARE)
    shot = merged(Shot(scene=str(tmp_path / "square.toml")), {"width": "64"}, "{name}")
    alone = prepare(shot, silent, held=True)
    scene = MovingScene(alone, (alone.setting,), held=True).scene(0.0)

    np.testing.assert_array_equal(scene.picture, alone.scene.picture)
    np.testing.assert_array_equal(scene.depth_m, alone.scene.depth_m)
    assert scene.behind is not None
    assert alone.scene.behind is not None
    np.testing.assert_array_equal(scene.behind.depth_m, alone.scene.behind.depth_m)


def test_a_named_thing_is_where_it_drives(prepared: Prepared) -> None:
    """8 m/s to the right: in a second its direction has turned by 8 m over its depth."""
    moving = MovingScene(prepared, (prepared.setting,))
    one, two = moving.spot("cars", 1.0), moving.spot("cars", 2.0)

    assert (two.slope_x - one.slope_x) * two.depth_m == pytest.approx(8.0, rel=0.1)
    with pytest.raises(SettingError, match="there are cars"):
        moving.spot("bus", 0.0)


def test_a_rising_camera_goes_on_looking_at_the_subject(prepared: Prepared) -> None:
    """From twice the height the subject is still in the middle of the frame."""
    moving = MovingScene(prepared, (prepared.setting,))
    high = moving.scene(0.0, 30.0)

    assert high.vantage is not None
    assert prepared.scene.vantage is not None
    assert high.vantage.height_m == 30.0
    assert high.vantage.pitch_deg == pytest.approx(np.degrees(np.arctan2(30, 40)), abs=0.1)
    assert prepared.scene.vantage.pitch_deg == pytest.approx(
        np.degrees(np.arctan2(15, 40)), abs=0.1
    )


def test_who_walks_has_his_legs_where_a_still_of_that_moment_has_them(tmp_path: Path) -> None:
    """Depth of the frame is that of a scene built for the moment, legs and all."""
    words = (
        SQUARE
        + """
[[things]]
kind = "person"
moves = { path_m = [[-3, -20], [3, -20]], speed_m_s = 1.3, spread_m = 2 }
array = { count = [3, 1], step_m = [1, 0] }
"""
    )
    (tmp_path / "walk.toml").write_text(words)
    shot = merged(Shot(scene=str(tmp_path / "walk.toml")), {"width": "96"}, "{name}")
    still = prepare(merged(shot, {"time": "1.7"}, "{name}"), silent).scene
    first = prepare(shot, silent)
    scene = MovingScene(first, (first.setting,)).scene(1.7)
    seen, wanted = (each.depth_m[each.frame.rows, each.frame.columns] for each in (scene, still))

    np.testing.assert_array_equal(seen, wanted)

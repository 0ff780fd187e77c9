"""A scene at its moments."""

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

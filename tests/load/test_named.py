"""Things called by name, in pictures and scenes."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError, SettingError
from render.load.asked.place import site_in
from render.load.asked.wish import parse_wish
from render.load.named import names_in_file
from render.load.prepare import prepare
from render.load.progress import silent
from render.load.scenes import load_scene, scene_of
from render.shot.shot import Shot, merged
from render.trace.builds import built_scene
from tests.places import two_crates


@pytest.fixture
def roof(tmp_path: Path) -> Shot:
    """A picture from a roof."""
    path = tmp_path / "roof.png"
    Image.fromarray(np.full((60, 90, 3), 99, np.uint8)).save(path)
    given = {"focal-35": "40", "height": "20", "pitch": "30", "lens": "60"}
    return merged(Shot(picture=str(path)), given, "{name}")


@pytest.fixture
def crates(tmp_path: Path) -> Shot:
    """Two crates of a scene file."""
    path = two_crates(tmp_path, far_m=(3, 5))
    return merged(Shot(scene=str(path)), {"width": "96"}, "{name}")


def test_spots_of_a_picture_get_their_names(roof: Shot) -> None:
    """A named spot of the whole picture has the depth there; one outside the frame is noted."""
    checks = ("door=50%,60%", "corner=2%,97%")
    prepared = prepare(merged(roof, {"check": checks}, "{name}"), silent)
    (door,) = prepared.named

    assert door.name == "door"
    assert 30 < door.depth_m < 40
    assert any("corner, " in note and "not in the frame" in note for note in prepared.notes)


def test_a_picture_knows_no_names(roof: Shot) -> None:
    """A thing's name as focus or check is refused with what to write."""
    for given in ({"focus": "door"}, {"check": ("door",)}):
        with pytest.raises(SettingError, match="a picture knows no names"):
            prepare(merged(roof, given, "{name}"), silent)  # type: ignore[arg-type]


def test_a_scene_is_focused_on_a_thing_by_name(crates: Shot) -> None:
    """The focus lies on the crate that is named, and so does the check."""
    posts = "post=50%,50%, 0.5 m", "pole=60%,50%, 0.8 m"
    given = {"focus": "far crate", "check": ("far crate", "middle=50%,50%", *posts)}
    prepared = prepare(merged(crates, given, "{name}"), silent, for_render=False)  # type: ignore[arg-type]
    far, middle, post, _ = prepared.named
    assert post.depth_m == 0.5
    (note,) = (note for note in prepared.notes if "what lies behind" in note)  # one for both
    assert note.startswith("post and pole, 0.500 m to 0.800 m along the camera's axis, are judged")

    site, wish = site_in(prepared), parse_wish("point", "far crate")
    (asked,) = site.targets(wish)
    whole, rest = site.whole(wish), site.everything_but([wish])
    assert site.counts_whole(wish)
    assert min(abs(1 / whole.inverse_depth - far.depth_m)) < 0.1
    assert np.ptp(1 / whole.inverse_depth) > 0.5  # its side and its top
    assert len(whole.slopes) + len(rest.slopes) == prepared.scene.frame.width * site.whole_px[1]
    assert far.depth_m == pytest.approx(25, abs=2)
    assert asked.depth_m == pytest.approx(far.depth_m)
    assert prepared.setting.focus.depth_m == pytest.approx(far.depth_m)  # type: ignore[union-attr]
    assert far.slope_x > 0.05
    assert abs(middle.slope_x) < 0.01
    assert not any("of the frame" in note for note in prepared.notes)
    away = prepare(merged(crates, {**given, "pitch": "40"}, "{name}"), silent, for_render=False)  # type: ignore[arg-type]
    assert "far crate lies above the frame: turn, shift or step back to see it" in away.notes
    past = prepare(merged(crates, {"focus": "9 km"}, "{name}"), silent, for_render=False)
    assert any("nothing in the frame stands at 9.00 km" in note for note in past.notes)
    with pytest.raises(InputError, match="things with names: far crate, near crate"):
        prepare(merged(crates, {"focus": "barn"}, "{name}"), silent, for_render=False)


def test_a_name_is_refused_before_anything_is_built(
    crates: Shot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The scene's file tells all names that building finds; where faces have more it tells none."""
    description = scene_of(crates)
    assert names_in_file(description) == set(built_scene(description).spots)
    assert names_in_file(load_scene("portrait")) is None
    monkeypatch.setattr("render.load.scenes.built_scene", None)
    for given in ({"focus": "barn"}, {"check": ("door=barn",)}):
        with pytest.raises(InputError, match='there is no "barn" here; things with names: far cra'):
            prepare(merged(crates, given, "{name}"), silent)  # type: ignore[arg-type]

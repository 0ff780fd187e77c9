"""Demo scenes as jobs: all shipped ones can be prepared; options move the camera."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from render.errors import InputError, SettingError
from render.files.shipped import shipped_names
from render.load.prepare import prepare
from render.load.progress import silent
from render.load.scenes import (
    describe_scene,
    list_scenes,
    load_scene,
    prepare_scene,
    trace_through_lens,
    words,
)
from render.shot.shot import Shot, Words, merged
from render.trace.build import build
from render.trace.builds import built_scene

SMALL = """
line = "A box on grass."
[vantage]
stand_m = [0, -20]
height_m = 8
[setting]
tilt = "up 6"
focus_on = "crate"
[[things]]
kind = "box"
name = "crate"
size_m = [3, 3, 3]
"""


def _shot(folder: Path, text: str = SMALL, **given: Words) -> Shot:
    path = folder / "small.toml"
    path.write_text(text)
    return merged(Shot(scene=str(path)), {"width": "96", **given}, "{name}")


@pytest.mark.parametrize("name", shipped_names())
def test_every_shipped_scene_can_be_read(name: str) -> None:
    """Every word in it is known, and what it suggests to focus on exists."""
    d = load_scene(name)

    assert d.line.endswith(".")
    assert len(d.line) < 120
    named = {*(thing.name for thing in d.things), *d.marks, ""}
    if d.suggested.focus_on not in named:  # a part of what has a name: a face, an eye
        named_things = tuple(thing for thing in d.things if thing.name)
        assert d.suggested.focus_on in built_scene(replace(d, things=named_things)).spots


def test_a_scene_is_prepared_with_margin_and_what_lies_behind(tmp_path: Path) -> None:
    """The frame has the width that was asked for; the suggestion fills what was left open."""
    made = prepare(_shot(tmp_path), silent)

    frame = made.scene.frame
    assert (frame.width, frame.height) == (96, 64)
    assert made.scene.camera.width_px > 96
    assert made.scene.behind is not None
    assert (made.setting.tilt_deg, made.setting.f_number) == (-6.0, 2.8)
    # its middle is 21.0 m along the axis, and the ray there comes in 1.5 of 20 m before it
    assert made.setting.focus.depth_m == pytest.approx(19.4, abs=0.05)  # type: ignore[union-attr]
    assert made.scene.vantage is not None
    assert made.scene.vantage.height_m == 8


def test_options_move_the_camera_and_choose_the_spot(tmp_path: Path) -> None:
    """A spot in the picture is focused at the depth seen there."""
    given = {"height": "4 storeys", "distance": "30", "focus": "50%,50%", "portrait": "true"}
    made = prepare(_shot(tmp_path, **given), silent)

    frame = made.scene.frame
    assert frame.height > frame.width == 96
    assert made.scene.vantage is not None
    assert made.scene.vantage.height_m == pytest.approx(12, abs=1.7)
    row, column = frame.top + frame.height // 2, frame.left + frame.width // 2
    assert made.setting.focus.depth_m == pytest.approx(  # type: ignore[union-attr]
        float(made.scene.depth_m[row, column]), rel=0.02
    )


def test_the_same_shot_gives_the_same_light(tmp_path: Path) -> None:
    """Bit for bit."""
    one, two = (prepare(_shot(tmp_path), silent).scene.picture for _ in range(2))

    np.testing.assert_array_equal(one, two)


def test_what_one_lens_cannot_look_at_is_left_untraced(tmp_path: Path) -> None:
    """Held to its setting, a scene knows only a part of what is hidden, and the same there."""
    shot = _shot(tmp_path, lens="180", f="0.8", tilt="0")
    everywhere, held = (
        prepare_scene(shot, silent, samples=1, held=only_this).scene.behind
        for only_this in (False, True)
    )
    assert everywhere is not None
    assert held is not None

    known = ~np.isnan(held.depth_m)
    assert 0 < known.mean() < 0.5 * np.mean(~np.isnan(everywhere.depth_m))
    both = known & ~np.isnan(everywhere.depth_m)
    np.testing.assert_array_equal(held.depth_m[both], everywhere.depth_m[both])


def test_a_scene_is_built_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its things and the exact lens use what the preparation built."""
    shot = _shot(tmp_path)
    built: list[object] = []

    def counted(*args: object, **more: object) -> object:
        built.append(args)
        return build(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr("render.trace.builds.build", counted)
    monkeypatch.setattr("render.trace.builds._held", {})
    monkeypatch.setattr("render.trace.builds._folder", lambda: tmp_path / "builds")
    prepared = prepare(shot, silent, for_render=False)

    assert set(prepared.things or {}) == {"crate"}
    assert trace_through_lens(prepared, 1).shape[1] == 96
    assert len(built) == 1


def test_bad_wishes_end_in_one_sentence(tmp_path: Path) -> None:
    """An unknown thing to focus on, a photo's and a scene's words, a spot outside, no scene."""
    with pytest.raises(InputError, match=r"focus_on.*crate"):
        prepare(_shot(tmp_path, SMALL.replace('on = "crate"', 'on = "tree"')), silent)
    with pytest.raises(SettingError, match="for photos"):
        prepare(_shot(tmp_path, horizon="30%"), silent)
    with pytest.raises(SettingError, match="--width is for scenes and maps"):
        prepare(merged(Shot(picture="roof.png"), {"width": "64"}, "--{name}"), silent)
    with pytest.raises(SettingError, match="outside the picture"):
        prepare(_shot(tmp_path, focus="200,10"), silent)
    with pytest.raises(InputError, match=r"scenes: .*market"):
        prepare(Shot(scene="moon"), silent)


def test_scenes_and_their_words_can_be_read_by_people() -> None:
    """Lists, one scene, all kinds, one kind, and a kind that is not there."""
    assert {scene.name for scene in list_scenes()} == set(shipped_names())
    assert "third pot" in "\n".join(describe_scene("bench"))
    assert any(line.startswith("house:") for line in words(None))
    assert any("storey_m" in line for line in words("house"))
    with pytest.raises(InputError, match=r"kinds: .*house"):
        words("castle")


def test_a_strong_shift_with_a_near_focus_still_finds_its_frame(tmp_path: Path) -> None:
    """The traced camera is shifted as the extension shows it, so the frame lies in the picture."""
    made = prepare(_shot(tmp_path, rise="up 10", focus="0.4 m", lens="24"), silent)

    camera, setting = made.scene.frame_camera, made.setting
    extension_mm = 1 / (1 / 24 - 1 / 400)
    shifted = camera.focal_px * setting.rise_mm / extension_mm
    assert camera.centre_y_px - camera.height_px / 2 == pytest.approx(shifted, abs=1.0)

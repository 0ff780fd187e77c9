"""From a shot to scene and setting."""

import math
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.depth.depthmap import Unsaid
from render.errors import InputError, SettingError
from render.load.prepare import as_judged, prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.load.scenes import load_scene
from render.optics.camera import Camera, Window
from render.optics.lens import FocusSpot
from render.shot.shot import Shot, merged
from render.trace.build import Built
from render.trace.builds import built_scene
from render.units import told_in
from render.world.description import Description


@pytest.fixture
def roof(tmp_path: Path) -> Path:
    """A grey picture of 300 x 200 px without EXIF."""
    path = tmp_path / "roof.png"
    Image.new("RGB", (300, 200), (90, 120, 150)).save(path)
    return path


def _prepared(path: Path, **options: str) -> Prepared:
    given = {"view": "60", "height": "12", "pitch": "down 20"} | {
        name.replace("_", "-"): text for name, text in options.items()
    }
    given = {name: text for name, text in given.items() if text}
    return prepare(merged(Shot(picture=str(path)), given, "{name}"), silent)


def test_the_ground_gives_the_depth(roof: Path) -> None:
    """Straight ahead, level ground lies at height / sin(pitch)."""
    made = _prepared(roof)

    middle = made.scene.depth_m[99:101, 150].mean()
    assert middle == pytest.approx(12 / math.sin(math.radians(20)), rel=1e-4)
    assert made.scene.vantage is not None


def test_in_feet_a_length_without_a_unit_is_said_to_be_metres(roof: Path) -> None:
    """In one note, of all that came so and of nothing else; in metres nobody needs it."""
    with told_in("feet"):
        said, clear = _prepared(roof, focus="40 ft").notes, _prepared(roof, height="39 ft").notes

    assert said[0].startswith("read as metres, since no unit was typed: --height 12; feet are")
    assert not any("no unit" in note for note in (*clear, *_prepared(roof).notes))


def test_the_horizon_may_stand_for_the_pitch(roof: Path) -> None:
    """The row of the horizon and the pitch give the same depth."""
    camera = Camera(300, 200, 150 / math.tan(math.radians(30)))
    row = 100 - camera.focal_px * math.tan(math.radians(20))

    by_row = _prepared(roof, pitch="", horizon=f"{row:.6f} px")

    np.testing.assert_allclose(by_row.scene.depth_m, _prepared(roof).scene.depth_m, rtol=1e-5)
    assert "looks 20° down" in " ".join(by_row.notes)


def test_the_planned_lens_is_cut_out_of_the_picture(roof: Path) -> None:
    """Without a lens the whole picture is used; a longer one takes the middle."""
    widest, longer = _prepared(roof), _prepared(roof, lens="62.354")

    assert widest.scene.frame == Window(0, 0, 300, 200)
    assert longer.scene.frame == Window(75, 50, 150, 100)
    assert any("no lens was named: 31.2 mm" in note for note in widest.notes)


def test_an_upright_picture_means_an_upright_sensor(tmp_path: Path) -> None:
    """The planned sensor lies as the picture does unless portrait is said."""
    path = tmp_path / "tall.png"
    Image.new("RGB", (200, 300)).save(path)

    made = _prepared(path)

    assert (made.sensor.width_mm, made.sensor.height_mm) == (24, 36)


def test_a_focus_spot_keeps_its_ray_and_takes_the_depth_there(roof: Path) -> None:
    """Shares and pixels of the picture as handed in name a pixel, meaning its centre."""
    by_share = _prepared(roof, focus="50%,75%").setting.focus
    by_pixel = _prepared(roof, focus="150,150").setting.focus

    assert by_share == by_pixel
    assert isinstance(by_share, FocusSpot)
    assert by_share.slope_y == pytest.approx(50.5 / 259.81, rel=1e-4)
    assert by_share.depth_m == pytest.approx(
        12 / (math.sin(math.radians(20)) + by_share.slope_y * math.cos(math.radians(20))), rel=1e-4
    )


def test_rise_moves_the_frame(roof: Path) -> None:
    """A shifted frame shows another part of the same picture, and the setting says so."""
    plain = _prepared(roof, lens="60", focus="20 m")
    risen = _prepared(roof, lens="60", focus="20 m", rise="up 5")

    extension_mm = 1 / (1 / 60 - 1 / 20000)
    assert plain.scene.frame.top - risen.scene.frame.top == pytest.approx(
        5 / extension_mm * 259.81, abs=1
    )
    assert risen.setting.rise_mm == 5


@pytest.mark.parametrize(
    ("options", "error", "sentence"),
    [
        ({"height": "", "pitch": ""}, InputError, "roof.png has no depth"),
        ({"pitch": ""}, SettingError, "add --pitch, or --horizon"),
        ({"lens": "20"}, SettingError, "missing of the frame"),
        ({"focus": "50%,120%"}, SettingError, "outside the picture"),
        ({"focus": "0.01 m"}, SettingError, "cannot focus"),
    ],
)
def test_what_is_missing_or_impossible_is_said(
    roof: Path, options: dict[str, str], error: type[Exception], sentence: str
) -> None:
    """One sentence that names the option to give."""
    with pytest.raises(error, match=sentence):
        _prepared(roof, **options)


def test_ground_alone_leaves_near_and_standing_things_unsaid(roof: Path) -> None:
    """Level ground says nothing of what stands on it or near the lens, and says that."""
    made = _prepared(roof)

    assert made.unsaid == Unsaid(near=True, standing=True)
    assert made.depth_unsure == pytest.approx(0.16)


def test_naming_one_thing_keeps_the_caveat_about_the_others(roof: Path) -> None:
    """One named box leaves everything besides it flat, and the notes still say so."""
    shot = merged(
        Shot(picture=str(roof)),
        {"view": "60", "height": "12", "pitch": "down 20", "thing": ("box 40%,40% 60%,70%",)},
        "{name}",
    )
    made = prepare(shot, silent)

    assert any("besides the 1 named" in note for note in made.notes)
    assert made.unsaid.standing


def test_a_scene_is_built_once_for_all_that_is_made_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rendered, judged and seen from elsewhere it is one building, read once.

    Another moment is another building.
    """
    builds: list[float] = []
    reads: list[str] = []

    def counted(description: Description, time_s: float = 0.0) -> Built:
        builds.append(time_s)
        return built_scene(description, time_s)

    def read(source: str) -> Description:
        reads.append(source)
        return load_scene(source)

    monkeypatch.setattr("render.load.scenes.built_scene", counted)
    monkeypatch.setattr("render.load.scenes.load_scene", read)
    shot = merged(Shot(scene="bench"), {"width": "48"}, "{name}")
    rendered = prepare(shot, silent)
    judged = as_judged(merged(shot, {"width": "32"}, "{name}"), rendered, silent)
    higher = prepare(merged(shot, {"height": "9 m"}, "{name}"), silent, like=rendered)
    later = prepare(merged(shot, {"time": "2"}, "{name}"), silent, like=rendered)

    assert judged.scene.frame.width == 32
    assert judged.built is higher.built is rendered.built
    assert later.built is not rendered.built
    assert builds == [0.0, 2.0]
    assert reads == ["bench"]


def test_a_horizon_in_pixels_that_looks_like_a_share_is_said(roof: Path) -> None:
    """31 is a row, and says so with the way to write a share; 31 % says nothing of rows."""
    row, share = _prepared(roof, pitch="", horizon="31"), _prepared(roof, pitch="", horizon="31%")

    assert any("is a row in pixels, 16 %" in note and "'31%'" in note for note in row.notes)
    assert not any("a row in pixels" in note for note in share.notes)


def test_a_place_without_a_day_is_said_to_count_for_nothing(roof: Path) -> None:
    """A photo's sun needs both; with both nothing is said."""
    alone = _prepared(roof, when="2026-06-21T18:00+02:00")
    both = _prepared(roof, when="2026-06-21T18:00+02:00", at="47, 8")

    assert any(note.startswith("--when alone says nothing") for note in alone.notes)
    assert not any("alone says" in note for note in both.notes)


def test_a_subject_above_the_ground_is_not_quietly_taken_for_sky(roof: Path) -> None:
    """Focused above the horizon of bare ground, the answer says how to give the distance."""
    made = _prepared(roof, pitch="down 2", focus="50%,10%")

    assert any("--wall-foot" in note for note in made.notes)

"""Ready-made sheets, and each of their cells loaded."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.depth.ground import Slope
from render.errors import InputError, SettingError
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.load.variants import KINDS, axes_of, turned, turns_only
from render.optics.camera import Camera, Vantage, Window
from render.scene.scene import Scene
from render.shot.shot import Shot, merged

SCENE = Scene(
    np.full((40, 60, 3), 0.2, np.float32), np.full((40, 60), 20.0, np.float32), Camera(60, 40, 60.0)
)


def test_the_stop_sheet_goes_from_wide_open_to_f16() -> None:
    """Whole stops from f/2.8, whatever the shot is planned at; its own is among them."""
    whole = ("2.8", "4", "5.6", "8", "11", "16")

    for own, stops in (
        ({}, whole),
        ({"f": "8"}, whole),
        ({"f": "3.5"}, ("2.8", "3.5", *whole[1:])),
        ({"f": "22"}, (*whole, "22")),
        ({"f": "2"}, ("2", *whole)),
        ({"f": "11", "lens-file": "wide 17"}, whole[1:]),
    ):
        shot = merged(Shot(picture="a.jpg"), own, "{name}")
        assert axes_of("stops", shot, SCENE)[0].values == stops
    across = axes_of("grid", merged(Shot(picture="a.jpg"), {"f": "11"}, "{name}"), SCENE)[1]
    assert across.values == ("4", "5.6", "8", "11")


def test_the_grid_tilts_both_ways() -> None:
    """Up and down by the shot's tilt and half of it, and none."""
    down, across = axes_of("grid", merged(Shot(picture="a.jpg"), {"tilt": "up 6"}, "{name}"), SCENE)

    assert down.values == ("up 6", "up 3", "0", "down 3", "down 6")
    assert across.name == "f"


def test_the_lens_sheet_holds_only_lenses_that_fit() -> None:
    """The widest lens of the picture is 36 mm; nothing shorter is tried."""
    values = axes_of("lenses", Shot(picture="a.jpg"), SCENE)[0].values

    assert values[0] == "45"
    assert all(float(value) >= 36 for value in values)


def test_a_picture_has_one_vantage() -> None:
    """A vantage strip of a picture is refused, of a scene it is heights in storeys."""
    with pytest.raises(InputError, match="one place only"):
        axes_of("vantages", Shot(picture="a.jpg"), SCENE)

    assert axes_of("vantages", Shot(scene="market"), SCENE)[0].values[:4] == (
        *("1 storey", "2 storeys"),
        *("3 storeys", "4 storeys"),
    )


def test_an_unknown_sheet_is_refused_with_the_known_ones() -> None:
    """The sentence lists every kind."""
    with pytest.raises(SettingError, match=", ".join(KINDS)):
        axes_of("stripes", Shot(picture="a.jpg"), SCENE)


def test_a_focus_sheet_aims_inside_the_planned_frame() -> None:
    """A long lens in a wide picture: rows of its frame, and what is named comes first."""
    frame = replace(SCENE, window=Window(20, 10, 20, 14))
    (axis,) = axes_of("focus", Shot(picture="a.jpg"), frame)
    rows = [float(value.split(",")[1].rstrip("%")) for value in axis.values]
    named = merged(Shot(picture="a.jpg"), {"check": ("door=44%,40%",)}, "{name}")

    assert all(100 * 10 / 40 < row < 100 * 24 / 40 for row in rows)
    assert axis.values[0].startswith("50%,")
    assert axes_of("focus", named, frame)[0].values[0] == "44%,40%"
    assert len(axes_of("focus", named, frame)[0].values) == 4


def test_ready_made_sheets_stay_inside_the_lens() -> None:
    """Stops run from its widest to its last, tilts to its limit; focal lengths cannot vary."""
    shot = merged(Shot(picture="a.jpg"), {"lens-file": "wide 17"}, "{name}")

    assert axes_of("stops", shot, SCENE)[0].values == ("4", "5.6", "8", "11", "16")
    assert axes_of("grid", shot, SCENE)[0].values[0] == "up 6.5"
    with pytest.raises(SettingError, match="leave --lens-file out"):
        axes_of("lenses", shot, SCENE)


def test_who_climbs_keeps_the_subject_in_the_frame() -> None:
    """Low storeys stand nearer: 20 degrees down, yet the frame stays 6 m wide; high ones pitch."""
    seen = replace(SCENE, vantage=Vantage(25.0, 20.0))
    strip = axes_of("vantages", Shot(scene="market"), seen)[0]
    away = [float(also["distance"]) for also in strip.also]
    wide = seen.camera.width_px / seen.camera.focal_px

    assert away == sorted(away)
    assert away[-1] == pytest.approx(25 / np.tan(np.radians(20)), rel=0.01)
    assert away[0] == pytest.approx(max(3 / np.tan(np.radians(20)), 6 / wide), rel=0.01)
    assert strip.given(0) == {"height": "1 storey", "distance": strip.also[0]["distance"]}
    falling = replace(seen, vantage=Vantage(25.0, 20.0, terrain=Slope(-8.0)))
    strip = axes_of("vantages", Shot(scene="market"), falling)[0]
    steep = np.tan(np.radians(20)) - np.tan(np.radians(8))  # the subject falls with the ground
    assert float(strip.also[0]["distance"]) == pytest.approx(max(3 / steep, 6 / wide), rel=0.01)
    said = Shot(scene="market", written=(("distance", "30"),))
    assert axes_of("vantages", said, seen)[0].also == ()


def test_a_day_strip_is_six_moments_of_a_map_s_day() -> None:
    """In order, with the offset that was asked for; without a map or a sun it is refused."""
    given = {"at": "48, 11", "when": "2026-06-21T21:35+02:00"}
    (axis,) = axes_of("day", merged(Shot(scene="town.osm"), dict(given), "{name}"), SCENE)

    assert axis.name == "when"
    assert len(axis.values) == 6
    assert axis.values[-1] == given["when"]  # the moment that the shot is planned for
    assert list(axis.values) == sorted(axis.values)
    assert all(
        value.startswith("2026-06-21T") and value.endswith("+02:00") for value in axis.values
    )
    with pytest.raises(InputError, match="a day strip needs a map file"):
        axes_of("day", Shot(scene="market"), SCENE)
    night = merged(Shot(scene="town.osm"), {"at": "80, 11", "when": "2026-12-21T12:00Z"}, "{name}")
    with pytest.raises(SettingError, match="--when: the sun does not rise"):
        axes_of("day", night, SCENE)


@pytest.fixture
def place(tmp_path: Path) -> Prepared:
    """A grey picture of level ground, nothing said of its lens but the focal length."""
    path = tmp_path / "a.png"
    Image.new("RGB", (90, 60), (90, 120, 150)).save(path)
    given = {"view": "60", "height": "12", "pitch": "down 20", "lens": "45"}
    return prepare(merged(Shot(picture=str(path)), given, "{name}"), silent)


def test_what_turns_the_lens_alone_loads_nothing_anew() -> None:
    """A picture bears any lens and format; a scene's frame is traced for its lens."""
    picture, scene = Shot(picture="a.jpg"), Shot(scene="market")

    assert turns_only(picture, ["f", "tilt", "lens", "format"])
    assert turns_only(scene, ["f", "tilt", "focus"])
    assert not turns_only(scene, ["f", "lens"])
    assert not turns_only(picture, ["height"])
    assert not turns_only(scene, ["height"])


def test_a_turned_lens_brings_its_own_notes_and_limits(place: Prepared) -> None:
    """What was assumed of the lens before is gone, what was assumed of the picture stays."""
    given = {"f": "8", "focus": "20 m", "lens-file": "standard 45"}
    after = turned(place, merged(place.shot, given, "{name}"))

    assert any("no f-number" in note for note in place.notes)
    assert not any("no f-number" in note or "no focus" in note for note in after.notes)
    assert any("sees 60" in note for note in after.notes)
    assert len(set(after.notes)) == len(after.notes)
    suggested = replace(
        place,
        shot=replace(place.shot, lens=replace(place.shot.lens, f_number=4.0, tilt_deg=8.0)),
        assumed=replace(place.assumed, left_open=("as the scene suggests: f-number, tilt",)),
    )
    for given, left in (({"f": "8"}, ("tilt",)), ({"focus": "9 m"}, ("f-number, tilt",))):
        said = turned(suggested, merged(suggested.shot, given, "{name}")).assumed.left_open
        assert [line.rpartition("suggests: ")[2] for line in said] == [*left]
    assert place.limits is None
    assert after.limits is not None
    assert after.limits.name == "standard 45"

"""A picture stays loaded at the sizes it is looked at."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError
from render.live.places import Places
from render.load.prepare import prepare
from render.load.progress import silent
from render.optics.camera import Window
from render.scene.crop import cut_out
from render.shot.shot import Shot, merged

GIVEN = {"view": "60", "height": "12", "pitch": "down 20"}


@pytest.fixture
def roof(tmp_path: Path) -> Path:
    """A ramp of grey, 480 x 320 px."""
    path = tmp_path / "roof.png"
    ramp = np.linspace(20, 220, 480, dtype=np.uint8)
    Image.fromarray(np.broadcast_to(ramp, (320, 480))).save(path)
    return path


def _shot(path: Path, **options: str) -> Shot:
    return merged(Shot(picture=str(path)), {**GIVEN, **options}, "{name}")


def test_a_smaller_place_sees_the_same_ground(roof: Path) -> None:
    """Depth at a share of the picture is the same at every size."""
    places, shot = Places(), _shot(roof)
    small, full = places.planned(shot, 10_000).scene, places.full(shot).scene

    assert small.depth_m.size < full.depth_m.size
    y = small.depth_m.shape[0] * 3 // 4
    wanted = np.interp(
        (y + 0.5) / small.depth_m.shape[0],
        (np.arange(320) + 0.5) / 320,
        full.depth_m[:, 240],
    )
    assert small.depth_m[y, small.depth_m.shape[1] // 2] == pytest.approx(wanted, rel=0.01)


def test_what_is_said_does_not_depend_on_the_size_that_is_shown(roof: Path) -> None:
    """Once the picture's own size was laid out, every size has its setting and its words."""
    places = Places()
    shot = _shot(roof, focus="50%,60%", tilt="up 5")
    exact = places.planned(shot, 10_000, exact=True)
    small, large = places.planned(shot, 10_000), places.planned(shot, 90_000)
    wanted = prepare(shot, silent)

    assert small.scene.depth_m.size < large.scene.depth_m.size
    assert exact.setting == small.setting == large.setting == wanted.setting
    assert small.depth_how == large.depth_how == wanted.depth_how


def test_a_depth_file_is_made_smaller_with_its_picture(roof: Path, tmp_path: Path) -> None:
    """A file as large as the picture serves every size."""
    depth_m = np.broadcast_to(np.linspace(40, 4, 320, dtype=np.float32)[:, None], (320, 480))
    np.save(tmp_path / "depth.npy", depth_m)
    shot = merged(
        Shot(picture=str(roof)),
        {"view": "60", "depth": str(tmp_path / "depth.npy"), "depth-kind": "metres"},
        "{name}",
    )
    small = Places().planned(shot, 10_000).scene

    assert small.depth_m.shape == small.picture.shape[:2]
    assert small.depth_m[0, 0] == pytest.approx(40, rel=0.03)
    assert small.depth_m[-1, 0] == pytest.approx(4, rel=0.2)


def test_nothing_is_read_twice(roof: Path) -> None:
    """The same shot, and another lens on it, work on the same arrays."""
    places = Places()
    first = places.planned(_shot(roof, lens="40"), 10_000).scene
    again = places.planned(_shot(roof, lens="41", tilt="up 3"), 10_000).scene

    assert np.shares_memory(first.depth_m, again.depth_m)
    assert np.shares_memory(first.picture, again.picture)


def test_a_cut_out_keeps_rays_and_margin(roof: Path) -> None:
    """Its frame sees what it saw before, with the margin that there is."""
    scene = prepare(_shot(roof), silent).scene
    frame = Window(10, 100, 80, 60)
    part = cut_out(scene, frame, 20)

    assert part.depth_m.shape == (60 + 40, 80 + 30)
    assert part.frame == Window(10, 20, 80, 60)
    np.testing.assert_array_equal(
        part.picture[part.frame.rows, part.frame.columns], scene.picture[frame.rows, frame.columns]
    )
    np.testing.assert_allclose(
        part.frame_camera.slopes(0, 0), scene.camera.slopes(frame.left, frame.top)
    )


def test_a_picture_that_is_gone_is_said(roof: Path) -> None:
    """The name without its folder, and why."""
    with pytest.raises(InputError, match=r"gone\.png cannot be read"):
        Places().planned(_shot(roof.with_name("gone.png")), 10_000)


def test_marks_and_things_in_pixels_hold_at_every_size(roof: Path) -> None:
    """A thing boxed in pixels of the whole picture stands at the same place in the small one."""
    places = Places()
    shot = merged(_shot(roof), {"thing": ("box 200,100 280,300 at 9 m",)}, "{name}")
    small = places.planned(shot, 10_000).scene
    height, width = small.depth_m.shape

    assert small.depth_m[height // 2, width // 2] == pytest.approx(9, rel=0.02)
    assert small.depth_m[height // 2, width // 10] > 10


def test_what_was_cut_out_comes_back_at_every_size(
    roof: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Said, taken back and said again, before the picture's own size is laid out anew."""
    monkeypatch.setattr("render.live.places._USUAL_WHOLE_PX", 40_000)
    places, bare = Places(), _shot(roof)
    said = {
        "near": ("box 10%,20% 30%,60% 2 m",),
        "thing": ("box 60%,40% 70%,80%",),
        "wall-foot": ("75%,60% 99%,60%",),
    }
    for name, words in said.items():
        shot = merged(bare, {name: words}, "{name}")
        for one, exact in ((shot, False), (bare, False), (shot, False), (shot, True), (bare, True)):
            places.planned(one, 10_000, exact=exact)
        again = places.planned(shot, 10_000)

        if name == "near":
            assert again.near is not None
            assert again.near.shape == again.scene.depth_m.shape
        assert again.notes == prepare(shot, silent).notes


def test_a_horizon_in_pixels_is_a_share_of_the_height(tmp_path: Path) -> None:
    """Row 60 of a picture that is wider than high means the same at every size."""
    path = tmp_path / "wide.png"
    Image.new("RGB", (600, 200), (90, 120, 150)).save(path)
    given = {"view": "60", "height": "12", "horizon": "60 px"}
    shot = merged(Shot(picture=str(path)), given, "{name}")
    places = Places()

    small, full = places.planned(shot, 5_000).scene, places.full(shot).scene

    assert small.vantage is not None
    assert full.vantage is not None
    assert small.depth_m.shape[1] < 300
    assert small.vantage.pitch_deg == pytest.approx(full.vantage.pitch_deg, abs=0.02)
    assert np.isinf(full.depth_m[58]).all()
    assert np.isfinite(full.depth_m[62]).all()


@pytest.mark.parametrize("coc", ["2 px", "0.04 mm", "traditional"])
def test_what_passes_for_sharp_is_the_same_at_every_size(roof: Path, coc: str) -> None:
    """Pixels are those of the picture, not of the small one that is shown."""
    places, shot = Places(), _shot(roof, coc=coc)
    small, wanted = places.planned(shot, 10_000), prepare(shot, silent)

    assert small.scene.frame.width < wanted.scene.frame.width / 2
    assert small.coc_mm == pytest.approx(wanted.coc_mm, rel=0.01)

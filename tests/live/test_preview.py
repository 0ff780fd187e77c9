"""A preview is the photograph, small."""

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import HingelineError, InputError, SettingError
from render.live.preview import Look, Preview
from render.load.prepare import prepare
from render.load.progress import silent
from render.shot.shot import Shot, merged

GIVEN = {"view": "60", "height": "12", "pitch": "down 20"}


@pytest.fixture(scope="module")
def noise(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Coarse noise, 1200 x 800 px."""
    path = tmp_path_factory.mktemp("noise") / "noise.png"
    coarse = np.random.default_rng(2).integers(40, 220, (100, 150, 3), dtype=np.uint8)
    Image.fromarray(coarse).resize((1200, 800), Image.Resampling.NEAREST).save(path)
    return path


def _shot(path: Path, **options: str) -> Shot:
    return merged(Shot(picture=str(path)), {**GIVEN, **options}, "{name}")


def test_the_frame_has_about_the_pixels_that_were_asked_for(noise: Path) -> None:
    """Whatever the lens sees of the picture, within a fifth."""
    preview = Preview()
    for lens, wanted in (("35", 100_000), ("70", 100_000), ("70", 50_000)):
        looked = preview.look(_shot(noise, lens=lens), Look(wanted))
        width, height = Image.open(io.BytesIO(looked.jpeg)).size

        assert 0.8 < width * height / wanted < 1.25


def test_a_preview_is_the_photograph_made_smaller(noise: Path) -> None:
    """The same frame and setting as `prepare` plans, whatever the size."""
    shot = _shot(noise, lens="50", tilt="up 6", focus="700,500")
    whole = prepare(shot, silent)
    told = Preview().look(shot, Look(60_000)).told
    frame = whole.scene.frame

    assert told["frame"] == pytest.approx(
        [frame.left / 1200, frame.top / 800, frame.width / 1200, frame.height / 800],
        abs=1.5 / 300,  # a pixel and a half of the preview
    )
    assert told["lens"] == whole.setting.focal_mm
    assert told["focus_m"] == pytest.approx(whole.setting.focus.depth_m, rel=0.01)


def test_before_is_without_blur_and_whole_is_the_picture(noise: Path) -> None:
    """Before keeps the detail that the lens takes away; whole has the picture's own shape."""
    preview, shot = Preview(), _shot(noise, lens="50", f="1.4", tilt="up 8", focus="50%,40%")
    photo, before, whole = (
        Image.open(io.BytesIO(preview.look(shot, look).jpeg))
        for look in (Look(60_000), Look(60_000, showing="before"), Look(60_000, showing="whole"))
    )

    assert np.asarray(photo).std() < np.asarray(before).std()
    assert whole.width / whole.height == pytest.approx(1.5, abs=0.01)


def test_what_the_file_does_not_say_is_guessed_and_named(noise: Path) -> None:
    """Only what is missing is guessed."""
    for given in ({}, {"view": "60"}):
        found = Preview().guess(merged(Shot(picture=str(noise)), given, ""))
        assert set(found) == {"guessed", "height", "horizon"}
        assert set(found["guessed"]) == {"height", "horizon"}
    high = merged(Shot(picture=str(noise)), {"height": "15"}, "")
    assert Preview().guess(high) == {"horizon": "25%", "guessed": ("horizon",)}
    assert Preview().guess(_shot(noise)) == {}


def test_what_no_place_answers_is_no_wish(noise: Path) -> None:
    """One sentence that shows what can be wished; what is there is heeded."""
    preview, shot = Preview(), _shot(noise, lens="50")
    preview.heed(shot, "point", "50%,60%")
    preview.heed(shot, "ground", "20 m to 40 m")
    for kind, text in (("point", "banana"), ("row", "banana"), ("point", "50%,160%")):
        with pytest.raises(HingelineError, match=r"write|choose a spot inside"):
            preview.heed(shot, kind, text)


def test_a_changed_file_is_read_again(tmp_path: Path) -> None:
    """Whoever mends the picture sees the mended one."""
    path = tmp_path / "roof.png"
    preview = Preview()
    for grey in (40, 200):
        Image.new("L", (90, 60 + grey // 100), grey).save(path)
        looked = preview.look(_shot(path), Look(10_000, showing="before"))

        assert np.asarray(Image.open(io.BytesIO(looked.jpeg))).mean() == pytest.approx(grey, abs=2)


def test_bad_shots_are_refused_as_everywhere(noise: Path, tmp_path: Path) -> None:
    """No picture, one that is gone, and a lens too wide for it."""
    with pytest.raises(InputError, match="nothing to look at"):
        Preview().look(Shot(), Look(10_000))
    with pytest.raises(InputError, match="cannot be read"):
        Preview().look(_shot(tmp_path / "gone.png"), Look(10_000))
    with pytest.raises(SettingError, match="not all in the picture"):
        Preview().look(_shot(noise, lens="8"), Look(10_000))


def test_a_place_may_be_all_in_focus_or_partly(noise: Path) -> None:
    """The band comes as outlines where it was asked for."""
    shot = _shot(noise, lens="50", f="2", tilt="up 8", focus="50%,40%")
    preview = Preview()

    assert "band" not in preview.look(shot, Look(60_000)).told
    assert preview.look(shot, Look(60_000, band=True)).told["band"]


def test_an_outline_is_mended_by_a_second_place(tmp_path: Path) -> None:
    """Two tiles are one thing where a place in the second belongs to it; the cut-out is told."""
    pytest.importorskip("cv2")
    code = np.full((400, 600, 3), 70, np.uint8)
    code[150:300, 150:300] = (190, 60, 60)
    code[150:300, 300:420] = (60, 60, 190)
    path = tmp_path / "tiles.png"
    Image.fromarray(code).save(path)
    preview, shot = Preview(), _shot(path)

    def right(found: tuple[list[str], str]) -> float:
        corners, doubt = found
        assert not doubt
        return max(float(corner.split("%")[0]) for corner in corners)

    assert right(preview.outline(shot, (0.37, 0.55), [(0.6, 0.55)])) == pytest.approx(70, abs=3)
    assert right(preview.outline(shot, (0.37, 0.55), [], [(0.6, 0.55)])) == pytest.approx(50, abs=3)
    near = merged(shot, {"near": ("box 10%,20% 30%,60% 2 m",)}, "{name}")
    (ring,) = preview.look(near, Look(60_000)).told["near"]
    assert min(x for x, _ in ring) == pytest.approx(0.1, abs=0.01)

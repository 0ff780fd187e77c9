"""The render job, called from Python."""

from pathlib import Path

import pytest
from PIL import Image

from render.errors import OutputError, SettingError
from render.jobs.render import render
from render.load.progress import silent
from render.shot.shot import Shot, merged


def _shot(folder: Path) -> Shot:
    path = folder / "roof.tif"
    Image.new("RGB", (60, 40), (90, 120, 150)).save(path)
    given = {"view": "60", "height": "12", "pitch": "20"}
    return merged(Shot(picture=str(path)), given, "{name}")


def test_progress_rises(tmp_path: Path) -> None:
    """Shares never fall, and what is being done is named."""
    told: list[tuple[str, float]] = []

    render(_shot(tmp_path), tmp_path / "a.png", progress=lambda what, s: told.append((what, s)))

    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert all(what for what, _ in told)


def test_nothing_is_written_when_a_later_file_is_refused(tmp_path: Path) -> None:
    """All destinations are checked before any work."""
    shot = _shot(tmp_path)
    (tmp_path / "plan.toml").write_text("mine")

    with pytest.raises(OutputError, match=r"plan\.toml is there already"):
        render(shot, tmp_path / "a.png", save_shot=tmp_path / "plan.toml", progress=silent)

    assert not (tmp_path / "a.png").exists()


def test_the_kind_of_file_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a name the result lies in the current folder and keeps its ending."""
    monkeypatch.chdir(tmp_path)

    made = render(_shot(tmp_path), None, progress=silent)

    assert made.files == (Path("roof_tilted.tif"),)
    assert (tmp_path / "roof_tilted.tif").exists()


def test_the_exact_lens_is_for_demo_scenes(tmp_path: Path) -> None:
    """A picture cannot be traced; a scene is, and says how near the engine comes."""
    scene = tmp_path / "crate.toml"
    scene.write_text(
        'line = "A crate."\n[vantage]\nstand_m = [0, -9]\nheight_m = 3\nlook_at_m = [0, 0, 0]\n'
        '[[things]]\nkind = "box"\nat_m = [0, 0]\nsize_m = [1, 1, 1]\n'
    )
    small = merged(Shot(scene=str(scene)), {"width": "60", "tilt": "up 5"}, "{name}")

    made = render(small, tmp_path / "exact.png", exact=16, progress=silent)

    agrees = next(line for line in made.lines if "16 rays a pixel" in line)
    assert float(agrees.split("agrees to ")[1].split(" dB")[0]) > 30
    with pytest.raises(SettingError, match="needs a demo scene"):
        render(_shot(tmp_path), tmp_path / "a.png", exact=16, progress=silent)

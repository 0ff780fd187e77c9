"""What a film leaves on disk."""

import json
from fractions import Fraction
from pathlib import Path

import pytest
from PIL import Image

from render.errors import OutputError, SettingError
from render.jobs.film import film
from render.load.progress import silent
from tests.clips import street, write_clip
from tests.jobs.test_film import _shot, _wishes


def test_stills_that_are_there_are_not_replaced_unasked(tmp_path: Path) -> None:
    """Which one is said, and none is touched; --overwrite replaces them."""
    source = write_clip(tmp_path / "a.mp4", street(3))
    (tmp_path / "f2.png").write_text("mine")

    with pytest.raises(OutputError, match=r"f2\.png is there already"):
        film(_shot(source), out=tmp_path / "f%d.png", progress=silent)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.mp4", "f2.png"]

    film(_shot(source), out=tmp_path / "f%d.png", overwrite=True, progress=silent)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.mp4", "f1.png", "f2.png", "f3.png"]


def test_parts_of_another_film_are_not_mixed_in(tmp_path: Path) -> None:
    """Begun with another setting: what is there is removed, and that is said."""
    source = write_clip(tmp_path / "a.mp4", street(3))
    parts = tmp_path / ".b.mp4.parts"
    parts.mkdir()
    (parts / "film.json").write_text(json.dumps({"mark": "another"}))
    (parts / "00000.mov").write_text("of another film")
    made = film(_shot(source), out=tmp_path / "b.mp4", progress=silent)

    assert any("parts of another film" in line for line in made.lines)
    assert not parts.exists()


def test_sound_of_another_speed_is_left_out_and_told(tmp_path: Path) -> None:
    """Twice as fast, it would be out of step."""
    source = write_clip(tmp_path / "a.mp4", street(10), sound=True)
    made = film(_shot(source), _wishes(speed="2"), tmp_path / "b.mp4", progress=silent)

    assert any("sound was left out" in line for line in made.lines)


def test_a_gif_runs_on_time(tmp_path: Path) -> None:
    """It counts in 1/100 s: at 30 a second three frames stand for 3, 4 and 3 of them; 60 is not."""
    source = write_clip(tmp_path / "a.mp4", street(6), rate=Fraction(30))
    film(_shot(source), out=tmp_path / "a.gif", progress=silent)
    with Image.open(tmp_path / "a.gif") as picture:
        stood_ms = []
        for number in range(picture.n_frames):  # type: ignore[attr-defined]
            picture.seek(number)
            stood_ms.append(picture.info["duration"])

    assert stood_ms == [30, 40, 30, 30, 40, 30]
    with pytest.raises(SettingError, match="a GIF shows up to 50"):
        film(_shot(source), _wishes(fps="60"), tmp_path / "b.gif", progress=silent)

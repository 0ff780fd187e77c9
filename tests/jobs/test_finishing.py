"""What is done to a photograph behind the lens, and said."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import SettingError
from render.jobs.render import render
from render.load.progress import silent
from render.shot.shot import Shot, merged
from render.shot.wishes import Finish, read_grain
from tests.places import plain


def test_what_was_done_to_the_light_is_told(tmp_path: Path) -> None:
    """All finishing changes the photograph only when asked for, and each step is said."""
    shot = plain(tmp_path, 60)
    finish = Finish(diffraction=True, fall_off=True, grain=0.05, seed=3)
    lamps = merged(shot, {"lift-highlights": "2"}, "{name}")
    bare = render(shot, tmp_path / "a.png", progress=silent)
    done = render(lamps, tmp_path / "b.png", finish=finish, progress=silent)

    assert not bare.record["remarks"]
    told = " ".join(done.lines)
    for words in (
        "no small clipped spot stands out",
        "dark ring in green",
        "cos^4",
        "grain of 0.05 was added, seed 3",
    ):
        assert words in told
    assert (tmp_path / "a.png").read_bytes() != (tmp_path / "b.png").read_bytes()


def test_grain_of_the_source_is_matched_or_refused_in_words(tmp_path: Path) -> None:
    """A noisy wall gives its grain and its size in codes; a picture that is one white has none."""
    path = tmp_path / "wall.png"
    noise = np.random.default_rng(3).normal(0, 2.0, (160, 240, 3))
    given = {"view": "60", "height": "12", "pitch": "down 20", "tilt": "up 6", "lens": "50"}
    told = []
    for number, codes in enumerate((128 + noise, 255 + 0 * noise)):
        Image.fromarray(np.rint(codes).astype(np.uint8)).save(path)
        shot = merged(Shot(picture=str(path)), given, "{name}")
        out = tmp_path / f"{number}.png"
        made = render(shot, out, finish=Finish(grain="match"), progress=silent)
        told.append(" ".join(made.record["remarks"]))

    assert "the grain that it took from the source" in told[0]
    assert "no grain was matched" in told[1]
    with pytest.raises(SettingError, match=r"write match, or a number such as 0.02"):
        read_grain("coarse")

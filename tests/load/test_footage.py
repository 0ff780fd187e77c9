"""Clips, folders and one still, all as frames at known times."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError
from render.load.footage import ClipFootage, OneStill, Stills, frame_at, is_footage, open_footage
from tests.clips import street, write_clip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three stills."""
    for number, frame in enumerate(street(3)):
        Image.fromarray(frame).save(tmp_path / f"s{number}.png")
    return tmp_path


def test_a_name_tells_what_it_is(folder: Path) -> None:
    """A folder and a pattern are stills, a picture is one, anything else a clip."""
    write_clip(folder / "a.mp4", street(4))

    assert isinstance(open_footage(str(folder / "s*.png"), None), Stills)
    assert isinstance(open_footage(str(folder / "s0.png"), None), OneStill)
    assert isinstance(open_footage(str(folder / "a.mp4"), None), ClipFootage)
    assert isinstance(open_footage(str(folder), None), Stills)


def test_stills_run_at_the_rate_that_is_asked(folder: Path) -> None:
    """25 a second where nothing is said; each comes with its own file."""
    stills = open_footage(str(folder), Fraction(12))

    assert stills.times == (0, Fraction(1, 12), Fraction(2, 12))
    assert open_footage(str(folder), None).rate == 25
    for number, light in enumerate(stills.frames(0, 3)):
        file = stills.file(number)
        assert file is not None
        assert file.path.name == f"s{number}.png"
        np.testing.assert_array_equal(light, file.light)


def test_stills_of_two_sizes_are_refused(folder: Path) -> None:
    """Which one differs is said."""
    Image.fromarray(street(1, 128)[0]).save(folder / "s9.png")

    with pytest.raises(InputError, match=r"s9\.png is 128 x 64"):
        list(open_footage(str(folder), None).frames(0, 4))


def test_a_still_that_is_unlike_the_first_is_told_once(folder: Path) -> None:
    """And a number that is missing, before any is read."""
    for number in (4, 5):
        seen = np.dstack([street(1)[0], np.full((64, 96), 120, np.uint8)])
        Image.fromarray(seen).save(folder / f"s{number}.png")
    stills = open_footage(str(folder), None)

    assert stills.remarks == ("no still is numbered 3: the others follow without a pause",)
    list(stills.frames(0, 5))
    assert stills.remarks[1:] == (
        "s4.png, and perhaps others: transparent parts were laid over white",
    )


def test_a_clip_says_its_own_rate(tmp_path: Path) -> None:
    """What is asked for stills is not for clips; its first frame is a picture of 8 bits."""
    clip = open_footage(str(write_clip(tmp_path / "a.mp4", street(4), rate=Fraction(50))), None)

    assert clip.rate == 50
    assert clip.first().bits == 8
    assert clip.file(0) is None
    clip.close()


def test_many_frames_are_told_from_one(folder: Path) -> None:
    """By what is there: a still whose own name holds a sign of patterns is one still."""
    Image.fromarray(street(1)[0]).save(folder / "what?.png")

    assert is_footage("a.mp4")
    assert is_footage(str(folder))
    assert is_footage(str(folder / "s%d.png"))
    assert not is_footage(str(folder / "s0.png"))
    assert not is_footage(str(folder / "what?.png"))


def test_a_moment_shows_the_frame_that_began_last(tmp_path: Path) -> None:
    """Also where frames come unevenly; after the last one has gone nothing is seen."""
    clip = open_footage(
        str(write_clip(tmp_path / "a.mp4", street(4), stamps=[0, 10, 50, 60])), None
    )

    assert [frame_at(clip, at) for at in (0, 0.0999, 0.3, 0.5, 0.59, 0.6)] == [0, 1, 1, 2, 2, 3]
    with pytest.raises(InputError, match="it ends at"):
        frame_at(clip, 3.0)

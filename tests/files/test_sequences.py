"""Numbered stills by folder and by pattern."""

from pathlib import Path

import pytest

from render.errors import InputError
from render.files.sequences import is_pattern, missing_words, numbered_name, pattern_of, stills_in


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Stills whose numbers have different lengths, and a note."""
    for name in ("a9.png", "a10.png", "a2.png", "b1.png", "note.txt", ".a3.png"):
        (tmp_path / name).touch()
    return tmp_path


def test_numbers_count_not_letters(folder: Path) -> None:
    """9 comes before 10; other files and hidden ones are left."""
    names = [path.name for path in stills_in(str(folder / "a%d.png"))]

    assert names == ["a2.png", "a9.png", "a10.png"]
    assert [p.name for p in stills_in(str(folder))][-1] == "b1.png"
    assert [p.name for p in stills_in(str(folder / "b*.png"))] == ["b1.png"]


def test_a_folder_of_two_kinds_is_refused(folder: Path) -> None:
    """JPEG and raw of the same frames would both be taken: which one is asked."""
    (folder / "a2.jpg").touch()

    with pytest.raises(InputError, match="name one kind"):
        stills_in(str(folder))


@pytest.mark.parametrize("source", ["", "a%d.png", "a*.png"])
def test_a_number_that_is_there_twice_is_refused(folder: Path, source: str) -> None:
    """Which of the two is shown, nobody said."""
    (folder / "a09.png").touch()

    with pytest.raises(InputError, match=r"a09\.png and a9\.png have the same number"):
        stills_in(str(folder / source))


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        (["8", "9", "10"], ""),
        (["08", "09", "11", "12", "20"], "10, 13 to 19"),
        (["10", "20", "30", "60"], "40 to 50"),
        (["1", "2", "3", "9999"], "4 to 9998"),
        (["3", "17", "18", "90"], ""),
        (["101550", "101555", "101600", "101605"], ""),
        (["1", "9"], ""),
        ([str(k) for k in range(40) if k % 5], "5, 10, 15, 20, 25 and 2 more gaps"),
    ],
)
def test_missing_numbers_are_told(numbers: list[str], words: str) -> None:
    """Not where stills are numbered in steps or by the clock."""
    assert missing_words([Path(f"a/take2_{number}.png") for number in numbers]) == words
    assert missing_words([Path("a1.png"), Path("b2.png"), Path("b4.png"), Path("b5.png")]) == ""


@pytest.mark.parametrize("source", ["c*.png", "none/%03d.png"])
def test_a_pattern_without_pictures_is_refused(folder: Path, source: str) -> None:
    """In one sentence that names it."""
    with pytest.raises(InputError, match=source.replace("*", r"\*")):
        stills_in(str(folder / source))


def test_patterns_are_told_from_names() -> None:
    """Percent, star and question mark; an ordinary name has none."""
    assert is_pattern("a/%04d.tif")
    assert is_pattern("a/*.tif")
    assert not is_pattern("a/100%.tif")
    assert numbered_name(Path("a/f%04d.tif"), 7) == Path("a/f0007.tif")


@pytest.mark.parametrize(
    ("names", "pattern"),
    [
        (["IMG_0009.jpg", "IMG_0010.jpg"], "IMG_%04d.jpg"),
        (["take2_9.png", "take2_10.png", "take2_11.png"], "take2_%d.png"),
        (["a098.tif", "a099.tif", "a100.tif"], "a%03d.tif"),
        (["1.jpg", "2.jpg"], "%d.jpg"),
        (["a1.jpg", "a1.jpg"], None),
        (["a01.jpg", "a2.jpg"], None),
        (["a1b1.jpg", "a2b2.jpg"], None),
        (["a1.jpg", "b1.jpg"], None),
        (["a1.jpg"], None),
    ],
)
def test_names_numbered_alike_share_a_pattern(names: list[str], pattern: str | None) -> None:
    """Only those that differ in one number, and it names these and no others of them."""
    assert pattern_of(names) == pattern

"""The board as a job: files, resolution, refusals."""

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
from PIL import Image

from render.errors import HingelineError, InputError, OutputError, SettingError
from render.files.shots import read_shot
from render.jobs.board import board
from render.jobs.judge import judge
from render.load.progress import silent
from render.shot.keyframes import key_frame
from render.shot.shot import Shot, shot_keys
from render.shot.wishes import BoardWishes, JudgeWishes
from tests.places import plain


@pytest.fixture
def shot(tmp_path: Path) -> Shot:
    """A picture of a plain seen from 11 m."""
    return plain(tmp_path)


def test_a_board_is_written_and_can_be_made_again(shot: Shot, tmp_path: Path) -> None:
    """PDF, picture and shot; the PDF from the shot has the same bytes."""
    wishes = BoardWishes(
        title="Étude", author="Mara", date="3 June", alternatives=("Calmer: f=8; tilt=up 4",)
    )
    made = board(
        shot,
        tmp_path / "b.pdf",
        wishes,
        png=tmp_path / "b.png",
        save_shot=tmp_path / "b.toml",
        progress=silent,
    )
    board(read_shot(tmp_path / "b.toml"), tmp_path / "again.pdf", wishes, progress=silent)
    text = pypdf.PdfReader(tmp_path / "b.pdf").pages[0].extract_text()

    assert [path.name for path in made.files] == ["b.pdf", "b.png", "b.toml"]
    assert (tmp_path / "b.pdf").read_bytes() == (tmp_path / "again.pdf").read_bytes()
    assert "Étude" in text
    assert "Calmer" in text
    assert any("the picture has no more" in line for line in made.lines)
    with Image.open(tmp_path / "b.png") as image:
        assert image.size == (3508, 2480)
        assert image.info["dpi"] == pytest.approx((300, 300), abs=0.1)
        assert image.info["icc_profile"]


def test_a_picture_too_small_for_its_page_is_said_to_be(tmp_path: Path) -> None:
    """In the answer and on the page itself: below 100 pixels to the inch they show."""
    made = board(plain(tmp_path, 150), tmp_path / "b.pdf", BoardWishes(), progress=silent)
    text = pypdf.PdfReader(tmp_path / "b.pdf").pages[0].extract_text()

    assert any("too few for print, its pixels show" in line for line in made.lines)
    assert "Enlarged from" in text
    assert any(line.startswith("To do: ") for line in made.lines)


def test_moments_of_its_film_stand_in_place_of_the_picture(shot: Shot, tmp_path: Path) -> None:
    """Nine pictures with their times; a length without them is refused."""
    keys = shot_keys()
    frames = (key_frame("0 s", {"tilt": "0"}, keys), key_frame("2 s", {"tilt": "up 8"}, keys))
    wishes = BoardWishes(moments=True, alternatives=("f=8",))
    moving = replace(shot, key_frames=frames)
    made = board(moving, tmp_path / "b.pdf", wishes, progress=silent)
    page = pypdf.PdfReader(tmp_path / "b.pdf").pages[0]

    assert page.get_contents().get_data().count(b" Do") == 9 + 3 * len(made.record["captions"])
    assert "1.52 s" in page.extract_text()
    assert any(line.startswith("9 moments, each: ") for line in made.lines)
    with pytest.raises(SettingError, match="--moments"):
        board(shot, tmp_path / "c.pdf", BoardWishes(clip_s=3.0), progress=silent)


def test_an_alternative_of_another_format_keeps_its_shape(shot: Shot, tmp_path: Path) -> None:
    """It is shown, though no lens differs; its picture is square, its close-ups as all are."""
    wishes = BoardWishes(alternatives=("Square: format=24x24",))
    told = board(shot, tmp_path / "b.pdf", wishes, progress=silent).record
    assert told["settings"][1].endswith(", 24 x 24 mm")
    assert told["verdict"] == judge(shot, JudgeWishes(), progress=silent).record
    page = pypdf.PdfReader(tmp_path / "b.pdf").pages[0].get_contents().get_data()
    drawn = re.findall(rb"([\d.]+) 0 0 ([\d.]+) [\d.]+ [\d.]+ cm /I", page)
    shapes = [float(width) / float(height) for width, height in drawn]

    assert len(shapes) == 7
    assert shapes[0] == pytest.approx(1.5, rel=0.02)
    assert shapes[1] == pytest.approx(1.5, rel=0.02)
    assert shapes[4] == pytest.approx(1.0, rel=0.03)
    assert shapes[5:] == pytest.approx(shapes[2:4], rel=0.03)


@pytest.mark.skipif(shutil.which("pdfimages") is None, reason="poppler-utils is not installed")
def test_pictures_in_the_pdf_carry_a_profile_and_poppler_is_content(
    shot: Shot, tmp_path: Path
) -> None:
    """Ten JPEGs with an ICC profile; fonts embedded; no warning from either tool."""
    board(shot, tmp_path / "b.pdf", BoardWishes(), progress=silent)
    images = subprocess.run(
        ["pdfimages", "-list", tmp_path / "b.pdf"], capture_output=True, text=True, check=True
    )
    drawn = subprocess.run(
        ["pdftoppm", "-r", "40", "-png", tmp_path / "b.pdf", tmp_path / "p"],
        capture_output=True,
        text=True,
        check=True,
    )
    rows = [line.split() for line in images.stdout.splitlines()[2:]]

    assert len(rows) == 10
    assert all(row[5] == "icc" and row[8] == "jpeg" for row in rows)
    assert images.stderr == drawn.stderr == ""


@pytest.mark.parametrize(
    ("wishes", "kind", "says"),
    [
        (BoardWishes(title="x" * 400), InputError, "400 characters"),
        (BoardWishes(title="מרפא"), InputError, "right to left"),
        (BoardWishes(author="اسم"), InputError, "the name holds"),
        (BoardWishes(logo="words.txt"), InputError, "the logo cannot be used"),
        (BoardWishes(logo="gone.png"), InputError, "the logo cannot be used: gone.png"),
        (BoardWishes(paper="a9"), InputError, "a4, a3, letter"),
        (BoardWishes(orientation="sideways"), SettingError, "landscape, upright, auto"),
        (BoardWishes(alternatives=("f",)), SettingError, "gives no values"),
        (BoardWishes(alternatives=("height=3",)), SettingError, "only lens and sensor"),
        (BoardWishes(alternatives=("f=4",) * 5), InputError, "at most 4"),
        (BoardWishes(says=("word " * 200,)), InputError, "characters"),
    ],
)
def test_bad_input_writes_nothing(
    shot: Shot,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    wishes: BoardWishes,
    kind: type[HingelineError],
    says: str,
) -> None:
    """One sentence, and no page."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "words.txt").write_text("no picture")
    with pytest.raises(kind, match=says):
        board(shot, None, wishes, progress=silent)

    assert sorted(path.name for path in tmp_path.iterdir()) == ["plain.png", "words.txt"]


def test_other_endings_are_refused(shot: Shot, tmp_path: Path) -> None:
    """The page is a PDF, its picture a PNG."""
    with pytest.raises(OutputError, match=r"\.pdf"):
        board(shot, tmp_path / "b.png", BoardWishes(), progress=silent)
    with pytest.raises(OutputError, match=r"\.png"):
        board(shot, tmp_path / "b.pdf", BoardWishes(), png=tmp_path / "b.gif", progress=silent)

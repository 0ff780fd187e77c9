"""The verdicts of a day: best first, the same as alone, as lines, table and sheet."""

import csv
import json
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from render.errors import HingelineError
from render.files.shots import shot_of
from render.jobs.judge import judge
from render.jobs.many.gathering import Gathered, gathered
from render.jobs.many.verdicts import judge_many
from render.load.progress import silent
from render.shot.shot import Shot, merged
from render.shot.wishes import JudgeWishes
from tests.jobs.many.day import ASKED, scouting_day
from tests.pieces import Backwards

WORDS = {name.removeprefix("--"): text for name, text in zip(ASKED[::2], ASKED[1::2], strict=True)}


def _over(shot: Shot) -> Shot:
    return merged(shot, dict(WORDS), "{name}")


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Gathered:
    return gathered([str(scouting_day(tmp_path_factory.mktemp("x") / "day"))], finish=_over)


def test_the_table_is_best_first_and_says_what_judge_says(found: Gathered, tmp_path: Path) -> None:
    """Scores fall, a guess's from 5 lower; each is the picture's own; refused ones below."""
    made = judge_many(
        found, JudgeWishes(), table=tmp_path / "day.csv", contact_sheet=tmp_path / "day.png",
        progress=silent,
    )  # fmt: skip
    rows = [*csv.DictReader((tmp_path / "day.csv").read_text("utf-8-sig").splitlines())]
    picture = next(row["picture"] for row in rows if "tower" in row["picture"])
    alone = judge(_over(shot_of(picture)), JudgeWishes(), progress=silent)

    assert made.code == 3
    assert [row["rank"] for row in rows] == ["1", "2", "3", "4", ""]
    counts = [float(row["score"]) - 5 * bool(row["guessed"]) for row in rows[:4]]
    assert counts == sorted(counts, reverse=True)
    tower = next(row for row in rows if row["picture"] == picture)
    assert tower["says"] == alone.lines[0]
    assert alone.lines[1] == f"To do: {tower['to_do']}"
    assert "bad.jpg is not a picture" in rows[4]["why_not_judged"]
    assert all("rail" in row["near_not_said"] for row in rows[:4])
    assert any(line.startswith("Not said of 4 of 4") for line in made.lines)
    assert [bool(row["guessed"]) for row in rows].count(True) == 1
    with Image.open(tmp_path / "day.png") as sheet:
        assert sheet.width > 4 * 240


def test_the_json_table_is_the_record(
    found: Gathered, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same as --json prints, whoever finishes first."""
    alone = judge_many(found, JudgeWishes(), table=tmp_path / "a.json", progress=silent)
    monkeypatch.setattr("render.jobs.many.batch.crew_of", lambda *_: Backwards())
    shared = judge_many(found, JudgeWishes(), table=tmp_path / "b.json", progress=silent)

    table = json.loads((tmp_path / "a.json").read_text(), parse_constant=pytest.fail)
    assert table["format"] == 2
    assert [each["rank"] for each in table["pictures"]] == [1, 2, 3, 4]
    assert (tmp_path / "a.json").read_bytes() == (tmp_path / "b.json").read_bytes()
    assert alone.lines[:-1] == shared.lines[:-1]
    assert alone.refused == shared.refused


def test_many_pictures_have_pages(found: Gathered, tmp_path: Path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    """A PDF holds any number; one picture of more than 48 is refused before anything is judged."""
    monkeypatch.setattr("render.jobs.many.verdicts._ON_A_PAGE", 3)
    judge_many(found, JudgeWishes(), contact_sheet=tmp_path / "day.pdf", progress=silent)
    pages = PdfReader(tmp_path / "day.pdf").pages

    assert len(pages) == 2
    assert "1 to 3 of 4" in pages[0].extract_text()
    assert "Not judged" in pages[1].extract_text()
    monkeypatch.setattr("render.jobs.many.verdicts.MOST_CELLS", 3)
    with pytest.raises(HingelineError, match=r"too many for one sheet: give a name that ends"):
        judge_many(found, JudgeWishes(), contact_sheet=tmp_path / "day.jpg", progress=silent)


@pytest.mark.parametrize(
    ("wishes", "places", "sentence"),
    [
        (JudgeWishes(rendered="a.jpg"), {}, "--rendered is of one shot"),
        (JudgeWishes(), {"table": Path("day.xlsx")}, "written as .csv or .json"),
        (JudgeWishes(), {"contact_sheet": Path("day.gif")}, "the contact sheet is written as"),
        (JudgeWishes(), {"table": Path("no/day.csv")}, "does not exist"),
    ],
)
def test_what_cannot_be_is_refused_before_anything_is_judged(
    found: Gathered, wishes: JudgeWishes, places: dict[str, Path], sentence: str
) -> None:
    """In one sentence."""
    with pytest.raises(HingelineError, match=sentence):
        judge_many(found, wishes, progress=silent, **places)  # type: ignore[arg-type]


def test_each_may_be_outlined_and_saved(found: Gathered, tmp_path: Path) -> None:
    """Telltales and shots under the name of each."""
    made = judge_many(
        found, JudgeWishes(), str(tmp_path / "seen"), show=True, save_shot=tmp_path / "shots",
        progress=silent,
    )  # fmt: skip

    assert len(made.files) == 8
    assert {path.name for path in (tmp_path / "seen").iterdir()} >= {"tower_telltales.png"}
    assert shot_of(str(tmp_path / "shots" / "tower.toml")).lens.f_number == 2.8

"""Many photographs: each as alone, whoever does it, however often it is stopped."""

from pathlib import Path

import pytest

from render.errors import HingelineError, OutputError
from render.files.shots import shot_of
from render.jobs.many import renders
from render.jobs.many.gathering import Gathered, gathered
from render.jobs.many.renders import render_many
from render.jobs.render import render
from render.load.progress import silent
from render.shot.shot import Shot, merged
from render.shot.wishes import CrewWishes
from tests.jobs.many.day import ASKED, scouting_day
from tests.pieces import Backwards

WORDS = {name.removeprefix("--"): text for name, text in zip(ASKED[::2], ASKED[1::2], strict=True)}


def _over(shot: Shot) -> Shot:
    return merged(shot, dict(WORDS), "{name}")


@pytest.fixture
def found(tmp_path: Path) -> Gathered:
    return gathered([str(scouting_day(tmp_path / "day"))], finish=_over)


def _contents(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if not p.name.startswith(".")}


def test_each_is_as_it_is_alone(found: Gathered, tmp_path: Path) -> None:
    """Bytes and names; the broken one is named at the end; a second time nothing is to be done."""
    before = _contents(tmp_path / "day")

    made = render_many(found, str(tmp_path / "out"), progress=silent)
    again = render_many(found, str(tmp_path / "out"), progress=silent)

    alone = tmp_path / "alone.jpg"
    render(_over(shot_of(str(tmp_path / "day" / "tower.jpg"))), alone, progress=silent)
    results = _contents(tmp_path / "out")
    assert {*results} == {
        *("roof_jpg_tilted.jpg", "roof_png_tilted.png", "tower_tilted.jpg", "広場_tilted.jpg")
    }
    assert results["tower_tilted.jpg"] == alone.read_bytes()
    assert (made.code, again.code) == (3, 3)
    assert len(made.refused) == 1
    assert "bad.jpg is not a picture" in made.refused[0]
    assert sum("(what took it is guessed)" in line for line in made.lines) == 1
    assert again.lines[0] == "4 of 5 were there already, from the same settings"
    assert _contents(tmp_path / "day") == before


def test_others_give_the_same_bytes(
    found: Gathered, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Workers who know nothing but what was sent to them, in whatever order they finish."""
    alone = render_many(found, str(tmp_path / "one"), show=True, progress=silent)
    monkeypatch.setattr("render.jobs.many.batch.crew_of", lambda *_: Backwards())
    crew = CrewWishes(scheduler="tcp://a:1")
    shared = render_many(found, str(tmp_path / "two"), show=True, crew=crew, progress=silent)

    assert len(_contents(tmp_path / "one")) == 16
    assert _contents(tmp_path / "two") == _contents(tmp_path / "one")
    assert [line.replace("/two/", "/one/") for line in shared.lines] == [*alone.lines]
    assert shared.refused == alone.refused


def test_stopped_it_goes_on_with_what_is_left(
    found: Gathered, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was finished is not made again; other settings are refused unless told to replace."""
    names: list[str] = []

    def _stopped(shot: Shot, out: Path, **rest: object) -> object:
        names.append(out.name)
        if len(names) == 3:
            raise KeyboardInterrupt
        return render(shot, out, **rest)  # type: ignore[arg-type]

    monkeypatch.setattr(renders, "render", _stopped)
    with pytest.raises(KeyboardInterrupt):
        render_many(found, str(tmp_path / "out"), progress=silent)
    first = names[:]
    names += [""]
    made = render_many(found, str(tmp_path / "out"), progress=silent)

    assert len(first) == 3
    assert "1 of 5 were there already, from the same settings" in made.lines
    assert "Done: 4 of 5 pictures" in made.lines
    others = gathered(
        [str(tmp_path / "day")], finish=lambda s: merged(_over(s), {"f": "8"}, "{name}")
    )
    with pytest.raises(OutputError, match=r"and 3 more are there already, from other settings"):
        render_many(others, str(tmp_path / "out"), progress=silent)
    kept = _contents(tmp_path / "out")
    assert render_many(others, str(tmp_path / "out"), overwrite=True, progress=silent).code == 3
    assert all(kept[name] != content for name, content in _contents(tmp_path / "out").items())


def test_an_input_is_never_replaced(tmp_path: Path) -> None:
    """Not one picture by the photograph of another, whatever was told."""
    day = scouting_day(tmp_path / "day")
    (day / "to.jpg").write_bytes((day / "tower.jpg").read_bytes())
    before, found = _contents(day), gathered([str(day)], finish=_over)

    with pytest.raises(OutputError, match=r"tower.jpg is a file that was read"):
        render_many(found, f"{day}/*wer.jpg", overwrite=True, progress=silent)
    assert _contents(day) == before


def test_what_holds_for_none_is_said_once(tmp_path: Path) -> None:
    """Where no height is known nothing is made, and one sentence says so."""
    day = scouting_day(tmp_path / "day")
    (day / "bad.jpg").unlink()

    made = render_many(gathered([str(day)]), str(tmp_path / "out"), progress=silent)

    assert made.code == 2
    assert len(made.refused) == 1
    assert "tower.jpg" in made.refused[0]
    assert "all 4 alike: roof.jpg has no depth" in made.refused[0]
    assert made.lines[-1] == "Done: 0 of 4 pictures"


def test_each_shot_is_saved_beside_the_others(found: Gathered, tmp_path: Path) -> None:
    """A folder of shot files, each of which makes its photograph again."""
    shots = tmp_path / "shots"
    render_many(found, str(tmp_path / "out"), save_shot=shots, progress=silent)
    again = gathered([str(shots)])
    render_many(again, str(tmp_path / "again"), progress=silent)

    assert {path.name for path in shots.iterdir()} == {
        *("roof_jpg.toml", "roof_png.toml", "tower.toml", "広場.toml")
    }
    assert _contents(tmp_path / "again") == _contents(tmp_path / "out")


def test_a_place_that_refuses_ends_it_before_any_work(found: Gathered, tmp_path: Path) -> None:
    """A folder in a folder that is missing, and a name for one."""
    for out in ("no/where", "one.jpg"):
        with pytest.raises(HingelineError, match=r"does not exist|keeps its name"):
            render_many(found, str(tmp_path / out), progress=silent)

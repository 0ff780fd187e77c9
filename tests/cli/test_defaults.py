"""`hingeline defaults`, and what every other command makes of them."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.files.shots import read_shot
from tests.cli.run import hingeline

GIVEN = ("--view", "60", "--height", "12", "--pitch", "down 20")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a small picture; the defaults lie in it, and none are set."""
    monkeypatch.delenv("HINGELINE_DEFAULTS")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    monkeypatch.setattr("sys.platform", "linux")
    ramp = np.linspace(20, 220, 120, dtype=np.uint8)
    Image.fromarray(np.broadcast_to(ramp, (80, 120))).save(tmp_path / "roof.png")
    return tmp_path


def test_they_are_set_shown_and_cleared(here: Path) -> None:
    """Where the file lies is said each time."""
    nothing = hingeline("defaults", cwd=here)
    made = hingeline("defaults", "set", "--lens-file", "long 90", "--by", "Mara", cwd=here)
    shown = json.loads(hingeline("defaults", "--json", cwd=here).stdout)
    cleared = hingeline("defaults", "clear", "--lens-file", cwd=here)

    assert "nothing yet" in nothing.stdout
    assert str(here / "settings" / "hingeline" / "defaults.toml") in made.stdout
    assert shown["defaults"] == {"lens-file": "long 90", "by": "Mara"}
    assert "lens-file" not in cleared.stdout
    assert "Mara" in cleared.stdout
    assert "Mara" not in hingeline("defaults", "clear", "--all", cwd=here).stdout


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("set",), "nothing to set"),
        (("set", "--lens", "far"), "--lens"),
        (("clear",), "which defaults"),
        (("clear", "lens"), '"lens" is no default of yours: you have none'),
    ],
)
def test_what_cannot_be_done_is_said(here: Path, arguments: tuple[str, ...], sentence: str) -> None:
    """In one sentence, and nothing is written."""
    done = hingeline("defaults", *arguments, cwd=here)

    assert done.returncode == 2
    assert sentence in done.stderr
    assert not (here / "settings").exists()


def test_every_answer_says_what_came_from_them(here: Path) -> None:
    """In words and for programs; an option wins, and --no-defaults goes without, anywhere."""
    hingeline("defaults", "set", "--lens", "50", "--coc", "0.04 mm", cwd=here)
    ask = ("judge", "roof.png", *GIVEN, "--json")
    own, typed, without = (
        json.loads(hingeline(*ask, *more, cwd=here).stdout)
        for more in ((), ("--lens", "60"), ("--no-defaults",))
    )

    assert own["setting"]["from_defaults"] == {"lens": "50", "coc": "0.04 mm"}
    assert (own["setting"]["focal_mm"], own["setting"]["coc_mm"]) == (50, 0.04)
    assert "from your defaults: --lens 50, --coc 0.04 mm" in own["notes"]
    assert typed["setting"]["from_defaults"] == {"coc": "0.04 mm"}
    assert typed["setting"]["focal_mm"] == 60
    assert without["setting"]["from_defaults"] == {}
    assert without["setting"]["coc_mm"] == pytest.approx(0.0288, abs=1e-4)
    solved = hingeline("solve", "--height", "1.6", "--ground", "4 m to 60 m", cwd=here)
    assert "from your defaults: --lens 50, --coc 0.04 mm" in solved.stdout
    assert "sharp means blur up to 40 µm" in solved.stdout


def test_a_shot_that_is_saved_holds_them_and_no_readers_own(here: Path) -> None:
    """The same shot is the same photograph on a machine with other defaults."""
    hingeline("defaults", "set", "--lens", "50", cwd=here)
    hingeline("judge", "roof.png", *GIVEN, "--save-shot", "roof.toml", cwd=here)
    hingeline("defaults", "set", "--lens", "80", "--format", "44x33", cwd=here)
    again = json.loads(hingeline("judge", "roof.toml", "--json", cwd=here).stdout)

    assert read_shot(here / "roof.toml").lens.focal_mm == 50
    assert again["setting"]["focal_mm"] == 50
    assert again["setting"]["from_defaults"] == {}
    assert "defaults = false" in (here / "roof.toml").read_text(encoding="utf-8")


def test_a_shot_file_written_by_hand_wins_over_them(here: Path) -> None:
    """What it leaves open is the reader's own."""
    hingeline("defaults", "set", "--lens", "50", "--coc", "0.04 mm", cwd=here)
    (here / "mine.toml").write_text(
        'format = 1\npicture = "roof.png"\nview = 60\nheight = 12\npitch = 20\nlens = 70\n',
        encoding="utf-8",
    )
    found = json.loads(hingeline("judge", "mine.toml", "--json", cwd=here).stdout)["setting"]

    assert (found["focal_mm"], found["coc_mm"]) == (70, 0.04)


def test_a_refusal_says_that_defaults_may_be_behind_it(here: Path) -> None:
    """A lens that nobody typed cannot be found in the command line."""
    hingeline("defaults", "set", "--lens", "12", cwd=here)
    refused = hingeline("judge", "roof.png", *GIVEN, cwd=here)
    elsewhere = hingeline("judge", "nowhere.png", *GIVEN, cwd=here)
    behind = ("solve", *GIVEN[2:], "--lens", "90", "--sharp", "pond=-90 m, 0 m")
    hingeline("defaults", "set", "--coc", "0.03 mm", cwd=here)
    unrelated = hingeline(*behind, cwd=here)
    hingeline("defaults", "set", "--paper", "letter", cwd=here)
    joined = hingeline("board", "roof.png", *GIVEN, "--title", "م", cwd=here)

    assert refused.returncode == 2
    assert "(from your defaults: --lens 12; --no-defaults goes without)" in refused.stderr
    assert "defaults" not in elsewhere.stderr
    assert "behind the camera" in unrelated.stderr
    assert "defaults" not in unrelated.stderr
    assert "whose letters join" in joined.stderr
    assert "defaults" not in joined.stderr


def test_a_broken_file_stops_a_command_with_its_name(here: Path) -> None:
    """And --no-defaults goes on without it."""
    place = here / "settings" / "hingeline" / "defaults.toml"
    place.parent.mkdir(parents=True)
    place.write_text("lens = far away\n", encoding="utf-8")
    refused = hingeline("judge", "roof.png", *GIVEN, cwd=here)

    assert refused.returncode == 2
    assert str(place) in refused.stderr
    assert "Traceback" not in refused.stderr
    assert hingeline("--no-defaults", "judge", "roof.png", *GIVEN, cwd=here).returncode == 0


GROUND = ("--ground", "30 ft to 90 ft")
METRIC = re.compile(r"\d\s?(m|km|cm|km/h)\b")


@pytest.mark.parametrize(
    "command",
    [
        ("judge", "roof.png", *GIVEN),
        ("card", "roof.png", *GIVEN, "--weather", "sun", "--interval", "1 s"),
        ("section", "roof.png", *GIVEN, "-o", "s.svg"),
        ("board", "roof.png", *GIVEN, "-o", "b.pdf"),
        ("solve", "--view", "40", "--height", "12", "--pitch", "20", "--lens", "90", *GROUND),
        ("scenes", "show", "bench"),
    ],
)
def test_lengths_are_told_in_feet_where_one_wants_them(here: Path, command: tuple[str]) -> None:
    """On every command, and on what it draws, not one length on site is left in metres."""
    hingeline("defaults", "set", "--units", "feet", cwd=here)
    done = hingeline(*command, cwd=here)
    drawn = (here / "s.svg").read_text() if "s.svg" in command else ""

    assert done.returncode == 0, done.stderr
    assert not METRIC.search(done.stdout), done.stdout
    assert re.search(r"\d ft\b", done.stdout + drawn)
    assert not METRIC.search(re.sub(r"<[^>]*>", "", drawn))


def test_numbers_for_programs_stay_metric(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same record in any units, but for its sentences; the environment may say them."""
    wish = ("judge", "roof.png", *GIVEN, "--json")

    def numbers(value: object) -> list[object]:
        if isinstance(value, dict):
            return [x for each in value.values() for x in numbers(each)]
        return [x for y in value for x in numbers(y)] if isinstance(value, list) else [value]

    metric = numbers(json.loads(hingeline(*wish, cwd=here).stdout))
    monkeypatch.setenv("HINGELINE_UNITS", "feet")
    imperial = numbers(json.loads(hingeline(*wish, cwd=here).stdout))
    monkeypatch.setenv("HINGELINE_UNITS", "leagues")
    refused = hingeline(*wish, cwd=here)

    assert [x for x in metric if not isinstance(x, str)] == [
        x for x in imperial if not isinstance(x, str)
    ]
    assert metric != imperial
    assert refused.returncode == 2
    assert 'HINGELINE_UNITS in the environment: units "leagues": write metres or feet' in (
        refused.stderr
    )

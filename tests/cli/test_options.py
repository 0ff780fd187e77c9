"""The options every command shares come from the shot's one declaration."""

import json
import math
import sys
from importlib import import_module
from pathlib import Path
from typing import Annotated

import pytest
import typer
from typer.testing import CliRunner

from render.cli.options import say, takes_shot
from render.errors import HingelineError
from render.jobs.made import made
from render.shot.shot import Shot, shot_keys

seen: list[tuple[Shot, bool]] = []
app = typer.Typer()


@app.command()
@takes_shot
def look(shot: Shot, loud: Annotated[bool, typer.Option("--loud")] = False) -> None:
    """Keep what was understood."""
    seen.append((shot, loud))


def _app(name: str) -> typer.Typer:
    alone = typer.Typer()
    alone.command()(getattr(import_module(f"render.cli.{name}"), name))
    return alone


def _look(*arguments: str) -> Shot:
    seen.clear()
    result = CliRunner().invoke(app, list(arguments), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return seen[0][0]


def test_every_value_of_a_shot_is_an_option() -> None:
    """The help names each of them."""
    text = CliRunner().invoke(app, ["--help"], env={"COLUMNS": "200"}).output

    assert [key.option for key in shot_keys().values() if key.option not in text] == []


def test_options_become_a_shot() -> None:
    """Words are read, the picture is known by its ending, and the command's own options stay."""
    shot = _look("roof.jpg", "--tilt", "up 8", "--f", "2.8", "--portrait", "--loud")

    assert (shot.picture, shot.scene) == ("roof.jpg", None)
    assert (shot.lens.tilt_deg, shot.lens.f_number, shot.camera.portrait) == (-8, 2.8, True)
    assert seen[0][1] is True


def test_a_bare_name_is_a_demo_scene() -> None:
    """No ending and no folder: one of the shipped scenes."""
    assert _look("market").scene == "market"


def test_options_lie_over_a_shot_file(tmp_path: Path) -> None:
    """What is typed wins over what the file says."""
    path = tmp_path / "plan.toml"
    path.write_text('format = 1\nscene = "market"\nf = 2.8\ntilt = "up 8"\n')

    shot = _look(str(path), "--f", "8")

    assert (shot.scene, shot.lens.f_number, shot.lens.tilt_deg) == ("market", 8, -8)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["market", "--tilt", "95 sideways"], "--tilt: "),
        (["market", "--f", "0"], "--f: .*above 0"),
        (["folder/none.xyz"], "folder/none.xyz is not there"),
    ],
)
def test_a_wrong_option_is_named(arguments: list[str], sentence: str) -> None:
    """The sentence begins with the option."""
    with pytest.raises(HingelineError, match=sentence):
        CliRunner().invoke(app, arguments, catch_exceptions=False)


def test_json_is_strict_and_says_its_form(capsys: pytest.CaptureFixture[str]) -> None:
    """Endless and unknown numbers are null, wherever they stand; the first key is the format."""
    say(made([], [], {"a": math.inf, "b": [{"c": math.nan}, (1.5, -math.inf)], "d": "inf"}), True)
    said = capsys.readouterr().out

    assert json.loads(said, parse_constant=pytest.fail) == {
        "format": 2,
        "a": None,
        "b": [{"c": None}, [1.5, None]],
        "d": "inf",
    }
    assert said.startswith('{\n "format": 2')


def test_quiet_says_nothing_but_json(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a program asked for is printed all the same."""
    monkeypatch.setattr(sys, "argv", ["hingeline", "--quiet", "judge"])
    say(made([], ["a line"], {"a": 1}), False)
    assert capsys.readouterr().out == ""

    say(made([], ["a line"], {"a": 1}), True)
    assert json.loads(capsys.readouterr().out)["a"] == 1


def test_what_is_usual_is_shown_as_it_would_be_written() -> None:
    """Numbers without a needless point, and nothing where nothing is usual."""
    board = CliRunner().invoke(_app("board"), ["--help"], env={"COLUMNS": "200"}).output
    card = CliRunner().invoke(_app("card"), ["--help"], env={"COLUMNS": "200"}).output

    assert "[default: a4]" in board
    assert "[default: 25]" in card
    assert "[default: ]" not in board + card

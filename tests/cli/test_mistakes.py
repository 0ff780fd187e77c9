"""Every misuse of the command line is answered in one sentence."""

import sys
from collections import defaultdict
from pathlib import Path
from typing import Any

import pytest

from render.cli.door import main
from render.cli.main import COMMANDS, load_command


def _answer(arguments: list[str], monkeypatch: Any, capsys: Any) -> str:
    """What `hingeline` with these arguments says; it must end with code 2 and one line."""
    monkeypatch.setattr(sys, "argv", ["hingeline", *arguments])
    with pytest.raises(SystemExit) as stopped:
        main()
    said = capsys.readouterr()
    assert stopped.value.code == 2
    assert said.out == ""
    assert said.err.count("\n") == 1
    return str(said.err)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["judgee"], 'there is no command "judgee": did you mean judge?'),
        (["roof.jpg"], '"roof.jpg" is no command: a command comes first, such as hingeline render'),
        (["scenes", "shwo"], 'there is no command "scenes shwo": did you mean show?'),
        (["scenes", "paint"], 'scenes has no command "paint": there are show, words, gallery'),
        (["--f", "2.8"], "--f comes after the command and what it works on: hingeline render ..."),
        (["--json", "judge", "market"], "and what it works on: hingeline judge ... --json ..."),
        (["--zzz", "judge", "market"], "judge has no option --zzz: hingeline judge --help lists"),
        (["market"], '"market" is no command: a command comes first, such as hingeline render mar'),
        (["render"], "render needs something to work on: a picture, the name of a demo scene"),
        (["render", "market", "--tiltt", "up 8"], "no option --tiltt: did you mean --tilt?"),
        (["render", "market", "--weather", "sun"], "render has no option --weather; card has it"),
        (["card", "market", "--zzz"], "no option --zzz: hingeline card --help lists them all"),
        (["render", "market", "--f"], "--f needs a value after it: f-number, any"),
        (["render", "market", "--show=yes"], "--show takes no value: write --show alone"),
        (["render", "market", "--tilt", "up", "8"], '"8" is one word too many after render'),
        (["judge", "market", "--lens-file", "long", "90"], 'quotes, such as --lens-file "long 90"'),
        (["card", "market", "--shot", "a", "b"], '"b" is one word too many after card: a value'),
        (["compare", "a.jpg", "b.jpg"], "compare works on one thing at a time: leave b.jpg out"),
        (["compare", "*.jpg"], "*.jpg stands for many: render and judge take them, and film"),
        (
            ["judge", "market", "--units", "feet"],
            "said once for all: hingeline defaults set --units",
        ),
        (["judge", "market", "--tilt", "‘up x’"], '--tilt: tilt "up x" is not understood'),
        (["judge", ""], "judge was given an empty name: name what to work on"),
        (["judge", "market", "--shot", ""], "--shot is empty: give a value, or leave it out"),
        (["defaults", "unset", "lens"], 'defaults has no command "unset": it is called clear'),
        (["render", "market", "--lens", "sharpy"], "; a lens by its name is --lens-file"),
        (["render", "market", "-o", ""], "-o is empty: give a value, or leave it out"),
        (["judge", "market", "--show", "--out="], "--out is empty: give a value, or leave it out"),
        (["scenes", "list"], 'scenes has no command "list": hingeline scenes alone lists them'),
        (["render", "market", "--f", ""], "--f is empty: give a value, or leave it out"),
        (["judge", "market", "--f", "4", "--f=5.6"], "--f: given 2 times, and only one can hold"),
        (["card", "market", "--iso", "abc"], '--iso: "abc": write a number, such as 100'),
        (["card", "market", "--iso=abc"], '--iso: "abc": write a number, such as 100'),
        (["page", "market", "--port", "1"], '--port "1" is not at least 1024: port'),
        (["compare", "market", "--cell", "1.5"], '--cell "1.5" is not a whole number: longer'),
    ],
)
def test_a_misuse_is_answered_with_what_to_do(
    arguments: list[str],
    sentence: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """What, where, and what to do, in one line, with code 2."""
    assert sentence in _answer(arguments, monkeypatch, capsys)


def test_a_name_that_the_shell_took_apart_is_put_together(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file of that name with its spaces is there: it goes into quotes."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "my photos").mkdir()
    (tmp_path / "my photos" / "the roof 6.jpg").touch()

    for command in (["judge"], ["card", "--weather", "sun"]):
        typed = [*command, *["my", "photos/the", "roof", "6.jpg", "--show"]]
        sentence = '"my photos/the roof 6.jpg" is one name with spaces: put it into quotes'
        assert sentence in _answer(typed, monkeypatch, capsys)


#: Options that several commands have for the file each of them writes, each in its own words.
_OWN_WORDS = {"--out", "-o", "--json", "--overwrite", "--save-shot", "--show", "--title"}
_OWN_WORDS |= {"--lens-file", "--width"}


def test_an_option_means_one_thing_in_the_whole_program() -> None:
    """Options of the same name say the same of themselves in every command that has them."""
    said: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for name in COMMANDS:
        command = load_command(name)
        for part in getattr(command, "commands", {"": command}).values():
            for parameter in part.params:
                for option in parameter.opts:
                    if option.startswith("-"):
                        said[option][str(getattr(parameter, "help", ""))].append(name)
    clashes = {option: dict(words) for option, words in said.items() if len(words) > 1}
    assert set(clashes) <= _OWN_WORDS, clashes

"""The command as a whole."""

import platform
import re
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import pytest

from render.cli.main import COMMANDS, load_command
from render.version import __version__
from tests.cli.run import hingeline


def _run(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "render", *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)


def test_help_names_the_commands() -> None:
    """Plain words and an example."""
    done = _run("--help")

    assert done.returncode == 0
    assert "render" in done.stdout
    assert "Example" in done.stdout


def test_the_version_names_what_a_report_needs() -> None:
    """Program, Python, system and the libraries that do the work; nothing else is loaded."""
    done = _run("--version")

    assert done.returncode == 0
    first, system, libraries = done.stdout.splitlines()
    assert first == f"hingeline {__version__}"
    assert platform.python_version() in system
    for library in ("numpy", "numba", "pillow"):
        assert f"{library} {version(library)}" in libraries


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself_with_an_example(name: str) -> None:
    """Its own help begins with the line in the list, and holds an example."""
    text = hingeline(name, "--help", cwd=Path.cwd()).stdout

    assert COMMANDS[name] in " ".join(text.split())
    assert "Example" in text


def test_an_unknown_command_is_refused() -> None:
    """Exit code 2 and the word itself."""
    done = _run("conjure")

    assert done.returncode == 2
    assert "conjure" in done.stderr


@pytest.mark.parametrize("name", COMMANDS)
def test_no_option_is_there_twice(name: str) -> None:
    """Options of a command's own never carry the name of one that every command shares."""
    command = load_command(name)
    for each in getattr(command, "commands", {"": command}).values():
        options = [option for parameter in each.params for option in parameter.opts]
        assert sorted(options) == sorted(set(options))


def test_the_readme_s_commands_have_the_options_they_show() -> None:
    """In blocks and in sentences: every option behind a command's name is one of its own."""
    text = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    shown = re.findall(r"(?:^|[`/ ])hingeline ([a-z]+)([^`\n]*)", text, re.MULTILINE)
    unknown = []
    for name, rest in shown:
        if name not in COMMANDS or " --" not in rest:
            continue
        command = load_command(name)
        parts = [command, *getattr(command, "commands", {}).values()]
        known = {option for part in parts for each in part.params for option in each.opts}
        unknown += [f"{name} {o}" for o in re.findall(r" (--[a-z0-9-]+)", rest) if o not in known]

    assert len(shown) > 30
    assert set(unknown) <= {"render --help", "page --help"}


def test_commands_are_quoted_for_every_shell() -> None:
    """In README and help values stand in double quotes: cmd.exe knows no others."""
    root = Path(__file__).parents[2]
    shown = [root / "README.md", *sorted((root / "render").rglob("*.py"))]
    quoted = r"(--[a-z0-9-]+|-o|pip install) \\?'[^'\n]*'"
    single = [
        f"{path.name}: {found[0]}"
        for path in shown
        for found in re.finditer(quoted, path.read_text("utf-8"))
    ]

    assert single == []


@pytest.mark.parametrize(("typed", "offered"), [("ju", "judge"), ("judge --ti", "--tilt")])
def test_shells_complete_commands_and_options(
    typed: str, offered: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the completion that --install-completion sets up asks is answered."""
    monkeypatch.setenv("_HINGELINE_COMPLETE", "complete_bash")
    monkeypatch.setenv("COMP_WORDS", f"hingeline {typed}")
    monkeypatch.setenv("COMP_CWORD", str(len(typed.split())))

    assert offered in hingeline(cwd=tmp_path).stdout.split()


def test_words_are_taken_as_typer_reads_them() -> None:
    """Given or not, once or often: every option's value is what typer's own reading makes of it."""
    pytest.importorskip("typer._coercion", reason="older typer reads options by itself")
    command = load_command("judge")
    with command.make_context("judge", ["roof.jpg", "--thing", "a", "--thing", "b"]) as context:
        options = command.get_params(context)
        read = [option for option in options if hasattr(option, "get_runtime_param")]
        for option in read:
            ours = option.get_runtime_param()
            many = option.multiple or option.nargs == -1
            for value in (None, ["a", "b"] if many else "1"):
                usual = ours._usual().coerce(value, param=option, ctx=context)
                assert ours.coerce(value, param=option, ctx=context) == usual, option.name

    assert len(read) > 50
    assert {type(context.params[name]) for name in ("source", "depth_things")} == {list, list}

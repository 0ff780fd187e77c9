"""The command as a whole."""

import subprocess
import sys


def _run(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "render.cli.main", *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)


def test_help_names_the_commands() -> None:
    """Plain words and an example."""
    done = _run("--help")

    assert done.returncode == 0
    assert "render" in done.stdout
    assert "Example" in done.stdout


def test_every_command_has_its_help_with_an_example() -> None:
    """Each command that is listed explains itself."""
    from render.cli.main import app

    names = [command.name or command.callback.__name__ for command in app.registered_commands]
    lacking = [name for name in names if "Example" not in _run(name, "--help").stdout]

    assert names
    assert lacking == []


def test_an_unknown_command_is_refused() -> None:
    """Exit code 2 and the word itself."""
    done = _run("conjure")

    assert done.returncode == 2
    assert "conjure" in done.stderr

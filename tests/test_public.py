"""What `import render` promises."""

import subprocess
import sys

import hingeline
import pytest

import render


@pytest.mark.parametrize("name", render.__all__)
def test_every_promised_name_is_there(name: str) -> None:
    """Each loads from where it lives, and carries a docstring."""
    assert getattr(render, name).__doc__


def test_an_unknown_name_is_an_attribute_error() -> None:
    """As for any module."""
    with pytest.raises(AttributeError, match="nothing_such"):
        render.nothing_such  # noqa: B018


def test_importing_the_package_loads_nothing_heavy() -> None:
    """Numbers and compiler come with the first name that needs them."""
    script = "import sys, render; sys.exit(bool({'numpy', 'numba', 'scipy'} & set(sys.modules)))"

    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0


@pytest.mark.parametrize("name", render.__all__)
def test_the_package_is_also_there_under_the_projects_name(name: str) -> None:
    """`import hingeline` gives the same objects."""
    assert getattr(hingeline, name) is getattr(render, name)


@pytest.mark.parametrize("module", ["render", "hingeline"])
def test_each_package_runs_as_the_command(module: str) -> None:
    """`python -m` says the same as the command itself."""
    done = subprocess.run(
        [sys.executable, "-m", module, "--help"], capture_output=True, text=True, check=False
    )

    assert done.returncode == 0
    assert "Usage: hingeline" in done.stdout

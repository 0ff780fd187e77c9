"""What `import render` promises."""

import subprocess
import sys

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

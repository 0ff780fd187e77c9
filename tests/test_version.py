"""The version stands in one place, and the build reads it there."""

from importlib.metadata import version

import render
from render.version import __version__


def test_what_is_installed_says_the_same_version() -> None:
    """The distribution's own record, the package and the module agree."""
    assert version("hingeline") == render.__version__ == __version__

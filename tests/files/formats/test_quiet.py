"""Libraries' own noise."""

import os

import pytest

from render.files.formats.quiet import libraries_silenced


def test_what_c_prints_goes_nowhere(capfd: pytest.CaptureFixture[str]) -> None:
    """Below Python's own streams too, on both of them, and only while it lasts."""
    with libraries_silenced():
        os.write(1, b"noise")
        os.write(2, b"noise")
    os.write(1, b"heard")

    assert capfd.readouterr() == ("heard", "")

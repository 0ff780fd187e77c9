"""The examples in the docstrings of the optics hold."""

import doctest
import importlib
import pkgutil

import pytest

import render.optics

MODULES = [
    module.name for module in pkgutil.walk_packages(render.optics.__path__, "render.optics.")
]


@pytest.mark.parametrize("name", MODULES)
def test_examples_hold(name: str) -> None:
    """Every example of the module gives what it says."""
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples() -> None:
    """Hinge, circle of confusion, hyperfocal and solving are shown by example."""
    finder = doctest.DocTestFinder(exclude_empty=True)
    shown = {
        name
        for name in MODULES
        for found in finder.find(importlib.import_module(name))
        if found.examples
    }

    ends = {name.rsplit(".", 1)[1] for name in shown}
    assert ends >= {"plane", "depth_of_field", "exposure", "solve"}

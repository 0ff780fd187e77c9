"""The examples in the docstrings of the optics hold."""

import doctest
import importlib
import pkgutil

import pytest

import render.optics

MODULES = [module.name for module in pkgutil.iter_modules(render.optics.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples_hold(name: str) -> None:
    """Every example of the module gives what it says."""
    assert doctest.testmod(importlib.import_module(f"render.optics.{name}")).failed == 0


def test_there_are_examples() -> None:
    """Hinge, circle of confusion, hyperfocal and solving are shown by example."""
    finder = doctest.DocTestFinder(exclude_empty=True)
    shown = {
        name
        for name in MODULES
        for found in finder.find(importlib.import_module(f"render.optics.{name}"))
        if found.examples
    }

    assert shown >= {"plane", "depth_of_field", "exposure", "solve"}

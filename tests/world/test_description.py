"""A scene's words, frozen."""

import dataclasses

import pytest

from render.world.scenefile import read_description


def test_a_description_cannot_be_changed() -> None:
    """Whoever wants another scene makes another one."""
    scene = read_description("small.toml", {"line": "A small scene."})

    with pytest.raises(dataclasses.FrozenInstanceError):
        scene.line = "Another."  # type: ignore[misc]
    assert dataclasses.replace(scene, line="Another.").line == "Another."

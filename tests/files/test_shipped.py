"""Shipped scenes are found by name."""

from pathlib import Path

import pytest

from render.errors import InputError
from render.files.shipped import (
    is_scene_file,
    read_scene_table,
    shipped_maps,
    shipped_names,
    shipped_text,
)


def test_names_and_texts_agree() -> None:
    """Every name has a text that is a scene with a line of its own."""
    assert "market" in shipped_names()
    lines = {read_scene_table(name)[1]["line"] for name in shipped_names()}
    assert len(lines) == len(shipped_names())
    assert shipped_text("market").startswith("line")


def test_the_map_that_comes_along_is_found_by_its_name() -> None:
    """It lies as a file, and is no name of a scene."""
    assert shipped_maps()["quillby"].is_file()
    assert "quillby" not in shipped_names()


def test_an_unknown_name_lists_the_known_ones() -> None:
    """So does a file that is not there."""
    with pytest.raises(InputError, match=r"scenes: .*market.*maps: quillby"):
        read_scene_table("moon")
    with pytest.raises(InputError, match="is not there"):
        read_scene_table("nowhere/moon.toml")


def test_scene_files_are_told_from_shots(tmp_path: Path) -> None:
    """By their things or their ground; what is not TOML is neither."""
    scene, shot, bad = (tmp_path / name for name in ("scene.toml", "shot.toml", "bad.toml"))
    scene.write_text('line = "x"\n[[things]]\nkind = "box"\n')
    shot.write_text('format = 1\nscene = "market"\n')
    bad.write_text("= =")

    assert [is_scene_file(p) for p in (scene, shot, bad, tmp_path / "none.toml")] == [
        *(True, False, False, False)
    ]
    with pytest.raises(InputError, match="not a readable TOML"):
        read_scene_table(str(bad))

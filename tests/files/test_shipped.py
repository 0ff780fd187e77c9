"""Demo scenes that come with the program."""

from pathlib import Path

import pytest

from render.errors import InputError
from render.files.shipped import is_scene_file, read_scene_table, shipped_names, shipped_text


def test_every_shipped_scene_reads_as_toml_with_its_line() -> None:
    """Lens files and packages are not among them."""
    assert "market" in shipped_names()
    for name in shipped_names():
        title, table = read_scene_table(name)
        assert title == f"{name}.toml"
        assert table["line"]


def test_a_file_of_ones_own_is_read_by_its_path(tmp_path: Path) -> None:
    """And known from a shot by what it holds."""
    scene, shot = tmp_path / "mine.toml", tmp_path / "shot.toml"
    scene.write_text('line = "Mine."\n[[things]]\nkind = "box"\n')
    shot.write_text('format = 1\nscene = "market"\n')

    assert read_scene_table(str(scene))[1]["line"] == "Mine."
    assert is_scene_file(scene)
    assert not is_scene_file(shot)


def test_what_is_not_there_is_answered_with_what_is(tmp_path: Path) -> None:
    """Names, paths and broken TOML each get their sentence."""
    broken = tmp_path / "broken.toml"
    broken.write_text("line = ")

    with pytest.raises(InputError, match=r'"atlantis" is neither a file nor a demo scene.*market'):
        shipped_text("atlantis")
    with pytest.raises(InputError, match="cannot be read"):
        read_scene_table(str(tmp_path / "none.toml"))
    with pytest.raises(InputError, match="not a readable TOML file"):
        read_scene_table(str(broken))

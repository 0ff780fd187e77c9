"""`hingeline scenes` as a person runs it."""

import subprocess
import sys


def _scenes(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "render.cli.main", "scenes", *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)


def test_scenes_are_listed_with_a_line_each() -> None:
    """Without a word more the list comes."""
    done = _scenes()

    assert done.returncode == 0
    assert "market  A market square" in done.stdout


def test_the_words_of_scene_files_are_printed() -> None:
    """All kinds, or the keys of one."""
    assert "house: " in _scenes("words").stdout
    assert "size_m" in _scenes("words", "box").stdout


def test_an_unknown_scene_or_kind_is_one_sentence() -> None:
    """With what is known, exit code 2."""
    for arguments, word in ((("show", "atlantis"), "market"), (("words", "castle"), "house")):
        done = _scenes(*arguments)
        assert done.returncode == 2
        assert word in done.stderr
        assert len(done.stderr.strip().splitlines()) == 1

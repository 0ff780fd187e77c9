"""The one door for files that are read."""

import os
from pathlib import Path

import pytest

from render.errors import InputError
from render.files.inputs import input_file, parsed_toml, read_toml
from render.limits import Limit


def test_only_plain_files_are_read(tmp_path: Path) -> None:
    """A pipe, a folder, a device, a missing file and impossible names: one sentence, no waiting."""
    os.mkfifo(tmp_path / "pipe.jpg")
    for name, words in (
        (tmp_path / "pipe.jpg", "pipe or a device"),
        (Path("/dev/zero"), "pipe or a device"),
        (tmp_path, "is a folder, not a picture"),
        (tmp_path / "none.jpg", "is not there: check the name of the picture"),
        (Path("a\0b.jpg"), "no name can hold"),
        (Path("x" * 5000 + ".jpg"), r"x{57,60}\.\.\. cannot be opened \(File name too long\)"),
    ):
        with pytest.raises(InputError, match=words):
            input_file(name, what="picture")


def test_sizes_are_limited(tmp_path: Path) -> None:
    """A file above its limit is refused with both numbers, before it is opened."""
    (tmp_path / "a.toml").write_bytes(b"#" * 1001)

    with pytest.raises(InputError, match=r"1,001 bytes, more than the 1,000 bytes taken here"):
        input_file(tmp_path / "a.toml", most=Limit(1000, "bytes"))


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "9" * 5000,
        "a = " + "[" * 20_000 + "]" * 20_000,
        "a = [{ b = 0x" + "f" * 5000 + " }]",
        "a = 2026-13-45",
        "a = {" * 5000,
    ],
)
def test_odd_toml_is_one_sentence(text: str, tmp_path: Path) -> None:
    """Endless numbers and brackets, and dates that are none."""
    with pytest.raises(InputError, match=r"x\.toml is not a readable TOML file"):
        parsed_toml(text, "x.toml")


def test_text_in_another_encoding(tmp_path: Path) -> None:
    """TOML is UTF-8."""
    (tmp_path / "a.toml").write_bytes(b'a = "\xff\xfe"')

    with pytest.raises(InputError, match="no text in UTF-8"):
        read_toml(tmp_path / "a.toml", "lens")


def test_names_of_endlessly_many_parts_are_refused_at_once() -> None:
    """The parser's work grows with their square; words with dots in a text are no name."""
    for name in (".".join(["a"] * 100_000), " . ".join(['"a"'] * 30), "['a'." + "b." * 20 + "c]"):
        with pytest.raises(InputError, match="more parts than any"):
            parsed_toml(f"{name} = 1", "a.toml")

    assert parsed_toml('a.b.c = "e. g. the 1. 2. 3. 4."', "a.toml")["a"]["b"]["c"].startswith("e.")

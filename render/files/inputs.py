"""The one door for files that are read: each is a plain file, of a size that can be, and noted.

What a run has read, none of its outputs may replace (`render.files.run`).
"""

import os
import re
import stat
import tomllib
from pathlib import Path
from typing import Any

from render.errors import InputError
from render.files.run import note_read
from render.limits import FILE_BYTES, TEXT_BYTES, Limit

__all__ = ["input_file", "parsed_toml", "read_toml"]


def input_file(
    path: Path, *, what: str = "file", most: Limit = FILE_BYTES, replaceable: bool = False
) -> Path:
    """Check a file before it is opened, and note that it is read.

    Parameters
    ----------
    path : Path
    what : str
        What it is meant to be, for the sentence: "picture", "survey".
    most : Limit
        Of its size.
    replaceable : bool
        Whether an output may take its place all the same, as a shot file that is written anew.

    Returns
    -------
    Path
        As given.

    Raises
    ------
    InputError
        If it is missing, a folder, a pipe or a device, too large, or its name cannot be one.
    """
    try:
        found = path.stat()
    except FileNotFoundError:
        raise InputError(f"{path} is not there: check the name of the {what}") from None
    except ValueError:  # a zero byte in the name
        raise InputError(
            f"the name of the {what} holds a character that no name can hold: type it again"
        ) from None
    except OSError as error:
        long = f"{str(path)[:60]}..." if len(str(path)) > 300 else str(path)
        raise InputError(
            f"{long} cannot be opened ({error.strerror}): check the name of the {what}"
        ) from None
    if stat.S_ISDIR(found.st_mode):
        raise InputError(f"{path} is a folder, not a {what}: name a file in it")
    if not stat.S_ISREG(found.st_mode):
        raise InputError(f"{path} is a pipe or a device, not a {what}: save it as a file first")
    if not os.access(path, os.R_OK):
        raise InputError(f"{path} may not be read by you: allow it, or copy the {what}")
    most.check(found.st_size, f"{path} has {found.st_size:,} bytes", "make it smaller")
    if not replaceable:
        note_read(path)
    return path


def read_toml(path: Path, what: str, *, replaceable: bool = False) -> dict[str, Any]:
    """Read a TOML file that a person writes.

    Raises
    ------
    InputError
        As `input_file`, or if it is no text in UTF-8 or no TOML.
    """
    input_file(path, what=what, most=TEXT_BYTES, replaceable=replaceable)
    try:
        text = path.read_text(encoding="utf-8-sig")  # some editors begin a file with a mark
    except UnicodeDecodeError:
        raise InputError(f"{path} is no text in UTF-8: write it as a TOML file") from None
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror}): check the {what}") from None
    return parsed_toml(text, str(path))


def parsed_toml(text: str, where: str) -> dict[str, Any]:
    """Parse TOML.

    Parameters
    ----------
    where : str
        Begins an error's sentence.

    Raises
    ------
    InputError
        If it is none, nests without end, or holds a number longer than any.
    """
    if _ENDLESS_NAME.search(text):
        raise InputError(
            f"{where} is not a readable TOML file: a name in it has more parts than any that is "
            "meant"
        )
    try:
        tree = tomllib.loads(text)
        _refuse_endless(tree)
        return tree
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{where} is not a readable TOML file: {error}") from None
    except RecursionError:
        raise InputError(
            f"{where} is not a readable TOML file: its brackets lie too deep inside each other"
        ) from None
    except (ValueError, OverflowError):  # thousands of digits, or more than TOML's 64 bits
        raise InputError(
            f"{where} is not a readable TOML file: it holds a number longer than any that is meant"
        ) from None


#: A name of a.b.c ... with many parts; what the parser does grows with their square.
_ENDLESS_NAME = re.compile(r"""(?<![\w"'.-])(?:[\w"'-]++[ \t]*+\.[ \t]*+){16}""")


def _refuse_endless(tree: dict[str, Any]) -> None:
    """Raise OverflowError for whole numbers beyond the 64 bits of TOML 1.0."""
    nodes: list[Any] = [tree]
    while nodes:
        node = nodes.pop()
        if isinstance(node, dict | list):
            nodes += node.values() if isinstance(node, dict) else node
        elif isinstance(node, int) and not -(2**63) <= node < 2**63:
            raise OverflowError

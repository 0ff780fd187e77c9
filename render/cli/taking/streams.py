"""``-`` in place of a file: a picture or a shot comes from standard input, a result goes on."""

import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import Any, BinaryIO

from render.errors import InputError
from render.files.sequences import written_ending
from render.limits import FILE_BYTES, TEXT_BYTES, Limit

__all__ = ["STREAM", "is_sending", "streams"]

#: The word that stands for standard input or output.
STREAM = "-"
_STEM, _PIECE = "stdin", 1 << 20
#: Endings by kind of picture, so that what is made of it is of the same kind.
_ENDINGS = {
    "JPEG": ".jpg",
    "PNG": ".png",
    "TIFF": ".tif",
    "WebP": ".webp",
    "HEIC": ".heic",
    "AVIF": ".avif",
    "EXR": ".exr",
    "GIF": ".gif",
    "BMP": ".bmp",
    "JPEG 2000": ".jp2",
    "JPEG XL": ".jxl",
    "HDR": ".hdr",
    "raw": ".raw",
}
#: What each command sends on, by the option that names its file; the photograph's own kind
#: follows the picture.
_SENT = {
    "render": ("out", ""),
    "judge": ("out", ".png"),
    "compare": ("out", ".png"),
    "loupe": ("out", ".png"),
    "section": ("out", ".svg"),
    "board": ("out", ".pdf"),
    "card": ("pdf", ".pdf"),
    "depth": ("out", ".tif"),
}
_sending: ContextVar[bool] = ContextVar("sending", default=False)


def is_sending() -> bool:
    """Whether standard output carries a file, so that words go to standard error."""
    return _sending.get()


@contextmanager
def streams(
    command: str, words: list[str], general: str | None, values: dict[str, Any]
) -> Iterator[tuple[list[str], str | None]]:
    """Put files in the place of every ``-``, and send the result on at the end.

    Parameters
    ----------
    words : list of str
        What the command is to work on.
    general : str or None
        A shot file.
    values : dict
        Options by name; the file that is sent on is put into them.

    Yields
    ------
    words, general
        With names of files.

    Raises
    ------
    InputError
        If nothing comes in, too much does, or a stream cannot carry what is wanted.
    """
    option, ending = _SENT.get(command, ("out", ""))
    sends = str(values.get(option)) == STREAM
    if not sends and STREAM not in (*words, general):
        yield words, general
        return
    with tempfile.TemporaryDirectory(prefix="hingeline-") as name:
        folder = Path(name)
        if [*words, general].count(STREAM) > 1:
            raise InputError("standard input holds one file: write - once")
        if sends:
            _check_sending(command, words, values)
        words = [str(_picture_in(folder)) if word == STREAM else word for word in words]
        if general == STREAM:
            general = str(folder / f"{_STEM}.toml")
            Path(general).write_bytes(_read("shot file", TEXT_BYTES))
        if not sends:
            yield words, general
            return
        ending = ending or written_ending(words[0] if words else None)
        path = folder / f"stdout{ending}"
        values[option] = path if isinstance(values[option], Path) else str(path)
        token = _sending.set(True)
        try:
            yield words, general
            _send_on(path)
        finally:
            _sending.reset(token)


def _check_sending(command: str, words: list[str], values: dict[str, Any]) -> None:
    if command not in _SENT:
        raise InputError(f"what {command} writes cannot be sent on: give a file's name with -o")
    if values.get("as_json"):
        raise InputError("--json and -o - both want standard output: give the file a name")
    if command == "render" and values.get("show"):
        raise InputError("--show writes several files, and -o - sends one on: give a name")
    if command == "judge" and not values.get("show"):
        raise InputError("judge makes a picture only with --show: add it, or leave -o out")
    if len(words) > 1:
        raise InputError(f"-o - sends one file on, and {len(words)} are named: give a folder")
    if sys.stdout.isatty():
        raise InputError("-o - sends a file on: end the command with > and a name, or with |")


def _picture_in(folder: Path) -> Path:
    """Keep the picture that standard input holds in a folder."""
    from render.files.formats.decoders import kind_of

    path = folder / _STEM
    path.write_bytes(_read("picture", FILE_BYTES))
    try:
        kind = kind_of(path)
    except InputError:
        raise InputError(
            "what came in on standard input is no picture that can be read here: send a JPEG, "
            "PNG, TIFF, WebP, HEIC or EXR file"
        ) from None
    return path.rename(path.with_suffix(_ENDINGS.get(kind, "")))


def _send_on(path: Path) -> None:
    """Write a file's bytes to standard output."""
    out: BinaryIO = sys.stdout.buffer
    sys.stdout.flush()
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            out.write(piece)
    out.flush()


def _read(what: str, most: Limit) -> bytes:
    if sys.stdin is None or sys.stdin.isatty():
        raise InputError(f"- reads a {what} from standard input: send one with < or |")
    pieces: list[bytes] = []
    size = 0
    while piece := sys.stdin.buffer.read(_PIECE):
        pieces.append(piece)
        size += len(piece)
        most.check(size, f"what came in on standard input has {size:,} bytes so far", "send less")
    if not pieces:
        raise InputError(f"nothing came in on standard input: send a {what} with < or |")
    return b"".join(pieces)

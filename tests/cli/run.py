"""`hingeline` as a person types it, within this process: a second saved at each command."""

import contextlib
import io
import os
import subprocess
import sys
from pathlib import Path
from unittest import mock

from render.cli.door import main


def hingeline(
    *arguments: str, cwd: Path, stdin: bytes | None = None
) -> subprocess.CompletedProcess[str]:
    """What the command says and how it ends; every test of a whole process starts one itself.

    What is no text on standard output is given as Latin-1, a letter a byte.
    """
    said, complained = (io.TextIOWrapper(io.BytesIO(), "utf-8", newline="\n") for _ in range(2))
    given = io.TextIOWrapper(io.BytesIO(stdin or b""), "utf-8")
    before, code = Path.cwd(), 0
    with (
        mock.patch.object(sys, "argv", ["hingeline", *arguments]),
        mock.patch.object(sys, "stdin", given),
        contextlib.redirect_stdout(said),
        contextlib.redirect_stderr(complained),
    ):
        os.chdir(cwd)
        try:
            main()
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 1
        finally:
            os.chdir(before)
    texts = []
    for stream in (said, complained):
        stream.flush()
        content = stream.buffer.getvalue()
        try:
            texts.append(content.decode("utf-8"))
        except UnicodeDecodeError:
            texts.append(content.decode("latin-1"))
    return subprocess.CompletedProcess(list(arguments), code, *texts)

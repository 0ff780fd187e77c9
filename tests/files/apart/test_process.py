"""Work in a process of its own: what comes back, and that nothing else does."""

import json
import struct
import sys
from pathlib import Path

import numpy as np
import pytest

from render.files.apart import process
from render.files.apart.process import ApartError, work_apart

_WORKER = """
import os, sys
import numpy as np
from render.files.apart.process import answer_apart

def work(words, given):
    print("a library's own noise", flush=True)
    os.write(1, b"and more of it")
    {body}

answer_apart(work)
"""


@pytest.fixture
def worker(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]
    """Writes a module that works as told."""
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))

    def written(body: str) -> str:
        (tmp_path / "a_worker.py").write_text(_WORKER.format(body=body))
        return "a_worker"

    return written


def test_numbers_go_there_and_come_back(worker) -> None:  # type: ignore[no-untyped-def]
    """Words and numbers arrive as they were; what a library prints does not disturb the answer."""
    given = np.arange(60, dtype=np.float32).reshape(3, 4, 5)

    found = work_apart(
        worker("return given * float(words[1])"),
        ["-é\n", "2.5"],
        most_bytes=500e6,
        most_numbers=60,
        given=given,
    )

    np.testing.assert_array_equal(found, given * 2.5)


@pytest.mark.parametrize(
    ("body", "how"),
    [
        ("raise ValueError('no\\nsuch thing')", "failed"),
        ("from render.errors import InputError; raise InputError('ours')", "refused"),
        ("return np.zeros(61)", "refused"),
        ("return np.zeros(2**40)", "full"),
        ("held = b'x' * 400_000_000; import time; time.sleep(20)", "full"),
        ("return np.array(['words'])", "ended"),
        ("os._exit(3)", "ended"),
        ("os.kill(os.getpid(), 11)", "ended"),
    ],
)
@pytest.mark.skipif(sys.platform == "win32", reason="memory has no limit there")
def test_why_nothing_came_is_told(worker, body: str, how: str) -> None:  # type: ignore[no-untyped-def]
    """Refusal, want of memory, and any end of the process are told apart."""
    with pytest.raises(ApartError) as error:
        work_apart(worker(body), [], most_bytes=300e6, most_numbers=60)

    assert error.value.how == how
    assert "\n" not in str(error.value)


def test_what_is_no_answer_is_an_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """Noise instead of an answer, a list of the wrong kind, numbers cut short."""
    cut = json.dumps({"kind": "<f8", "shape": [4]}).encode()
    for said in (b"noise", b"\2\0\0\0[]", struct.pack("<I", len(cut)) + cut + bytes(31)):
        monkeypatch.setattr(process, "_START", f"import os; os.write(1, {said!r})")
        with pytest.raises(ApartError) as error:
            work_apart("any", [], most_bytes=300e6, most_numbers=60)
        assert error.value.how == "ended"

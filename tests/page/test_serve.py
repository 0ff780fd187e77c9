"""The page comes up on this machine alone, and leaves nothing behind."""

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from render.page.desk import Desk
from tests.cli.run import hingeline
from tests.page.conftest import Served, begin, end


def test_it_listens_on_loopback_and_ends_cleanly(tmp_path: Path) -> None:
    """Ctrl-C ends it with code 0, its port is free again, and its folder is gone."""
    page = begin(folder=tmp_path)
    page.ask("PUT", "/api/files?name=a.jpg", b"nothing")
    made = list(tmp_path.glob("hingeline-page-*"))
    with socket.create_connection(("127.0.0.1", page.port), timeout=5):
        pass

    assert page.address.startswith("http://127.0.0.1:")
    assert len(page.token) >= 32
    assert len(made) == 1
    assert end(page) == 0
    assert not list(tmp_path.glob("hingeline-page-*"))


def test_bad_beginnings_end_in_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A picture that is not there, settings without a picture, a port that is taken."""
    monkeypatch.setattr("uvicorn.Server.run", lambda *_, **__: pytest.fail("it began"))
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        for arguments, words in (
            ([str(tmp_path / "gone.jpg")], "is not there"),
            (["--tilt", "up 8"], "settings alone show nothing"),
            (["--port", port], f"port {port} is taken"),
        ):
            done = hingeline("page", "--no-browser", *arguments, cwd=tmp_path)

            assert done.returncode == 2
            assert words in done.stderr
            assert "Traceback" not in done.stderr


def _descendants(pid: int) -> list[int]:
    """Numbers of all processes below one, by the system's own list."""
    parents = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            after = stat.read_text().rpartition(")")[2].split()
            if after[0] != "Z":
                parents[int(stat.parent.name)] = int(after[1])
    found = [pid]
    for above in found:
        found += [below for below, parent in parents.items() if parent == above]
    return found[1:]


def _ask_for_an_exact_photograph(page: Served) -> None:
    """Begin one that takes long, and wait until rays are traced for it."""
    wish = {"kind": "scene", "shots": [{"picture": None, "scene": "bench", "values": {}}]}
    status, content, _ = page.ask(
        "POST",
        "/api/saves",
        json.dumps({"view": "test", "options": {"exact": "256"}, **wish}),
        {"Content-Type": "application/json", "Origin": f"http://127.0.0.1:{page.port}"},
    )
    assert status == 200, content
    for _ in range(600):
        state = json.loads(page.ask("GET", f"/api/saves/{json.loads(content)['id']}")[1])
        if "tracing" in state["what"]:
            return
        assert not state["problem"], state
        time.sleep(0.1)
    raise AssertionError(state)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="asks the system's list in /proc")
@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL])
def test_ended_in_the_middle_of_tracing_it_leaves_nothing(
    how: signal.Signals, tmp_path: Path
) -> None:
    """Asked to end or killed outright: no process works on, and its folder is gone."""
    page = begin("bench", folder=tmp_path)
    _ask_for_an_exact_photograph(page)
    mine = f"hingeline-page-{page.process.pid}-*"
    below = _descendants(page.process.pid)
    assert below
    assert list(tmp_path.glob(mine))

    page.process.send_signal(how)
    page.process.wait(timeout=30)
    for pipe in (page.process.stdout, page.process.stderr):
        assert pipe is not None
        pipe.close()
    for _ in range(100):
        left = [number for number in below if Path(f"/proc/{number}").exists()]
        if not left and not list(tmp_path.glob(mine)):
            break
        time.sleep(0.1)
    assert left == []
    assert list(tmp_path.glob(mine)) == []


def test_what_a_killed_page_left_is_removed_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder of a process that is gone goes; that of one that runs, and other folders, stay."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    for name in (f"hingeline-page-{gone.pid}-a", f"hingeline-page-{os.getpid()}-b", "hingeline-c"):
        (tmp_path / name).mkdir()
    desk = Desk()

    assert desk.folder.exists()
    assert not (tmp_path / f"hingeline-page-{gone.pid}-a").exists()
    assert (tmp_path / f"hingeline-page-{os.getpid()}-b").exists()
    assert (tmp_path / "hingeline-c").exists()
    desk.clear()

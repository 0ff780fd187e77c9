"""The page comes up on this machine alone, and leaves nothing behind."""

import socket
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.page.conftest import begin, end


def _folders() -> set[Path]:
    return set(Path(tempfile.gettempdir()).glob("hingeline-page-*"))


def test_it_listens_on_loopback_and_ends_cleanly() -> None:
    """Ctrl-C ends it with code 0, its port is free again, and its folder is gone."""
    before = _folders()
    page = begin()
    page.ask("PUT", "/api/files?name=a.jpg", b"nothing")
    made = _folders() - before
    with socket.create_connection(("127.0.0.1", page.port), timeout=5):
        pass

    assert page.address.startswith("http://127.0.0.1:")
    assert len(page.token) >= 32
    assert len(made) == 1
    assert end(page) == 0
    assert not _folders() & made


def test_killed_in_the_middle_of_a_picture_the_page_says_so() -> None:
    """A server that is gone answers nobody: the connection ends, it does not hang."""
    page = begin()
    page.process.kill()
    page.process.wait(timeout=10)
    for pipe in (page.process.stdout, page.process.stderr):
        assert pipe is not None
        pipe.close()

    with socket.socket() as line:
        line.settimeout(5)
        assert line.connect_ex(("127.0.0.1", page.port)) != 0


def test_bad_beginnings_end_in_one_sentence(tmp_path: Path) -> None:
    """A picture that is not there, settings without a picture, a port that is taken."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        for arguments, words in (
            ([str(tmp_path / "gone.jpg")], "is not there"),
            (["--tilt", "up 8"], "settings alone show nothing"),
            (["--port", port], f"port {port} is taken"),
        ):
            done = subprocess.run(
                [sys.executable, "-m", "render.cli.main", "page", "--no-browser", *arguments],
                capture_output=True,
                text=True,
                timeout=60,
                check=False,
            )

            assert done.returncode == 2
            assert words in done.stderr
            assert "Traceback" not in done.stderr

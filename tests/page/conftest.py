"""One page for all tests of this folder, and an invented street seen from a roof."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image


@dataclass(frozen=True)
class Served:
    """A running page."""

    address: str
    process: subprocess.Popen[str]

    @property
    def port(self) -> int:
        """Of this machine."""
        return int(self.address.split(":")[2].split("/")[0])

    @property
    def token(self) -> str:
        """The first part of every path."""
        return self.address.rstrip("/").rpartition("/")[2]

    def ask(
        self, method: str, path: str, body: Any = None, headers: dict[str, str] | None = None
    ) -> tuple[int, bytes, HTTPResponse]:
        """One request as it stands; path without the token."""
        line = HTTPConnection("127.0.0.1", self.port, timeout=60)
        line.request(method, f"/{self.token}{path}", body=body, headers=headers or {})
        answer = line.getresponse()
        content = answer.read()
        line.close()
        return answer.status, content, answer


def begin(*arguments: str, folder: Path | None = None) -> Served:
    """Start a page and wait for its address; its temporary files may lie in a folder of ours."""
    process = subprocess.Popen(
        [sys.executable, "-m", "render", "page", *arguments, "--no-browser"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ if folder is None else {**os.environ, "TMPDIR": str(folder)},
    )
    assert process.stdout is not None
    for line in process.stdout:
        if line.startswith("http://"):
            return Served(line.strip(), process)
    assert process.stderr is not None
    raise AssertionError(process.stderr.read())


def end(served: Served) -> int:
    """Stop a page as Ctrl-C does."""
    served.process.send_signal(2)
    code = served.process.wait(timeout=30)
    for pipe in (served.process.stdout, served.process.stderr):
        assert pipe is not None
        pipe.close()
    return code


@pytest.fixture(scope="session")
def street(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A chequered square under a plain sky, 600 x 400 px, horizon at a fifth, no EXIF."""
    rows, columns = np.mgrid[0:400, 0:600]
    away = 1.0 / np.maximum(rows - 80, 0.5)
    chequer = (np.floor(400 * away) + np.floor((columns - 300) * away * 8)) % 2
    noise = np.random.default_rng(5).normal(0, 8, (400, 600, 1))
    ground = np.where(chequer[..., None] > 0, [196.0, 178.0, 150.0], [92.0, 104.0, 88.0]) + noise
    sky = np.broadcast_to([150.0, 180.0, 214.0], (400, 600, 3))
    coded = np.where(rows[..., None] < 80, sky, ground)
    path = tmp_path_factory.mktemp("pictures") / "square.jpg"
    Image.fromarray(coded.clip(0, 255).astype(np.uint8)).save(path, quality=92)
    return path


@pytest.fixture(scope="session")
def served(street: Path) -> Iterator[Served]:
    """A page that began with the street."""
    page = begin(str(street), "--focal-35", "28", "--height", "12", "--horizon", "20%")
    yield page
    end(page)


@pytest.fixture(scope="session")
def chromium() -> str:
    """A Chromium of this machine; without one the page cannot be tested in a browser."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        if found := shutil.which(name):
            return found
    pytest.skip("no Chromium on this machine: install it to test the page in a real browser")

"""How the program ends: exit codes, words, streams, signals."""

import io
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from render.cli import door
from render.errors import OutputError
from render.files.atomic import written_beside
from render.files.run import note_going_on, one_run

_ROOT = Path(__file__).parents[2]


@pytest.fixture
def ended(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """End the program in some way: its exit code and what it said on standard error."""
    kept = {n: signal.getsignal(n) for n in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)}

    def end(happens: Callable[[], object], *arguments: str) -> tuple[int, str]:
        monkeypatch.setattr(sys, "argv", ["hingeline", *arguments])
        monkeypatch.setattr(door, "_run", happens)
        monkeypatch.setattr("render.files.run._placed", [])
        with pytest.raises(SystemExit) as exit_:
            door.main()
        assert {number: signal.getsignal(number) for number in kept} == kept
        return int(str(exit_.value.code)), capsys.readouterr().err

    return end


def _raise(error: BaseException) -> Callable[[], object]:
    def happens() -> object:
        raise error

    return happens


def test_each_ending_has_its_code_and_its_words(ended: Any, tmp_path: Path) -> None:
    """Refusals, too little memory, Ctrl-C, a listener that left, a full output."""
    for error, code, words in (
        (OutputError("a.jpg is there already"), 2, "hingeline: a.jpg is there already\n"),
        (MemoryError(), 2, "not enough memory"),
        (KeyboardInterrupt(), 130, "hingeline: stopped; nothing was written\n"),
        (BrokenPipeError(32, "Broken pipe"), 141, ""),
        (OSError(28, "No space left on device"), 74, "could not be written (No space left"),
    ):
        found, said = ended(_raise(error))
        assert found == code
        assert words in said
        assert (said == "") == (words == "")


def test_matrix_products_run_on_one_thread(ended: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Their sums would depend on the number of cores; whoever sets it himself is heeded."""
    for name in door._ONE_THREAD:
        monkeypatch.setenv(name, "3")
    assert ended(lambda: 0)[0] == 0
    assert os.environ["OPENBLAS_NUM_THREADS"] == "3"
    for name in door._ONE_THREAD:
        monkeypatch.delenv(name)
    assert ended(lambda: 0)[0] == 0
    assert {os.environ[name] for name in door._ONE_THREAD} == {"1"}


def test_a_fault_is_one_sentence_and_its_trace_is_asked_for(ended: Any) -> None:
    """What, where, and what to do; the traceback with --trace, wherever it stands."""
    code, said = ended(_raise(KeyError("x\ny")), "judge")
    assert code == 70
    assert said.count("\n") == 1
    assert "fault of the program" in said
    assert "KeyError" in said

    code, said = ended(_raise(KeyError("x")), "judge", "--trace")
    assert code == 70
    assert "Traceback" in said
    assert "--trace" not in sys.argv


def test_what_stands_is_named(ended: Any, tmp_path: Path) -> None:
    """After a stop the files that were put in place already are named."""

    def happens() -> object:
        with one_run(), written_beside(tmp_path / "a.jpg") as beside:
            beside.write_bytes(b"whole")
        raise KeyboardInterrupt

    _, said = ended(happens)

    assert "written already: " in said
    assert f"{tmp_path}/a.jpg\n" in said


def test_long_work_that_goes_on_says_so(ended: Any, tmp_path: Path) -> None:
    """Stopped or told to end, finished parts are kept; once they are gone, nothing is said."""
    parts = tmp_path / "parts"
    parts.mkdir()

    def happens() -> object:
        note_going_on(parts)
        signal.raise_signal(signal.SIGTERM)
        return None

    code, said = ended(happens)
    assert (code, said) == (
        143,
        "hingeline: told to end; what is done is kept, the same command goes on\n",
    )
    note_going_on(None)
    assert ended(_raise(KeyboardInterrupt()))[1] == "hingeline: stopped; nothing was written\n"


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_signals_leave_nothing_behind(ended: Any, tmp_path: Path, number: signal.Signals) -> None:
    """Also where a library swallows the error that the signal raised."""

    def happens() -> object:
        with one_run(), written_beside(tmp_path / "a.jpg") as beside:
            beside.write_bytes(b"half")
            try:
                signal.raise_signal(number)
            except BaseException:
                raise RuntimeError("an import failed") from None

    code, said = ended(happens)

    assert code == 128 + number
    assert said.endswith("nothing was written\n")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "cp932", "ascii"])
def test_no_output_fails_for_its_letters(encoding: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Old code pages get letters that they have."""
    stream = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
    monkeypatch.setattr(sys, "stdout", stream)
    door._speak_plainly()
    stream.write("87 → 94, −3 µm, 8°, é, 字, \udcff")
    stream.flush()
    said = stream.buffer.getvalue().decode(encoding)  # type: ignore[attr-defined]

    assert said.startswith("87 ")
    assert said.endswith("?")
    assert ("87 -> 94, -3 um, 8 deg" in said) == (encoding == "ascii")


def test_listeners_that_leave_end_it_quietly() -> None:
    """A pipe closed early: nothing on standard error; a full device: one sentence."""
    command = [sys.executable, "-m", "render", "scenes", "words"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        process.stdout.close()
        assert process.stderr is not None
        assert process.stderr.read() == b""
    assert process.returncode == 141
    if not Path("/dev/full").exists():
        return
    with Path("/dev/full").open("wb") as full:
        ended = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, check=False)
    assert ended.returncode == 74
    assert ended.stderr.count(b"\n") == 1


@pytest.mark.skipif(os.name != "posix", reason="a shell that closes streams")
def test_odd_surroundings_are_no_fault(tmp_path: Path) -> None:
    """Streams that are closed, a folder that is gone: done, or refused in a sentence."""
    command = f'"{sys.executable}" -c "import sys; sys.path.insert(0, {str(_ROOT)!r}); '
    command += 'from render.cli.door import main; main()"'
    closed = f"{command} scenes <&- >&- 2>&-"
    assert subprocess.run(closed, shell=True, cwd=tmp_path, check=False).returncode == 0
    ended = subprocess.run(
        f"mkdir gone && cd gone && rmdir ../gone && {command} scenes",
        shell=True,
        cwd=tmp_path,
        check=False,
        capture_output=True,
        text=True,
    )
    assert ended.returncode == 2
    assert ended.stderr == (
        "hingeline: the folder that you are in is gone: change into another one\n"
    )


def test_files_never_get_the_number_of_a_closed_stream(tmp_path: Path) -> None:
    """What is printed where nobody listens does not end up in a file that is being written."""
    body = (
        "import os, sys; os.close(1); os.close(2); sys.stdout = sys.stderr = None\n"
        f"sys.path.insert(0, {str(_ROOT)!r}); sys.argv = ['hingeline']\n"
        "from render.cli import door\n"
        "def run():\n"
        "    with open('a.txt', 'wb') as file:\n"
        "        os.write(1, b'noise'); os.write(2, b'noise'); file.write(b'whole')\n"
        "door._run = run; door.main()"
    )
    ended = subprocess.run([sys.executable, "-c", body], cwd=tmp_path, check=False)

    assert ended.returncode == 0
    assert (tmp_path / "a.txt").read_bytes() == b"whole"


def test_libraries_that_do_not_fit_into_memory_are_no_fault(ended: Any) -> None:
    """Where a process may take little memory, loading code is what fails."""
    error = ImportError("libx.so: failed to map segment from shared object")
    code, said = ended(_raise(error))

    assert code == 2
    assert "ulimit -v" in said


def test_ctrl_c_is_never_lost() -> None:
    """Where Python would drop it with a traceback, as something is cleared away, it comes again."""
    body = (
        "import os, signal, sys, time; sys.argv = ['hingeline']\n"
        "from render.cli import door\n"
        "class Cleared:\n"
        "    def __del__(self):\n"
        "        os.kill(os.getpid(), signal.SIGINT); time.sleep(0.01)\n"
        "def run():\n"
        "    Cleared(); time.sleep(20)\n"
        "door._run = run; door.main()"
    )
    ended = subprocess.run(
        [sys.executable, "-c", body], capture_output=True, text=True, check=False, timeout=15
    )

    assert (ended.returncode, ended.stderr) == (130, "hingeline: stopped; nothing was written\n")


def test_ctrl_c_at_once_is_no_traceback() -> None:
    """While the program is still loading."""
    process = subprocess.Popen(
        [
            sys.executable,
            "-c",
            "import render.cli.door as d; print(flush=True); d.main()",
            "scenes",
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    assert process.stdout is not None
    process.stdout.readline()
    time.sleep(0.05)
    process.send_signal(signal.SIGINT)
    said = process.communicate(timeout=30)[1]

    assert b"Traceback" not in said

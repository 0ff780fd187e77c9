"""`hingeline film` as it is typed."""

import json
import sys
from pathlib import Path
from typing import Any

import pytest

from render.cli.door import main
from tests.clips import street, write_clip
from tests.jobs.test_film import PLACE


def _run(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    monkeypatch.setattr(sys, "argv", ["hingeline", "film", *arguments])
    with pytest.raises(SystemExit) as stopped:
        main()
    return int(stopped.value.code or 0)


def test_a_clip_and_a_shot_file_make_a_film(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    """A shot of a still serves the clip that --footage names; its key frames move the lens."""
    write_clip(tmp_path / "pond.mp4", street(10))
    words = "\n".join(f'{name} = "{value}"' for name, value in PLACE.items())
    (tmp_path / "pond.toml").write_text(
        f'format = 1\npicture = "pond.jpg"\n{words}\n[[key-frames]]\nat = "0 s"\ntilt = "0"\n'
        '[[key-frames]]\nat = "0.3 s"\ntilt = "up 8"\n'
    )
    monkeypatch.chdir(tmp_path)
    code = _run(monkeypatch, "pond.toml", "--footage", "pond.mp4", "-o", "out.mp4", "--json")
    told = json.loads(capsys.readouterr().out)

    assert code == 0
    assert told["film"]["frames"] == 10
    assert told["film"]["frames_per_s"] == [25, 1]
    assert told["files"] == ["out.mp4"]


def test_other_commands_send_a_clip_here(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    """A clip given to `render` is answered with the command that takes it."""
    path = write_clip(tmp_path / "pond.mp4", street(2))
    monkeypatch.setattr(sys, "argv", ["hingeline", "render", str(path)])
    with pytest.raises(SystemExit):
        main()

    assert "hingeline film takes it" in capsys.readouterr().err

"""`hingeline film` as it is typed."""

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tifffile import imread

from render.cli.door import main
from tests.cli.run import hingeline
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


def test_other_commands_take_a_frame_of_a_clip(tmp_path: Path) -> None:
    """A frame that `render` takes out of a clip is the still of it that `film` writes."""
    clip = str(write_clip(tmp_path / "pond.mp4", street(10)))
    given = ["--view", "50", "--height", "12", "--pitch", "12", "--tilt", "up 8"]

    assert hingeline("film", clip, *given, "-o", "all/%02d.tif", cwd=tmp_path).returncode == 0
    one = hingeline("render", clip, *given, "--time", "0.24", "-o", "one.tif", cwd=tmp_path)

    assert one.returncode == 0, one.stderr
    assert "frame 7 of 10, at 0.24 s" in one.stdout
    taken, filmed = (imread(tmp_path / name) for name in ("one.tif", "all/07.tif"))
    np.testing.assert_array_equal(taken, filmed)
    assert np.any(taken != imread(tmp_path / "all/01.tif"))


def test_what_a_clip_cannot_heed_is_refused(tmp_path: Path) -> None:
    """A moment after its end, which is said, and the width of a scene, by film as by judge."""
    clip = str(write_clip(tmp_path / "pond.mp4", street(10)))
    judged = hingeline("judge", clip, "--view", "50", "--height", "12", "--pitch", "12",
                       "--time", "2", cwd=tmp_path)  # fmt: skip

    assert judged.returncode == 2
    assert "it ends at 0.40 s" in judged.stderr
    filmed = hingeline(
        "film", clip, "--view", "50", "--height", "12", "--width", "64", cwd=tmp_path
    )
    assert filmed.returncode == 2
    assert "--width is for scenes and maps" in filmed.stderr

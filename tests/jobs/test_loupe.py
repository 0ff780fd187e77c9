"""The loupe as a job: the parts are those of the whole photograph."""

from pathlib import Path

import pytest
from PIL import Image

from render.errors import HingelineError, OutputError, SettingError
from render.jobs.loupe import loupe
from render.load.progress import silent
from render.shot.shot import Shot
from tests.places import plain


@pytest.fixture
def shot(tmp_path: Path) -> Shot:
    """A picture of a plain seen from 11 m."""
    return plain(tmp_path, 600)


def test_spots_are_the_focus_the_band_and_those_asked_for(shot: Shot, tmp_path: Path) -> None:
    """Each is named with its place, distance and blur; edges of the band have a blur of c."""
    made = loupe(shot, tmp_path / "l.png", at=("80%,20%",), sensor_px=2400, progress=silent)
    text = "\n".join(made.lines)
    edges = [line for line in made.lines if "edge of the band" in line]

    assert "Focus spot" in text
    assert "At 80%, 20%" in text
    assert "block of 4" in text
    assert len(edges) == 2
    for line in edges:
        assert float(line.split(" = ")[1].split(" c")[0]) == pytest.approx(1.0, abs=0.15)
    with Image.open(tmp_path / "l.png") as sheet:
        assert sheet.info["icc_profile"]


@pytest.mark.parametrize(
    ("how", "kind", "says"),
    [
        ({"sensor_px": 50}, SettingError, "500 to 20000"),
        ({"at": ("12 m",)}, SettingError, "write a place"),
        ({"at": ("99%,1000%",)}, SettingError, "outside"),
        ({"at": ("50%,50%",) * 13}, SettingError, "at most 12"),
    ],
)
def test_bad_input_writes_nothing(
    shot: Shot, tmp_path: Path, how: dict[str, object], kind: type[HingelineError], says: str
) -> None:
    """One sentence, and no file."""
    with pytest.raises(kind, match=says):
        loupe(shot, tmp_path / "l.png", progress=silent, **how)  # type: ignore[arg-type]
    with pytest.raises(OutputError, match=r"\.png or \.jpg"):
        loupe(shot, tmp_path / "l.pdf", progress=silent)

    assert [path.name for path in tmp_path.iterdir()] == ["plain.png"]

"""OpenStreetMap data read apart: limits, and what a crash or a hang becomes."""

from pathlib import Path

import pytest

from render.errors import InputError
from render.files.apart import osm, process
from render.files.apart.osm import closed_outline, read_apart
from render.limits import Limit
from tests.townlet import box, write_osm


def test_lines_are_joined_at_their_nearest_ends_whichever_way_they_run() -> None:
    """Three sides of a square in any order and way; two islands stay two."""
    sides = [[(4, 0), (0, 0)], [(0, 4), (4, 4)], [(4, 0), (4, 4)]]

    assert closed_outline(sides).area == pytest.approx(16)
    assert closed_outline(
        [[(0, 0), (4, 0), (4, 4)], [(90, 0), (94, 0), (94, 4)]]
    ).area == pytest.approx(16)
    assert closed_outline([[(0, 0), (4, 0)]]) is None


def test_a_line_of_endlessly_many_points_is_refused(tmp_path: Path) -> None:
    """Before they are made into an outline, in the words of ours."""
    path = write_osm(tmp_path / "way.osm", [([(0, 0), (9, 0)] * 50_001, {"building": "yes"})])

    with pytest.raises(InputError, match=r"way 1 has 100,002 points, more than the 100,000 points"):
        read_apart(path, None)


@pytest.mark.parametrize(
    ("start", "said"),
    [
        ("import os; os.kill(os.getpid(), 11)", "is damaged: the reader of OpenStreetMap data"),
        ("import time; time.sleep(9)", r"its reader was ended after 1 seconds: cut out"),
    ],
)
def test_a_reader_that_crashes_or_hangs_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, start: str, said: str
) -> None:
    """Whatever a file makes of the library happens to a process of its own."""
    path = write_osm(tmp_path / "way.osm", [(box(0, 0, 40, 30), {"building": "yes"})])
    for module in (process, osm):
        monkeypatch.setattr(module, "SECONDS_APART", Limit(0.7, "seconds"))
    monkeypatch.setattr(process, "_START", start)

    with pytest.raises(InputError, match=said):
        read_apart(path, None)

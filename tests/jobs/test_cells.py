"""Cells of a comparison: the same whoever makes them, and in whatever order."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError
from render.jobs.cells import CellOrder, make_cells
from render.jobs.compare import compare
from render.load.prepare import prepare
from render.load.progress import silent
from render.scene.scene import Scene
from render.shot.axes import parse_axis
from render.shot.shot import Shot, merged
from render.shot.wishes import CrewWishes
from render.trace.trace import trace_built
from tests.pieces import Backwards


@pytest.fixture
def shot(tmp_path: Path) -> Shot:
    """A small picture of a plain."""
    cells = np.random.default_rng(2).integers(30, 220, (20, 30, 3), np.uint8)
    Image.fromarray(cells).resize((240, 160)).save(tmp_path / "plain.png")
    given = {"view": "50", "height": "11", "pitch": "15", "lens": "60", "tilt": "up 6"}
    return merged(Shot(picture=str(tmp_path / "plain.png")), given, "{name}")


@pytest.mark.parametrize("across", ["f=2.8,5.6,11", "height=6,11,20"])
def test_others_make_the_same_sheet(
    shot: Shot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, across: str
) -> None:
    """Sheet, page and words, byte for byte, turned on one picture or with its depth made anew."""
    alone = compare(
        shot, tmp_path / "a.png", across=across, cell_px=150, page=tmp_path / "a.html",
        progress=silent,
    )  # fmt: skip
    monkeypatch.setattr("render.jobs.cells.crew_of", lambda *_: Backwards())
    told: list[str] = []
    shared = compare(
        shot, tmp_path / "b.png", across=across, cell_px=150, page=tmp_path / "b.html",
        crew=CrewWishes(scheduler="tcp://a:1"), progress=lambda what, _: told.append(what),
    )  # fmt: skip

    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
    assert (tmp_path / "a.html").read_bytes() == (tmp_path / "b.html").read_bytes()
    assert alone.lines[:-1] == shared.lines[:-1]
    assert {"rendering 1 of 3", "rendering 3 of 3"} <= set(told)


def test_a_worker_sees_a_picture_as_it_is_now(
    shot: Shot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that lives on from order to order does not take an older picture of that name."""
    monkeypatch.setattr("render.jobs.cells.crew_of", lambda *_: Backwards())
    order = CellOrder(shot, shot, (parse_axis("f=4"),), True, 150, None)
    crew = CrewWishes(workers=2)
    base = prepare(shot, silent)
    (first,) = make_cells(order, base, crew, silent)
    Image.new("RGB", (240, 160), "red").save(tmp_path / "plain.png")
    (second,) = make_cells(order, base, crew, silent)

    assert first.picture.getpixel((60, 50)) != (255, 0, 0)
    assert second.picture.getpixel((60, 50)) == (255, 0, 0)


def test_too_many_cells_are_refused_before_work(shot: Shot) -> None:
    """49 on one sheet."""
    axis = parse_axis("f=" + ",".join(f"{2 + k / 10:g}" for k in range(49)))
    order = CellOrder(shot, shot, (axis,), True, 150, None)

    with pytest.raises(InputError, match="49 pictures are too many for one sheet: at most 48"):
        make_cells(order, prepare(shot, silent), CrewWishes(), silent)


def test_each_cell_of_a_scene_from_other_heights_is_traced_twice_and_its_base_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As it is shown, and as `judge` looks at it; the base lends words and what is built."""
    crate = 'line = "A crate."\n[[things]]\nkind = "box"\nname = "crate"\nat_m = [0, 12]\n'
    (tmp_path / "crate.toml").write_text(crate)
    traced: list[tuple[int, int]] = []

    def counted(*args: Any, **more: Any) -> Scene:
        scene = trace_built(*args, **more)
        traced.append((scene.frame.width, more["samples"]))
        return scene

    monkeypatch.setattr("render.load.scenes.trace_built", counted)
    given = {"lens": "50", "f": "2.8", "width": "120"}
    shot = merged(Shot(scene=str(tmp_path / "crate.toml")), given, "{name}")
    out = tmp_path / "sheet.png"
    compare(shot, out, across="height=4,8", cell_px=120, progress=silent)

    assert traced == [(120, 1), *2 * [(120, 16), (120, 1)]]

"""What a file is that was handed in."""

import asyncio
import json
from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import numpy as np
import pytest

from render.errors import HingelineError, InputError
from render.files.lenses import read_lens
from render.live.preview import Preview
from render.page.bundle import pack
from render.page.desk import Desk, Paper
from render.page.intake import Intake
from render.shot.shot import Shot, merged

LENS = {
    "name": "my 45",
    "focal-mm": "45",
    "widest": "2.8",
    "smallest": "22",
    "tilt-limit-deg": "8",
    "closest-focus-m": "0,5",
}


@pytest.fixture
def desk() -> Iterator[Desk]:
    """Cleared at the end."""
    made = Desk()
    yield made
    made.clear()


@pytest.fixture
def intake(desk: Desk) -> Intake:
    """At an empty desk."""
    return Intake(desk, Preview())


def _drop(desk: Desk, name: str, content: bytes) -> Paper:
    async def chunks() -> AsyncIterator[bytes]:
        yield content

    return asyncio.run(desk.receive(name, chunks()))


def test_each_kind_of_file_is_told_apart(desk: Desk, intake: Intake, street: Path) -> None:
    """Picture, depth beside it, scene, lens, and one that was chosen for a value."""
    picture = intake.understood(_drop(desk, "a.jpg", street.read_bytes()), False, False)
    np.save(street.with_name("depth.npy"), np.ones((400, 600), np.float32))
    depth = street.with_name("depth.npy").read_bytes()
    lens = Path(__file__).parents[2] / "scenes" / "lenses" / "long-90.toml"
    scene = b'line = "A yard."\n[ground]\nmaterial = "asphalt"\n'

    assert picture["kind"] == "picture"
    assert set(picture["guessed"]) == {"height", "horizon", "guessed"}
    assert intake.understood(_drop(desk, "d.npy", depth), True, False)["kind"] == "depth"
    assert intake.understood(_drop(desk, "yard.toml", scene), False, False)["name"] == "Yard"
    found = intake.understood(_drop(desk, "my.toml", lens.read_bytes()), False, False)
    assert (found["kind"], found["name"]) == ("lens", "long 90")
    assert intake.understood(_drop(desk, "x.bin", b"x"), False, True)["kind"] == "file"
    with pytest.raises(InputError, match=r"JPEG.*; a clip, a map .* can be opened too"):
        intake.understood(_drop(desk, "wrong.pdf", b"%PDF-1.4"), False, False)
    with pytest.raises(InputError, match="open its picture first"):
        intake.understood(_drop(desk, "e.npy", depth), False, False)


def test_a_map_is_stood_upon_in_its_middle(desk: Desk, intake: Intake) -> None:
    """And is no picture."""
    quillby = Path(__file__).parents[2] / "scenes" / "quillby.osm"
    found = intake.understood(_drop(desk, "quillby.osm", quillby.read_bytes()), False, False)

    assert found["kind"] == "scene"
    assert found["values"]["at"].startswith("46.99")


def test_a_map_with_water_in_its_middle_is_stood_upon_beside_it(desk: Desk, intake: Intake) -> None:
    """On the nearest way, or on the roof of the nearest building."""
    corners = [[-30, 47], [-29.996, 47], [-29.996, 47.004], [-30, 47.004], [-30, 47]]
    basin = {"type": "Polygon", "coordinates": [corners]}
    way = {"type": "LineString", "coordinates": [[-30.0005, 46.9995], [-29.9955, 46.9995]]}
    things = [(basin, {"natural": "water"}), (way, {"highway": "service"})]
    held = {
        "type": "FeatureCollection",
        "features": [
            {"type": "Feature", "geometry": shape, "properties": tags} for shape, tags in things
        ],
    }

    found = intake.understood(_drop(desk, "dock.geojson", json.dumps(held).encode()), False, False)

    assert found["values"]["at"] == "46.99950, -29.99800"


def test_a_packed_shot_comes_with_its_picture(
    desk: Desk, intake: Intake, street: Path, tmp_path: Path
) -> None:
    """Dropped as one file, it is a shot whose picture lies on the desk."""
    shot = merged(Shot(picture=str(street)), {"tilt": "up 8"}, "{name}")
    pack(shot, tmp_path / "square.zip")
    found = intake.understood(
        _drop(desk, "square.zip", (tmp_path / "square.zip").read_bytes()), False, False
    )

    assert found["kind"] == "shot"
    assert found["shot"]["values"] == {"tilt": "up 8"}
    assert desk.papers[found["shot"]["picture"]].name == "square.jpg"


def test_a_lens_is_written_down_by_hand(desk: Desk, intake: Intake) -> None:
    """It reads back as it was written; what cannot be is said."""
    made = intake.lens(LENS)
    limits = read_lens(str(desk.papers[made["id"]].path))

    assert (limits.name, limits.focal_mm, limits.closest_focus_m) == ("my 45", 45, 0.5)
    for wrong in ({"focal-mm": "wide"}, {"widest": ""}, {"tilt-limit-deg": "80"}):
        with pytest.raises(HingelineError):
            intake.lens({**LENS, **wrong})
    with pytest.raises(InputError):
        intake.lens([45])

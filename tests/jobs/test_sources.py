"""Where the depth of a picture comes from."""

from pathlib import Path

import numpy as np
import pytest

from render.errors import InputError
from render.files.metadata import Kept
from render.files.pictures import PictureFile
from render.files.shots import Shot, merged
from render.jobs.progress import silent
from render.jobs.sources import depth_of
from render.optics.camera import Camera, Vantage
from render.scene.colour import SRGB

CAMERA = Camera(40, 30, 40.0)
PICTURE = PictureFile(
    path=Path("roof.jpg"),
    kind="JPEG",
    light=np.full((30, 40, 3), 0.3, np.float32),
    encoding=SRGB,
    bits=8,
    grey=False,
    orientation=1,
    kept=Kept(),
    converted=False,
    remarks=(),
)


def test_a_file_wins_over_the_ground(tmp_path: Path) -> None:
    """Where both are named, the file is the depth and the vantage is kept for the judgement."""
    path = tmp_path / "depth.npy"
    np.save(path, np.full((30, 40), 7.0, np.float32))
    shot = merged(Shot(), {"depth": str(path), "depth-kind": "metres"}, "{name}")

    depth = depth_of(shot, PICTURE, CAMERA, Vantage(10, 20), silent)

    assert np.all(depth.depth_m == 7)


def test_level_ground_is_the_depth_where_no_file_is_named() -> None:
    """It says so, with its doubt, and that standing things are flat."""
    depth = depth_of(Shot(), PICTURE, CAMERA, Vantage(10, 20), silent)

    assert depth.how == "level ground seen from 10.0 m, looking 20° down"
    assert depth.typical_uncertainty > 0
    assert "flat" in depth.remarks[0]


def test_without_any_source_the_sentence_names_the_options() -> None:
    """The picture is named too."""
    with pytest.raises(InputError, match=r"roof\.jpg has no depth.*--depth.*--height and --pitch"):
        depth_of(Shot(), PICTURE, CAMERA, None, silent)

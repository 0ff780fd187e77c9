"""The pictures of `--show`."""

from pathlib import Path

import numpy as np
from PIL import Image

from render.engine.photograph import photograph
from render.jobs.shown import show
from render.load.prepare import prepare
from render.load.progress import silent
from render.shot.shot import Shot, merged


def test_what_explains_a_render_has_the_shape_of_its_frame(tmp_path: Path) -> None:
    """Blur map and band have the frame's shape; the triptych is wider than high."""
    path = tmp_path / "roof.png"
    Image.fromarray(np.random.default_rng(1).integers(0, 255, (120, 180, 3), np.uint8)).save(path)
    given = {"view": "60", "height": "12", "pitch": "down 20", "tilt": "up 6", "lens": "50"}
    prepared = prepare(merged(Shot(picture=str(path)), given, "{name}"), silent)

    shown = show(prepared, photograph(prepared.scene, prepared.setting))

    frame = prepared.scene.frame
    assert (shown.band.width, shown.band.height) == (frame.width, frame.height)
    assert shown.blur.width == frame.width  # its legend stands below it
    assert shown.blur.height > frame.height
    assert shown.compare.width > 3 * frame.width
    for image in (shown.blur, shown.band):
        assert np.asarray(image).std() > 5

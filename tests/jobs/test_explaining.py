"""What explains a photograph stands beside it, each picture under its own name."""

from pathlib import Path

import numpy as np
from PIL import Image

from render.jobs.render import render
from render.load.progress import silent
from render.shot.shot import Shot, merged


def test_what_explains_a_render_has_the_shape_of_its_frame(tmp_path: Path) -> None:
    """Blur map and band have the frame's shape; the triptych is wider than high; all say sRGB."""
    path = tmp_path / "roof.png"
    Image.fromarray(np.random.default_rng(1).integers(0, 255, (120, 180, 3), np.uint8)).save(path)
    given = {"view": "60", "height": "12", "pitch": "down 20", "tilt": "up 6", "lens": "50"}
    shot = merged(Shot(picture=str(path)), given, "{name}")
    made = render(shot, tmp_path / "a.png", show=True, progress=silent)
    sizes = []
    for path in made.files:
        with Image.open(path) as image:
            sizes.append(image.size)
            assert path == made.files[0] or image.info["icc_profile"]
            assert np.asarray(image).std() > 5
    photo, blur, band, compare = sizes

    assert band == photo
    assert blur[0] == photo[0]
    assert blur[1] > photo[1]  # its legend stands below it
    assert compare[0] > 3 * photo[0]

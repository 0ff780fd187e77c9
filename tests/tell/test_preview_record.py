"""What is drawn beside a preview lies where it should."""

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.optics.plane import focus_lens
from render.scene.field import frame_field
from render.shot.shot import Shot, merged
from render.tell.preview_record import band_handles, band_outlines, preview_record

GIVEN = {"view": "60", "height": "12", "pitch": "down 20", "lens": "50", "tilt": "up 8"}


def _prepared(folder: Path, **options: str) -> Prepared:
    path = folder / "roof.png"
    if not path.exists():
        Image.new("RGB", (300, 200), (90, 120, 150)).save(path)
    given = {**GIVEN, "focus": "50%,55%", **options}
    return prepare(merged(Shot(picture=str(path)), given, "{name}"), silent)


def test_everything_told_is_plain_json(tmp_path: Path) -> None:
    """No infinity, no NaN, whatever is focused on."""
    for focus in ("50%,55%", "infinity", "extension 51 mm"):
        json.dumps(preview_record(_prepared(tmp_path, focus=focus)), allow_nan=False)


def test_the_focus_and_the_frame_are_shares(tmp_path: Path) -> None:
    """A spot of the whole picture comes back in the frame: up from its middle by its share."""
    said = preview_record(_prepared(tmp_path))
    left, top, width, height = said["frame"]

    assert left + said["focus"][0] * width == pytest.approx(0.5, abs=0.003)
    assert top + said["focus"][1] * height == pytest.approx(0.55, abs=0.004)


def test_the_frame_lies_where_the_shift_moves_it(tmp_path: Path) -> None:
    """Up and left in shares of the picture, by shift over extension."""
    plain = preview_record(_prepared(tmp_path, focus="20 m"))["frame"]
    moved = preview_record(_prepared(tmp_path, focus="20 m", rise="up 3", shift="left 2"))["frame"]

    per_mm = plain[2] / 36 * 50 / (1 / (1 / 50 - 1 / 20000))  # share of the width a millimetre
    assert plain[0] == pytest.approx((1 - plain[2]) / 2, abs=0.004)
    assert plain[1] == pytest.approx((1 - plain[3]) / 2, abs=0.004)
    assert plain[0] - moved[0] == pytest.approx(2 * per_mm, abs=0.005)
    assert plain[1] - moved[1] == pytest.approx(3 * per_mm * 300 / 200, abs=0.007)
    assert plain[2:] == moved[2:]


def test_the_handles_lie_in_the_band(tmp_path: Path) -> None:
    """Level ground and a tilt alone: one level line through the focus, inside the outline."""
    prepared = _prepared(tmp_path)
    field = frame_field(prepared.scene, prepared.setting)
    handles = np.array(band_handles(prepared))
    outline = np.array(
        [point for region in band_outlines(field, prepared.coc_mm) for point in region[0]]
    )

    assert handles[:, 0].tolist() == [0.12, 0.5, 0.88]
    np.testing.assert_allclose(handles[:, 1], preview_record(prepared)["focus"][1], atol=0.02)
    assert outline[:, 1].min() <= handles[:, 1].min()
    assert handles[:, 1].max() <= outline[:, 1].max()


def test_a_plane_that_is_not_met_has_no_handles(tmp_path: Path) -> None:
    """Focused behind everything that is seen, no column crosses the plane of sharp focus."""
    prepared = _prepared(tmp_path, tilt="0", focus="4 m")

    assert band_handles(prepared) == []


def test_a_focus_that_is_no_spot_is_marked_where_the_frame_is_sharp(tmp_path: Path) -> None:
    """An extension has a mark and a distance there, and one where the plane meets the axis."""
    spot = _prepared(tmp_path)
    lens = focus_lens(spot.setting)
    said = preview_record(spot)
    extension = preview_record(_prepared(tmp_path, focus=f"extension {lens.extension_mm:.4f} mm"))

    assert extension["focus"] == pytest.approx([0.5, said["focus"][1]], abs=0.02)
    assert extension["focus_m"] == pytest.approx(said["focus_m"], rel=0.03)
    assert extension["axis_m"] == pytest.approx(said["axis_m"], rel=1e-3)
    straight = preview_record(_prepared(tmp_path, tilt="0", focus="33.3 m"))
    assert straight["focus"] is not None
    assert straight["focus_m"] == pytest.approx(33.3)  # whatever row of pixels shows it
    assert preview_record(_prepared(tmp_path, tilt="0", focus="4 m"))["focus"] is None
    assert preview_record(_prepared(tmp_path, tilt="0", focus="4 m"))["axis_m"] == pytest.approx(4)

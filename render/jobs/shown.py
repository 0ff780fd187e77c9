"""Pictures for looking at: a scene's frame as a screen shows it, and the overlays of `--show`."""

from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from render.engine.photograph import Photograph
from render.files.atomic import written_beside
from render.load.prepared import Prepared
from render.optics.blur import BlurField
from render.optics.lens import FocusSpot
from render.scene.colour import SRGB
from render.scene.field import frame_field
from render.scene.resize import averaged, resized
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.overlay import Marks, band_overlay, blur_map, triptych
from render.tell.summary import coc_of, setting_words

__all__ = ["Shown", "show", "write_image"]

#: Longer side of the pictures that explain; the photograph itself keeps its size.
_LONG_SIDE_PX = 1600
_TRIPTYCH_LONG_SIDE_PX = 1000


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """The pictures that explain a render, painted."""

    blur: Image.Image
    band: Image.Image
    compare: Image.Image


def show(prepared: Prepared, photo: Photograph) -> Shown:
    """Paint the blur map, the sharp band over the photograph, and before / blur map / after."""
    before, field, after = _sized(prepared, photo, _LONG_SIDE_PX)
    focus = prepared.setting.focus
    spot = None
    if isinstance(focus, FocusSpot):
        x, y = field.camera.positions((focus.slope_x, focus.slope_y))
        spot = (float(x), float(y))
    marks = Marks(focus=spot, vantage=prepared.scene.vantage)
    coc_mm = coc_of(prepared)
    band = band_overlay(after, field, coc_mm, marks)
    full_px = prepared.scene.frame.width
    blur = blur_map(before, field, coc_mm, full_scale=full_px / before.width)
    before, field, after = _sized(prepared, photo, _TRIPTYCH_LONG_SIDE_PX)
    compare = triptych(
        before,
        field,
        after,
        coc_mm,
        setting=setting_words(prepared),
        full_scale=full_px / before.width,
    )
    return Shown(paint(blur), paint(band), paint(compare))


def write_image(path: Path, image: Image.Image, *, overwrite: bool, inputs: list[Path]) -> None:
    """Write a painted picture."""
    with written_beside(path, overwrite=overwrite, inputs=inputs) as beside:
        image.save(beside)


def _sized(
    prepared: Prepared, photo: Photograph, long_side_px: int
) -> tuple[Image.Image, BlurField, Image.Image]:
    encoding = prepared.file.encoding if prepared.file else SRGB
    small = resized(prepared.scene, long_side_px)
    frame = small.frame
    before = small.picture[frame.rows, frame.columns]
    after = averaged(photo.light, frame.height, frame.width)
    return (
        screen_picture(before, encoding),
        frame_field(small, prepared.setting),
        screen_picture(after, encoding),
    )

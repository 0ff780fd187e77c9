"""The pictures that explain a photograph, beside it (`render --show`)."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor

from PIL import Image

from render.engine.photograph import Photograph
from render.files.painted import painted_bytes
from render.load.prepared import Prepared
from render.optics.blur import BlurField
from render.optics.lens import FocusSpot
from render.scene.field import frame_field
from render.scene.resize import averaged, resized
from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.overlay import Marks, band_overlay, blur_map, taken_outlines, triptych
from render.tell.summary import setting_words
from render.threads import thread_count

__all__ = ["explaining"]

#: Longer side of the pictures; the photograph itself keeps its size.
_LONG_SIDE_PX = 1600
_TRIPTYCH_LONG_SIDE_PX = 1000


def explaining(prepared: Prepared, photo: Photograph) -> Iterator[bytes]:
    """PNG files of the blur map, the sharp band over the photograph, and before / blur / after.

    Each is drawn and packed on a thread of its own.
    """
    before, field, after = _sized(prepared, photo, _LONG_SIDE_PX)
    focus = prepared.setting.focus
    spot = None
    if isinstance(focus, FocusSpot):
        x, y = field.camera.positions((focus.slope_x, focus.slope_y))
        spot = (float(x), float(y))
    marks = Marks(
        focus=spot,
        vantage=prepared.scene.vantage,
        taken=taken_outlines(prepared.taken_in_frame),
    )
    coc_mm, full_px = prepared.coc_mm, prepared.scene.frame.width

    def blur() -> Drawing:
        return blur_map(before, field, coc_mm, full_scale=full_px / before.width)

    def band() -> Drawing:
        return band_overlay(after, field, coc_mm, marks)

    def compare() -> Drawing:
        first, between, last = _sized(prepared, photo, _TRIPTYCH_LONG_SIDE_PX)
        said = setting_words(prepared)
        scale = full_px / first.width
        return triptych(first, between, last, coc_mm, setting=said, full_scale=scale)

    with ThreadPoolExecutor(thread_count()) as pool:
        longest_first = [pool.submit(_png, drawing) for drawing in (compare, band, blur)]
        yield from (drawn.result() for drawn in reversed(longest_first))


def _png(drawing: Callable[[], Drawing]) -> bytes:
    return painted_bytes(paint(drawing()), ".png")


def _sized(
    prepared: Prepared, photo: Photograph, long_side_px: int
) -> tuple[Image.Image, BlurField, Image.Image]:
    small = resized(prepared.scene, long_side_px)
    frame = small.frame
    before = small.picture[frame.rows, frame.columns]
    after = averaged(photo.light, frame.height, frame.width)
    return (
        screen_picture(before, prepared.encoding),
        frame_field(small, prepared.setting),
        screen_picture(after, prepared.encoding),
    )

"""The field card as a small PDF: what `hingeline card --pdf` writes."""

import math
from pathlib import Path

from render.errors import InputError, OutputError
from render.files.atomic import check_destination, written_beside
from render.files.formats.profiles import build_profile
from render.jobs.card import Carded
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.optics.summary import summarise_focus
from render.scene.colour import SRGB
from render.scene.field import frame_field
from render.scene.resize import resized
from render.sheets.drawing.lettering import checked_text
from render.sheets.drawing.vector import pdf_bytes
from render.sheets.field_card import CardPictures, card_pages
from render.sheets.slice import slice_scene
from render.tell.summary import coc_of, credit_words

__all__ = ["check_card_page", "write_card_page"]

_PHOTO_LONG_SIDE_PX = 900


def check_card_page(path: Path, *, overwrite: bool, inputs: list[Path]) -> None:
    """Refuse a place that the card can't be written to, before any work is done for it.

    Raises
    ------
    OutputError
    """
    if path.suffix.lower() != ".pdf":
        raise OutputError(f"{path}: the card is written as .pdf; give it such a name")
    check_destination(path, overwrite=overwrite, inputs=inputs)


def write_card_page(
    path: Path,
    carded: Carded,
    *,
    title: str | None = None,
    overwrite: bool = False,
    inputs: list[Path],
    progress: Progress,
) -> None:
    """Draw a planned card with thumbnail and side section, and write it.

    Parameters
    ----------
    title : str or None
        The picture's or scene's name where not given.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    from render.engine.photograph import photograph
    from render.sheets.drawing.screen import screen_picture

    prepared = carded.prepared
    name = checked_text(title, "the title") if title else _name_of(prepared)
    progress("rendering the thumbnail", 0.7)
    scene = resized(prepared.scene, _PHOTO_LONG_SIDE_PX)
    encoding = prepared.file.encoding if prepared.file else SRGB
    photo = screen_picture(photograph(scene, prepared.setting).light, encoding)
    photo.info["icc_profile"] = build_profile(SRGB)
    section = slice_scene(prepared.scene, prepared.setting, coc_of(prepared), "side")
    pictures = CardPictures(photo, section, _band_m(prepared))
    pages = card_pages(carded.card, pictures, name, credit_words(prepared))
    content = pdf_bytes(pages, title=f"Field card: {name}")
    with written_beside(path, overwrite=overwrite, inputs=inputs) as beside:
        beside.write_bytes(content)


def _band_m(prepared: Prepared) -> tuple[float, float] | None:
    """Where the middle of the frame is sharp: over the ground if that is known, else in depth."""
    field = frame_field(prepared.scene, prepared.setting)
    summary = summarise_focus(field, coc_of(prepared), prepared.scene.vantage)
    if summary.upright:
        across = summary.across[1].longest
        if across is None:
            return None
        near, far = sorted((across.left_m, across.right_m))
        return near, far
    column = summary.columns[1]
    if column.ground is not None and not math.isnan(column.ground.near_m):
        return column.ground.near_m, column.ground.far_m
    run = column.longest
    if run is None:
        return None
    near, far = sorted((run.top_m, run.bottom_m))
    return near, far


def _name_of(prepared: Prepared) -> str:
    stem = prepared.shot.stem
    plain = stem.replace("_", " ").replace("-", " ")
    try:
        return checked_text(plain[:1].upper() + plain[1:], "the name")
    except InputError:
        return "Field card"

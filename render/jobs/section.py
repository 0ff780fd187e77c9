"""`hingeline section`: the side section (and the plan, if the lens is swung) of a shot."""

from pathlib import Path

from render.errors import OutputError
from render.files.atomic import check_destination, written_beside
from render.jobs.compare import write_sheet
from render.load.prepare import prepare
from render.load.progress import Progress
from render.sheets.drawing.raster import paint
from render.sheets.drawing.vector import pdf_bytes, svg_text
from render.sheets.section import section_sheet
from render.shot.shot import Shot, input_files
from render.tell.summary import coc_of, credit_words, setting_words

__all__ = ["section"]

_PX_PER_PT = 2.0


def section(
    shot: Shot, out: Path | None, *, overwrite: bool = False, progress: Progress
) -> tuple[str, ...]:
    """Draw a shot's section and write it as SVG, PDF or PNG, by the name's ending.

    Parameters
    ----------
    out : Path or None
        NAME_section.svg in the current folder when None.

    Returns
    -------
    tuple of str
        What was written and assumed, a line each.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    stem = shot.stem
    out = out or Path(f"{stem}_section.svg")
    ending = out.suffix.lower()
    if ending not in (".svg", ".pdf", ".png"):
        raise OutputError(f"{out}: a section is written as .svg, .pdf or .png")
    inputs = input_files(shot)
    check_destination(out, overwrite=overwrite, inputs=inputs)
    prepared = prepare(shot, progress)
    drawing = section_sheet(
        prepared.scene, prepared.setting, coc_of(prepared), credit=credit_words(prepared)
    )
    title = f"Side section: {setting_words(prepared)}"
    if ending == ".png":
        write_sheet(out, paint(drawing, _PX_PER_PT), overwrite=overwrite, inputs=inputs)
    else:
        content = (
            svg_text(drawing, title=title).encode("utf-8")
            if ending == ".svg"
            else pdf_bytes([drawing], title=title)
        )
        with written_beside(out, overwrite=overwrite, inputs=inputs) as beside:
            beside.write_bytes(content)
    return (*(f"Note: {note}" for note in prepared.notes), f"Wrote: {out}")

"""`hingeline section`: the side section (and the plan, if the lens is swung) of a shot."""

from pathlib import Path

from render.files.atomic import check_destination
from render.files.painted import check_ending, write_bytes, write_painted
from render.files.run import one_run
from render.jobs.made import Made, made
from render.load.case import on_its_ground
from render.load.prepare import prepare
from render.load.progress import Progress
from render.sheets.drawing.canvas import stand_in_notes
from render.sheets.drawing.raster import paint
from render.sheets.drawing.vector import pdf_bytes, svg_text
from render.sheets.section import section_sheet
from render.shot.shot import Shot, input_files
from render.tell.records.commands import SectionRecord
from render.tell.summary import (
    check_names,
    credit_words,
    dotted,
    setting_record,
    setting_words,
)

__all__ = ["section"]

_PX_PER_PT = 2.0


@one_run()
def section(shot: Shot, out: Path | None, *, overwrite: bool = False, progress: Progress) -> Made:
    """Draw a shot's section and write it as SVG, PDF or PNG, by the name's ending.

    Parameters
    ----------
    out : Path or None
        NAME_section.svg in the current folder when None.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    out = out or Path(f"{shot.stem}_section.svg")
    check_ending(out, "a section", ".svg", ".pdf", ".png")
    inputs = input_files(shot)
    check_destination(out, overwrite=overwrite, inputs=inputs)
    prepared = on_its_ground(prepare(shot, progress))
    check_names(prepared)
    drawing = section_sheet(
        prepared.scene,
        prepared.setting,
        prepared.coc_mm,
        dotted(setting_words(prepared)),
        credit=credit_words(prepared),
        named=prepared.named,
        height_guessed="height" in prepared.guessed,
    )
    title, ending = f"Side section: {setting_words(prepared)}", out.suffix.lower()
    if ending == ".png":
        write_painted(out, paint(drawing, _PX_PER_PT), overwrite=overwrite, inputs=inputs)
    else:
        pages = pdf_bytes([drawing], title=title) if ending == ".pdf" else None
        content = pages or svg_text(drawing, title=title).encode()
        write_bytes(out, content, overwrite=overwrite, inputs=inputs)
    notes = [*prepared.notes, *stand_in_notes([drawing])]
    record: SectionRecord = {
        "setting": setting_record(prepared),
        "notes": notes,
        "credit": prepared.credit or None,
    }
    return made(
        [out],
        [f"Note: {note}" for note in notes],
        record,
    )

"""`hingeline judge` of many: the verdicts of a whole day, best first, as lines, table and sheet."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from PIL import Image

from render.errors import OutputError, SettingError
from render.files.atomic import check_destinations
from render.files.painted import check_ending, write_bytes, write_painted
from render.files.run import one_run
from render.jobs.judge import judged_shot
from render.jobs.made import Made, made, written_record
from render.jobs.many.batch import (
    Refusal,
    code_of,
    common_notes,
    done_by,
    in_order,
    placed,
    refusal_of,
    refusal_words,
)
from render.jobs.many.gathering import Gathered
from render.jobs.many.naming import named_apart, out_folder
from render.load.prepared import Prepared
from render.load.progress import Progress, silent
from render.scene.resize import averaged
from render.sheets.compare import MOST_CELLS, Cell
from render.sheets.drawing.canvas import stand_in_notes
from render.sheets.drawing.lettering import drawable_text
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.drawing.vector import pdf_bytes
from render.sheets.strip import contact_sheets
from render.shot.shot import Shot, input_files
from render.shot.wishes import CrewWishes, JudgeWishes
from render.tell.day import (
    best_first,
    csv_text,
    day_lines,
    day_row,
    do_words,
    near_lines,
    read_words,
)
from render.tell.judged import judged_record
from render.tell.records.declared import JudgedRecord, JudgeManyRecord

__all__ = ["judge_many"]

_ALONE = CrewWishes()
#: Box that a picture on the contact sheet fits in, px, and pictures on a page of a PDF.
_BOX_PX = (320, 240)
_ON_A_PAGE = 16
_TITLE = "Verdicts of the day, best first"


@dataclass(frozen=True, slots=True)
class _Task:
    """One picture to judge; all that a worker needs."""

    name: str
    shot: Shot
    wishes: JudgeWishes
    shown: Path | None
    save_shot: Path | None
    overwrite: bool
    with_picture: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Judged:
    """What comes back: the record and a small picture for the sheet."""

    record: JudgedRecord
    picture: Image.Image | None


def judge_many(
    found: Gathered,
    wishes: JudgeWishes,
    out: str | None = None,
    *,
    show: bool = False,
    table: Path | None = None,
    contact_sheet: Path | None = None,
    save_shot: Path | None = None,
    overwrite: bool = False,
    crew: CrewWishes = _ALONE,
    progress: Progress,
) -> Made:
    """Judge many shots; those that cannot be judged are named and stop nothing.

    Parameters
    ----------
    out : str or None
        The folder where `show` writes NAME_telltales.png of each; the current one if None.
    table : Path or None
        Also write a table of all, best first, .csv or .json.
    contact_sheet : Path or None
        Also lay all out small with verdict and advice: .pdf, or .png and .jpg for up to 48.
    save_shot : Path or None
        A folder: also write the shot of each, with its best setting where that was asked for.

    Raises
    ------
    HingelineError
        If nothing can be begun.
    """
    if wishes.rendered is not None:
        raise SettingError("--rendered is of one shot: judge that alone")
    tasks, refused = _laid_out(found, wishes, out, show, save_shot, overwrite, contact_sheet)
    inputs = [file for task in tasks for file in input_files(task.shot)]
    _check_places(tasks, table, contact_sheet, len(found.pieces), overwrite, inputs)
    for folder in {f.parent for task in tasks for f in (task.shown, task.save_shot) if f}:
        folder.mkdir(exist_ok=True)
    orders = [_whole(task) for task in tasks] if crew.scheduler else tasks
    results: dict[str, _Judged] = {}
    for number, outcome in done_by(crew, _judge_one, orders, progress):
        if outcome.result is None:
            refused.append(refusal_of(tasks[number].name, outcome))
        else:
            results[tasks[number].name] = outcome.result
    progress("writing", 0.97)
    refused = in_order(refused, found)
    return _told(found, tasks, results, refused, table, contact_sheet, overwrite, inputs)


def _laid_out(
    found: Gathered,
    wishes: JudgeWishes,
    out: str | None,
    show: bool,
    save_shot: Path | None,
    overwrite: bool,
    contact_sheet: Path | None,
) -> tuple[list[_Task], list[Refusal]]:
    folder = (out_folder(out) or Path()) if show else None
    shots = out_folder(str(save_shot), "--save-shot") if save_shot else None
    tasks, refused = [], []
    for piece, name in zip(found.pieces, named_apart(found.pieces), strict=True):
        if piece.shot is None:
            refused.append(Refusal(piece.name, piece.refused))
            continue
        shown = folder / f"{name}_telltales.png" if folder else None
        saved = shots / f"{name}.toml" if shots else None
        wanted = contact_sheet is not None
        tasks.append(_Task(piece.name, piece.shot, wishes, shown, saved, overwrite, wanted))
    return tasks, refused


def _check_places(
    tasks: Sequence[_Task],
    table: Path | None,
    contact_sheet: Path | None,
    count: int,
    overwrite: bool,
    inputs: list[Path],
) -> None:
    """Refuse what cannot be written before anything is judged."""
    if table:
        check_ending(table, "the table", ".csv", ".json")
    if contact_sheet:
        check_ending(contact_sheet, "the contact sheet", ".pdf", ".png", ".jpg")
        if count > MOST_CELLS and contact_sheet.suffix.lower() != ".pdf":
            raise OutputError(
                f"{contact_sheet}: {count} pictures are too many for one sheet: give a name that "
                "ends in .pdf, which has pages"
            )
    outputs = [path for path in (table, contact_sheet) if path]
    outputs += [file for task in tasks for file in (task.shown, task.save_shot) if file]
    check_destinations(
        [file for file in outputs if file.parent.is_dir()], overwrite=overwrite, inputs=inputs
    )


def _whole(task: _Task) -> _Task:
    """The task with whole paths, for workers that stand in another folder."""
    shown = task.shown.absolute() if task.shown else None
    saved = task.save_shot.absolute() if task.save_shot else None
    return replace(task, shot=placed(task.shot), shown=shown, save_shot=saved)


def _judge_one(task: _Task) -> _Judged:
    """Judge one as `hingeline judge` does."""
    _, judged = judged_shot(
        task.shot,
        task.wishes,
        task.shown,
        show=task.shown is not None,
        save_shot=task.save_shot,
        overwrite=task.overwrite,
        progress=silent,
    )
    small = _small(judged.prepared) if task.with_picture else None
    return _Judged(judged_record(judged), small)


def _small(prepared: Prepared) -> Image.Image:
    """The planned frame, as small as the sheet shows it."""
    frame = prepared.scene.frame
    scale = min(_BOX_PX[0] / frame.width, _BOX_PX[1] / frame.height, 1.0)
    size = max(1, round(frame.height * scale)), max(1, round(frame.width * scale))
    light = averaged(prepared.scene.picture[frame.rows, frame.columns], *size)
    return screen_picture(light, prepared.encoding)


@one_run()
def _told(
    found: Gathered,
    tasks: Sequence[_Task],
    results: dict[str, _Judged],
    refused: list[Refusal],
    table: Path | None,
    contact_sheet: Path | None,
    overwrite: bool,
    inputs: list[Path],
) -> Made:
    records = {task.name: results[task.name].record for task in tasks if task.name in results}
    order = best_first(records)
    rows = [day_row(rank, name, records[name]) for rank, name in enumerate(order, 1)]
    beside = {t.name: [str(f) for f in (t.shown, t.save_shot) if f] for t in tasks}
    lost = [each.record for each in refused]
    record: JudgeManyRecord = {
        "pictures": [
            {"rank": rank, "picture": name, **records[name], "files": beside[name]}
            for rank, name in enumerate(order, 1)
        ],
        "refused": lost,
        "remarks": list(found.remarks),
    }
    files = [f for t in tasks if t.name in results for f in (t.shown, t.save_shot) if f]
    if table:
        if table.suffix.lower() == ".json":
            content = written_record(record).encode()
        else:
            content = csv_text(rows, lost).encode("utf-8-sig")  # else spreadsheets guess wrong
        write_bytes(table, content, overwrite=overwrite, inputs=inputs)
        files.append(table)
    remarks = [*found.remarks]
    asked = near_lines({name: records[name] for name in order})
    if contact_sheet and rows:
        pictures = [results[name].picture for name in order]
        remarks += _write_sheet(contact_sheet, rows, pictures, asked, refused, overwrite, inputs)
        files.append(contact_sheet)
    notes = {name: each["notes"] for name, each in records.items()}
    lines = [*day_lines(rows), *asked, *common_notes(notes)]
    lines += [f"Note: {remark}" for remark in remarks]
    lines.append(f"Judged: {len(rows)} of {len(found.pieces)} pictures")
    if rows:
        lines.append(records[order[0]]["small_print"])
    told = made(files, lines, record)
    return Made(
        told.files, told.lines, told.record, refusal_words(refused), code_of(len(rows), refused)
    )


def _write_sheet(
    path: Path,
    rows: Sequence[dict[str, Any]],
    pictures: Sequence[Image.Image | None],
    asked: Sequence[str],
    refused: Sequence[Refusal],
    overwrite: bool,
    inputs: list[Path],
) -> tuple[str, ...]:
    """Write the contact sheet; what is to be said of its letters."""
    tall = max(picture.height for picture in pictures if picture is not None)
    cells = [
        Cell(
            picture=_on_paper(picture, tall),
            setting=drawable_text(f"{row['rank']}. {row['picture']}"),
            scale=f"about {row['reads_as']}" if row["reads_as"] else "no model scale",
            figures=drawable_text(do_words(row)),
            verdict=read_words(row, under_picture=True),
        )
        for row, picture in zip(rows, pictures, strict=True)
        if picture is not None
    ]
    notes = [
        "Scores 0 to 100; nothing is rendered here: each is the planned frame of a picture, as "
        "sharp as it was taken."
    ]
    notes += [drawable_text(line) for line in asked]
    notes += [drawable_text(f"Not judged: {each.words}") for each in refused]
    pages = path.suffix.lower() == ".pdf"
    most = _ON_A_PAGE if pages else MOST_CELLS
    sheets = contact_sheets(cells, title=_TITLE, notes=notes, most=most)
    if pages:
        write_bytes(path, pdf_bytes(sheets, title=_TITLE), overwrite=overwrite, inputs=inputs)
    else:
        write_painted(path, paint(sheets[0]), overwrite=overwrite, inputs=inputs)
    return stand_in_notes(sheets)


def _on_paper(picture: Image.Image, tall_px: int) -> Image.Image:
    """The picture with paper below it, so that the words of a row stand level."""
    paper = Image.new("RGB", (picture.width, tall_px), "white")
    paper.paste(picture, (0, 0))
    return paper

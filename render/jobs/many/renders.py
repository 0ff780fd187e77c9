"""`hingeline render` of many: each photograph as alone, with its own EXIF, under its own name."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import cast

from render.errors import OutputError
from render.files.atomic import check_destination
from render.jobs.made import Made
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
from render.jobs.many.journal import Journal, journal_in, mark_of
from render.jobs.many.naming import named_apart, out_folder, photograph_names
from render.jobs.render import render, shown_beside
from render.load.compiled import say_compiling
from render.load.progress import Progress, silent
from render.shot.shot import Shot, input_files
from render.shot.wishes import CrewWishes, Finish
from render.tell.records.declared import RenderManyRecord, RenderRecord
from render.version import __version__

__all__ = ["render_many"]

_ALONE = CrewWishes()
_PLAIN = Finish()


@dataclass(frozen=True, slots=True)
class _Task:
    """One photograph to make; all that a worker needs."""

    name: str
    shot: Shot
    out: Path
    show: bool
    finish: Finish
    save_shot: Path | None
    overwrite: bool
    mark: str

    @property
    def photographs(self) -> tuple[Path, ...]:
        """The photograph, and what explains it."""
        return (self.out, *(shown_beside(self.out) if self.show else ()))

    @property
    def files(self) -> tuple[Path, ...]:
        """Everything that it writes."""
        return (*self.photographs, *([self.save_shot] if self.save_shot else []))


def render_many(
    found: Gathered,
    out: str | None,
    *,
    show: bool = False,
    save_shot: Path | None = None,
    overwrite: bool = False,
    finish: Finish = _PLAIN,
    crew: CrewWishes = _ALONE,
    progress: Progress,
) -> Made:
    """Render many shots; those that cannot be rendered are named and stop nothing.

    Parameters
    ----------
    out : str or None
        A folder, or a pattern such as "small/*_a.jpg"; NAME_tilted in the current folder if None.
    save_shot : Path or None
        A folder: also write the shot of each.
    crew : CrewWishes
        Who does the work; the bytes do not depend on it.

    Raises
    ------
    HingelineError
        If nothing can be begun. What was finished before a stop is kept, and the same command
        goes on from there.
    """
    tasks, refused = _laid_out(found, out, show, save_shot, overwrite, finish)
    journal = journal_in(tasks[0].out.parent if tasks else Path())
    todo = [task for task in tasks if not _is_done(task, journal)]
    _check_places(todo, tasks, overwrite=overwrite)
    records: dict[str, RenderRecord] = {}
    if todo:
        _begin(todo, journal)
        say_compiling(progress)
        orders = [_whole(task) for task in todo] if crew.scheduler else todo
        before = len(tasks) - len(todo)
        try:
            for number, outcome in done_by(crew, _render_one, orders, progress, before=before):
                if outcome.result is None:
                    refused.append(refusal_of(todo[number].name, outcome))
                else:
                    records[todo[number].name] = outcome.result
        finally:
            made = [task for task in todo if task.name in records]
            journal.end(file for task in made for file in task.photographs)
    return _told(found, tasks, todo, records, in_order(refused, found))


def _laid_out(
    found: Gathered,
    out: str | None,
    show: bool,
    save_shot: Path | None,
    overwrite: bool,
    finish: Finish,
) -> tuple[list[_Task], list[Refusal]]:
    """A task for each that can be begun, and those that cannot."""
    places = photograph_names(found.pieces, out)
    shots = out_folder(str(save_shot), "--save-shot") if save_shot else None
    names = named_apart(found.pieces)
    tasks, refused = [], []
    for piece, place, name in zip(found.pieces, places, names, strict=True):
        if piece.shot is None:
            refused.append(Refusal(piece.name, piece.refused))
            continue
        saved = shots / f"{name}.toml" if shots else None
        asked = (piece.shot.picture, piece.shot.scene, sorted(piece.shot.written), show, finish)
        mark = mark_of(asked, input_files(piece.shot), __version__)
        tasks.append(_Task(piece.name, piece.shot, place, show, finish, saved, overwrite, mark))
    return tasks, refused


def _is_done(task: _Task, journal: Journal) -> bool:
    made = all(journal.made(file, task.mark) for file in task.photographs)
    return made and (task.save_shot is None or task.save_shot.exists())


def _check_places(todo: list[_Task], tasks: list[_Task], *, overwrite: bool) -> None:
    """Refuse places that cannot be written to before any work; none of the inputs is one."""
    inputs = [file for task in tasks for file in input_files(task.shot)]
    there = []
    for task in todo:
        for file in task.files:
            if file.parent.is_dir():
                check_destination(file, overwrite=True, inputs=inputs if file.exists() else ())
                there += [file] if file.exists() else []
    if there and not overwrite:
        more = f" and {len(there) - 1} more" if len(there) > 1 else ""
        are = "are" if more else "is"
        raise OutputError(
            f"{there[0]}{more} {are} there already, from other settings or other pictures; "
            "replace with --overwrite, or give another folder with -o"
        )


def _begin(todo: list[_Task], journal: Journal) -> None:
    """Make the folders, and write down what is going to be made."""
    for folder in {file.parent for task in todo for file in task.files}:
        try:
            folder.mkdir(exist_ok=True)
        except OSError as error:
            raise OutputError(f"{folder} could not be made ({error.strerror})") from None
    journal.begin({file: task.mark for task in todo for file in task.photographs})


def _whole(task: _Task) -> _Task:
    """The task with whole paths, for workers that stand in another folder."""
    saved = task.save_shot.absolute() if task.save_shot else None
    return replace(task, shot=placed(task.shot), out=task.out.absolute(), save_shot=saved)


def _render_one(task: _Task) -> RenderRecord:
    """Render one as `hingeline render` does; returns its record."""
    made = render(
        task.shot,
        task.out,
        show=task.show,
        save_shot=task.save_shot,
        overwrite=task.overwrite,
        finish=task.finish,
        progress=silent,
    )
    return cast("RenderRecord", made.record)


def _told(
    found: Gathered,
    tasks: list[_Task],
    todo: list[_Task],
    records: dict[str, RenderRecord],
    refused: list[Refusal],
) -> Made:
    made_now = [task for task in todo if task.name in records]
    records = {task.name: records[task.name] for task in made_now}  # in their order again
    there = [task for task in tasks if task not in todo]
    lines = []
    for task in made_now:
        record = records[task.name]
        guess = " (what took it is guessed)" if record["guessed"] else ""
        lines.append(
            f"{task.name}: {record['setting']['words']}; {record['sharp_percent']:.0f} % sharp; "
            f"{task.out}{guess}"
        )
    notes = {name: [*each["notes"], *each["remarks"]] for name, each in records.items()}
    lines += common_notes(notes)
    lines += [f"Note: {remark}" for remark in found.remarks]
    if there:
        lines.append(f"{len(there)} of {len(tasks)} were there already, from the same settings")
    lines.append(f"Done: {len(made_now) + len(there)} of {len(found.pieces)} pictures")
    told: RenderManyRecord = {
        "pictures": [
            {"picture": task.name, **records[task.name], "files": [*map(str, task.files)]}
            for task in made_now
        ],
        "there_already": [str(task.out) for task in there],
        "refused": [each.record for each in refused],
        "remarks": list(found.remarks),
    }
    return Made(
        tuple(file for task in made_now for file in task.files),
        tuple(lines),
        told,
        refused=refusal_words(refused),
        code=code_of(len(made_now) + len(there), refused),
    )

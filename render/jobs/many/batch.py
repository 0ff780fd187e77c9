"""Many done one after another or side by side; what cannot be done is named, and stops nothing."""

import os
import time
import traceback
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, Generic, TypeVar

from render.errors import HingelineError
from render.film.segments import time_words
from render.jobs.crew import crew_of
from render.jobs.many.gathering import Gathered
from render.load.progress import Progress
from render.shot.declaring import Words
from render.shot.shot import Shot, is_file_name, merged, shot_keys
from render.shot.wishes import CrewWishes
from render.tell.records.declared import RefusedRecord

__all__ = [
    "Outcome",
    "Refusal",
    "code_of",
    "common_notes",
    "done_by",
    "placed",
    "refusal_of",
    "refusal_words",
]

Task = TypeVar("Task")
Result = TypeVar("Result")

#: Exit codes: nothing could be done; some could not; a fault of the program among them.
_NOTHING, _SOME, _FAULT = 2, 3, 70
#: A note of more than so many is told with their number, not their names.
_NAMED = 3
_MOST_NOTES = 30
_MOST_NAMES = 12


@dataclass(frozen=True, slots=True)
class Refusal:
    """One that could not be done: what it is called, why, and whether the program is at fault."""

    name: str
    sentence: str
    fault: bool = False

    @property
    def words(self) -> str:
        """Its name and why, the name once."""
        named = self.name in self.sentence or Path(self.name).name in self.sentence
        return self.sentence if named else f"{self.name}: {self.sentence}"

    @property
    def record(self) -> RefusedRecord:
        """The same for programs."""
        return {"picture": self.name, "sentence": self.sentence}


@dataclass(frozen=True, slots=True)
class Outcome(Generic[Result]):
    """What became of one task."""

    result: Result | None = None
    sentence: str = ""
    fault: bool = False


def done_by(
    crew: CrewWishes,
    work: Callable[[Task], Result],
    tasks: Sequence[Task],
    progress: Progress,
    *,
    before: int = 0,
) -> Iterator[tuple[int, Outcome[Result]]]:
    """Do all tasks, alone or by many; yields the number and the outcome of each when it is done.

    Parameters
    ----------
    work : callable
        Of a module; its errors become outcomes.
    before : int
        How many were done before, for the words.
    """
    trying = partial(_tried, work)
    started, count = time.monotonic(), before + len(tasks)

    def report(done: int) -> None:
        left = ""
        if done:
            left = f", {time_words((time.monotonic() - started) / done * (len(tasks) - done))} left"
        shown = min(before + done + 1, count)
        progress(f"picture {shown} of {count}{left}", 0.02 + 0.94 * done / max(len(tasks), 1))

    report(0)
    others = crew_of(crew.workers, crew.scheduler)
    if others is None or not tasks:
        finished: Iterator[tuple[int, Outcome[Result]]] = (
            (number, trying(task)) for number, task in enumerate(tasks)
        )
    else:
        finished = others.do(trying, tasks, lambda _, why: Outcome(sentence=why))
    for done, outcome in enumerate(finished, 1):
        report(done)
        yield outcome


def _tried(work: Callable[[Task], Result], task: Task) -> Outcome[Result]:
    """Do one task; whatever it ends in is an outcome."""
    try:
        return Outcome(work(task))
    except HingelineError as error:
        return Outcome(sentence=str(error))
    except MemoryError:
        return Outcome(sentence="there is not enough memory free for it: make a smaller copy")
    except Exception as error:
        if os.environ.get("HINGELINE_TRACE"):
            traceback.print_exc()
        sentence = (
            f"a fault of the program ({type(error).__name__}: {error}): please report it; --trace "
            "shows more"
        )
        return Outcome(sentence=str(HingelineError(sentence)), fault=True)


def refusal_of(name: str, outcome: Outcome[Any]) -> Refusal:
    """What is kept of an outcome without a result."""
    return Refusal(name, outcome.sentence, outcome.fault)


def in_order(refused: Sequence[Refusal], found: Gathered) -> list[Refusal]:
    """What could not be done in the order in which it was named."""
    place = {piece.name: number for number, piece in enumerate(found.pieces)}
    return sorted(refused, key=lambda each: place[each.name])


def refusal_words(refused: Sequence[Refusal]) -> tuple[str, ...]:
    """What could not be done, each in its sentence; what many share, once with their names."""
    alike: dict[str, list[Refusal]] = defaultdict(list)
    for each in refused:
        alike[each.sentence.replace(each.name, "").replace(Path(each.name).name, "")].append(each)
    lines: list[str] = []
    for kind in alike.values():
        if len(kind) <= _NAMED:
            lines += [each.words for each in kind]
            continue
        names = ", ".join(each.name for each in kind[:_MOST_NAMES])
        more = f" and {len(kind) - _MOST_NAMES} more" if len(kind) > _MOST_NAMES else ""
        lines.append(f"{names}{more}: all {len(kind)} alike: {kind[0].words}")
    return tuple(lines)


def code_of(done: int, refused: Sequence[Refusal]) -> int:
    """The exit code: 0 where all were done, 3 where some could not be, 2 where none could."""
    if any(each.fault for each in refused):
        return _FAULT
    if refused:
        return _SOME if done else _NOTHING
    return 0


def common_notes(notes: Mapping[str, Sequence[str]]) -> list[str]:
    """Notes by picture as lines, each said once: of all, of many, or of those that are named."""
    counts = Counter(note for said in notes.values() for note in dict.fromkeys(said))
    lines: list[str] = []
    for note, count in counts.items():
        if len(lines) == _MOST_NOTES:
            return [*lines, f"Note: {len(counts) - _MOST_NOTES} more; --json holds all"]
        whose = [name for name, said in notes.items() if note in said]
        of = f"{', '.join(whose)}: " if count <= _NAMED else f"{count} of {len(notes)}: "
        lines.append(f"Note: {'' if count == len(notes) else of}{note}")
    return lines


def placed(shot: Shot) -> Shot:
    """The shot with whole paths: the workers of a cluster stand in another folder."""
    keys = shot_keys()
    given: dict[str, Words] = {
        name: str(Path(words).absolute())
        for name, words in shot.written
        if keys[name].is_file(words) and Path(words).exists()
    }
    whole: dict[str, Any] = {}
    if shot.picture:
        whole["picture"] = str(Path(shot.picture).absolute())
    if shot.scene and is_file_name(shot.scene):
        whole["scene"] = str(Path(shot.scene).absolute())
    return replace(merged(shot, given, "{name}"), **whole)

"""The cells of a comparison, each rendered and judged: here, in a worker, on another machine."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from PIL import Image

from render.engine.photograph import photograph
from render.errors import InputError
from render.jobs.close_ups import CloseUp, chosen_close_ups, take_close_ups
from render.jobs.crew import crew_of
from render.jobs.many.batch import placed
from render.jobs.many.journal import mark_of
from render.judge.case import Case
from render.judge.sharpness import Sharpness
from render.judge.verdict import Verdict, judge_case
from render.load.case import case_of
from render.load.highlights import MOCKUP_STOPS, ToTake, lift_words, to_take
from render.load.prepare import as_judged, prepare
from render.load.prepared import Prepared
from render.load.progress import Progress, silent
from render.load.variants import turns_only, variants
from render.optics.camera import Vantage, Window
from render.optics.lens import LensSetting
from render.scene.scene import Scene
from render.sheets.close_ups import CloseUps
from render.sheets.compare import MOST_CELLS, close_up_px
from render.sheets.drawing.screen import screen_picture
from render.shot.axes import Axis
from render.shot.shot import FocusWish, Shot, input_files
from render.shot.wishes import CrewWishes
from render.tell.axis_words import axis_words
from render.tell.seen import asked_for
from render.version import __version__

__all__ = ["CellMade", "CellOrder", "make_cells", "shows_close_ups"]


@dataclass(frozen=True, slots=True)
class CellOrder:
    """What is compared, whole: everything that a worker needs to make any cell.

    Attributes
    ----------
    shot : Shot
        As it is judged.
    shown : Shot
        As it is rendered: a scene is traced at the size that is shown.
    axes : tuple of Axis
    base_is_rendered : bool
        Whether cells are turned on the base, which then is prepared to be rendered.
    cell_px : int
        Longer side of a picture.
    page_px : int or None
        The same of the page to wipe, if there is one.
    mark : str
        Tells the files that it is made from as they are now from what they were.
    """

    shot: Shot
    shown: Shot
    axes: tuple[Axis, ...]
    base_is_rendered: bool
    cell_px: int
    page_px: int | None
    mark: str = ""

    @property
    def count(self) -> int:
        """How many cells there are."""
        return math.prod(len(axis.values) for axis in self.axes)


@dataclass(frozen=True, slots=True, eq=False)
class CellMade:
    """One cell, without the scene that it was made from.

    Attributes
    ----------
    picture, page_picture : PIL.Image.Image
        sRGB-coded.
    close : CloseUps or None
        Where only the f-number differs: stops look alike in small pictures.
    sharpness : Sharpness or None
        Of what was asked for, where no model is.
    words : str
        What differs from the other cells.
    setting, vantage, focus, notes, guesses
        Of the shot as it was prepared; `focus` is what was asked for.
    lifted : bool
        Whether highlights were lifted in it.
    lift_words : (words if none were lifted anywhere, words if some were)
    """

    picture: Image.Image
    page_picture: Image.Image
    verdict: Verdict
    close: CloseUps | None
    sharpness: Sharpness | None
    words: str
    setting: LensSetting
    vantage: Vantage | None
    focus: FocusWish | None
    notes: tuple[str, ...]
    guesses: tuple[str, ...]
    lifted: bool
    lift_words: tuple[tuple[str, ...], tuple[str, ...]]


@dataclass(slots=True, eq=False)
class _Opened:
    """What is compared, loaded: a picture once, and shrunk once for each frame."""

    base: Prepared
    judged_base: Prepared | None
    chosen: tuple[CloseUp, CloseUp] | None = None
    _shrunk: dict[tuple[int, Window, int], ToTake] = field(default_factory=dict)
    _cases: dict[tuple[int, Window], Case] = field(default_factory=dict)
    _kept: list[Scene] = field(default_factory=list)

    def take(self, prepared: Prepared, long_px: int) -> ToTake:
        """What is rendered from, at a size."""
        key = (*self._key(prepared.scene), long_px)
        if key not in self._shrunk:
            self._shrunk[key] = to_take(prepared, MOCKUP_STOPS).resized(long_px)
        return self._shrunk[key]

    def case(self, prepared: Prepared) -> Case:
        """What is judged."""
        key = self._key(prepared.scene)
        if key not in self._cases:
            self._cases[key] = case_of(prepared)
        return self._cases[key]

    def _key(self, scene: Scene) -> tuple[int, Window]:
        # planning anew wraps the same depth in a new view, so the memory itself is the key;
        # kept, so that no memory is given to another scene meanwhile
        self._kept.append(scene)
        return scene.depth_m.__array_interface__["data"][0], scene.frame

    def forget(self) -> None:
        """Let go of scenes that no other cell shares."""
        self._shrunk.clear()
        self._cases.clear()
        self._kept.clear()


def _opened(order: CellOrder, base: Prepared, progress: Progress) -> _Opened:
    """Load what is judged, where that is not what is rendered."""
    if not order.shot.scene:
        return _Opened(base, None)
    if not order.base_is_rendered:  # nor judged: every cell is traced for itself
        return _Opened(base, base)
    # what is judged is what `judge` looks at, so that both say the same of one setting
    return _Opened(base, as_judged(order.shot, base, progress))


def make_cells(
    order: CellOrder, base: Prepared, crew: CrewWishes, progress: Progress
) -> list[CellMade]:
    """Render and judge every cell, alone or by many; the bytes do not depend on it.

    Raises
    ------
    HingelineError
        If there are too many, or one cannot be made.
    """
    if order.count > MOST_CELLS:
        raise InputError(
            f"{order.count} pictures are too many for one sheet: at most {MOST_CELLS}; "
            "give fewer values or make several sheets"
        )

    def report(done: int) -> None:
        shown = min(done + 1, order.count)
        progress(f"rendering {shown} of {order.count}", 0.1 + 0.8 * done / order.count)

    report(0)
    others = crew_of(crew.workers, crew.scheduler)
    made: dict[int, CellMade] = {}
    if others is None:
        here = _opened(order, base, progress)
        for number in range(order.count):
            report(number)
            made[number] = _made(order, here, number)
    else:
        if crew.scheduler:
            order = replace(order, shot=placed(order.shot), shown=placed(order.shown))
        order = replace(order, mark=mark_of((), input_files(order.shot), __version__))
        tasks = [(order, number) for number in range(order.count)]
        for number, cell in others.do(_make_elsewhere, tasks):
            made[number] = cell
            report(len(made))
    return [made[number] for number in range(order.count)]


_kept_open: list[tuple[CellOrder, _Opened]] = []


def _make_elsewhere(task: tuple[CellOrder, int]) -> CellMade:
    """Make a cell in a process that knows nothing yet, or has made others of the same order."""
    order, number = task
    if not _kept_open or _kept_open[0][0] != order:
        _kept_open.clear()
        base = prepare(order.shown, silent, for_render=order.base_is_rendered)
        _kept_open.append((order, _opened(order, base, silent)))
    return _made(order, _kept_open[0][1], number)


def _made(order: CellOrder, here: _Opened, number: int) -> CellMade:
    (cell,) = variants(
        order.shown, here.base, order.axes, silent, for_render=True, numbers={number}
    )
    values, prepared = cell
    judged = prepared
    if here.judged_base is not None:
        (other,) = variants(
            order.shot, here.judged_base, order.axes, silent, for_render=False, numbers={number}
        )
        judged = other[1]
    sizes = (order.cell_px,) if order.page_px is None else (order.cell_px, order.page_px)
    takes = [here.take(prepared, px) for px in sizes]
    pictures = [
        screen_picture(
            photograph(take.through(prepared.setting), prepared.setting).light,
            prepared.encoding,
        )
        for take in takes
    ]
    case = here.case(judged)
    verdict = judge_case(case, judged.setting, judged.limits)
    sharp = asked_for(judged, case, verdict)
    if not turns_only(order.shot, {axis.name for axis in order.axes}):
        here.forget()
    words = " · ".join(
        axis_words(axis.name, value, prepared.setting, prepared.scene.vantage)
        for axis, value in zip(order.axes, values, strict=True)
    )
    return CellMade(
        picture=pictures[0],
        page_picture=pictures[-1],
        verdict=verdict,
        close=_close_ups(order, here, prepared, pictures[0].size),
        sharpness=sharp,
        words=words,
        setting=prepared.setting,
        vantage=prepared.scene.vantage,
        focus=prepared.shot.lens.focus,
        notes=prepared.notes,
        guesses=tuple(prepared.guesses),
        lifted=takes[0].lifted is not None,
        lift_words=(
            lift_words(prepared, MOCKUP_STOPS, found=False),
            lift_words(prepared, MOCKUP_STOPS, found=True),
        ),
    )


def _close_ups(
    order: CellOrder, here: _Opened, prepared: Prepared, picture_px: tuple[int, int]
) -> CloseUps | None:
    """Two places at the pixels of what is rendered, chosen once for all cells."""
    if not shows_close_ups(order.axes):
        return None
    if here.chosen is None:
        here.chosen = chosen_close_ups(here.base, *close_up_px(picture_px))
    take = to_take(prepared, MOCKUP_STOPS)
    return take_close_ups(take, prepared.setting, here.chosen, prepared.encoding)


def shows_close_ups(axes: Sequence[Axis]) -> bool:
    """Whether cells differ by their stop alone, and so may look alike when they are small."""
    return [axis.name for axis in axes] == ["f"]

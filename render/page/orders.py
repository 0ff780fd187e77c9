"""What can be taken away from the page, and the job that makes each."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from render.errors import InputError
from render.files.shots import Shot, write_shot
from render.jobs.progress import Progress

__all__ = ["KINDS", "Order", "fill", "read_order"]

_ENDINGS = ("jpg", "tif", "png")


@dataclass(frozen=True, slots=True)
class Order:
    """What is wanted, and as what kind of file where there is a choice."""

    kind: str
    ending: str = "jpg"


def read_order(wish: dict[str, Any]) -> Order:
    """Read an order as the page writes it.

    Raises
    ------
    InputError
        If nothing of that kind is made here.
    """
    kind, options = wish.get("kind"), wish.get("options") or {}
    ending = options.get("ending", "jpg") if isinstance(options, dict) else None
    if not isinstance(kind, str) or kind not in KINDS or ending not in _ENDINGS:
        raise InputError("the page asked for something that is not made here: load it again")
    return Order(kind, ending)


def fill(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """Make what was ordered in `folder` and return the file.

    Raises
    ------
    HingelineError
        As the job that makes it.
    """
    if not shots:
        raise InputError("there is no setting to make it from: open a picture first")
    return KINDS[order.kind](order, shots, folder, progress)


def _photograph(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    from render.jobs.render import render

    out = folder / f"{_stem(shots[0])}_tilted.{order.ending}"
    render(shots[0], out, progress=progress)
    return out


def _shown(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """Before, blur map and after in one picture."""
    from render.jobs.render import render

    out = folder / f"{_stem(shots[0])}_tilted.{order.ending}"
    render(shots[0], out, show=True, progress=progress)
    return out.with_name(f"{out.stem}_compare.png")


def _shot(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """A shot file; a picture that was dropped is named without a folder, to lie beside it."""
    out = folder / f"{_stem(shots[0])}.toml"
    write_shot(out, shots[0])
    return out


def _stem(shot: Shot) -> str:
    return Path(shot.picture).stem if shot.picture else str(shot.scene)


Maker = Callable[[Order, list[Shot], Path, Progress], Path]

KINDS: dict[str, Maker] = {"photograph": _photograph, "shown": _shown, "shot": _shot}

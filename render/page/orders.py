"""What can be taken away from the page, and the job that makes each."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from render.errors import InputError
from render.files.shots import write_shot
from render.load.progress import Progress
from render.shot.keys import keys_of, read_wishes
from render.shot.shot import Shot, shot_keys
from render.shot.wishes import BoardWishes, DayWishes

__all__ = ["KINDS", "Order", "fill", "read_order"]

_ENDINGS = ("jpg", "tif", "png")
_LONGEST_TEXT = 80
#: Rays a pixel through the exact lens.
_RAYS = 256
_MOST_ALTERNATIVES = 4
#: What may be said of a thing besides its shot: the options of its command.
_WISHES: dict[str, type] = {"board": BoardWishes, "card": DayWishes}


@dataclass(frozen=True, slots=True)
class Order:
    """What is wanted, as what kind of file where there is a choice, and what was said of it.

    Attributes
    ----------
    words : mapping of name to text
        Options of the command that makes it, by their names.
    """

    kind: str
    ending: str = "jpg"
    words: Mapping[str, str] = field(default_factory=dict)


def read_order(wish: dict[str, Any]) -> Order:
    """Read an order as the page writes it.

    Raises
    ------
    InputError
        If nothing of that kind is made here, or a text is none or too long.
    """
    kind, options = wish.get("kind"), wish.get("options", {})
    if not isinstance(kind, str) or kind not in KINDS or not isinstance(options, dict):
        raise InputError("the page asked for something that is not made here: load it again")
    ending = options.get("ending", "jpg")
    if ending not in _ENDINGS:
        raise InputError("the page asked for a kind of file that is not made here: load it again")
    words = {name: text for name, text in options.items() if name != "ending"}
    known = keys_of(_WISHES[kind]) if kind in _WISHES else {}
    for name, text in words.items():
        if name not in known or known[name].names_file is not None or known[name].many:
            raise InputError(f'"{name}" is not known here: load the page again')
        if not isinstance(text, str) or len(text) > _LONGEST_TEXT:
            raise InputError(f'"{name}" may have up to {_LONGEST_TEXT} letters: shorten it')
    said = {name: text.strip() for name, text in words.items() if text.strip()}
    return Order(kind, ending, said)


def fill(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """Make what was ordered in `folder` and return the file.

    Parameters
    ----------
    shots : list of Shot
        The one at hand first; a board shows those that follow as alternatives.

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

    out = folder / f"{shots[0].stem}_tilted.{order.ending}"
    render(shots[0], out, progress=progress)
    return out


def _exact(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    from render.jobs.render import render

    out = folder / f"{shots[0].stem}_exact.{order.ending}"
    render(shots[0], out, exact=_RAYS, progress=progress)
    return out


def _shown(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """Before, blur map and after in one picture."""
    from render.jobs.render import render

    out = folder / f"{shots[0].stem}_tilted.jpg"
    render(shots[0], out, show=True, progress=progress)
    return out.with_name(f"{out.stem}_compare.png")


def _sheet(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """A stop sheet, or tilt by f-number."""
    from render.jobs.compare import compare

    out = folder / f"{shots[0].stem}_{order.kind}.png"
    compare(shots[0], out, kind=order.kind, progress=progress)
    return out


def _board(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """One page for a client; what was pinned besides becomes its alternatives."""
    from render.jobs.board import board

    out = folder / f"{shots[0].stem}_board.pdf"
    others = [text for shot in shots[1:] if (text := _difference(shots[0], shot))]
    wishes = read_wishes(
        BoardWishes, {**order.words, "alternative": tuple(others[:_MOST_ALTERNATIVES])}, "{name}"
    )
    board(shots[0], out, wishes, progress=progress)
    return out


def _section(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    from render.jobs.section import section

    out = folder / f"{shots[0].stem}_section.pdf"
    section(shots[0], out, progress=progress)
    return out


def _card(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    from render.jobs.card import card

    out = folder / f"{shots[0].stem}_card.pdf"
    wishes = read_wishes(DayWishes, order.words, "{name}")
    card(shots[0], wishes, out, progress=progress)
    return out


def _shot(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    out = folder / f"{shots[0].stem}.toml"
    write_shot(out, shots[0])
    return out


def _difference(main: Shot, other: Shot) -> str:
    """How the lens of another shot of the same place differs, as a board reads it."""
    keys, first = shot_keys(), dict(main.written)
    if (main.picture, main.scene) != (other.picture, other.scene):
        return ""
    return "; ".join(
        f"{name}={text}"
        for name, text in other.written
        if keys[name].table in ("lens", "camera") and first.get(name) != text
    )


Maker = Callable[[Order, list[Shot], Path, Progress], Path]

KINDS: dict[str, Maker] = {
    "photograph": _photograph,
    "exact": _exact,
    "shown": _shown,
    "stops": _sheet,
    "grid": _sheet,
    "board": _board,
    "section": _section,
    "card": _card,
    "shot": _shot,
}

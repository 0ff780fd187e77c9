"""The jobs behind what can be saved or printed from the page."""

import json
import zipfile
from dataclasses import dataclass, field
from pathlib import Path

from render.files.shots import write_shot
from render.jobs.made import Made
from render.load.progress import Progress
from render.page.bundle import beside, pack, shot_name
from render.page.wishes import as_judge_wishes, read_float
from render.shot.declaring import Words, read_wishes
from render.shot.filmwishes import FilmWishes
from render.shot.shot import Shot
from render.shot.wishes import BoardWishes, DayWishes, Finish

__all__ = [
    "Order",
    "board",
    "card",
    "depth",
    "film",
    "judged",
    "loupe",
    "photograph",
    "section",
    "sheet",
    "shot",
    "shown",
]


@dataclass(frozen=True, slots=True)
class Order:
    """What is wanted, as what kind of file where there is a choice, and what was answered.

    Attributes
    ----------
    answers : dict of str to str
        By the names of `Kind.asks`; nothing where nothing was said.
    judging : dict of str to str
        What is asked of the judgement, as the page has it.
    desk : Path or None
        Files below it were dropped on the page and go when it ends.
    """

    kind: str
    ending: str
    answers: dict[str, str] = field(default_factory=dict)
    judging: dict[str, str] = field(default_factory=dict)
    desk: Path | None = None

    def number(self, name: str, usual: float) -> float:
        """A number that was answered, else the usual one."""
        return read_float(self.answers[name], name) if name in self.answers else usual


def photograph(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """The photograph, with what was asked to be done behind the lens."""
    from render.jobs.render import render

    out = folder / f"{shots[0].stem}_tilted.{order.ending}"
    said = {name: text for name, text in order.answers.items() if name != "exact"}
    finish = read_wishes(Finish, said, "{name}")
    exact = int(order.number("exact", 0)) or None
    render(shots[0], out, exact=exact, finish=finish, progress=progress)
    return out


def shown(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """One of the pictures that explain a render."""
    from render.jobs.render import render

    out = folder / f"{shots[0].stem}_tilted.jpg"
    render(shots[0], out, show=True, progress=progress)
    return out.with_name(f"{out.stem}_{order.ending}.png")


def sheet(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """A sheet, a page to wipe, or the single pictures."""
    from render.jobs.compare import compare

    said, shot = order.answers, shots[0]
    name = "compare" if "across" in said or "down" in said else said.get("sheet", "stops")
    stem = f"{shot.stem}_{name}"
    out = folder / f"{stem}.{order.ending if order.ending in ('png', 'jpg') else 'png'}"
    page = folder / f"{stem}.html" if order.ending == "html" else None
    singles = folder / "singles" if order.ending == "zip" else None
    if singles:
        singles.mkdir()
    compare(
        shot,
        out,
        kind=None if name == "compare" else name,
        across=said.get("across"),
        down=said.get("down"),
        cell_px=int(order.number("cell", 480)),
        page=page,
        singles=singles,
        title=said.get("title"),
        progress=progress,
    )
    if singles:
        packed = folder / f"{stem}.zip"
        with zipfile.ZipFile(packed, "w") as file:
            for path in (out, *sorted(singles.iterdir())):
                file.write(path, path.name)
        return packed
    return page or out


def board(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """One page for a client; what was pinned besides becomes its alternatives."""
    from render.jobs.board import board as make

    said: dict[str, Words] = dict(order.answers)
    out = folder / f"{shots[0].stem}_board.pdf"
    own = [text.strip() for text in str(said.pop("alternative", "")).split("|") if text.strip()]
    if own:
        said["alternative"] = tuple(own)
    says = [str(said.pop(name)) for name in ("say", "say-2", "say-3") if name in said]
    if says:
        said["say"] = tuple(says)
    png = out.with_suffix(".png") if order.ending == "png" else None
    wishes = read_wishes(BoardWishes, said, "{name}")
    make(shots[0], out, wishes, pinned=shots[1:], png=png, progress=progress)
    return png or out


def section(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """The side section."""
    from render.jobs.section import section as make

    out = folder / f"{shots[0].stem}_section.{order.ending}"
    make(shots[0], out, progress=progress)
    return out


def loupe(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """Chosen spots, ten times magnified."""
    from render.jobs.loupe import loupe as make

    out = folder / f"{shots[0].stem}_loupe.{order.ending}"
    spots = tuple(order.answers.get("spot", "").replace(";", " ").split())
    sensor_px = int(order.number("sensor-px", 6000))
    make(shots[0], out, at=spots, sensor_px=sensor_px, progress=progress)
    return out


def judged(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """The verdict in writing, or drawn over the picture."""
    from render.jobs.judge import judge

    out = folder / f"{shots[0].stem}_telltales.png"
    drawn = order.ending == "png"
    wishes = as_judge_wishes(order.judging)
    made = judge(shots[0], wishes, out, show=drawn, progress=progress)
    if drawn:
        return out
    return _written(folder / f"{shots[0].stem}_verdict.{order.ending}", made)


def card(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """The field card, as pages or in writing."""
    from render.jobs.card import card as make

    out = folder / f"{shots[0].stem}_card.{order.ending}"
    pdf = out if order.ending == "pdf" else None
    made = make(shots[0], read_wishes(DayWishes, order.answers, "{name}"), pdf, progress=progress)
    return pdf or _written(out, made)


def film(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """A clip, or the strip of nine of its moments."""
    from render.jobs.film import film as make

    said: dict[str, Words] = dict(order.answers)
    if "key" in said:
        said["key"] = tuple(part.strip() for part in str(said["key"]).split("|") if part.strip())
    strip = folder / f"{shots[0].stem}_strip.png" if order.ending == "png" else None
    out = folder / f"{shots[0].stem}_film.{'mp4' if strip else order.ending}"
    make(shots[0], read_wishes(FilmWishes, said, "{name}"), out, strip=strip, progress=progress)
    return strip or out


def depth(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """The depth map, or a picture of it."""
    from render.jobs.depth import make_depth

    shown = order.ending == "shown"
    out = folder / f"{shots[0].stem}_depth.{'tif' if shown else order.ending}"
    kind = order.answers.get("out-kind", "metres")
    make_depth(shots[0], out, kind=kind, show=shown, progress=progress)
    return out.with_name(f"{out.stem}_shown.png") if shown else out


def shot(order: Order, shots: list[Shot], folder: Path, progress: Progress) -> Path:
    """A file dropped on the page is called by its bare name: it lies beside the shot."""
    out = folder / f"{shot_name(shots[0])}.{order.ending}"
    if order.ending == "zip":
        pack(shots[0], out)
    else:
        kept = order.desk is None
        write_shot(out, shots[0] if kept else beside(shots[0], folder, only_in=order.desk))
    return out


def _written(path: Path, made: Made) -> Path:
    """What was said, for people or, as JSON, for programs."""
    text = json.dumps(made.record, indent=1) if path.suffix == ".json" else "\n".join(made.lines)
    path.write_text(f"{text}\n", encoding="utf-8")
    return path

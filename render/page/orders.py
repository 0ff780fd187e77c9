"""What can be saved or printed from the page, and the job that makes each."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from render.errors import InputError
from render.load.progress import Progress
from render.optics.exposure import SUNNY_F_NUMBER
from render.page import making
from render.page.asks import Ask, one_of, read_answers
from render.page.desk import Desk
from render.page.making import Order
from render.page.wishes import judge_wishes
from render.plan.cautions import Place
from render.shot.declaring import Words
from render.shot.shot import Shot

__all__ = ["KINDS", "Kind", "Order", "fill", "read_order", "with_own"]

Maker = Callable[[Order, list[Shot], Path, Progress], Path]


@dataclass(frozen=True, slots=True)
class Kind:
    """One thing that can be made.

    Attributes
    ----------
    command : str
        The command that makes the same.
    endings : tuple of (ending, words)
        The first is the usual one.
    only : str
        "photo" or "scene" where it is made of one alone.
    """

    command: str
    group: str
    title: str
    about: str
    make: Maker
    endings: tuple[tuple[str, str], ...]
    asks: tuple[Ask, ...] = ()
    only: str = ""

    def declared(self, name: str) -> dict[str, Any]:
        """As the page reads it."""
        return {
            "kind": name,
            "group": self.group,
            "title": self.title,
            "about": self.about,
            "endings": self.endings,
            "asks": [ask.declared() for ask in self.asks],
            "only": self.only,
        }


def read_order(wish: dict[str, Any], desk: Desk) -> Order:
    """Read an order as the page writes it.

    Raises
    ------
    InputError
        If nothing of that kind is made here, or an answer is none.
    """
    name, options = wish.get("kind"), wish.get("options", {})
    if not isinstance(name, str) or name not in KINDS or not isinstance(options, dict):
        raise InputError("the page asked for something that is not made here: load it again")
    kind = with_own(KINDS[name], desk.own)
    ending = options.get("ending", kind.endings[0][0])
    if not isinstance(ending, str) or ending not in dict(kind.endings):
        raise InputError("the page asked for a kind of file that is not made here: load it again")
    said = {key: text for key, text in options.items() if key != "ending"}
    judging = judge_wishes(wish, desk)
    asked = {ask.name for ask in kind.asks}
    own = {name: str(words) for name, words in desk.own.items() if name in asked}
    answers = {**own, **read_answers(kind.asks, said, desk)}
    return Order(kind=name, ending=ending, answers=answers, judging=judging, desk=desk.folder)


def with_own(kind: Kind, own: Mapping[str, Words]) -> Kind:
    """The kind with its questions as they stand for whoever has defaults of their own."""
    return replace(kind, asks=tuple(_answered(ask, own.get(ask.name)) for ask in kind.asks))


def _answered(ask: Ask, words: Words | None) -> Ask:
    if words is None:
        return ask
    mine = f"yours: {Path(str(words)).name if ask.kind == 'file' else words}"
    if not ask.choices:
        return replace(ask, empty=mine)
    named = ((value or shown, shown) for value, shown in ask.choices)
    return replace(ask, choices=(("", mine), *named))


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
    return KINDS[order.kind].make(order, shots, folder, progress)


_PICTURES = (("jpg", "JPEG"), ("tif", "TIFF, 16 bit"), ("png", "PNG, 16 bit"))
_WORDS = (("txt", "text"), ("json", "JSON, for programs"))
_SHEETS = (
    ("", "every whole stop"),
    ("grid", "tilt by f-number"),
    ("focus", "focus places"),
    ("lenses", "focal lengths"),
    ("vantages", "standpoints (scenes, surveys)"),
)
_WEATHER = (("", "as in the picture"), *((name, name) for name in SUNNY_F_NUMBER))
_DEPTH_FILES = (
    *(("tif", "TIFF, float"), ("npy", "NPY"), ("npz", "NPZ"), ("pfm", "PFM"), ("exr", "EXR")),
    *(("png", "PNG, 16 bit"), ("shown", "a picture to look at")),
)
_IN_FULL = Ask("exact", "Every ray traced: rays a pixel", "as the engine does", first=True)
_FINISH = (
    Ask("diffraction", "Diffraction of small stops", kind="flag"),
    Ask("fall-off", "Darker corners", kind="flag"),
    Ask("glare", "Glare: a veil of so many %, and the iris's spikes", "none"),
    Ask("grain", "Grain: match, or its size in full light", "0"),
    Ask("seed", "Another grain", "1"),
)

KINDS: dict[str, Kind] = {
    "photograph": Kind(
        command="render",
        group="Pictures",
        title="The photograph, full size",
        about="As the lens would take it, in the picture's own size and colours.",
        make=making.photograph,
        endings=_PICTURES,
        asks=_FINISH,
        only="photo",
    ),
    "scene": Kind(
        command="render",
        group="Pictures",
        title="The photograph, full size",
        about="As the lens would take it. Traced ray by ray it takes minutes, and can be stopped.",
        make=making.photograph,
        endings=_PICTURES,
        asks=(_IN_FULL, *_FINISH),
        only="scene",
    ),
    "shown": Kind(
        command="render",
        group="Pictures",
        title="What the lens does to it",
        about="Blur map, sharp band, or both pictures with the map between them.",
        make=making.shown,
        endings=(
            ("compare", "before, map, after"),
            ("blur", "blur map"),
            ("band", "sharp band"),
        ),
    ),
    "sheet": Kind(
        command="compare",
        group="To compare",
        title="Comparison",
        about="The place under several settings, the best one marked.",
        make=making.sheet,
        endings=(
            *(("png", "sheet, PNG"), ("jpg", "sheet, JPEG")),
            *(("html", "page to wipe between any two"), ("zip", "sheet and single pictures")),
        ),
        asks=(
            Ask("sheet", "What changes", choices=_SHEETS, first=True),
            Ask("title", "Heading", first=True),
            Ask("across", "Own values, across", "f=2.8,4,8"),
            Ask("down", "Own values, down", "tilt=up 4,up 8"),
            Ask("cell", "Size of each picture, px", "480"),
        ),
    ),
    "loupe": Kind(
        command="loupe",
        group="To compare",
        title="Ten times magnified",
        about="The focus spot and the edges of the sharp band, at the sensor's pixels.",
        make=making.loupe,
        endings=(("png", "PNG"), ("jpg", "JPEG")),
        asks=(
            Ask("spot", "Further spots", "30%,45% 70%,50%"),
            Ask("sensor-px", "Sensor, px", "6000"),
        ),
    ),
    "board": Kind(
        command="board",
        group="For a client and for the day",
        title="Client's page",
        about="The picture, the place as it is, what is pinned, three plain sentences.",
        make=making.board,
        endings=(("pdf", "PDF"), ("png", "PNG, 300 dpi")),
        asks=(
            Ask("title", "Title", first=True),
            Ask("by", "Your name", first=True),
            Ask("logo", "Your logo", kind="file"),
            Ask("date", "Date", "today"),
            Ask("paper", "Paper", choices=one_of("a4", "a3", "letter")),
            Ask("orientation", "Held", choices=one_of("auto", "landscape", "upright")),
            Ask("alternative", "Other settings, with | between", "f=5.6 | Calmer: tilt=up 4"),
            Ask("moments", "Nine moments of its film in place of the picture", kind="flag"),
            Ask("clip", "Length of that film", "as under Film"),
            Ask("say", "Own first sentence"),
            Ask("say-2", "Own second sentence"),
            Ask("say-3", "Own third sentence"),
        ),
    ),
    "card": Kind(
        command="card",
        group="For a client and for the day",
        title="Field card",
        about="What to dial in on site, in the order of doing, with cautions first.",
        make=making.card,
        endings=(("pdf", "PDF, pocket size"), *_WORDS),
        asks=(
            Ask("weather", "The light", choices=_WEATHER, first=True, needed="light"),
            Ask(
                "place",
                "You stand",
                choices=(("", "somewhere"), *one_of("", *Place)[1:]),
                first=True,
            ),
            Ask("sun-in-frame", "Sun in or near the frame", kind="flag"),
            Ask("title", "Name of the place"),
            Ask("iso", "ISO", "100"),
            Ask("on-site", "How long there is", "10 min"),
            Ask("frames", "Frames to take"),
            Ask("megapixels", "Camera, megapixels", "24"),
            Ask(
                "look",
                "A clip moves as",
                choices=one_of("model", "toy traffic", "toy walkers", "clouds", "shadows"),
            ),
            Ask("interval", "Seconds between frames", "by how it moves"),
            Ask("speed", "Times faster than life", "12, or model"),
            Ask("fps", "Frames a second", "25"),
            Ask("clip", "Seconds of clip", "10"),
        ),
    ),
    "section": Kind(
        command="section",
        group="For a client and for the day",
        title="Side section",
        about="Camera, plane of sharp focus, hinge line and ground, to scale.",
        make=making.section,
        endings=(("pdf", "PDF"), ("svg", "SVG"), ("png", "PNG")),
    ),
    "verdict": Kind(
        command="judge",
        group="To keep",
        title="Verdict",
        about="In writing, with every figure; or the telltales drawn over the picture.",
        make=making.judged,
        endings=(*_WORDS, ("png", "telltales, PNG")),
    ),
    "depth": Kind(
        command="depth",
        group="To keep",
        title="Depth map",
        about="The distance of every point, to use again or elsewhere.",
        make=making.depth,
        endings=_DEPTH_FILES,
        asks=(
            Ask(
                "out-kind",
                "Its numbers",
                choices=one_of("metres", "millimetres", "inverse", "disparity", "ray"),
                first=True,
            ),
        ),
    ),
    "film": Kind(
        command="film",
        group="To move",
        title="A clip",
        about="The scene as it moves, the lens as it tilts in, or your own clip through the lens.",
        make=making.film,
        endings=(
            *(("mp4", "MP4"), ("mov", "MOV"), ("mkv", "MKV"), ("webp", "WebP"), ("gif", "GIF")),
            ("png", "strip of nine moments"),
        ),
        asks=(
            Ask("clip", "Length", "as under Film", first=True),
            Ask("reveal", "Tilt in over", "not at all", first=True),
            Ask("footage", "A clip to film through the lens", kind="file"),
            Ask("speed", "Times faster than life", "1, or model"),
            Ask("fps", "Frames a second", "25"),
            Ask("from", "Begin in it at", "0 s"),
            Ask("to", "End in it at", "its end"),
            Ask("key", "Moments, with | between", "0 s: tilt=0 | 4 s: tilt=up 8"),
            Ask("follow", "Keep this thing sharp", "its name"),
            Ask("shutter", "Average frames", "180°"),
            Ask("codec", "Codec", "as the ending suggests"),
            Ask("on-twos", "Each picture for two frames", kind="flag"),
            Ask("even-light", "Even out flicker", kind="flag"),
            Ask("steady", "Steady a hand-held clip", kind="flag"),
            Ask("side-by-side", "Straight lens beside it", kind="flag"),
            Ask("movers", "Depth for what moves", kind="flag"),
        ),
    ),
    "shot": Kind(
        command="render",
        group="To keep",
        title="These settings",
        about="In plain words, to open here again or to repeat by command.",
        make=making.shot,
        endings=(("zip", "with the picture, one file"), ("toml", "shot file alone")),
    ),
}

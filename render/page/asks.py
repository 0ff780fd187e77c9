"""What the page asks besides a shot: of the judgement, and of each thing that can be saved."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal

from render.errors import InputError
from render.page.desk import Desk

__all__ = ["JUDGING", "Ask", "read_answers"]

_LONGEST_TEXT = 200
_AGAIN = "load the page again"

Kind = Literal["text", "choice", "flag", "file"]


@dataclass(frozen=True, slots=True)
class Ask:
    """One question, answered by words.

    Attributes
    ----------
    name : str
        The command's own option, without the dashes.
    empty : str
        What holds where nothing is answered.
    choices : tuple of (value, words)
        The first is taken where nothing is answered.
    first : bool
        Asked at once, not only of who wants more choices.
    needed : str
        "light": needed where neither scene nor sun nor the picture's exposure tells it.
    """

    name: str
    label: str
    empty: str = ""
    kind: Kind = "text"
    choices: tuple[tuple[str, str], ...] = ()
    help: str = ""
    first: bool = False
    needed: str = ""

    def declared(self) -> dict[str, Any]:
        """As the page reads it."""
        return {**asdict(self), "kind": "choice" if self.choices else self.kind}


def one_of(*words: str) -> tuple[tuple[str, str], ...]:
    """Choices that are their own words; the first is the usual one."""
    return (("", words[0]), *((word, word) for word in words[1:]))


JUDGING = (
    Ask(
        "seen-by",
        "Who looks at the model",
        choices=one_of("eye", "telephone", "close-up lens at f/8", "close-up lens at f/16"),
    ),
    Ask("shown", "How large it is seen", choices=one_of("screen", "phone", "A3")),
    Ask("as", "Wanted scale, 1 to", "87"),
    Ask("visual-range", "One sees so far", "as the air looks"),
    Ask("small-things", "People and cars in the band", "not counted"),
    Ask("depth-error", "Depth may be off by", "0.2 is 20 %"),
    Ask("rendered", "A rendering, for its colours", kind="file"),
    Ask(
        "lenses",
        "Lenses to choose from, for the best setting",
        "24, 45, long 90",
        help="focal lengths, or lenses that come along; this one otherwise",
    ),
    Ask("best", "", kind="flag"),
)


def read_answers(asks: tuple[Ask, ...], given: Any, desk: Desk) -> dict[str, str]:
    """Answers as the page sends them; files by where they lie, nothing for what is empty.

    Raises
    ------
    InputError
        If something was not asked, or is no answer to it.
    """
    if not isinstance(given, Mapping):
        raise InputError(f"the page sent answers that are none: {_AGAIN}")
    known = {ask.name: ask for ask in asks}
    answers = {}
    for name, text in given.items():
        ask = known.get(name)
        if ask is None or not isinstance(text, str):
            raise InputError(f'"{name}" is not known here: {_AGAIN}')
        if len(text) > _LONGEST_TEXT:
            raise InputError(f"“{ask.label}” may have up to {_LONGEST_TEXT} letters: shorten it")
        if ask.choices and text not in dict(ask.choices):
            raise InputError(f"“{ask.label}”: choose one of those offered")
        if text.strip():
            answers[name] = desk.path(text) if ask.kind == "file" else text.strip()
    return answers

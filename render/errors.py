"""Every error a person may be shown.

* HingelineError            one sentence: what, where, what to do
  + InputError              a file or value that was handed in cannot be used
    + NoPictureError        a file is no picture of any kind that is read
  + SettingError            the lens setting cannot exist, or has no answer
    + LensError             it is beyond the lens or the sensor that was named
      + FrameError          by what the picture holds, which rests on what took it
  + OutputError             nothing was written; the place refused it

A sentence may quote what a stranger wrote into a file: it is cleaned where it is made, so that
no terminal obeys it and nobody has to scroll past it.
"""

import re
import unicodedata

__all__ = [
    "FrameError",
    "HingelineError",
    "InputError",
    "LensError",
    "NoPictureError",
    "OutputError",
    "SettingError",
]


#: A word, and what is quoted, longer than this is shortened in the middle, letters.
_MOST_LETTERS = 160
_WORD = re.compile(rf"\S{{{_MOST_LETTERS + 1},}}")
_QUOTED = re.compile(rf'(?<=")[^"]{{{_MOST_LETTERS + 1},}}(?=")')
#: Categories of Unicode: control, direction and format, halves of letters, breaks of lines.
_OBEYED = ("Cc", "Cf", "Cs", "Zl", "Zp")


class HingelineError(Exception):
    """One sentence a person can act on: what is wrong, where, what to do."""

    def __init__(self, sentence: object = "") -> None:
        super().__init__(_plain(str(sentence)))


class InputError(HingelineError, ValueError):
    """A file or value that was handed in cannot be used."""


class NoPictureError(InputError):
    """A file is no picture of any kind that is read."""


class SettingError(HingelineError, ValueError):
    """A lens setting that cannot exist, or a wish that no setting fulfils."""


class LensError(SettingError):
    """A setting beyond the lens or the sensor that was named."""


class FrameError(LensError):
    """The same, by what the picture holds: it rests on what took the picture too."""


class OutputError(HingelineError, OSError):
    """Nothing was written, because the place to write to refused it."""


def _plain(sentence: str) -> str:
    """The sentence on one line, without what a terminal obeys, endless words shortened."""
    if not sentence.isprintable():
        sentence = "".join(map(_harmless, sentence))
    for endless in (_WORD, _QUOTED):
        sentence = endless.sub(lambda found: f"{found[0][:40]}...{found[0][-30:]}", sentence)
    return sentence


def _harmless(letter: str) -> str:
    if letter in "\t\n\r":
        return " "
    return "?" if unicodedata.category(letter) in _OBEYED else letter

"""What a verdict says below its first line (judge/verdict_words.py): parts, telltales, advice."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from render.judge.advising.advice import Advice
from render.judge.cues import Picture
from render.judge.notes import Note
from render.judge.score import Word
from render.judge.verdict import Verdict
from render.judge.verdict_words import built_words, stands_words
from render.judge.viewpoint import Stance
from render.judge.weights import RULES
from render.words import percent

__all__ = ["Part", "ToDo", "first_words", "note_lines", "parts_of", "reason_lines", "to_do_words"]

_CLEAR_THE_FRONT = (
    "stand or frame so that what is near the lens stays out of the picture, without leaning out"
)
_BY_A_BOX = (
    'each by a box from its top to its foot, such as --thing "box 40%,50% 60%,80%" '
    "(a sample: each thing has corners of its own)"
)
_SAY_WHAT_STANDS = "say what stands, the largest first"
_SAY_WHAT_ELSE = "say what else stands, if anything does"
_GO_WHERE_THINGS_STAND = "go, or turn, to where things stand: nothing does in this frame"
#: What no advice means: of a "might" that nothing tried betters it plainly, not that nothing could.
_ELSE = ("makes a model of it", "is plainly better")
_NO_MARK = 0.005  # printed as 0.00
_LISTED = 5  # telltales said in words; the record holds all


@dataclass(frozen=True, slots=True)
class Part:
    """One of the five parts of a score.

    Attributes
    ----------
    mark : float
        0 to 1.
    weight : float
    words : str
        What was found, with its unit.
    """

    name: str
    mark: float
    weight: float
    words: str


@dataclass(frozen=True, slots=True)
class ToDo:
    """What to do, for people.

    Attributes
    ----------
    words : str
        "nothing", or what to change and what comes of it.
    lead : str
        What stands before that.
    more : tuple of str
        Lines that belong to it: the options to type.
    """

    words: str
    lead: str = "To do"
    more: tuple[str, ...] = ()

    @property
    def lines(self) -> list[str]:
        """All of it, a line for each."""
        return [f"{self.lead}: {self.words}", *self.more]


def reason_lines(
    verdict: Verdict,
    advice: Sequence[Advice] = (),
    notes: Sequence[Note] = (),
    typed: Sequence[str] = (),
) -> list[str]:
    """What the verdict rests on and what else would help, for people.

    Parameters
    ----------
    typed : sequence of str
        Under each piece of advice the options to type for it, or nothing.
    """
    lines = [
        f"  {part.name:<11}{part.mark:.2f} x {part.weight:.2f}  {part.words}"
        for part in parts_of(verdict)
    ]
    lines.append(verdict.stops.sentence)
    lines += [f"Also: {remark}" for remark in verdict.remarks]
    if verdict.telltales:
        lines.append("What betrays it, worst first:")
        lines += [f"  {t.number}. {t.sentence}" for t in verdict.telltales[:_LISTED]]
    if len(advice) > 1:
        lines.append("What else would help, each judged anew:")
        for number, line in enumerate(advice[1:], start=1):
            lines.append(f"  {line.line}")
            lines += [f"    {options}" for options in typed[number : number + 1] if options]
    return lines + note_lines(notes)


def note_lines(notes: Sequence[Note]) -> list[str]:
    """The notes under their heading."""
    if not notes:
        return []
    return [
        "Notes of the trade, not scored:",
        *(f"  {note.text} ({note.source})" for note in notes),
    ]


def to_do_words(verdict: Verdict, advice: Sequence[Advice]) -> str:
    """What to do, in one line."""
    first, joined = first_words(verdict), "else"
    if first in (_SAY_WHAT_STANDS, _SAY_WHAT_ELSE):
        first, joined = f"{first}, {_BY_A_BOX}", "then"
    if advice:
        return f"{first}; {joined} {advice[0].line}" if first else advice[0].line
    if first:
        return first
    if verdict.word is Word.READS:
        return "nothing; no other setting that was tried from here is plainly better"
    if verdict.word is Word.CLOSE:
        return "nothing for a model; as a close photograph judge what is sharp and soft"
    rest = _ELSE[verdict.word is Word.MIGHT]
    if verdict.near_spoils:
        return f"{_CLEAR_THE_FRONT}; nothing else that was tried {rest}"
    return f"nothing that was tried from here {rest}"


def first_words(verdict: Verdict) -> str:
    """What comes before any advice, where the verdict rests on what is not known to stand there."""
    falls = verdict.word.of_a_model and built_words(verdict.score, verdict.built_over)
    if falls or (verdict.word is Word.MIGHT and verdict.bare_ground):
        return _SAY_WHAT_STANDS if verdict.bare_ground else _SAY_WHAT_ELSE
    return _GO_WHERE_THINGS_STAND if verdict.word is Word.MIGHT and verdict.empty else ""


def parts_of(verdict: Verdict) -> list[Part]:
    """The five parts with their own numbers and units, in the order of their weights."""
    m, s, p = verdict.measures, verdict.stance, verdict.picture
    phi = s.depression_deg
    look_words = "steepness not known" if math.isnan(phi) else f"what is sharp lies {_below(phi)}"
    above = "nothing" if s.above_share < 0.005 else percent(s.above_share)
    words = {
        "nearness": f"{stands_words(verdict.apparent_m)} ({verdict.strength})",
        "agreement": f"blur follows depth: correlation {max(0.0, m.correlation):.2f}",
        "visibility": _visibility(verdict),
        "viewpoint": f"{look_words}; {above} of the picture above that level",
        "picture": ", ".join(_cues(p, s)),
    }
    return [
        Part(name, mark, weight, text)
        for (name, text), mark, weight in zip(
            words.items(), verdict.marks.as_tuple(), RULES.weights, strict=True
        )
    ]


def _visibility(verdict: Verdict) -> str:
    """The two quantities that are marked, and which of them takes the mark away."""
    m = verdict.measures
    share = m.looks_sharp
    sharp = "all" if share > 0.995 else "nothing" if share < 0.00005 else percent(share)
    softest, follows = percent(m.edge_blur), percent(m.following_blur)
    there = "of the height at the softest twentieth of the detail"
    blur = f"blur that follows depth takes {follows} {there}"
    if softest != follows:  # what sheets call the softest is all the blur there is
        blur = f"blur takes {softest} {there}, blur that follows depth {follows}"
    text = f"{blur}; {sharp} of it looks sharp by that on {verdict.viewing.named}"
    if verdict.marks.visibility >= _NO_MARK:
        return text
    if share <= RULES.sharp_none:
        return f"{text}, which is no band"
    if share >= RULES.sharp_all:
        return f"{text}, so too little is soft"
    if m.following_blur > RULES.seen_none * verdict.just_seen:
        return f"{text}, but too little of the blur goes with depth"
    return f"{text}, so faint that nobody sees it"


def _below(phi_deg: float) -> str:
    return f"{abs(phi_deg):.0f}° {'below' if phi_deg >= 0 else 'above'} eye level"


def _cues(picture: Picture, stance: Stance) -> list[str]:
    cues = [f"sharp {100 * picture.band_from_top:.0f} % from the frame's top"]
    if not math.isnan(picture.chroma):
        colours = f"colour C* {picture.chroma:.0f}, contrast {picture.contrast_stops:.1f} stops"
        cues.append(f"{colours} (told, not scored)")
    if not math.isnan(stance.standing_share):
        shown = stance.standing_share >= 0.0005
        what = f"{percent(stance.standing_share)} of it" if shown else "nothing"
        cues.append(f"{what} stands in the sharp band")
    return cues

"""What a verdict says to people: headline, parts, telltales, advice, notes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from render.judge.advice import Advice
from render.judge.notes import Note
from render.judge.verdict import Verdict
from render.judge.weights import RULES
from render.words import metres

__all__ = ["Part", "parts_of", "verdict_lines", "word_of"]

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


def verdict_lines(
    verdict: Verdict, advice: Sequence[Advice] = (), notes: Sequence[Note] = ()
) -> list[str]:
    """The verdict for people."""
    lines = [verdict.sentence]
    lines += [
        f"  {part.name:<11}{part.mark:.2f} x {part.weight:.2f}  {part.words}"
        for part in parts_of(verdict)
    ]
    lines.append(verdict.stops.sentence)
    lines += [f"Also: {remark}" for remark in verdict.remarks]
    if verdict.telltales:
        lines.append("What betrays it, worst first:")
        lines += [f"  {t.number}. {t.sentence}" for t in verdict.telltales[:_LISTED]]
    if advice:
        lines.append("What would help, each judged anew:")
        lines += [f"  {line.line}" for line in advice]
    else:
        lines.append("What would help: nothing that can be tried from here gains a point")
    if notes:
        lines.append("Notes of the trade, not scored:")
        lines += [f"  {note.text} ({note.source})" for note in notes]
    return lines


def parts_of(verdict: Verdict) -> list[Part]:
    """The five parts with their own numbers and units, in the order of their weights."""
    m, s, p = verdict.measures, verdict.stance, verdict.picture
    band = m.band.height_fraction
    band_words = "all of it is sharp" if band >= 1 else f"sharp band {100 * band:.2g} % of it"
    phi = s.depression_deg
    look_words = "steepness unknown" if math.isnan(phi) else f"band {phi:.0f}° below eye level"
    cues = [f"band {100 * p.band_from_top:.0f} % from the top"]
    if not math.isnan(p.chroma):
        cues.append(f"colour C* {p.chroma:.0f}, contrast {p.contrast_stops:.1f} stops")
    words = {
        "nearness": f"seems to stand at {metres(verdict.apparent_m)} ({verdict.strength})",
        "agreement": f"blur follows depth: C = {m.correlation:.2f}",
        "visibility": f"edges blurred by {100 * m.edge_blur:.2g} % of the height, {band_words}",
        "viewpoint": f"{look_words}, sky {100 * s.sky_share:.0f} %",
        "picture": ", ".join(cues),
    }
    return [
        Part(name, mark, weight, text)
        for (name, text), mark, weight in zip(
            words.items(), verdict.marks.as_tuple(), RULES.weights, strict=True
        )
    ]


def word_of(verdict: Verdict) -> str:
    """The verdict's word, with a doubt in front where it is a near thing."""
    return f"on the border: {verdict.word}" if verdict.on_the_border else str(verdict.word)

"""The one question that a single photo leaves open: what stands near the lens."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.judge.case import Case
from render.judge.verdict import Verdict
from render.judge.weights import RULES
from render.optics.blur import defocus, slope_per_defocus
from render.optics.plane import focus_lens
from render.shot.depthkeys import near_example
from render.words import length_words

__all__ = ["KINDS", "NearQuestion", "answer_words", "near_question"]

#: What stands near lenses.
KINDS = "a rail, post, branch, wire or parapet"
_CELLS = 24  # each way, over the frame
_AS_BAD = 0.1  # places that differ by less are equally bad


def answer_words() -> str:
    """How the question is answered on a command line, in the units of whoever reads it."""
    return (
        f"if so, draw a stroke along it with a rough distance, --near {near_example()}; "
        "if not, --near none"
    )


_ANYWHERE = "anywhere in the picture"


@dataclass(frozen=True, slots=True)
class NearQuestion:
    """What is asked, and where a near thing would hurt most.

    Attributes
    ----------
    limit_m : float
        Nearer than this a thing is meant; NaN where the focus has no distance.
    place : str
        "in the lower third, on the left".
    box : tuple of 4 floats
        Left, top, right, bottom of that place, shares of the frame.
    """

    limit_m: float
    place: str
    box: tuple[float, float, float, float]

    @property
    def words(self) -> str:
        """The question alone."""
        limit = (
            "near the lens"
            if np.isnan(self.limit_m)
            else (
                f"within {length_words(self.limit_m)} of the lens (a quarter of the "
                f"{length_words(self.limit_m / RULES.foreground_ratio)} that the blur as a whole "
                "reads as focused at)"
            )
        )
        most = "as much" if self.place == _ANYWHERE else "most"
        return f"is anything {limit}: {KINDS}? It would hurt {most} {self.place}"

    @property
    def on_site(self) -> str:
        """What to keep out of the frame, short."""
        limit = (
            "near the lens" if np.isnan(self.limit_m) else f"within {length_words(self.limit_m)}"
        )
        least = "" if self.place == _ANYWHERE else f", least of all {self.place}"
        return f"no rail, post, branch or wire {limit}{least}"

    @property
    def sentence(self) -> str:
        """The question and how it is answered on a command line."""
        answer = answer_words()
        return (
            f"Not said: {self.words}. Until it is, the verdict counts with it, a little lower and "
            f"less sure; something there often ends the matter. {answer[0].upper()}{answer[1:]}"
        )


def near_question(case: Case, verdict: Verdict) -> NearQuestion | None:
    """The question, unless the depth knows what stands near.

    Blur of a thing at a quarter of the focus distance, against what a model's would be there
    (the plain lens of `render.judge.measures`), over the thirds of the frame.
    """
    if not case.unsaid.near:
        return None
    measures, camera = verdict.measures, case.samples.camera
    lens = focus_lens(verdict.setting)
    share = (np.arange(_CELLS) + 0.5) / _CELLS
    slopes = camera.slopes(*np.meshgrid(share * camera.width_px, share * camera.height_px))
    focus = measures.focus_inverse
    if not focus > 0:  # the fitted lens is focused beyond everything: take what is in the picture
        focus = float(np.median(case.samples.inverse[case.samples.seen]))
    nearness = focus / RULES.foreground_ratio
    blur = slope_per_defocus(lens) * defocus(lens, slopes, np.full(slopes.shape[:-1], nearness))
    off = np.abs(blur - (measures.slope * nearness + measures.intercept))
    thirds = off.reshape(3, _CELLS // 3, 3, _CELLS // 3).mean(axis=(1, 3))
    worst = thirds >= (1.0 - _AS_BAD) * thirds.max()
    rows, columns = np.flatnonzero(worst.any(axis=1)), np.flatnonzero(worst.any(axis=0))
    box = (columns[0] / 3, rows[0] / 3, (columns[-1] + 1) / 3, (rows[-1] + 1) / 3)
    return NearQuestion(
        limit_m=1.0 / nearness if measures.focus_inverse > 0 else float("nan"),
        place=_place(rows, columns),
        box=(float(box[0]), float(box[1]), float(box[2]), float(box[3])),
    )


def _place(rows: NDArray[np.intp], columns: NDArray[np.intp]) -> str:
    """Where it is, as far as it is one place."""
    sideways = (
        "" if len(columns) > 1 else ("on the left", "in the middle", "on the right")[columns[0]]
    )
    if len(rows) > 1:
        return sideways or _ANYWHERE
    third = f"in the {('upper', 'middle', 'lower')[rows[0]]} third"
    return f"{third}, {sideways}" if sideways else third

"""A planned photograph judged, with advice and notes: the same for every command and the page."""

from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from render.errors import SettingError
from render.judge.advising.advice import Advice, advise, f_number_for_scale
from render.judge.advising.vantages import NO_ELSEWHERE, Elsewhere
from render.judge.case import Case, assess
from render.judge.near_question import NearQuestion, near_question
from render.judge.notes import Note, trade_notes, uprights
from render.judge.samples import sample
from render.judge.sharpness import Sharpness
from render.judge.verdict import Verdict, judge_case
from render.judge.verdict_words import if_guessed
from render.judge.viewpoint import crowded
from render.load.case import case_of
from render.load.prepared import Prepared
from render.load.progress import silent
from render.optics.camera import Vantage
from render.optics.solving.holding import nearest_inside
from render.optics.solving.limits import usual_limits
from render.scene.scene import Scene
from render.shot.shot import Shot
from render.shot.wishes import JudgeWishes
from render.tell.best import Best, best_of, best_record, best_to_do
from render.tell.records.declared import JudgedRecord, NearRecord
from render.tell.seen import asked_for, named_sharpness
from render.tell.setting_values import advised_values, option_words, options_line
from render.tell.summary import credit_words, setting_record, setting_words, undialled_words
from render.tell.verdict_lines import ToDo, note_lines, reason_lines, to_do_words
from render.tell.verdict_record import verdict_base
from render.words import marked_f_number, spell_f_number

if TYPE_CHECKING:
    from render.trace.build import Built
    from render.trace.trace import View

__all__ = [
    "Judged",
    "judge_prepared",
    "judged_lines",
    "judged_record",
    "near_record",
    "to_do_lines",
]

_QUICK_WIDTH_PX = 640  # of the looks that only test advice
_NO_WISHES = JudgeWishes()
_NO_MODEL = (
    "--best seeks a model's setting, which is not asked for here; hingeline solve --sharp finds "
    "the one that holds these things sharp"
)


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A verdict and what goes with it.

    Attributes
    ----------
    wanted_f_number : float or None
        At which it would read as the scale that was asked about.
    best : Best or None
        The best setting from here, if that was asked for and a model is.
    sharpness : Sharpness or None
        Where the shot asks for no miniature: whether what it asks for is sharp.
    """

    prepared: Prepared
    wishes: JudgeWishes
    case: Case
    verdict: Verdict
    advice: tuple[Advice, ...]
    notes: tuple[Note, ...]
    wanted_f_number: float | None
    best: Best | None = None
    sharpness: Sharpness | None = None

    @property
    def headline(self) -> str:
        """The first line: of a model or of what is sharp, and on what guess it rests."""
        said = self.sharpness.sentence if self.sharpness else self.verdict.sentence
        return if_guessed(said) if self.prepared.guesses else said

    @property
    def near_question(self) -> NearQuestion | None:
        """What is asked about things near the lens, unless that is known."""
        return near_question(self.case, self.verdict)


def judge_prepared(
    prepared: Prepared, wishes: JudgeWishes = _NO_WISHES, *, elsewhere: bool = True
) -> Judged:
    """Judge what `prepare` made.

    Parameters
    ----------
    elsewhere : bool
        Try other places to stand by tracing a demo scene from there, which takes seconds.

    Raises
    ------
    HingelineError
        If a wish cannot be.
    """
    case = case_of(prepared, wishes)
    verdict = judge_case(case, prepared.setting, prepared.limits)
    sharp = asked_for(prepared, case, verdict)
    wanted = None
    if wishes.scale is not None:
        wanted = f_number_for_scale(assess(case, prepared.setting), prepared.setting, wishes.scale)
    advice: tuple[Advice, ...] = ()
    best = None
    if not sharp:
        there = _elsewhere(prepared, traced=elsewhere)
        limits = prepared.limits
        advice = advise(prepared.scene, case, prepared.setting, limits=limits, there=there)
        best = best_of(prepared, case, verdict, wishes) if wishes.best else None
    lens_helps = any(line.of_the_lens for line in advice) or (best is not None and best.gains)
    return Judged(
        prepared=prepared,
        wishes=wishes,
        case=case,
        verdict=verdict,
        advice=advice,
        notes=_upright(case, verdict)
        if sharp
        else trade_notes(case, verdict, lens_helps=lens_helps),
        wanted_f_number=wanted,
        best=best,
        sharpness=sharp,
    )


def _word_at(judged: Judged, f_number: float | None) -> str | None:
    """What it reads as at another stop: a scale that nobody sees is no answer."""
    if f_number is None:
        return None
    there = replace(judged.prepared.setting, f_number=f_number)
    return str(assess(judged.case, there).score.word)


def _upright(case: Case, verdict: Verdict) -> tuple[Note, ...]:
    """How uprights lean, where no model is asked for."""
    if case.vantage is None:
        return ()
    return (uprights(case, case.vantage, verdict.setting, as_model=False),)


def scale_words(judged: Judged) -> str:
    """At which stop it reads as the scale that is wanted, and what it is there; or that none does.

    Nothing where no scale is wanted.
    """
    wanted, prepared = judged.wanted_f_number, judged.prepared
    if wanted is None:
        return ""
    marked = marked_f_number(wanted)
    limits = prepared.limits or usual_limits(prepared.setting.focal_mm)
    scale = f"To read as 1:{judged.wishes.scale:g}"
    if nearest_inside(limits, replace(prepared.setting, f_number=marked)).f_number != marked:
        ends = map(spell_f_number, (limits.widest_f_number, limits.smallest_f_number))
        has = " to ".join(ends)
        return f"{scale} it would take f/{wanted:.3g}, and {limits.name} has {has}"
    exactly = f"{spell_f_number(marked)} (exactly f/{wanted:.3g})"
    return f"{scale}: {exactly}; at that stop it {_word_at(judged, wanted)}"


def judged_lines(judged: Judged) -> list[str]:
    """Everything that is said of it to people, small print last."""
    prepared, unsure = judged.prepared, judged.case.depth_error
    lines = [judged.headline, *to_do_lines(judged), f"Setting: {setting_words(prepared)}"]
    undialled = undialled_words(prepared)
    lines += [f"Cannot be dialled: {undialled}"] if undialled else []
    lines += [f"Depth: {prepared.depth_how}", *_reasons(judged)]
    if (asked := judged.near_question) is not None:
        lines.append(asked.sentence)
    if unsure > 0:
        lines.append(f"The ranges count with the depth being off by about {100 * unsure:.0f} %")
    lines += filter(None, [scale_words(judged)])
    lines += [f"Note: {note}" for note in prepared.notes if note != undialled]
    lines += filter(None, [credit_words(prepared)])
    return [*lines, judged.verdict.small_print]


def to_do_lines(judged: Judged) -> list[str]:
    """What to do, and the options to type where that needs more than a word."""
    return _to_do(judged).lines


def _to_do(judged: Judged) -> ToDo:
    prepared, advice = judged.prepared, judged.advice
    if judged.best:
        return best_to_do(judged.best)
    if asked_for := judged.sharpness:
        words = asked_for.to_do(prepared.setting, prepared.limits)
    else:
        words = to_do_words(judged.verdict, advice)
    if judged.wishes.best:
        words = f"{words} ({_NO_MODEL})"
    first = "" if asked_for or not advice else _typed(advice[0], prepared)
    return ToDo(words, more=(first,) if first else ())


def _reasons(judged: Judged) -> list[str]:
    """What the verdict rests on, and what else would help, with the options to type for it."""
    verdict = judged.verdict
    if judged.sharpness:  # as a model it is one line; its parts help nobody
        return [f"As a model: {verdict.sentence}", *note_lines(judged.notes)]
    named = named_sharpness(judged.prepared, judged.case)
    typed = []
    if judged.best is None:
        typed = [_options(line, judged.prepared, "as options") for line in judged.advice]
    reasons = reason_lines(verdict, judged.advice, judged.notes, typed)
    return [named.sentence, *reasons] if named else reasons


def _typed(line: Advice, prepared: Prepared) -> str:
    """The options that do what the first line of advice says, or why there are none."""
    if line.vantage is not None and not prepared.shot.scene:
        return "As options: none: a photo keeps its height and pitch, so this is done on site"
    return _options(line, prepared, "As options")


def _options(line: Advice, prepared: Prepared, lead: str) -> str:
    return options_line(advised_values(line, prepared), prepared, lead)


def judged_record(judged: Judged) -> JudgedRecord:
    """The same for programs."""
    prepared = judged.prepared
    typed = [option_words(advised_values(line, prepared)) for line in judged.advice]
    record: JudgedRecord = {
        **verdict_base(judged.verdict, judged.advice, judged.notes, typed),
        "setting": setting_record(prepared),
        "headline": judged.headline,
        "to_do": _to_do(judged).words,
        "options": option_words(judged.best.values)
        if judged.best
        else "".join(typed[:1] if judged.sharpness is None else ()),
        "depth": prepared.depth_how,
        "notes": list(prepared.notes),
        "guessed": list(prepared.guesses),
        "f_number_for_scale": judged.wanted_f_number,
        "word_at_that_f_number": _word_at(judged, judged.wanted_f_number),
        "near_question": near_record(judged.near_question),
        "best": best_record(judged.best) if judged.best else None,
        "sharpness": _sharpness_record(judged),
        "credit": prepared.credit or None,
        "map": dict(prepared.map_record) or None,
    }
    return record


def _sharpness_record(judged: Judged) -> dict[str, Any] | None:
    found = judged.sharpness
    if found is None:
        return None
    setting = judged.prepared.setting
    said = {"sentence": found.sentence, "to_do": found.to_do(setting, judged.prepared.limits)}
    return asdict(found) | said


def near_record(asked: NearQuestion | None) -> NearRecord | None:
    """The question about near things, for programs and the page; None where it is answered."""
    if asked is None:
        return None
    limit_m = None if np.isnan(asked.limit_m) else asked.limit_m
    return {"words": asked.words, "limit_m": limit_m, "place": asked.place, "box": list(asked.box)}


def _elsewhere(prepared: Prepared, *, traced: bool) -> Elsewhere:
    """What is known of other vantages: of a demo scene or a map all, of a photo nothing."""
    shot, built, view = prepared.shot, prepared.built, prepared.view
    if not shot.scene:
        return NO_ELSEWHERE
    near = None if built is None or view is None else _glance(built, view)
    rebuild = _rebuilder(shot, built) if traced else None
    return Elsewhere(rebuild, near, flies=shot.on_map)


def _glance(built: "Built", view: "View") -> Callable[[Vantage], float]:
    """How much of the frame what is near fills, from another height and pitch."""
    from render.trace.aim import glance  # compiled kernels: only when wanted

    def near(vantage: Vantage) -> float:
        east, north, up = view.at_m
        moved = replace(
            view,
            at_m=(east, north, up + vantage.height_m - view.height_m),
            height_m=vantage.height_m,
            pitch_deg=vantage.pitch_deg,
        )
        camera, depth_m = glance(built, moved)
        if not np.isfinite(depth_m).any():
            return 0.0
        blank = np.zeros((*depth_m.shape, 3), np.float32)
        samples = sample(Scene(blank, depth_m, camera, vantage=vantage))
        return crowded(samples, vantage, vantage)[1]

    return near


def _rebuilder(shot: Shot, built: "Built | None") -> Callable[[Vantage], Scene | None]:
    """How to see the same scene from another height and pitch."""
    from render.load.scenes import prepare_scene  # compiled kernels: only when wanted

    def rebuild(vantage: Vantage) -> Scene | None:
        there = replace(
            shot,
            vantage=replace(shot.vantage, height_m=vantage.height_m, pitch_deg=vantage.pitch_deg),
            demo=replace(shot.demo, width_px=_QUICK_WIDTH_PX),
        )
        try:
            scene = prepare_scene(there, silent, samples=1, behind=False, built=built).scene
        except SettingError:  # a camera inside a wall: that is no place to propose
            return None
        shown = scene.depth_m[scene.frame.rows, scene.frame.columns]
        return scene if np.isfinite(shown).any() else None  # nor is one above a room's ceiling

    return rebuild

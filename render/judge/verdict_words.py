"""The verdict in sentences, for a person: what it reads as and how sure, and why not."""

import math

from render.judge.case import Assessment, Case
from render.judge.scale import ReadsAs
from render.judge.score import Score, Word
from render.judge.weights import RULES
from render.optics.lens import LensSetting
from render.units import round_metres
from render.words import length_words, percent

__all__ = [
    "COSTS_POINTS",
    "IF_OPEN",
    "IF_OPEN_SHORT",
    "apparent_words",
    "built_words",
    "crowds",
    "headline",
    "if_guessed",
    "if_open",
    "reasons",
    "stands_words",
    "sure_words",
    "top_line",
]

#: What a verdict over level ground takes for granted, where nobody said what stands.
IF_OPEN = "if what you see is mostly open ground"
IF_OPEN_SHORT = "if mostly open ground"  # under a small picture

#: Fewer points are not worth saying.
COSTS_POINTS = 3.0

_NEARLY_ALL, _MOST = 0.95, 0.85
_COSTS, _EMPTY = 0.6, 0.9  # a gate below this is a reason
_FAR, _STEEP = 0.2, 0.6  # as is a mark below this
_NEAR = 0.85  # what near things leave of the agreement, below which they are a reason
_ACROSS_POINTS = 3.0  # points that swing is not credited with, from which it is a reason
_CROWDED = 0.15  # a share of the picture
_OWN_ROOF_M = 3.0  # higher over it no tripod stands
_FIRST, _LEFT_SOFT, _LEFT_ACROSS, _LEFT_PART = -1.0, 0.1, 0.2, 0.35  # left of it, for the order
_NOTHING = 0.0005  # a share of the picture
_MOSTLY, _SOME = 0.7, 0.1  # shares from which a thing is all there is to name, and is named at all


def headline(word: Word, reads_as: ReadsAs | None, taken_flat: bool = False) -> str:
    """The word, with the scale where it reads as a model: "Reads as a model, about 1:240".

    Where nobody said what stands, it says what it takes for granted.
    """
    text = f"{word[0].upper()}{word[1:]}"
    named = reads_as is not None and word.of_a_model
    text = f"{text}, about {reads_as.ratio}" if named and reads_as else text
    return if_open(text, word) if taken_flat else text


def if_open(text: str, word: Word, granted: str = IF_OPEN) -> str:
    """What is said of level ground, with what that takes for granted.

    Things that stand never make a model of what is none without them: then nothing is granted.
    """
    return text if word is Word.WONT else f"{text}, {granted}"


def sure_words(score: Score, taken_flat: bool = False) -> str:
    """How sure: "firm: 99 of 100 ways of weighing it agree"; never firm of what is a guess."""
    ways = min(99, round(100 * score.agreement)) if score.agreement < 1 else 100
    if taken_flat:
        agree = "say it reads" if score.word is Word.MIGHT else "agree"
        return f"on open ground {ways} of 100 ways of weighing it {agree}"
    if score.word is Word.MIGHT:
        return f"open: {ways} of 100 ways of weighing it say it reads"
    how = (
        "firm"
        if score.agreement >= _NEARLY_ALL
        else "fairly firm"
        if score.agreement >= _MOST
        else "not firm"
    )
    return f"{how}: {ways} of 100 ways of weighing it agree"


def built_words(score: Score, built_over: float | None) -> str:
    """What the score can fall to where the frame is built over; empty where that costs nothing."""
    if built_over is None or score.value - built_over < COSTS_POINTS:
        return ""
    return f"houses and trees that fill the frame can take it to about {built_over:.0f}"


def top_line(
    score: Score,
    reads_as: ReadsAs | None,
    why: tuple[str, ...],
    built_over: float | None = None,
) -> str:
    """One line: word, scale, the main thing against it, and how sure."""
    flat = built_over is not None
    said = headline(score.word, reads_as, flat)
    if why:
        said += f"{', though' if score.word is Word.READS else ':'} {why[0]}"
    number = f"score {score.value:.0f} of 100, {score.low:.0f} to {score.high:.0f}"
    built = built_words(score, built_over)
    sure = _capital(sure_words(score, flat))
    return f"{said}. {sure} ({number}){f'; {built}' if built else ''}."


def apparent_words(distance_m: float) -> str:
    """An apparent distance with the two digits it deserves: "35 cm", "1.6 cm", "2.1 m"."""
    return round_metres(distance_m, 2) if distance_m < 10 else length_words(distance_m)


def stands_words(distance_m: float) -> str:
    """Where the scene seems to stand: "seems to stand 35 cm away"."""
    if math.isinf(distance_m):
        return "is brought no nearer by its blur"
    return f"seems to stand {apparent_words(distance_m)} away"


def if_guessed(sentence: str) -> str:
    """The sentence where something that it stands on is only guessed."""
    return f"If the guess is right: {sentence[0].lower()}{sentence[1:]}"


def reasons(
    case: Case, setting: LensSetting, found: Assessment, near_points: float = 0.0
) -> tuple[str, ...]:
    """What stands against it, worst first; empty where nothing much does.

    `near_points` is what things near the lens cost, ``inf`` where they outweigh the rest.
    """
    gates, marks, evidence = found.gates, found.marks, found.evidence
    follows = found.measures.follows >= RULES.single_scale_from
    blurred = found.measures.edge_blur > RULES.seen_none * case.just_seen
    ranked: list[tuple[float, str]] = []  # what is left of the score, and why
    if not follows and blurred:
        share = max(0.0, found.measures.follows)
        text = f"the blur does not follow the scene's depth (correlation {share:.2f})"
        ranked.append((_LEFT_ACROSS, text))
    left = found.measures.near_left
    if COSTS_POINTS < near_points < math.inf:  # by its cost: what costs most comes first
        left = min(left, found.score.value / (found.score.value + near_points))
    if left < _NEAR:
        text = f"what stands near the lens ({percent(found.stance.foreground_share)} of the frame"
        ranked.append((left, f"{text}) lacks the blur that a model's foreground has"))
    if found.across_cost > _ACROSS_POINTS:
        ranked.append((_LEFT_ACROSS, "the swing lays blur across the slope of the place"))
    if gates.seen < _COSTS and (follows or not blurred):
        ranked.append((gates.seen, _unseen(case, found)))
    if gates.eye_level < _COSTS:
        ranked.append((gates.eye_level, _eye_level(case, found)))
    brought = blurred and follows and not math.isinf(found.apparent_m)
    if (gates.close < _COSTS and brought) or found.score.word is Word.CLOSE:
        ranked.append((_FIRST if found.score.word is Word.CLOSE else gates.close, _close(setting)))
    if crowds(case, found):
        ranked.append((_FIRST, f"{_crowding(case)} {percent(case.crowded_share)} of the frame"))
    if gates.empty_band < _EMPTY:
        ranked.append((gates.empty_band, "nothing stands in the sharp band for the eye to rest on"))
    if gates.plan < _EMPTY:
        phi = evidence.depression_deg
        text = f"one looks {phi:.0f}° down on it, and from nearly straight above a place is a map"
        ranked.append((gates.plan, text))
    if found.measures.seen_sharp < RULES.sharp_none:
        least = "nothing" if found.measures.seen_sharp < _NOTHING else "next to nothing"
        ranked.append((_LEFT_SOFT, f"{least} in the frame looks sharp"))
    elif found.measures.seen_sharp > RULES.sharp_all and blurred:
        ranked.append((_LEFT_PART, "nearly all of it looks sharp"))
    if marks.nearness < _FAR and follows and blurred:
        ranked.append((_LEFT_PART, _far(found)))
    if marks.viewpoint < _STEEP and evidence.depression_deg < RULES.phi_low_deg:
        phi = evidence.depression_deg
        where = f"{phi:.0f}° below" if phi >= 0 else f"{-phi:.0f}° above"
        ranked.append((0.5, f"one looks along, not down: the band lies {where} eye level"))
    if not ranked and found.score.word is not Word.READS:
        ranked.append((0.5, _weak(found)))
    return tuple(text for _, text in sorted(ranked, key=lambda pair: pair[0]))


def crowds(case: Case, found: Assessment) -> bool:
    """Whether one's own roof, or what else stands within reach, takes the picture."""
    outweighs = case.underfoot is not None or math.isinf(found.apparent_m)
    return case.crowded_share > _CROWDED and outweighs


def _weak(found: Assessment) -> str:
    """No single thing ends it: what costs most."""
    share = found.measures.looks_sharp
    texts = {
        "nearness": f"the blur is weak: the scene {stands_words(found.apparent_m)}",
        "agreement": "what stands up does not blur as a model's would",
        "visibility": "by the blur that follows depth next to nothing of it looks sharp"
        if share < RULES.sharp_low
        else "too little of it is plainly soft",
        "viewpoint": "one does not look down on it as on a table",
        "picture": "the band lies at the edge of the picture, or the air is too hazy",
    }
    return texts[found.marks.weakest]


def _crowding(case: Case) -> str:
    """What crowds the picture: one's own roof, unless it lies too far below to stand on."""
    own = case.underfoot
    if own is not None and own.height_m > _OWN_ROOF_M:
        return f"a roof or deck {length_words(own.height_m)} below the lens fills"
    return "one's own roof, or what else stands within reach, fills"


def _unseen(case: Case, found: Assessment) -> str:
    softest = found.measures.edge_blur
    if softest < 0.5 * case.just_seen:
        return "everything is sharp"
    share = f"{percent(softest)} of the height at the softest"
    if found.evidence.seen * case.just_seen < 0.5 * softest:
        return (
            f"most of the blur ({share}) does not go with depth as a model's would, and what does "
            f"is hardly seen {case.viewing.words}"
        )
    return (
        f"the blur is hardly seen {case.viewing.words}: {share}, {percent(case.just_seen)} is just "
        "seen"
    )


def _eye_level(case: Case, found: Assessment) -> str:
    share, sky = found.stance.above_share, found.stance.sky_share
    what = "sky" if sky > _MOSTLY * share else "sky and things" if sky > _SOME * share else "things"
    if sky > _SOME * share and case.unsaid.standing:
        what = "sky, or walls that were not named"
    text = f"{100 * share:.0f} % of the picture ({what}) rises above eye level"
    if case.stand_m < RULES.high_stand_m:
        text += f", seen from {length_words(case.stand_m)} up: that gives the true size away"
    return text


def _close(setting: LensSetting) -> str:
    turned = setting.tilt_deg != 0 or setting.swing_deg != 0
    whose = "an ordinary fast lens's" if turned else "a plain lens's"
    return f"its blur is {whose} at this distance"


def _far(found: Assessment) -> str:
    if not math.isinf(found.apparent_m):
        away = apparent_words(found.apparent_m)
        return f"the blur puts the scene {away} away, too far to look small"
    text = "the blur does not bring the scene near"
    share = found.stance.foreground_share
    if share > RULES.foreground_share:
        text += f": what stands near the lens ({percent(share)} of the frame) outweighs the rest"
    return text


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]

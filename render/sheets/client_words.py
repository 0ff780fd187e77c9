"""What a client is told: three plain sentences, no term of the trade."""

import math
from collections.abc import Collection, Sequence

from render.judge.score import Word
from render.judge.sharpness import Asked, Sharpness
from render.judge.verdict import Verdict
from render.judge.verdict_words import IF_OPEN, if_guessed
from render.judge.weights import RULES
from render.optics.camera import Vantage
from render.optics.lens import LensSetting
from render.optics.solving.movements import total_and_azimuth
from render.units import round_metres
from render.words import BESIDE, listed, with_article

__all__ = ["alternative_words", "client_sentences"]

_STOREY_M = 3.0
#: Lower than this nobody speaks of a viewpoint: one stands there.
_EYE_LEVEL_M = 2.5


#: How many times calmer or stronger a setting is, below which it is called so.
_CALMER = (
    (1.5, "A little calmer: a little more of the place is sharp"),
    (2.5, "Calmer: more of the place is sharp"),
    (3.5, "Much calmer: far more of the place is sharp"),
    (math.inf, "Very calm: softness only hinted at"),
)
_STRONGER = (
    (1.5, "A little stronger: a little less of the place is sharp"),
    (2.5, "Stronger: less of the place is sharp"),
    (math.inf, "Much stronger: far less of the place is sharp"),
)
_ALIKE = math.log(1.05)
#: How places of one row or surface are called behind its name (`render.load.asked.row`).
_PARTS = frozenset(
    {"first", "front", "middle", "back", "last", "near", "far"}  # front and back: older shot files
    | {"part standing forward", "part standing back"}
)
_WHAT = "what is"
_NEARLY_ALL, _WIDE = 0.9, 0.6  # shares of the picture (ours)
#: So much more than its strip is sharp, and a strip does not tell it (ours).
_MORE_THAN_A_STRIP, _STRIP_ERROR = 1.3, 0.05
_HARDLY = 0.1  # so little of the detail is soft: nearly everything is sharp

_NEAR = (
    " Anything close to the camera, such as a railing, a wire or a branch, will look different "
    "from this preview and may give it away."
)
_NO_SLACK = " There is no slack for hands: a hair off, and what must be sharp is soft."

_OF_THE_LENS = "focal-35"

_SAME_STOP = 2.0 ** (1.0 / 12.0)  # half a sixth of a stop: marks are rounded

_MOVES = "What could go wrong: what must be sharp moves, or the camera stands elsewhere on the day."


def client_sentences(
    verdict: Verdict,
    vantage: Vantage | None,
    *,
    near_unsaid: bool = False,
    sharp: Sequence[str] = (),
    sharpness: Sharpness | None = None,
    named: Sharpness | None = None,
    unseen: Sequence[str] = (),
    betrays: str = "",
    guessed: Sequence[str] = (),
    drawn_soft: Sequence[str] = (),
    tight: bool = False,
    widest_f_number: float | None = None,
) -> tuple[str, str, str]:
    """What you will get, what it needs, what could go wrong.

    Parameters
    ----------
    verdict : Verdict
        Of the setting that is proposed.
    vantage : Vantage or None
        Where the camera stands, if it is known.
    near_unsaid : bool
        Nobody said whether something stands near the lens.
    sharp : sequence of str
        Names of what is sharp, where it has names.
    sharpness : Sharpness or None
        Where sharp things are asked for and no model: then nobody speaks of models, and of the
        rest only what is true.
    named : Sharpness or None
        How sharp what has names is, whatever is asked for.
    unseen : sequence of str
        Names of what should be sharp and is not in the picture.
    betrays : str
        What may give the model away: "the chapel", "the ground at the lower left".
    guessed : sequence of str
        What of the picture is only guessed, by its name in a shot: all of this stands on it.
    drawn_soft : sequence of str
        Names of what will be sharp and is drawn soft, as what lies behind it or before it.
    tight : bool
        The lens set by hand has no slack for what must be sharp.
    widest_f_number : float or None
        Of the lens that is planned, where one is named.
    """
    risk = _missing(unseen) if unseen else _MOVES if sharpness else _risk(verdict, betrays)
    risk += _NO_SLACK if tight else ""
    risk += _NEAR if near_unsaid else ""
    if drawn_soft:
        risk += f" This preview draws {_things(drawn_soft)} soft, which will be sharp."
    known = sharpness or named
    things = known.things if known else ()
    get = _get(verdict, sharp, things)
    if sharpness:
        get = f"You get the picture {_where(verdict, sharp, things, sharpness)}."
    if guessed:
        get, risk = if_guessed(get), risk + _guess(guessed)
    lens = _kind_of_lens(verdict.setting)
    if widest_f_number and verdict.setting.f_number <= _SAME_STOP * widest_f_number:
        lens += ", wide open"
    return get, _need(lens, vantage, guessed="height" in guessed), risk


def alternative_words(
    proposed: LensSetting, other: LensSetting, shown: Sequence[LensSetting] = ()
) -> str:
    """How another setting differs, in a client's words: "Calmer: more of the place is sharp".

    Where one of those `shown` is told in the same words, this one is also told from the last such.
    """
    words = _differs(proposed, other)
    alike = [one for one in shown if _differs(proposed, one) == words]
    times = _strength(other) / _strength(alike[-1]) if alike else 1.0
    if abs(math.log(times)) <= _ALIKE:
        return words
    more = "stronger" if times > 1 else "calmer"
    return f"{words} ({more} than the one before)"


def _differs(proposed: LensSetting, other: LensSetting) -> str:
    tilted, other_tilted = _turned(proposed), _turned(other)
    if tilted and not other_tilted:
        return f"With {_kind_of_lens(other)}"
    if other_tilted and not tilted:
        return f"With {_kind_of_lens(other)}"
    if proposed.tilt_deg * other.tilt_deg < 0 or proposed.swing_deg * other.swing_deg < 0:
        return "Sharpness laid the other way"
    times = _strength(other) / _strength(proposed)
    if abs(math.log(times)) > _ALIKE:
        steps = _STRONGER if times > 1 else _CALMER
        return next(words for most, words in steps if max(times, 1.0 / times) < most)
    if other.focal_mm != proposed.focal_mm:
        return "Closer view" if other.focal_mm > proposed.focal_mm else "Wider view"
    if other.focus != proposed.focus:
        return "Sharp somewhere else"
    return "Another way"


def _get(verdict: Verdict, sharp: Sequence[str], things: Sequence[Asked]) -> str:
    where = _where(verdict, sharp, things)
    if not verdict.word.of_a_model:
        return f"You get the place {where}; it will not look like a scale model."
    look = "will look" if verdict.word is Word.READS else "may look"
    look = look if verdict.built_over is None else f"{look}, {IF_OPEN},"
    size = f" of about {verdict.reads_as.ratio}" if verdict.reads_as else ""
    return f"You get the real place, but it {look} like a scale model{size}, {where}."


def _where(
    verdict: Verdict,
    sharp: Sequence[str],
    things: Sequence[Asked],
    asked: Sharpness | None = None,
) -> str:
    """What is sharp, by its name or by how much of the picture it takes and where."""
    band = verdict.measures.band
    share = max(band.height_fraction, verdict.measures.sharp_area)
    wide = share > _WIDE
    parts = {thing.name for thing in things if thing.in_part}
    soft = [thing.name for thing in things if not (thing.sharp or thing.in_part)]
    crisp = [name for name in sharp if name not in soft]
    if sharp and soft and asked:
        sides = f"{_things(crisp, soft, parts)} sharp and " if crisp else ""
        return f"with {sides}{_things(soft, beside=crisp)} soft"
    if crisp:
        named = _things(crisp, soft, parts)
        if asked is not None and not asked.rest_is_soft:
            little = asked.soft_share < _HARDLY
            return f"with {named} sharp{' and nearly everything else too' if little else ''}"
        rest = "nearly everything else too" if wide and asked is None else "the rest soft"
        if rest == "the rest soft" and any(_of_a_row(name) for name in crisp):
            rest = "most of what is off its line soft"
        return f"with {named} sharp and {rest}"
    if share > _NEARLY_ALL:
        return "sharp nearly everywhere"
    if wide:
        return "sharp in most of the picture"
    if verdict.measures.seen_sharp < RULES.sharp_none:
        return "with nothing in it quite sharp"
    if share > _MORE_THAN_A_STRIP * band.height_fraction + _STRIP_ERROR:
        return f"sharp in {_part(share)} of the picture"  # from the band on to infinity
    part = _part(band.height_fraction)
    if not (abs(math.sin(math.radians(band.direction_deg))) > 0.7 and band.inside):
        return f"sharp only in one strip, {part} of the picture"
    height = ("its upper part", "its middle", "its lower part")
    third = height[min(2, max(0, int(3 * band.from_top)))]
    return f"sharp only in a strip across {third}, {part} of its height"


def _things(names: Sequence[str], beside: Sequence[str] = (), parts: Collection[str] = ()) -> str:
    """Names in a sentence, beside those of the other kind: "Ann, part of the mast and the row"."""
    return listed(
        [
            f"part of {with_article(name)}" if name in parts else with_article(name)
            for name in _whole(names, beside)
        ]
    )


def _whole(names: Sequence[str], beside: Sequence[str]) -> tuple[str, ...]:
    """Names with the ends and the middle of one row or surface as the one thing that they are.

    What the picture shows behind such a place, or before it, is told as that; what is parted from
    a place `beside` them is no whole.
    """
    called, others = [], _parts_of(beside)
    for (side, whole), ends in _parts_of(names).items():
        name = _row(whole)
        if 0 < len(ends) < 3:
            name = f"the {' and '.join(ends)} of {with_article(name)}"
        elif ends and (side, whole) in others:
            name = f"the rest of {with_article(name)}"
        called.append(f"{_WHAT} {side} {with_article(name)}" if side else name)
    return tuple(called)


def _parts_of(names: Sequence[str]) -> dict[tuple[str, str], list[str]]:
    """Which places are named of each thing, by the side of it that is meant and its name."""
    found: dict[tuple[str, str], list[str]] = {}
    for name in names:
        side = next((word for word in BESIDE if name.startswith(f"{word} ")), "")
        plain = name[len(side) :].lstrip().replace("the row's ", "row, ")
        whole, _, end = plain.rpartition(", ")
        is_part = whole and end in _PARTS
        known = found.setdefault((side, whole if is_part else plain), [])
        known.extend([end] if is_part else [])
    return found


def _of_a_row(name: str) -> bool:
    """Whether it is a place of a row, between whose places more of it stands."""
    return name.startswith("the row's ") or name.rpartition(", ")[2] in ("first", "last")


def _row(name: str) -> str:
    """A row that is called by its ends in plain words: "row from first pot to last pot"."""
    first, to, last = name.removeprefix("row ").partition(" to ")
    return f"row from {first} to {last}" if to and name.startswith("row ") else name


def _part(share: float) -> str:
    """A share in spoken words: "a twentieth"."""
    spoken = {
        1 / 50: "a fiftieth",
        1 / 30: "a thirtieth",
        1 / 20: "a twentieth",
        1 / 10: "a tenth",
        1 / 6: "a sixth",
        1 / 4: "a quarter",
        1 / 3: "a third",
        1 / 2: "half",
    }
    return spoken[min(spoken, key=lambda known: abs(math.log(known / max(share, 1e-3))))]


def _guess(names: Sequence[str]) -> str:
    """What is guessed, in plain words, and that it matters."""
    what = ["lens that took the picture"] if _OF_THE_LENS in names else []
    what += ["viewpoint"] if set(names) - {_OF_THE_LENS} else []
    verb = "is" if len(what) == 1 else "are"
    return f" The {' and the '.join(what)} {verb} only guessed so far; put right, this may change."


def _need(lens: str, vantage: Vantage | None, *, guessed: bool) -> str:
    if vantage is None:
        return f"It needs {lens}, and the viewpoint that this picture was taken from."
    if vantage.height_m < _EYE_LEVEL_M:
        return f"It needs {lens}, and room for a tripod where this was planned from."
    storeys = round(vantage.height_m / _STOREY_M)
    high = f" (about {storeys} storeys)" if storeys > 1 else ""
    up = f"{round_metres(vantage.height_m)} up{high}"
    if guessed:
        return (
            f"It needs {lens}, and the viewpoint of this picture, guessed to be {up}, "
            "if we may use it safely."
        )
    return f"It needs {lens}, and a viewpoint {up} that we may use safely."


def _risk(verdict: Verdict, betrays: str) -> str:
    if verdict.near_spoils and verdict.word is not Word.READS:
        return (
            "What could go wrong: what stands close to the camera shows large and blurred, and "
            "spoils it unless it can be kept out of the picture."
        )
    if not verdict.word.of_a_model:
        return _MOVES
    if verdict.bare_ground or verdict.built_over is not None:
        return (
            "What could go wrong: this preview takes the place as flat; what stands tall will blur "
            "otherwise and may give it away."
        )
    if betrays:
        return (
            f"What could go wrong: {betrays} may give it away, being soft or sharp where a model "
            "would not be, and haze or dull light would weaken it."
        )
    return "What could go wrong: haze or dull light would weaken it, as would a lower viewpoint."


def _missing(unseen: Sequence[str]) -> str:
    return (
        f"What could go wrong: the picture leaves out what should be sharp ({', '.join(unseen)}), "
        "so it needs another frame."
    )


def _turned(setting: LensSetting) -> bool:
    return setting.tilt_deg != 0 or setting.swing_deg != 0


def _kind_of_lens(setting: LensSetting) -> str:
    """What the lens must be able to do: "a lens that tilts and shifts".

    One whose tilt axis does not turn will not do for a swing.
    """
    sideways = "any way" if setting.tilt_deg else "sideways"
    moves = [f"tilts {sideways}" if setting.swing_deg else "tilts"] if _turned(setting) else []
    moves += ["shifts"] if setting.rise_mm or setting.lateral_mm else []
    return f"a lens that {' and '.join(moves)}" if moves else "an ordinary lens"


def _strength(setting: LensSetting) -> float:
    """Over level ground blur goes as the sine of the lean over the f-number."""
    total, _ = total_and_azimuth(setting.tilt_deg, setting.swing_deg)
    return (math.sin(math.radians(total)) if total else 1.0) / setting.f_number

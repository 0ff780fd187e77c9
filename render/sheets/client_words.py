"""What a client is told: three plain sentences, no term of the trade."""

import math

from render.judge.score import Word
from render.judge.verdict import Verdict
from render.optics.camera import Vantage
from render.optics.lens import LensSetting

__all__ = ["alternative_words", "client_sentences"]

_STOREY_M = 3.0


_NEAR = (
    " Anything close to the camera, such as a railing, a wire or a branch, is not in this preview "
    "yet and would show."
)


def client_sentences(
    verdict: Verdict, vantage: Vantage | None, *, near_unsaid: bool = False
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
    """
    risk = _risk(verdict) + (_NEAR if near_unsaid else "")
    return _get(verdict), _need(verdict.setting, vantage), risk


def alternative_words(proposed: LensSetting, other: LensSetting) -> str:
    """How another setting differs, in a client's words: "Calmer: more of the place is sharp"."""
    tilted, other_tilted = _turned(proposed), _turned(other)
    if tilted and not other_tilted:
        return "With an ordinary lens"
    if other_tilted and not tilted:
        return "With a lens that tilts"
    if proposed.tilt_deg * other.tilt_deg < 0 or proposed.swing_deg * other.swing_deg < 0:
        return "Sharpness laid the other way"
    if other.f_number > 1.05 * proposed.f_number:
        return "Calmer: more of the place is sharp"
    if other.f_number < proposed.f_number / 1.05:
        return "Stronger: less of the place is sharp"
    turn, other_turn = _turn_deg(proposed), _turn_deg(other)
    if other_turn != turn:
        return (
            "Stronger: a narrower band is sharp"
            if other_turn > turn
            else ("Calmer: a wider band is sharp")
        )
    if other.focal_mm != proposed.focal_mm:
        return "Closer view" if other.focal_mm > proposed.focal_mm else "Wider view"
    if other.focus != proposed.focus:
        return "Sharp somewhere else"
    return "Another way"


def _get(verdict: Verdict) -> str:
    band = verdict.measures.band
    third = ("upper", "middle", "lower")[min(2, max(0, int(3 * band.from_top)))]
    level = abs(math.sin(math.radians(band.direction_deg))) > 0.7 and band.inside
    where = f"sharp in the {third} third and soft elsewhere" if level else "sharp in one band only"
    if band.height_fraction > 0.6:
        where = "sharp nearly everywhere"
    if verdict.word is Word.WONT:
        return f"You get the place {where}; it will not look like a scale model."
    look = "will look" if verdict.word is Word.READS else "may look"
    size = f" of about {verdict.reads_as.ratio}" if verdict.reads_as else ""
    return f"You get the real place, but it {look} like a scale model{size}, {where}."


def _need(setting: LensSetting, vantage: Vantage | None) -> str:
    lens = "a lens that tilts" if _turned(setting) else "an ordinary lens"
    open_words = ", wide open" if setting.f_number < 3.6 else ""
    if vantage is None:
        return f"It needs {lens}{open_words}, and the viewpoint that this picture was taken from."
    storeys = round(vantage.height_m / _STOREY_M)
    high = f" (about {storeys} storeys)" if storeys > 1 else ""
    return (
        f"It needs {lens}{open_words}, and a viewpoint {vantage.height_m:.0f} m up{high} "
        "that we may use safely."
    )


def _risk(verdict: Verdict) -> str:
    if verdict.word is Word.WONT:
        return "What could go wrong: what must be sharp may lie outside the sharp part on the day."
    if verdict.bare_ground:
        return (
            "What could go wrong: this preview takes the place as flat; what stands tall will blur "
            "otherwise and may give it away."
        )
    if verdict.telltales:
        place = verdict.telltales[0].place
        return (
            f"What could go wrong: something ({place}) may give it away, and haze or dull light "
            "would weaken it."
        )
    return "What could go wrong: haze or dull light would weaken it, as would a lower viewpoint."


def _turned(setting: LensSetting) -> bool:
    return setting.tilt_deg != 0 or setting.swing_deg != 0


def _turn_deg(setting: LensSetting) -> float:
    return abs(setting.tilt_deg) + abs(setting.swing_deg)

"""Jobs that are no miniatures: whether what was asked for is sharp, and the rest soft.

Two subjects, a row, a portrait, a face in a hall: nobody wants a model there, so nothing of the
score applies. What was asked for is sharp up to the circle of confusion, as for `hingeline solve`
and the field card; the rest is soft by what is seen at the viewing size.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.judge.case import Assessment, Case
from render.judge.score import Word
from render.judge.verdict import Verdict
from render.judge.weights import RULES
from render.optics.blur import blur_slope
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.limits import MARK_SHARE, LensLimits, usual_limits
from render.optics.solving.selective import ALL_SHARP, Region
from render.optics.solving.targets import Target
from render.words import blur_words, marked_f_number, spell_f_number

__all__ = [
    "FOCUSED_ON",
    "JUST_SHARP",
    "Asked",
    "Sharpness",
    "holds_best",
    "is_no_miniature",
    "sharpness",
]

Floats = NDArray[np.float64]

#: What is looked at where nothing is named.
FOCUSED_ON = "what is focused on"
#: Circles of confusion up to which a thing is sharp: rounding of a dialled position.
JUST_SHARP = 1.05
_JUST = "just sharp"
_EYE_LEVEL = 0.3  # a gate below this: the stand is no miniature's
_NEAREST = 0.95  # of the inverse depths: the nearest twentieth of the picture
_IN_PLANE = 0.02  # of the picture, the least blurred: lies in the plane of sharp focus (ours)
_SOFT = 2.0  # times the blur just seen: plainly soft
_MOST = 0.8  # share of the detail: "the rest" (ours)


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing that was asked for.

    Attributes
    ----------
    name : str
    blur : float
        Its diameter, as a fraction of the picture's height.
    sharp : bool
        Whether its blur is at most the circle of confusion, or that by rounding (`JUST_SHARP`).
    share : float or None
        Share of what the frame shows of it that blurs by the circle of confusion or less, as
        `hingeline solve --only` counts it; None where only its place is known.
    """

    name: str
    blur: float
    sharp: bool
    share: float | None = None

    @property
    def in_part(self) -> bool:
        """Whether a part of it is sharp and a part is not, wherever its place lies."""
        if self.share is None:
            return False
        return self.share < ALL_SHARP if self.sharp else self.share > 1.0 - ALL_SHARP


@dataclass(frozen=True, slots=True)
class Sharpness:
    """What is sharp and what is soft.

    Attributes
    ----------
    things : tuple of Asked
    soft_share : float
        Share of the detail in the picture that is plainly soft.
    circle : float
        Blur up to which a thing is sharp, the circle of confusion, fraction of the picture's
        height.
    just_seen : float
        Blur that is just seen at the viewing size, fraction of the picture's height.
    f_number : float
        Widest third of a stop at which every thing is sharp, all that shows of it, all else kept.
    unseen : tuple of str
        Names of what was asked for and lies outside the frame.
    """

    things: tuple[Asked, ...]
    soft_share: float
    circle: float
    just_seen: float
    f_number: float
    unseen: tuple[str, ...] = ()

    @property
    def rest_is_soft(self) -> bool:
        """Whether one may say so: most of the detail is plainly soft."""
        return self.soft_share >= _MOST

    @property
    def as_asked(self) -> bool:
        """Whether all that was asked for is in the frame and sharp."""
        return bool(self.things) and not self.unseen and all(t.sharp for t in self.things)

    @property
    def count(self) -> str:
        """How much of what was asked for is sharp: "all 3 sharp", "face sharp"."""
        asked, sharp = len(self.things) + len(self.unseen), sum(t.sharp for t in self.things)
        if not asked:
            return ""
        if asked == 1 and self.things:
            thing = self.things[0]
            part = " in part" if thing.in_part else ""
            return f"{thing.name} {'sharp' if thing.sharp or part else 'soft'}{part}"
        if sharp < asked:
            return f"{sharp} of {asked} sharp"
        return "both sharp" if sharp == 2 else f"all {sharp} sharp"

    @property
    def rest(self) -> str:
        """How much of the picture is soft: "35 % soft"."""
        return f"{100 * self.soft_share:.0f} % soft"

    @property
    def sentence(self) -> str:
        """What was asked for and what came of it, in one line."""
        said = [f"{t.name} {self._how(t)} ({self._blur_of(t)})" for t in self.things]
        said += [f"{name} not in the frame" for name in self.unseen]
        asked = f"Asked for: {', '.join(said)}; " if said else "For sharpness: "
        just = any(self._how(thing) == _JUST for thing in self.things)
        grace = f", {_JUST} to {blur_words(100 * JUST_SHARP * self.circle)}" if just else ""
        return (
            f"{asked}{100 * self.soft_share:.0f} % of the detail is plainly soft (blur in % of "
            f"the picture's height: sharp up to {blur_words(100 * self.circle)}{grace}, "
            f"plainly soft from {blur_words(100 * _soft_from(self.just_seen, self.circle))})"
        )

    def _blur_of(self, thing: Asked) -> str:
        """Its blur; where it is not one all over, also how much of it is sharp."""
        blur = blur_words(100 * thing.blur)
        if not thing.in_part or thing.share is None:
            return blur
        return f"{blur} at one spot, {100 * thing.share:.0f} % of it sharp"

    def _how(self, thing: Asked) -> str:
        """Sharp, soft, or between: within the rounding that a dialled position is given."""
        if not thing.sharp:
            return "soft"
        over = blur_words(100 * thing.blur) != blur_words(100 * self.circle)
        return _JUST if over and thing.blur > self.circle else "sharp"

    def to_do(self, setting: LensSetting, limits: LensLimits | None = None) -> str:
        """What would help, by the stops of the lens, or of a usual one where none is named."""
        lens = limits or usual_limits(setting.focal_mm)
        last = (1 + MARK_SHARE) * lens.smallest_f_number
        soft = [thing.name for thing in self.things if not (thing.sharp or thing.in_part)]
        parts = [thing.name for thing in self.things if thing.in_part]
        if self.unseen:
            outside = " and ".join(self.unseen)
            lie = "lie" if len(self.unseen) > 1 else "lies"
            return f"turn, shift or step back: {outside} {lie} outside the frame"
        if not self.things:
            return "name what must be sharp (--check), and it is judged"
        lacking = soft or parts
        if not lacking:
            opened = lens.f_number_at_least(self.f_number)
            if self.f_number <= last and opened < setting.f_number / 1.2:
                return (
                    f"nothing: what was asked for is sharp, and stays so opened to "
                    f"{spell_f_number(opened)} if more should be soft"
                )
            return "nothing: what was asked for is sharp"
        names = " and ".join(lacking) if len(lacking) < 3 else f"{len(lacking)} things"
        which = f"{'are' if len(lacking) > 1 else 'is'} {'soft' if soft else 'sharp in part'}"
        option = "--sharp" if soft else "--only"
        solve = f"hingeline solve {option} finds the tilt and focus that hold it best"
        if self.f_number > last:
            return f"{names} {which}, and no stop mends that: {solve}"
        return f"{names} {which}: stop down to {spell_f_number(self.f_number)}, or {solve}"


def holds_best(found: Sequence[Sharpness], now: int | None = None) -> tuple[int | None, int]:
    """Which of several settings to suggest: all that was asked for is sharp, the most else soft.

    Of those that nobody can tell apart, which print the same per cent, the one that the lens is set
    to needs no turning; else the middle one is the easiest to hold.

    Parameters
    ----------
    now : int or None
        Place of the setting that the lens has, if it is among them.

    Returns
    -------
    place, alike : int or None, int
        None where no setting holds all; and how many are as good.
    """
    soft = {k: round(100 * one.soft_share) for k, one in enumerate(found) if one.as_asked}
    most = [place for place, share in soft.items() if share == max(soft.values())]
    if not most:
        return None, 0
    return (now if now in most else most[(len(most) - 1) // 2]), len(most)


def is_no_miniature(
    case: Case,
    setting: LensSetting,
    found: Verdict | Assessment,
    named: Sequence[Target] = (),
    unseen: Sequence[str] = (),
) -> bool:
    """Whether the shot asks for something else than a model.

    Whoever names two things or more wants those sharp, and so does who names one before a lens
    that leans nowhere; one thing near the lens is a product or a face, unless a model comes of it
    anyway; so is what is focused on near the lens or indoors, but not what a leaning lens meets
    before a place seen from two storeys up: a rail, a parapet.

    Parameters
    ----------
    found : Verdict or Assessment
        Of that setting.
    named, unseen
        What the shot names, inside and outside the frame.
    """
    word, asked = found.score.word, len(named) + len(unseen)
    near = _focused_near(case, setting, named)
    if word is Word.READS:
        return near and asked > 1
    if word is Word.MIGHT:
        return asked > 1 or (near and asked > 0)
    straight = setting.tilt_deg == 0 and setting.swing_deg == 0
    if not straight and case.stand_m >= RULES.high_stand_m:
        near = near and asked > 0  # from so high a leaning lens plans a model, whatever it hits
    level = found.gates.eye_level < _EYE_LEVEL and case.samples.indoors
    return asked > 1 or near or level or (straight and asked > 0)


def _focused_near(case: Case, setting: LensSetting, named: Sequence[Target]) -> bool:
    """Whether something near the lens is focused on; a distance at which nothing is, is no wish.

    An extension is no wish either, but what comes of it is: the sharpest of the things named if
    it is sharp, else what the picture shows in the plane of sharp focus. Not where that plane
    meets the axis: the plane of a tilted lens may cross it a few metres before a band far off.
    """
    if isinstance(setting.focus, FocusSpot):
        return setting.focus.depth_m < RULES.close_to_m
    if isinstance(setting.focus, FocusDistance):
        nearest = 1.0 / max(float(np.quantile(case.samples.inverse, _NEAREST)), 1e-9)
        return max(setting.focus.depth_m, nearest) < RULES.close_to_m
    lens, seen = focus_lens(setting), case.few
    if named:
        rays = np.array([(target.slope_x, target.slope_y) for target in named])
        inverse = np.array([1.0 / target.depth_m for target in named])
        blur = blur_slope(lens, rays, inverse)
        sharpest = int(np.argmin(blur))
        if blur[sharpest] <= JUST_SHARP * case.coc_for(setting) / lens.extension_mm:
            return bool(inverse[sharpest] > 1.0 / RULES.close_to_m)
    blur = blur_slope(lens, np.stack([seen.slope_x, seen.slope_y], axis=-1), seen.inverse)
    in_plane = seen.inverse[blur <= np.quantile(blur, _IN_PLANE)]
    return bool(np.median(in_plane) > 1.0 / RULES.close_to_m)


def sharpness(
    case: Case,
    setting: LensSetting,
    named: Sequence[Target],
    focused_on: str = FOCUSED_ON,
    unseen: Sequence[str] = (),
    shown: Mapping[str, Region] | None = None,
) -> Sharpness:
    """Look at the things a shot names, or else at what it is focused on.

    Parameters
    ----------
    named : sequence of Target
        Places as rays with their depth.
    unseen : sequence of str
        What else it names, outside the frame.
    shown : mapping of name to Region, optional
        All that the frame shows of some of them.
    """
    lens = focus_lens(setting)
    places = [(target.name, target.slope_x, target.slope_y, target.depth_m) for target in named]
    if not places and not unseen and isinstance(setting.focus, FocusSpot):
        spot = setting.focus
        places = [(focused_on, spot.slope_x, spot.slope_y, spot.depth_m)]
    height, seen_blur = case.samples.slope_height, case.just_seen
    circle = case.coc_for(setting) / lens.extension_mm / height
    things, worst = [], 0.0
    for name, x, y, depth in places:
        blur = blur_slope(lens, np.array([x, y]), np.array(1.0 / depth)) / height
        share = None
        if shown and (whole := shown.get(name)):
            all_over = blur_slope(lens, whole.slopes, whole.inverse_depth) / height
            share = float(np.mean(all_over <= circle))
            worst = max(worst, float(np.quantile(all_over, ALL_SHARP, method="higher")))
        things.append(Asked(name, float(blur), bool(blur <= JUST_SHARP * circle), share))
    seen = case.few
    slopes = np.stack([seen.slope_x, seen.slope_y], axis=-1)
    soft = blur_slope(lens, slopes, seen.inverse) / height > _soft_from(seen_blur, circle)
    worst = max([worst, *(thing.blur for thing in things)])
    needed = max(setting.f_number * worst / circle, 0.7)  # what is advised leaves no doubt
    third = marked_f_number(needed * 2.0 ** (1.0 / 12.0))  # the mark above, never below
    return Sharpness(
        tuple(things),
        float(np.average(soft, weights=seen.detail)),
        circle,
        seen_blur,
        float(third),
        tuple(unseen),
    )


def _soft_from(just_seen: float, circle: float) -> float:
    """Blur that is plainly soft; nothing that still passes for sharp is."""
    return max(_SOFT * just_seen, JUST_SHARP * circle)

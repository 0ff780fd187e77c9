"""Setting up on site: the order, with the numbers to dial in."""

from collections.abc import Sequence

from render.judge.case import Case
from render.judge.near_question import near_question
from render.judge.verdict import Verdict
from render.optics.lens import LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.holding import lean_name, lean_words, reach_help, ring_of, ring_words
from render.optics.solving.limits import LensLimits, RingReading
from render.optics.solving.movements import mount_turn, total_and_azimuth
from render.optics.solving.targets import Target
from render.plan.exposure import METER_CAVEAT
from render.plan.focusing import FocusCheck, shows, spot_in_focus
from render.words import lateral_words, rise_words, spell_f_number

__all__ = ["focus_ends", "setting_up", "what_voids"]

_MAGNIFIED = 10  # common practice
_APART = 1.01  # a thing no farther than this from the plane is focused on itself (ours)
_JUMP_MM = 0.3  # smaller moves of the view are not worth a word


def setting_up(
    case: Case,
    verdict: Verdict,
    limits: LensLimits,
    named: Sequence[Target] = (),
    *,
    focused: str = "",
    blind: bool,
    edges: bool = True,
    raised: bool = True,
    unseen: Sequence[str] = (),
) -> tuple[str, ...]:
    """What to do in which order, with the numbers to dial in (common practice, no source).

    Parameters
    ----------
    focused : str
        What is focused on where nothing is named, with its article; or empty.
    blind : bool
        Whether nothing in the frame is sharp: `nothing_sharp`.
    edges : bool
        Whether the frame shows edges of a band to look at.
    unseen : sequence of str
        What should be sharp and the frame does not show, by name: frame again first.
    """
    setting = verdict.setting
    camera = case.samples.camera
    # a row's middle may be known by its line alone, and nobody looks at air
    named = [t for t in named if not t.name.endswith("middle") or shows(case, t)] or named
    across, down = camera.positions(spot_in_focus(case, verdict, named))
    on = f"{named[0].name}, " if named else f"{focused}, " if focused else "the spot "
    ring = ring_of(limits, setting)
    near = f"near {ring_words(ring)}"
    if not ring.reached:
        near = _at_its_stop(ring)
    shifts = [rise_words(setting.rise_mm), lateral_words(setting.lateral_mm)]
    shifts = [words for words in shifts if not words.startswith("no ")]
    asked = near_question(case, verdict)
    framing = ["Frame with all movements at zero"]
    framing += [f"then {', '.join(shifts)}"] if shifts else []
    framing += [asked.on_site] if asked else []
    where = f"{100 * across / camera.width_px:.0f} % across and "
    where += f"{100 * down / camera.height_px:.0f} % down the frame"
    focus = (
        f"Focus at full aperture on {on}{where}, {_MAGNIFIED} times magnified; the ring will stand "
        f"{near}."
    )
    if ends := focus_ends(setting, [(thing.name, thing.depth_m) for thing in named]):
        focus = (
            f"Focus on {ends[0]}, then on {ends[1]}, each at full aperture and {_MAGNIFIED} times "
            f"magnified; leave the ring between the two, {near}."
        )
    again = "turn, shift or step back, then plan again"
    reframe = [f"Reframe: {unseen_words(unseen)}; {again}."] if unseen else []
    if blind:
        focus = (
            f"Nothing in the frame is sharp as planned, with the ring {near}: focus on what should "
            "be sharp, and plan again with that."
        )
    steps = [
        *reframe,
        f"Tripod {'low and ' if raised else ''}weighted, sensor level from side to side; "
        "stabilisation off.",
        f"{'; '.join(framing)}.",
        f"{METER_CAVEAT[0].upper()}{METER_CAVEAT[1:]}.",
        *_turning(setting, limits),
        focus,
        *(() if ends or blind else _balancing(setting, named, edges=edges)),
        f"Set {spell_f_number(setting.f_number)}, look again, lock everything, take a test frame.",
    ]
    if _leans(setting):
        steps.append(
            "Also take one straight frame at f/8 from the same spot: it is the picture to plan "
            "from next time."
        )
    return tuple(steps)


def what_voids(
    blind: bool, checks: Sequence[FocusCheck], named: Sequence[Target], unseen: Sequence[str]
) -> tuple[str, ...]:
    """What makes the rest of a card vain: nothing sharp, or what should be sharp not in the frame.

    Parameters
    ----------
    blind, unseen
        As in `setting_up`.
    """
    none = ("nothing in the frame is sharp",) if blind else ()
    if checks and not named and not blind and not checks[0].crisp:
        none = (f"nothing in the frame is quite sharp: its sharpest spot is {checks[0].must}",)
    return (*none, *((unseen_words(unseen),) if unseen else ()))


def unseen_words(unseen: Sequence[str]) -> str:
    """What the frame does not show, though it should be sharp: "Ann and Ben are not in it"."""
    return f"{' and '.join(unseen)} {'are' if len(unseen) > 1 else 'is'} not in the frame"


def focus_ends(setting: LensSetting, named: Sequence[tuple[str, float]]) -> tuple[str, str] | None:
    """The nearest and the farthest thing that a straight lens is focused between, if it is.

    Focused on either of them, it would lose the other.

    Parameters
    ----------
    named : sequence of (str, float)
        Names of what must be sharp, and their distances along the camera's axis, m.
    """
    if _leans(setting) or len(named) < 2:
        return None
    nearest, farthest = (pick(named, key=lambda thing: thing[1]) for pick in (min, max))
    focal_mm, extension_mm = setting.focal_mm, focus_lens(setting).extension_mm
    nearness = 1000.0 * (1.0 / focal_mm - 1.0 / extension_mm)  # 1/m, by the thin lens
    between = _APART / farthest[1] < nearness < 1.0 / (_APART * nearest[1])
    return (nearest[0], farthest[0]) if between else None


def _at_its_stop(ring: RingReading) -> str:
    """Where a ring stands that does not turn so far, and what helps."""
    end = "near" if ring.too_near_mm else "infinity"
    missing = ring.too_near_mm or ring.beyond_infinity_mm
    return f"at its {end} stop, {missing:.2g} mm short of what is needed ({reach_help(ring)})"


def _turning(setting: LensSetting, limits: LensLimits) -> tuple[str, ...]:
    """How to lean the lens, on its scale and on a mount that turns, and what moves with it."""
    if not _leans(setting):
        return ()
    total, azimuth = total_and_azimuth(setting.tilt_deg, setting.swing_deg)
    marks = "" if limits.marks_per_degree == 1 else f" (mark {total * limits.marks_per_degree:.3g})"
    name = lean_name(setting.tilt_deg, setting.swing_deg)
    lean = lean_words(setting.tilt_deg, setting.swing_deg)
    text = f"{name}: {lean} ({_front_words(setting)}){marks}"
    if setting.swing_deg and limits.axis_turns:
        turn, way = mount_turn(azimuth)
        side = "clockwise" if turn > 0 else "anticlockwise"
        text += (
            f"; on a mount that turns: axis {abs(turn):.0f}° {side} seen from behind, then "
            f"{way} {total:.3g}°"
        )
    aside, down = limits.pivot.view_moves_mm(focus_lens(setting))
    moved = [
        f"{abs(length):.1f} mm {words[length > 0]}"
        for length, words in ((down, ("up", "down")), (aside, ("left", "right")))
        if abs(length) > _JUMP_MM
    ]
    reframe = f" The view moves {' and '.join(moved)} with the lens: frame again." if moved else ""
    return (f"{text}. A start value: see the tolerance.{reframe}",)


def _front_words(setting: LensSetting) -> str:
    """Which way the lens's front end goes, for whoever never heard of tilt: "up" is the axis up."""
    ways = [
        words
        for words, value in (
            ("up" if setting.tilt_deg < 0 else "down", setting.tilt_deg),
            (f"to your {'right' if setting.swing_deg > 0 else 'left'}", setting.swing_deg),
        )
        if abs(value) >= 0.005
    ]
    return f"from behind the camera its front end turns {' and '.join(ways)}"


def _balancing(setting: LensSetting, named: Sequence[Target], *, edges: bool) -> tuple[str, ...]:
    name = lean_name(setting.tilt_deg, setting.swing_deg).lower()
    if len(named) > 1:
        things = ", then ".join(thing.name for thing in named[1:])
        how = f"turn {name} and focus in turns until all are crisp" if _leans(setting) else "check"
        return (f"Look at {things}; {how}.",)
    if not _leans(setting) or named or not edges:
        return ()
    return (f"Look at the band's edges; turn {name} and focus in turns until both fade alike.",)


def _leans(setting: LensSetting) -> bool:
    return setting.tilt_deg != 0 or setting.swing_deg != 0

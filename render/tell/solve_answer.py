"""What `hingeline solve` found: the types, and the position that serves best as a shot's words."""

from dataclasses import dataclass

from render.optics.camera import Camera, Sensor
from render.optics.lens import FocusExtension, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.holding import lean_words
from render.optics.solving.limits import MARK_SHARE, LensLimits
from render.optics.solving.selective import Leaning
from render.optics.solving.serving import Serving
from render.optics.solving.steadying import within_doubt
from render.optics.summary import FocusSummary
from render.shot.declaring import Words
from render.shot.dialled import extension_words
from render.words import listed, spell_direction, spell_f_number

__all__ = [
    "START_VALUES",
    "Answer",
    "BandChoice",
    "SharpPart",
    "chosen_setting",
    "chosen_words",
    "part_notes",
    "row_notes",
    "stop_for",
    "turned_words",
    "whole_words",
]

START_VALUES = (
    "These are start values: the hinge of a real lens differs from the thin lens's by several per "
    "cent, so confirm tilt and focus on the magnified live image"
)


_TOLD_DEG = 0.25  # leans no farther apart are told as one


@dataclass(frozen=True, slots=True)
class BandChoice:
    """The sharp band laid on one thing."""

    on: str
    setting: LensSetting
    summary: FocusSummary


@dataclass(frozen=True, slots=True)
class SharpPart:
    """A thing of a scene of which one point was solved for, and not all that shows is sharp.

    Attributes
    ----------
    name : str
    share : float
        Share of what the frame shows of it that is sharp.
    f_number_needed : float
        At which all of it would be, the lens and its ring left where they are.
    """

    name: str
    share: float
    f_number_needed: float


@dataclass(frozen=True, slots=True)
class Answer:
    """Everything that was found.

    Attributes
    ----------
    f_number : float
        The shot's, or the lens's widest: what "only this sharp" and the bands are shown at.
    camera : Camera or None
        Of the planned frame, if there is a picture.
    serving : Serving or None
    parts : tuple of SharpPart
        What `serving` holds only a part of.
    leanings : tuple of Leaning
    bands : tuple of BandChoice
    source : str
        The picture or scene; empty if there is none.
    outside : tuple of str
        Of the notes, those on what the planned frame does not hold: they are said first.
    checks : tuple of str
        What was wished sharp, as a shot names it, with what the shot named already.
    softs : tuple of str
        Names of what was wished soft; none where it was all the rest.
    given : tuple of (name, text)
        What was said of the picture and the lens, as it was written.
    walls : tuple of str
        Foot lines of its walls, where what was wished was put into the depth.
    """

    limits: LensLimits
    f_number: float
    coc_mm: float
    sensor: Sensor
    camera: Camera | None
    notes: tuple[str, ...]
    serving: Serving | None = None
    parts: tuple[SharpPart, ...] = ()
    leanings: tuple[Leaning, ...] = ()
    bands: tuple[BandChoice, ...] = ()
    source: str = ""
    outside: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    softs: tuple[str, ...] = ()
    given: tuple[tuple[str, Words], ...] = ()
    walls: tuple[str, ...] = ()

    @property
    def options(self) -> dict[str, Words]:
        """The position that serves best, as options of a shot."""
        return chosen_words(self)

    def px_per_mm(self, extension_mm: float) -> float | None:
        """Pixels of the picture per mm of sensor; None without a picture.

        The picture's rays stay as they were taken, so the sensor scales with the extension.
        """
        return None if self.camera is None else self.camera.focal_px / extension_mm

    def percent(self, blur_mm: float, extension_mm: float) -> float:
        """Blur in per cent of the frame's height."""
        scale = self.px_per_mm(extension_mm)
        if self.camera is None or scale is None:
            return 100.0 * blur_mm / self.sensor.height_mm
        return 100.0 * blur_mm * scale / self.camera.height_px


def chosen_words(answer: Answer) -> dict[str, Words]:
    """The position that serves best, in the words of a shot: lens, f, tilt, swing, focus.

    Of several bands it is the last, on the thing that was named.
    """
    if answer.leanings:
        best = answer.leanings[0]
        return _shot_words(
            answer, best.tilt_deg, best.swing_deg, best.extension_mm, answer.f_number
        )
    if answer.serving:
        option = answer.serving.chosen
        solution = option.solution
        return _shot_words(
            answer, solution.tilt_deg, solution.swing_deg, solution.extension_mm, option.f_number
        )
    setting = answer.bands[-1].setting
    extension = focus_lens(setting).extension_mm
    return _shot_words(answer, setting.tilt_deg, setting.swing_deg, extension, setting.f_number)


def chosen_setting(answer: Answer) -> LensSetting:
    """The same position as a setting."""
    if answer.leanings:
        best = answer.leanings[0]
        return LensSetting(
            focal_mm=answer.limits.focal_mm,
            f_number=answer.f_number,
            focus=FocusExtension(best.extension_mm),
            tilt_deg=best.tilt_deg,
            swing_deg=best.swing_deg,
        )
    if answer.serving:
        option = answer.serving.chosen
        return option.solution.setting(option.f_number)
    return answer.bands[-1].setting


def turned_words(answer: Answer) -> dict[str, Words]:
    """All that a shot of the answer says anew: the position, what must be sharp and stands."""
    named: dict[str, Words] = {"check": answer.checks} if answer.checks else {}
    if answer.walls:
        named["wall-foot"] = answer.walls
    return chosen_words(answer) | named


def whole_words(answer: Answer) -> str:
    """Of which things one point was solved for, and at which stop the whole of them is sharp."""
    names = listed([part.name for part in answer.parts])
    them = "them" if len(answer.parts) > 1 else "it"
    stop = stop_for(answer.limits, max(part.f_number_needed for part in answer.parts))
    return f"of {names} one point counts: {stop} holds all that shows of {them}"


def part_notes(answer: Answer) -> tuple[str, ...]:
    """How much of each of these is sharp now."""
    if not answer.parts:
        return ()
    shares = [f"{100 * part.share:.0f} % of {part.name}" for part in answer.parts]
    stop = spell_f_number(chosen_setting(answer).f_number)
    return (f"{whole_words(answer)}; {stop} holds {listed(shares)} (--only counts all of a thing)",)


def stop_for(limits: LensLimits, f_number: float) -> str:
    """The widest stop of a lens that is as narrow as is needed: "f/8", "no stop of the lens"."""
    stop = limits.f_number_at_least(f_number)
    return "no stop of the lens" if f_number > stop * (1 + MARK_SHARE) else spell_f_number(stop)


def row_notes(serving: Serving) -> tuple[str, ...]:
    """That more points than two were served by the least lean along their row, and why."""
    option = serving.tilted
    if option is None or option.exact.total_tilt_deg < _TOLD_DEG:
        return ()
    exact, through = option.exact, option.through_all
    names = tuple(dict.fromkeys(target.name for target in exact.targets))
    if through.total_tilt_deg < exact.total_tilt_deg + _TOLD_DEG or len(names) < 2:
        return ()
    these = listed(names) if len(names) < 6 else "the points"
    lean = lean_words(through.tilt_deg, through.swing_deg)
    if within_doubt(exact, through):
        return (
            f"{these} lie nearly in one row: how the sharp plane turns about it, its height across "
            "the row, was free, and the least tilt was taken, which passes them all as nearly as "
            f"their places are known (exactly through all as given it would be {lean})",
        )
    return (
        f"nearest to all of {these} it would be {lean}, which gains less than is seen over the "
        "least tilt along their row: that was taken",
    )


def _shot_words(
    answer: Answer, tilt_deg: float, swing_deg: float, extension_mm: float, f_number: float
) -> dict[str, Words]:
    """Words that read back as these numbers; 1 nm of extension and 0.0001° do not show.

    The stop is the one engraved: 14 for 14.25, a fiftieth of which nobody sees.
    """
    return {
        "lens": f"{answer.limits.focal_mm:g}",
        "f": spell_f_number(f_number).removeprefix("f/"),
        "tilt": spell_direction("tilt", tilt_deg),
        "swing": spell_direction("swing", swing_deg),
        "focus": extension_words(extension_mm, answer.limits.focal_mm),
    }

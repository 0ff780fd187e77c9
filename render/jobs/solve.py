"""`hingeline solve`: which tilt, swing, focus and f-number make these things sharp."""

import math
from dataclasses import dataclass, replace

import numpy as np

from render.errors import InputError, SettingError
from render.files.lenses import read_lens
from render.files.shots import Shot, Words, merged
from render.jobs.prepare import prepare
from render.jobs.progress import Progress
from render.jobs.solve_report import Answer, BandChoice
from render.jobs.wishes import Site, Wish, parse_wish
from render.optics.blur import blur_field
from render.optics.camera import Sensor, Vantage
from render.optics.depth_of_field import circle_of_confusion_mm
from render.optics.lens import FocusSpot, LensSetting
from render.optics.limits import LensLimits
from render.optics.plane import focus_lens
from render.optics.selective import Region, compare_leanings
from render.optics.serving import serve
from render.optics.summary import summarise_focus

__all__ = ["solve"]

#: What is assumed of a lens of which only the focal length is known.
_WIDEST, _SMALLEST, _TILT_DEG, _CLOSEST_FOCAL_LENGTHS = 2.8, 22.0, 8.0, 5.0
_MOVES = {"both": (True, True), "tilt": (True, False), "swing": (False, True)}
#: How far down the frame the subjects of a foreground usually stand.
_FOREGROUND_SHARE = 0.8


def solve(
    shot: Shot,
    sharp: list[tuple[str, str]],
    soft: list[str],
    *,
    only: bool = False,
    band: bool = False,
    lens_file: str | None = None,
    move: str = "both",
    coc: str = "diagonal/1500",
    progress: Progress,
) -> Answer:
    """Find lens positions for what should be sharp, and say what each of them costs.

    Parameters
    ----------
    shot : Shot
        A picture with depth, or only a height and a lens.
    sharp : list of (kind, text)
        What should be sharp, each of a kind in `render.jobs.wishes.KINDS`.
    soft : list of str
        What should be soft; points and areas.
    only : bool
        Nothing else should be sharp: with no `soft`, all the rest of the picture is soft.
    band : bool
        Also show where the sharp band lies if it is laid on the centre or on the foreground.
    lens_file : str or None
        A lens file or the name of a shipped lens.
    move : {"both", "tilt", "swing"}
        What may be turned.
    coc : str
        Circle of confusion, as `circle_of_confusion_mm` reads it.

    Raises
    ------
    HingelineError
        In one sentence, if something is missing, cannot be read, or cannot be.
    """
    if move not in _MOVES:
        raise SettingError(f'"{move}" cannot be moved: choose one of {", ".join(_MOVES)}')
    wishes = [parse_wish(kind, text) for kind, text in sharp]
    softs = [parse_wish("point", text) for text in soft]
    if not wishes and not band:
        raise InputError(
            "nothing is asked for: say what should be sharp with --sharp, --row, --ground, "
            "--wall or --face, or ask for --band"
        )
    if (only or softs) and not wishes:
        raise InputError("say with --sharp what should stay sharp while the rest goes soft")
    limits, shot, notes = _lens(shot, lens_file)
    place = _place(shot, limits, progress)
    sensor, site = place.sensor, place.site
    site.check_apart(wishes, softs)
    coc_mm = circle_of_confusion_mm(
        coc, sensor, site.camera.width_px if site.camera is not None else None
    )
    progress("solving", 0.6)
    tilt, swing = _MOVES[move]
    freedom = limits.freedom(tilt=tilt, swing=swing)
    answer = Answer(
        limits=limits,
        f_number=shot.lens.f_number or limits.widest_f_number,
        coc_mm=coc_mm,
        sensor=sensor,
        camera=site.camera,
        notes=(*notes, *place.notes),
    )
    if only or softs:
        leanings = compare_leanings(
            _joined(site, wishes),
            _joined(site, softs) if softs else site.everything_but(wishes),
            focal_mm=limits.focal_mm,
            f_number=answer.f_number,
            coc_mm=coc_mm,
            limit_deg=limits.tilt_limit_deg,
            axis_turns=limits.axis_turns,
        )
        answer = replace(answer, leanings=leanings)
    elif wishes:
        targets = [target for wish in wishes for target in site.targets(wish)]
        serving = serve(
            targets, limits, freedom, coc_mm, site.pixel_slope, shot.lens.f_number or 0.0
        )
        answer = replace(answer, serving=serving)
    if band:
        answer = replace(answer, bands=_bands(shot, site, limits, wishes, answer))
    return answer


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    site: Site
    sensor: Sensor
    notes: tuple[str, ...]


def _lens(shot: Shot, lens_file: str | None) -> tuple[LensLimits, Shot, list[str]]:
    """Limits of the lens, and the shot with its focal length."""
    wanted = shot.lens.focal_mm
    if lens_file is not None:
        limits = read_lens(lens_file)
        if wanted is not None and abs(wanted - limits.focal_mm) > 0.05:
            raise SettingError(
                f"--lens says {wanted:g} mm, but the lens {limits.name} has {limits.focal_mm:g} "
                "mm: leave one of them out"
            )
        return limits, merged(shot, {"lens": f"{limits.focal_mm:g}"}, "--{name}"), []
    if wanted is None:
        raise InputError("say which lens: its focal length with --lens, or --lens-file 'long 90'")
    limits = LensLimits(
        name=f"{wanted:g} mm",
        focal_mm=wanted,
        widest_f_number=_WIDEST,
        smallest_f_number=_SMALLEST,
        tilt_limit_deg=_TILT_DEG,
        closest_focus_m=_CLOSEST_FOCAL_LENGTHS * wanted / 1000.0,
    )
    note = (
        f"no lens file was given: taken to tilt {_TILT_DEG:g}° any way and to have "
        f"f/{_WIDEST:g} to f/{_SMALLEST:g}"
    )
    return limits, shot, [note]


def _place(shot: Shot, limits: LensLimits, progress: Progress) -> _Place:
    """Where wishes are looked up: the picture with its depth, or the spot to stand on."""
    if not (shot.picture or shot.scene):
        return _bare_place(shot, limits)
    unsaid: dict[str, Words] = {
        name: text
        for name, text, value in (
            ("focus", "infinity", shot.lens.focus),
            ("f", f"{limits.widest_f_number:g}", shot.lens.f_number),
        )
        if value is None
    }
    prepared = prepare(merged(shot, unsaid, "--{name}"), progress)
    scene, frame = prepared.scene, prepared.scene.frame
    camera = scene.frame_camera
    site = Site(
        half_angle_deg=_half_angle(camera.width_px / 2 / camera.focal_px),
        camera=camera,
        depth_m=scene.depth_m[frame.rows, frame.columns],
        left_px=frame.left,
        top_px=frame.top,
        whole_px=(scene.camera.width_px, scene.camera.height_px),
        vantage=scene.vantage,
    )
    return _Place(site, prepared.sensor, (f"depth from {prepared.depth_how}", *prepared.notes))


def _bare_place(shot: Shot, limits: LensLimits) -> _Place:
    sensor = Sensor(*(shot.camera.sensor_mm or (36.0, 24.0)))
    if shot.camera.portrait:
        sensor = sensor.portrait
    keys, notes = shot.vantage, []
    vantage = None
    if keys.horizon is not None:
        raise InputError("--horizon needs a picture to find its row in: give --pitch instead")
    if keys.height_m is not None:
        vantage = Vantage(keys.height_m, keys.pitch_deg or 0.0, keys.roll_deg or 0.0)
        if keys.pitch_deg is None:
            notes.append("no pitch was given: the camera is held level")
    site = Site(half_angle_deg=_half_angle(sensor.width_mm / 2 / limits.focal_mm), vantage=vantage)
    return _Place(site, sensor, tuple(notes))


def _half_angle(slope: float) -> float:
    return math.degrees(math.atan(slope))


def _joined(site: Site, wishes: list[Wish]) -> Region:
    regions = [site.region(wish) for wish in wishes]
    return Region(
        np.concatenate([region.slopes for region in regions]),
        np.concatenate([region.inverse_depth for region in regions]),
    )


def _bands(
    shot: Shot, site: Site, limits: LensLimits, wishes: list[Wish], answer: Answer
) -> tuple[BandChoice, ...]:
    """The sharp band with the lens as the shot has it, laid on the centre and on the foreground.

    The foreground is the first thing wished sharp, or four fifths down the middle.
    """
    if site.camera is None or site.depth_m is None:
        raise InputError("--band needs a picture with depth to lay the band in")
    spots = [("the centre", _frame_spot(site, "the centre", 0.5))]
    if wishes:
        spots.append((wishes[0].name, _middle(site.region(wishes[0]))))
    else:
        spots.append(("the foreground", _frame_spot(site, "the foreground", _FOREGROUND_SHARE)))
    tilt, swing = shot.lens.tilt_deg, shot.lens.swing_deg
    if tilt is None and swing is None:
        tilt = -limits.tilt_limit_deg
    choices = []
    for name, spot in spots:
        setting = LensSetting(
            focal_mm=limits.focal_mm,
            f_number=answer.f_number,
            focus=spot,
            tilt_deg=tilt or 0.0,
            swing_deg=swing or 0.0,
        )
        field = blur_field(focus_lens(setting), site.camera, site.depth_m)
        summary = summarise_focus(field, answer.coc_mm, site.vantage)
        choices.append(BandChoice(name, setting, summary))
    return tuple(choices)


def _frame_spot(site: Site, name: str, y_share: float) -> FocusSpot:
    """Spot halfway across the planned frame, and so far down."""
    assert site.camera is not None
    column, row = site.camera.width_px // 2, int(site.camera.height_px * y_share)
    x, y, z = map(float, site.seen(name, column, row))
    return FocusSpot(x / z, y / z, z)


def _middle(region: Region) -> FocusSpot:
    """Return the point of a region at its median depth."""
    k = int(np.argsort(region.inverse_depth, kind="stable")[len(region.inverse_depth) // 2])
    x, y = map(float, region.slopes[k])
    return FocusSpot(x, y, 1.0 / float(region.inverse_depth[k]))

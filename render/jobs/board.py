"""`hingeline board`: one page for a client."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date as day
from datetime import datetime
from pathlib import Path

import numpy as np
from PIL import Image

from render.engine.photograph import photograph
from render.engine.quality import FINAL
from render.errors import HingelineError, InputError, SettingError
from render.files.atomic import check_destinations
from render.files.painted import check_ending, profiled, write_bytes, write_painted
from render.files.pictures import read_picture
from render.files.run import one_run
from render.files.shots import write_shot
from render.jobs.close_ups import chosen_close_ups, close_ups_as_it_is, take_close_ups
from render.jobs.filming.moments import nine_moments
from render.jobs.made import Made, made
from render.load.case import case_of
from render.load.compiled import say_compiling
from render.load.highlights import MOCKUP_STOPS, ToTake, lift_words, to_take
from render.load.named import focus_found
from render.load.plan import planned_on
from render.load.prepare import as_judged, prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.optics.lens import Focus, FocusExtension, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.solve import best_plane
from render.optics.solving.targets import Freedom, Target
from render.plan.light import moment_words
from render.plan.tolerance import focus_anew
from render.scene.field import frame_field
from render.scene.resize import fitted, resized
from render.scene.scene import Scene
from render.sheets.board import draw_board
from render.sheets.board_plan import (
    BoardPlan,
    BoardWords,
    Box,
    Paper,
    best_plan,
    moment_boxes,
    paper,
)
from render.sheets.client_words import alternative_words, client_sentences
from render.sheets.close_ups import CloseUps
from render.sheets.drawing.canvas import stand_in_notes
from render.sheets.drawing.lettering import checked_text
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.drawing.vector import pdf_bytes
from render.shot.axes import parse_axis
from render.shot.shot import Shot, input_files, merged, shot_keys
from render.shot.wishes import BoardWishes
from render.tell.judged import Judged, judge_prepared, judged_record, to_do_lines
from render.tell.records.commands import BoardRecord
from render.tell.seen import name_of, sharp_names
from render.tell.setting_values import focus_words
from render.tell.summary import credit_words, lens_words, setting_record, title_of
from render.words import parse_size_mm, spell_direction

__all__ = ["board"]

Main = Image.Image | list[tuple[Image.Image, str]]

_DPI = 300.0
#: A look whether anything blurs, and the share of the picture that must not.
_LOOKED_AT_PX, _NEARLY_ALL = 320, 0.98
#: So many alternatives where nobody asks for others.
_USUAL = 2
#: Characters of a sentence, which wraps.
_SENTENCE = 400


@one_run()
def board(
    shot: Shot,
    out: Path | None,
    wishes: BoardWishes,
    *,
    png: Path | None = None,
    save_shot: Path | None = None,
    overwrite: bool = False,
    progress: Progress,
) -> Made:
    """Render a shot, the place as it is and two alternatives, and lay them out on one page.

    Parameters
    ----------
    out : Path or None
        The PDF; NAME_board.pdf in the current folder when None.
    wishes : BoardWishes
    png : Path or None
        Also write the page as a picture of 300 dpi.
    save_shot : Path or None
        Also write the shot.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    out = out or Path(f"{shot.stem}_board.pdf")
    inputs = [*input_files(shot), *([Path(wishes.logo)] if wishes.logo else [])]
    _check_places(out, png, save_shot, overwrite, inputs)
    papers = _papers(wishes)
    title = checked_text(wishes.title, "the title") if wishes.title else title_of(shot)
    author = checked_text(wishes.author, "the name") if wishes.author else ""
    when = checked_text(wishes.date, "the date") if wishes.date else _today()
    logo = _logo(wishes.logo)
    others = [_alternative(text) for text in wishes.alternatives]
    if len(others) > 4:
        raise InputError(f"{len(others)} alternatives are too many for one page: at most 4")
    if wishes.clip_s is not None and not wishes.moments:
        raise SettingError("--clip is the length of the film that --moments shows: give both")
    say_compiling(progress)
    base = prepare(shot, progress)
    take = to_take(base, MOCKUP_STOPS)
    settings, told = _settings(base, others)
    judged = judge_prepared(as_judged(shot, base, progress))
    sentences = wishes.says or _sentences(judged)
    words = BoardWords(
        title=title,
        date=when,
        author=author,
        sentences=tuple(checked_text(text, "the sentence", _SENTENCE) for text in sentences),
        setting=_dotted(lens_words(base.setting)) + _hour(base.shot),
        captions=(
            ("The place as it is", ""),
            *((caption, _dotted(words)) for caption, words, *_ in settings),
        ),
        with_logo=logo is not None,
        credit=credit_words(base),
    )
    frame = base.scene.frame
    planned = best_plan(words, frame.width / frame.height, papers)
    blocks = _block_pictures(base, take, planned, settings, progress)
    main = _main(shot, wishes, base, take, planned, progress)
    progress("drawing the board", 0.9)
    drawing = draw_board(planned, main, blocks, logo)
    content = pdf_bytes([drawing], title=title, author=author)
    write_bytes(out, content, overwrite=overwrite, inputs=inputs)
    if png:
        image = paint(drawing, planned.paper.unit_pt * _DPI / 72)
        write_painted(png, image, overwrite=overwrite, inputs=inputs, dpi=_DPI)
    if save_shot:
        write_shot(save_shot, shot, overwrite=overwrite)
    largest, place, what = _largest(main, planned)
    dpi = _DPI * largest.width / planned.px(place, _DPI)[0]
    notes = (
        *base.notes,
        *told,
        *lift_words(base, MOCKUP_STOPS, found=take.lifted is not None),
        *stand_in_notes([drawing]),
    )
    finer = _finer_words(base, planned.px(place, _DPI)[0]) if dpi < 0.95 * _DPI else ""
    record: BoardRecord = {
        "setting": setting_record(base),
        "verdict": judged_record(judged),
        "sentences": list(words.sentences),
        "captions": [caption for caption, _ in words.captions],
        "settings": [lens_words(base.setting), *(words for _, words, *_ in settings)],
        "picture_px": [largest.width, largest.height],
        "dpi": dpi,
        "notes": list(notes),
        "credit": base.credit or None,
    }
    return made(
        [path for path in (out, png, save_shot) if path],
        (
            *words.sentences,
            *to_do_lines(judged),
            f"{what}: {largest.width} x {largest.height} px, {dpi:.0f} dpi on {wishes.paper}"
            + finer,
            *(f"Note: {note}" for note in notes),
            *filter(None, [credit_words(base)]),
        ),
        record,
    )


def _sentences(judged: Judged) -> tuple[str, ...]:
    prepared, verdict = judged.prepared, judged.verdict
    return client_sentences(
        verdict,
        prepared.scene.vantage,
        near_unsaid=prepared.unsaid.near,
        sharp=sharp_names(prepared),
        sharpness=judged.sharpness,
        unseen=prepared.unseen,
        betrays=name_of(verdict.telltales[0], prepared) if verdict.telltales else "",
    )


def _finer_words(base: Prepared, wanted_px: int) -> str:
    """Say how the page gets finer, where it is coarser than print."""
    if base.shot.scene:
        return f" (--width {wanted_px} traces the scene finely enough)"
    return " (the picture has no more)"


def _check_places(
    out: Path, png: Path | None, save_shot: Path | None, overwrite: bool, inputs: list[Path]
) -> None:
    check_ending(out, "the board", ".pdf")
    if png:
        check_ending(png, "the board's picture", ".png")
    outputs = [path for path in (out, png, save_shot) if path]
    check_destinations(outputs, overwrite=overwrite, inputs=inputs)


def _papers(wishes: BoardWishes) -> list[Paper]:
    """Return the papers to choose from."""
    choices = {"landscape": (False,), "upright": (True,), "auto": (False, True)}
    if wishes.orientation not in choices:
        raise SettingError(
            f'orientation "{wishes.orientation}" is not known: write one of {", ".join(choices)}'
        )
    return [paper(wishes.paper, upright=upright) for upright in choices[wishes.orientation]]


def _today() -> str:
    today = day.today()
    return f"{today.day} {today:%B %Y}"


def _logo(name: str | None) -> Image.Image | None:
    if name is None:
        return None
    try:
        file = read_picture(Path(name))
    except HingelineError as error:
        raise InputError(f"the logo cannot be used: {error}") from None
    return profiled(screen_picture(file.light, file.encoding))


def _alternative(text: str) -> tuple[str | None, dict[str, str]]:
    """Read "Calmer: f=5.6; tilt=up 4" into a caption, or None, and values by name."""
    caption, colon, rest = text.partition(":")
    if not colon or "=" in caption:
        caption, rest = "", text
    given = {}
    for part in rest.split(";"):
        axis = parse_axis(part)
        given[axis.name] = part.partition("=")[2].strip()
        if shot_keys()[axis.name].table not in ("lens", "camera"):
            raise SettingError(f'alternative "{text}": only lens and sensor may differ on a board')
    return (checked_text(caption, "the caption") if caption.strip() else None), given


def _settings(
    base: Prepared, others: Sequence[tuple[str | None, dict[str, str]]]
) -> tuple[list[tuple[str, str, Scene, LensSetting]], list[str]]:
    """Return caption, words, scene and setting of every alternative, and what is to be said."""
    usual = not others
    others = others or _usual_others(base)
    seen = [(base.setting, base.scene.window)]
    found, told = [], []
    for caption, given in others:
        shot = merged(base.shot, dict(given), "--alternative {name}")
        told += [shot.ring] if shot.ring else []
        if base.things is not None:
            shot = focus_found(shot, base.scene, base.things)
        scene, planned = planned_on(shot, base.scene)
        setting = planned.setting
        if (setting, scene.window) in seen or (usual and _all_sharp(base, scene, setting)):
            continue  # the same picture twice tells nothing
        if usual and len(seen) > _USUAL:
            break
        seen.append((setting, scene.window))
        words = ", ".join([lens_words(setting), *_format_words(given)])
        found.append((caption or alternative_words(base.setting, setting), words, scene, setting))
    return found, list(dict.fromkeys(told))


def _format_words(given: Mapping[str, str]) -> list[str]:
    """What an alternative says of sensor or film, "24 x 24 mm", and of how it is held."""
    words = []
    if "format" in given:
        width_mm, height_mm = parse_size_mm(given["format"])
        words.append(f"{width_mm:g} x {height_mm:g} mm")
    if "portrait" in given:
        words.append("upright" if shot_keys()["portrait"].read(given["portrait"]) else "lying")
    return words


def _usual_others(base: Prepared) -> list[tuple[str | None, dict[str, str]]]:
    """Two stops down, the lens straight, a quarter of its lean: the first two that show more.

    Half the lean is no other picture than two stops down: over level ground blur goes as the sine
    of the lean over the f-number. An extension belongs to its lean: another lean is focused anew on
    what the shot is sharp on, as whoever stands there would; on several things as well as it can
    be, as `hingeline solve` says it of the straight lens.
    """
    setting, limits = base.setting, base.limits
    calm, strong = 2 * setting.f_number, setting.f_number / 2
    if limits is not None:
        calm, strong = min(calm, limits.smallest_f_number), max(strong, limits.widest_f_number)

    def leaning(share: float) -> dict[str, str]:
        tilt, swing = share * setting.tilt_deg, share * setting.swing_deg
        given = {"tilt": spell_direction("tilt", tilt), "swing": spell_direction("swing", swing)}
        if isinstance(setting.focus, FocusExtension):
            leant = replace(setting, tilt_deg=tilt, swing_deg=swing)
            anew = _between(leant, base.named) or focus_anew(case_of(base), setting, base.named)
            leant = replace(leant, focus=anew)
            given["focus"] = focus_words(leant, base)
        return given

    return [
        (None, {"f": f"{calm:g}"}),
        (None, leaning(0.0)),
        (None, leaning(0.25)),
        (None, {"f": f"{strong:g}"}),
    ]


def _between(setting: LensSetting, named: Sequence[Target]) -> Focus | None:
    """The best focus on several things for a lean; None for one, or where there is none."""
    held = Freedom(tilt=False, swing=False, tilt_deg=setting.tilt_deg, swing_deg=setting.swing_deg)
    try:
        best = best_plane(named, setting.focal_mm, held) if len(named) > 1 else None
    except SettingError:
        return None
    return FocusExtension(best.extension_mm) if best else None


def _all_sharp(base: Prepared, scene: Scene, setting: LensSetting) -> bool:
    """Whether a setting blurs nothing: that is the place as it is, which stands there already."""
    small = resized(scene, _LOOKED_AT_PX)
    field = frame_field(small, setting)
    blur_mm = 2.0 * focus_lens(setting).aperture_radius_mm * np.abs(field.defocus)
    return bool(np.quantile(blur_mm, _NEARLY_ALL) <= base.coc_mm)


def _largest(main: Main, planned: BoardPlan) -> tuple[Image.Image, Box, str]:
    """The picture that tells how fine the page is, its place, and what it is."""
    if isinstance(main, Image.Image):
        return main, planned.main, "Main picture"
    return main[0][0], moment_boxes(planned, len(main))[0], f"{len(main)} moments, each"


def _main(
    shot: Shot,
    wishes: BoardWishes,
    base: Prepared,
    take: ToTake,
    planned: BoardPlan,
    progress: Progress,
) -> Main:
    """The picture, or moments of the film."""
    if not wishes.moments:
        progress("rendering the main picture", 0.2)
        return _taken(base, take, planned, base.scene, base.setting, planned.main)
    size = max(planned.px(moment_boxes(planned, 9)[0], _DPI))
    return [
        (profiled(screen_picture(fitted(light, size), base.encoding)), f"{at_s:.3g} s")
        for at_s, light in nine_moments(shot, wishes.clip_s, progress)
    ]


def _taken(
    base: Prepared, take: ToTake, planned: BoardPlan, scene: Scene, setting: LensSetting, box: Box
) -> Image.Image:
    """A photograph at the size it has in print, never larger than the picture is."""
    sized = take.on(scene).resized(max(planned.px(box, _DPI)))
    light = photograph(sized.through(setting), setting, quality=FINAL).light
    return profiled(screen_picture(light, base.encoding))


def _hour(shot: Shot) -> str:
    """Whose light a map's picture shows, beside the day that the board is of."""
    if not shot.on_map or shot.place.when is None:
        return ""
    return f" · light of {moment_words(datetime.fromisoformat(shot.place.when))}"


def _dotted(words: str) -> str:
    return words.replace(", ", " · ")


def _block_pictures(
    base: Prepared,
    take: ToTake,
    planned: BoardPlan,
    settings: Sequence[tuple[str, str, Scene, LensSetting]],
    progress: Progress,
) -> list[tuple[Image.Image, CloseUps]]:
    """The place as it is, and the alternatives; each with its close-ups."""
    encoding, frame = base.encoding, base.scene.frame
    first = planned.blocks[0]
    # where the picture is coarser than print, a close-up is no finer than the main picture
    finest = min(1.0, frame.width / planned.px(planned.main, _DPI)[0])
    width_px, height_px = planned.px(first.close[0], finest * _DPI)
    chosen = chosen_close_ups(base, width_px, height_px)
    small = resized(base.scene, max(planned.px(first.picture, _DPI)))
    shown = small.picture[small.frame.rows, small.frame.columns]
    as_it_is = profiled(screen_picture(shown, encoding))
    made = [(as_it_is, close_ups_as_it_is(base.scene, chosen, encoding))]
    for number, (_, _, scene, setting) in enumerate(settings):
        progress(f"rendering alternative {number + 1}", 0.1 + 0.02 * number)
        whole = _taken(base, take, planned, scene, setting, first.picture)
        sharp, soft = (one.moved(frame, scene.frame) for one in chosen)
        made.append((whole, take_close_ups(take.on(scene), setting, (sharp, soft), encoding)))
    return made

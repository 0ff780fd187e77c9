"""`hingeline board`: one page for a client."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date as day
from datetime import datetime
from pathlib import Path

from PIL import Image

from render.engine.photograph import photograph
from render.engine.quality import FINAL
from render.errors import HingelineError, InputError, SettingError
from render.files.atomic import check_destinations
from render.files.painted import check_ending, profiled, write_bytes, write_painted
from render.files.pictures import read_picture
from render.files.run import one_run
from render.files.shots import write_shot
from render.jobs.alternatives import (
    Alternative,
    alternatives_of,
    planned_words,
    read_alternative,
)
from render.jobs.close_ups import chosen_close_ups, close_ups_as_it_is, take_close_ups
from render.jobs.filming.moments import nine_moments
from render.jobs.made import Made, made
from render.load.case import on_its_ground
from render.load.compiled import say_compiling
from render.load.highlights import MOCKUP_STOPS, ToTake, lift_words, to_take
from render.load.prepare import as_judged, prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.optics.lens import LensSetting
from render.optics.solving.limits import usual_limits
from render.plan.light import moment_words
from render.plan.tolerance import slack
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
from render.sheets.client_words import client_sentences
from render.sheets.close_ups import CloseUps
from render.sheets.drawing.canvas import stand_in_notes
from render.sheets.drawing.lettering import checked_text
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.sheets.drawing.vector import pdf_bytes
from render.shot.shot import Shot, input_files
from render.shot.wishes import BoardWishes
from render.tell.judged import Judged, judge_prepared, judged_record, to_do_lines
from render.tell.records.commands import BoardRecord
from render.tell.seen import drawn_soft, name_of, named_sharpness, sharp_names
from render.tell.setting_values import in_full
from render.tell.summary import credit_words, dotted, setting_record, title_of

__all__ = ["board"]

Main = Image.Image | list[tuple[Image.Image, str]]

_DPI = 300.0
#: Fewer pixels to the inch of paper show as such (common practice, no source).
_LEAST_DPI = 100.0
#: Characters of a sentence, which wraps.
_SENTENCE = 400


@one_run()
def board(
    shot: Shot,
    out: Path | None,
    wishes: BoardWishes,
    *,
    pinned: Sequence[Shot] = (),
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
    pinned : sequence of Shot
        Alternatives beside those of `wishes`: their lens and sensor, at the shot's place.
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
    said = _read(shot, wishes, len(pinned))
    say_compiling(progress)
    base = prepare(shot, progress)
    take = to_take(base, MOCKUP_STOPS)
    settings, told = alternatives_of(base, said.others, pinned)
    judged = judge_prepared(as_judged(shot, base, progress))
    planned = _planned(_words(said, wishes, judged, base, settings), base, said.papers, wishes)
    blocks = _block_pictures(base, take, planned, settings, progress)
    main = _main(shot, wishes, base, take, planned, progress)
    progress("drawing the board", 0.9)
    drawing = draw_board(planned, main, blocks, said.logo)
    content = pdf_bytes([drawing], title=said.title, author=said.author)
    write_bytes(out, content, overwrite=overwrite, inputs=inputs)
    if png:
        image = paint(drawing, planned.paper.unit_pt * _DPI / 72)
        write_painted(png, image, overwrite=overwrite, inputs=inputs, dpi=_DPI)
    if save_shot:
        write_shot(save_shot, in_full(shot, base), overwrite=overwrite)
    notes = (
        *base.notes,
        *told,
        *lift_words(base, MOCKUP_STOPS, found=take.lifted is not None),
        *stand_in_notes([drawing]),
    )
    files = [path for path in (out, png, save_shot) if path]
    return _told(files, wishes, base, judged, planned, settings, main, notes)


@dataclass(frozen=True, slots=True, eq=False)
class _Said:
    """What the wishes say, read before anything is loaded."""

    papers: list[Paper]
    title: str
    author: str
    date: str
    logo: Image.Image | None
    others: list[tuple[str | None, dict[str, str]]]


def _read(shot: Shot, wishes: BoardWishes, pinned: int) -> _Said:
    """Read and check all that is wished; errors as in `board`."""
    said = _Said(
        papers=_papers(wishes),
        title=checked_text(wishes.title, "the title") if wishes.title else title_of(shot),
        author=checked_text(wishes.author, "the name") if wishes.author else "",
        date=checked_text(wishes.date, "the date") if wishes.date else _today(),
        logo=_logo(wishes.logo),
        others=[read_alternative(text) for text in wishes.alternatives],
    )
    if (count := len(said.others) + pinned) > 4:
        raise InputError(f"{count} alternatives are too many for one page: at most 4")
    if wishes.clip_s is not None and not wishes.moments:
        raise SettingError("--clip is the length of the film that --moments shows: give both")
    return said


def _words(
    said: _Said,
    wishes: BoardWishes,
    judged: Judged,
    base: Prepared,
    settings: Sequence[Alternative],
) -> BoardWords:
    """Everything that is written on the board."""
    sentences = wishes.says or _sentences(judged)
    return BoardWords(
        title=said.title,
        date=said.date,
        author=said.author,
        sentences=tuple(checked_text(text, "the sentence", _SENTENCE) for text in sentences),
        setting=dotted(_planned_words(base, settings)) + _hour(base.shot),
        captions=(
            ("The place as it is", ""),
            *((other.caption, dotted(other.words)) for other in settings),
        ),
        with_logo=said.logo is not None,
        credit=credit_words(base),
    )


def _planned(
    words: BoardWords, base: Prepared, papers: Sequence[Paper], wishes: BoardWishes
) -> BoardPlan:
    """Where everything lies; where the picture's pixels will show, the small print says so."""
    frame = base.scene.frame
    planned = best_plan(words, frame.width / frame.height, papers)
    place = moment_boxes(planned, 9)[0] if wishes.moments else planned.main
    if frame.width >= planned.px(place, _LEAST_DPI)[0]:
        return planned
    coarse = f"Enlarged from {frame.width} x {frame.height} pixels, which show in print."
    return best_plan(replace(words, coarse=coarse), frame.width / frame.height, papers)


def _told(
    files: list[Path],
    wishes: BoardWishes,
    base: Prepared,
    judged: Judged,
    planned: BoardPlan,
    settings: Sequence[Alternative],
    main: Main,
    notes: tuple[str, ...],
) -> Made:
    """What is said of a board that was made."""
    largest, place, what = _largest(main, planned)
    dpi = _DPI * largest.width / planned.px(place, _DPI)[0]
    words = planned.words
    record: BoardRecord = {
        "setting": setting_record(base),
        "verdict": judged_record(judged),
        "sentences": list(words.sentences),
        "captions": [caption for caption, _ in words.captions],
        "settings": [_planned_words(base, settings), *(other.words for other in settings)],
        "picture_px": [largest.width, largest.height],
        "dpi": dpi,
        "notes": list(notes),
        "credit": base.credit or None,
    }
    return made(
        files,
        (
            *words.sentences,
            *to_do_lines(judged),
            f"{what}: {largest.width} x {largest.height} px, {dpi:.0f} dpi on {wishes.paper}"
            + _finer_words(base, planned.px(place, _DPI)[0], dpi),
            *(f"Note: {note}" for note in notes),
            *filter(None, [credit_words(base)]),
        ),
        record,
    )


def _planned_words(base: Prepared, settings: Sequence[Alternative]) -> str:
    """The setting of the main picture, with its focus where another has one of its own."""
    return planned_words(base.setting, focus=any(other.refocused for other in settings))


def _sentences(judged: Judged) -> tuple[str, ...]:
    prepared, verdict = judged.prepared, judged.verdict
    return client_sentences(
        verdict,
        on_its_ground(prepared).scene.vantage,
        near_unsaid=prepared.unsaid.near,
        sharp=sharp_names(prepared),
        sharpness=judged.sharpness,
        named=named_sharpness(prepared, judged.case),
        unseen=prepared.unseen,
        betrays=name_of(verdict.telltales[0], prepared) if verdict.telltales else "",
        guessed=tuple(prepared.guessed),
        drawn_soft=drawn_soft(prepared, judged.case),
        tight=_tight(judged),
        widest_f_number=prepared.limits.widest_f_number if prepared.limits else None,
    )


def _tight(judged: Judged) -> bool:
    """Whether hands cannot keep inside what the things named allow."""
    prepared, setting = judged.prepared, judged.prepared.setting
    if not prepared.named:
        return False
    limits = prepared.limits or usual_limits(setting.focal_mm)
    return not slack(judged.case, setting, prepared.named, limits).in_hand


def _finer_words(base: Prepared, wanted_px: int, dpi: float) -> str:
    """Say that the page is coarser than print, and how it gets finer."""
    if dpi >= 0.95 * _DPI:
        return ""
    shows = "too few for print, its pixels show; " if dpi < _LEAST_DPI else ""
    if base.shot.scene:
        return f" ({shows}--width {wanted_px} traces the scene finely enough)"
    wish = ": take a larger one" if shows else ""
    return f" ({shows}the picture has no more{wish})"


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


def _block_pictures(
    base: Prepared,
    take: ToTake,
    planned: BoardPlan,
    settings: Sequence[Alternative],
    progress: Progress,
) -> list[tuple[Image.Image, CloseUps]]:
    """The place as it is, and the alternatives; each with its close-ups."""
    encoding, frame = base.encoding, base.scene.frame
    first = planned.blocks[0]
    # where the picture is coarser than print, a close-up is no finer than the main picture
    finest = min(1.0, frame.width / planned.px(planned.main, _DPI)[0])
    width_px, height_px = planned.px(first.close[0], finest * _DPI)
    chosen = chosen_close_ups(base, width_px, height_px, [other.setting for other in settings])
    small = resized(base.scene, max(planned.px(first.picture, _DPI)))
    shown = small.picture[small.frame.rows, small.frame.columns]
    as_it_is = profiled(screen_picture(shown, encoding))
    made = [(as_it_is, close_ups_as_it_is(base.scene, chosen, encoding))]
    for number, other in enumerate(settings):
        progress(f"rendering alternative {number + 1}", 0.1 + 0.02 * number)
        whole = _taken(base, take, planned, other.scene, other.setting, first.picture)
        first_there, second_there = (one.moved(frame, other.scene.frame) for one in chosen)
        close = first_there, second_there
        made.append((whole, take_close_ups(take.on(other.scene), other.setting, close, encoding)))
    return made

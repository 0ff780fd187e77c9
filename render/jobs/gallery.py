"""`hingeline scenes gallery`: every demo scene as it is and as its suggested lens takes it."""

from pathlib import Path

from PIL import Image

from render.engine.photograph import photograph
from render.engine.quality import FINAL
from render.files.atomic import check_destination
from render.files.painted import check_ending, write_painted
from render.files.run import one_run
from render.jobs.made import Made, made
from render.judge.verdict import judge_case
from render.load.case import case_of
from render.load.compiled import say_compiling
from render.load.prepare import as_judged, prepare
from render.load.progress import Progress
from render.load.scenes import list_scenes, load_scene
from render.scene.colour import SRGB
from render.sheets.compare import Cell, compare_sheet
from render.sheets.drawing.raster import paint
from render.sheets.drawing.screen import screen_picture
from render.shot.shot import Shot, merged
from render.tell.cells import verdict_cell
from render.tell.records.commands import GalleryRecord
from render.tell.records.declared import VerdictRecord
from render.tell.summary import setting_words
from render.tell.verdict_record import verdict_record

__all__ = ["gallery"]


@one_run()
def gallery(out: Path, *, width_px: int = 480, overwrite: bool = False, progress: Progress) -> Made:
    """Trace and render every shipped scene and lay all out on one sheet, two scenes to a row.

    Parameters
    ----------
    out : Path
        PNG, JPEG or WebP.
    width_px : int
        Of each picture.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    check_ending(out, "the gallery", ".png", ".jpg", ".webp")
    check_destination(out, overwrite=overwrite)
    say_compiling(progress)
    scenes = list_scenes()
    cells, lines = [], []
    record: dict[str, VerdictRecord] = {}
    for number, scene in enumerate(scenes):

        def part(what: str, share: float, done: int = number) -> None:
            progress(f"{scenes[done].name}: {what}", (done + share) / (len(scenes) + 0.5))

        description = load_scene(scene.name)
        wide = (
            round(width_px * 4 / 9) if description.vantage.portrait else width_px
        )  # as tall as the others
        shot = merged(Shot(scene=scene.name), {"width": f"{wide}"}, "{name}")
        prepared = prepare(shot, part)
        frame = prepared.scene.frame
        before = screen_picture(prepared.scene.picture[frame.rows, frame.columns], SRGB)
        before = _widened(before, width_px)
        photo = photograph(prepared.scene, prepared.setting, quality=FINAL)
        judged = as_judged(Shot(scene=scene.name), prepared, part)
        verdict = judge_case(case_of(judged), judged.setting)
        words = setting_words(prepared).replace(", ", " · ")
        after = _widened(screen_picture(photo.light, SRGB), width_px)
        cells.append(Cell(before, scene.name, "as it is", scene.line, ""))
        cell = verdict_cell(
            after, words, verdict, for_sharpness=description.suggested.for_sharpness
        )
        cells.append(cell)
        lines.append(f"{scene.name}: {'; '.join(filter(None, (cell.scale, cell.verdict)))}")
        record[scene.name] = verdict_record(verdict)
    sheet = compare_sheet(
        cells,
        title="Demo scenes",
        subtitle="Each as it is, and as its suggested lens takes it",
        notes=("Invented places. Computed previews, not photographs.",),
        columns=4 if len(scenes) > 1 else 2,
    )
    write_painted(out, paint(sheet), overwrite=overwrite)
    told: GalleryRecord = {"scenes": record}
    return made([out], lines, told)


def _widened(picture: Image.Image, width_px: int) -> Image.Image:
    """A picture with paper beside it up to a width."""
    paper = Image.new("RGB", (max(width_px, picture.width), picture.height), "white")
    paper.paste(picture, (0, 0))
    return paper

"""`hingeline scenes gallery`: every demo scene as it is and as its suggested lens takes it."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.engine.photograph import photograph
from render.engine.quality import FINAL
from render.files.atomic import check_destination
from render.files.painted import check_ending, write_painted
from render.files.run import one_run
from render.jobs.close_ups import chosen_close_ups
from render.jobs.made import Made, made
from render.judge.verdict import judge_case
from render.load.case import case_of
from render.load.compiled import say_compiling
from render.load.prepare import as_judged, prepare
from render.load.prepared import Prepared
from render.load.progress import Progress
from render.load.scenes import list_scenes
from render.optics.camera import Window
from render.scene.colour import SRGB
from render.scene.resize import fitted
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

#: Between an upright picture and what stands beside it, px.
_APART = 4


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

        shot = merged(Shot(scene=scene.name), {"width": f"{width_px}"}, "{name}")
        prepared = prepare(shot, part)
        description = prepared.description
        assert description is not None, "a scene has its description"
        frame = prepared.scene.frame
        as_it_is = prepared.scene.picture[frame.rows, frame.columns]
        photo = photograph(prepared.scene, prepared.setting, quality=FINAL)
        judged = as_judged(Shot(scene=scene.name), prepared, part)
        verdict = judge_case(case_of(judged), judged.setting, judged.limits)
        words = setting_words(prepared).replace(", ", " · ")
        before, after = (
            _beside_a_part(light, prepared)
            if description.vantage.portrait
            else screen_picture(light, SRGB)
            for light in (as_it_is, photo.light)
        )
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


def _beside_a_part(light: NDArray[np.float32], prepared: Prepared) -> Image.Image:
    """An upright picture as tall as the others, and beside it, larger, what is sharp of it."""
    width = light.shape[1]
    height = round(width * 2 / 3)
    whole = screen_picture(fitted(light, height), SRGB)
    size = width - whole.width - _APART, height
    sharp, _ = chosen_close_ups(prepared, *size)
    window = sharp.window(Window(0, 0, light.shape[1], light.shape[0]))
    part = screen_picture(light[window.rows, window.columns], SRGB)
    paper = Image.new("RGB", (width, height), "white")
    paper.paste(whole, (0, 0))
    paper.paste(part, (width - part.width, 0))
    return paper

"""The program from Python, in the words of its command line.

Options are those of `hingeline render`, with `_` for `-`; a number stands for its own words::

    from hingeline import open_picture, photograph, write_picture

    roof = open_picture("roof.jpg", height="4 storeys", horizon="8%", lens=45, tilt="up 8")
    photo = photograph(roof.scene, roof.setting)
    write_picture("tilted.jpg", photo.light, like=roof.file)
"""

import difflib
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from render.errors import InputError, SettingError
from render.files.shipped import is_scene_file
from render.jobs.solve import find_answer
from render.judge.verdict import Verdict, judge_case
from render.load.case import case_of
from render.load.highlights import lifted
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import Progress, silent
from render.load.variants import turned, turns_only
from render.shot.declaring import Words
from render.shot.shot import Shot, is_file_name, merged, shot_keys
from render.tell.solve_answer import Answer

__all__ = ["open_picture", "open_scene", "solve", "turn", "verdict"]


def open_picture(
    path: str | os.PathLike[str], *, progress: Progress = silent, **options: Any
) -> Prepared:
    """Open a picture with its depth, and plan a photograph of it.

    Parameters
    ----------
    path : str or path
        A picture file.
    **options
        As `hingeline render` takes them: where it was taken from, its depth, the planned lens.

    Returns
    -------
    Prepared
        Holds `scene`, `setting`, `file`, and in `notes` what was assumed.

    Raises
    ------
    InputError, SettingError
        In one sentence, if something cannot be read, is missing, or cannot be.
    """
    return lifted(prepare(_merged(Shot(picture=os.fspath(path)), options), progress))


def open_scene(
    name: str | os.PathLike[str], *, progress: Progress = silent, **options: Any
) -> Prepared:
    """Trace a demo scene, a scene file (.toml) or a map file; as `open_picture`."""
    scene = os.fspath(name)
    if is_file_name(scene) and not Path(scene).is_file():
        raise InputError(f"{scene} is not there: check the name")
    if scene.lower().endswith(".toml") and not is_scene_file(Path(scene)):
        raise InputError(f"{scene} is no scene file: a shot file names a picture or scene to open")
    return prepare(_merged(Shot(scene=scene), options), progress)


def turn(place: Prepared, **options: Any) -> Prepared:
    """The same place with its lens turned: nothing is loaded or traced again.

    Raises
    ------
    SettingError
        If an option does more than turn the lens, or the setting cannot be.
    """
    shot = _merged(place.shot, options)
    given = [name.replace("_", "-") for name in options]
    if not turns_only(place.shot, given):
        raise SettingError(
            f"{', '.join(given)}: not all of these turn the lens alone: open the place anew"
        )
    return turned(place, shot)


def verdict(place: Prepared) -> Verdict:
    """Judge whether the planned photograph reads as a scale model, as `hingeline judge` does.

    Raises
    ------
    InputError
        If the frame shows nothing but sky.
    """
    return judge_case(case_of(place), place.setting, place.limits)


def solve(
    place: Prepared,
    sharp: Sequence[str],
    soft: Sequence[str] = (),
    *,
    only: bool = False,
    progress: Progress = silent,
) -> Answer:
    """Find tilt, swing, focus and f-number for what should be sharp.

    Parameters
    ----------
    sharp, soft : sequence of str
        Points as `hingeline solve --sharp` takes them: "50%,62%", or the name of a scene's thing.
    only : bool
        All the rest of the picture should be soft.

    Returns
    -------
    Answer
        ``turn(place, **answer.options)`` sets the lens so.

    Raises
    ------
    HingelineError
        If something is missing, cannot be read, or cannot be.
    """
    points = [("point", text) for text in _texts(sharp, "sharp")]
    return find_answer(place.shot, points, list(_texts(soft, "soft")), only=only, progress=progress)


def _merged(shot: Shot, options: Mapping[str, Any]) -> Shot:
    keys = shot_keys()
    given: dict[str, Words] = {}
    for option, value in options.items():
        name = option.replace("_", "-")
        if name not in keys:
            near = difflib.get_close_matches(name, keys, 1)
            meant = f" (is {near[0].replace('-', '_')} meant?)" if near else ""
            raise SettingError(
                f"there is no option {option}{meant}; they are those of hingeline render --help"
            )
        if value is not None and value is not False:
            given[name] = _texts(value, option) if keys[name].many else _text(value, option)
    return merged(shot, given, "{name}")


def _texts(value: Any, option: str) -> tuple[str, ...]:
    if isinstance(value, str) or not isinstance(value, Sequence):
        raise SettingError(f"{option} takes a list of texts, not {value!r}")
    return tuple(_text(part, option) for part in value)


def _text(value: Any, option: str) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return f"{value:.12g}"
    if isinstance(value, str | os.PathLike):
        return os.fspath(value)
    raise SettingError(f"{option} is written as text or a number, not as {type(value).__name__}")

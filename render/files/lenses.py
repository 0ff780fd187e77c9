"""Lens files: a small TOML for one lens, shipped by name or written by its owner.

A lens file holds the fields of `LensLimits` (optics/solving/limits.py) that a data sheet tells,
with dashes: ``focal-mm``, ``f-numbers = [2.8, 22]``, ``tilt-limit-deg`` and so on.
"""

import difflib
import json
import reprlib
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from render.errors import InputError, SettingError
from render.files.inputs import parsed_toml, read_toml
from render.optics.solving.limits import LensLimits

__all__ = ["is_lens_file", "lens_text", "read_lens", "shipped_lenses"]

FORMAT = 1
_NEEDED = ("name", "focal-mm", "f-numbers", "tilt-limit-deg", "closest-focus-m")
_OPTIONAL = (
    *("shift-limit-mm", "axis-turns", "marks-per-degree", "pivot-behind-mm", "ring-turn-deg"),
)


def shipped_lenses() -> tuple[str, ...]:
    """Names of the lenses that come with the program, by focal length."""
    lenses = [_parsed(entry.read_text("utf-8"), entry.name) for entry in _shipped()]
    return tuple(lens.name for lens in sorted(lenses, key=lambda lens: lens.focal_mm))


def read_lens(name: str) -> LensLimits:
    """Read a lens file, or a shipped lens by its name ("long 90").

    Raises
    ------
    InputError
        If there is no such lens or file, or a key or value in it is wrong.
    """
    if not name.lower().endswith(".toml"):
        return _shipped_lens(name)
    return _understood(read_toml(Path(name), "lens"), name)


def is_lens_file(path: Path) -> bool:
    """Whether a TOML file describes a lens."""
    try:
        table = read_toml(path, "lens")
    except InputError:
        return False
    return "f-numbers" in table or "tilt-limit-deg" in table


def lens_text(name: str, values: dict[str, float], f_numbers: tuple[float, float]) -> str:
    """The TOML text of a lens; `values` by the keys of a lens file."""
    lines = [f"format = {FORMAT}", f"name = {json.dumps(name)}"]
    lines.append(f"f-numbers = [{f_numbers[0]!r}, {f_numbers[1]!r}]")
    lines += [f"{key} = {value!r}" for key, value in values.items()]
    return "\n".join(lines) + "\n"


def _shipped() -> list[Traversable]:
    folder = files("render.shipped") / "lenses"
    return [entry for entry in folder.iterdir() if entry.name.endswith(".toml")]


def _shipped_lens(name: str) -> LensLimits:
    wanted = name.strip().lower().replace(" ", "-")
    for entry in _shipped():
        if entry.name == f"{wanted}.toml":
            return _parsed(entry.read_text("utf-8"), entry.name)
    raise InputError(
        f'there is no lens "{name}": name a lens file (.toml) or one of '
        + ", ".join(shipped_lenses())
    )


def _parsed(text: str, where: str) -> LensLimits:
    return _understood(parsed_toml(text, where), where)


def _understood(content: dict[str, Any], where: str) -> LensLimits:
    version = content.pop("format", None)
    if version != FORMAT:
        raise InputError(
            f"{where}: format = {reprlib.repr(version)} is not known; write format = {FORMAT}"
        )
    known = (*_NEEDED, *_OPTIONAL)
    for key in content:
        if key not in known:
            near = difflib.get_close_matches(key[:60], known, 1)
            meant = f" (is {near[0]} meant?)" if near else ""
            raise InputError(f"{where}: {key} is not known{meant}; known are {', '.join(known)}")
    missing = [key for key in _NEEDED if key not in content]
    if missing:
        raise InputError(f"{where}: {missing[0]} is missing; needed are {', '.join(_NEEDED)}")
    values = {key.replace("-", "_"): _value(key, content[key], where) for key in content}
    widest, smallest = values.pop("f_numbers")
    try:
        return LensLimits(**values, widest_f_number=widest, smallest_f_number=smallest)
    except SettingError as error:
        raise InputError(f"{where}: {error}") from None


def _value(key: str, found: object, where: str) -> Any:
    if key == "name":
        wanted, good = "text in quotes", isinstance(found, str)
    elif key == "axis-turns":
        wanted, good = "true or false", isinstance(found, bool)
    elif key == "f-numbers":
        wanted = "two numbers such as [2.8, 22]"
        good = isinstance(found, list) and len(found) == 2 and all(map(_is_number, found))
    else:
        either_way = " (the same either way from straight)" if key == "tilt-limit-deg" else ""
        wanted, good = f"one number{either_way}", _is_number(found)
    if not good:
        raise InputError(f"{where}: {key} = {reprlib.repr(found)}: give {wanted}")
    return found


def _is_number(found: object) -> bool:
    plain = isinstance(found, int | float) and not isinstance(found, bool)
    return plain and abs(found) < 1e12  # type: ignore[arg-type]

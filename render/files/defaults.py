"""The file of one's own defaults: where it lies on each system, read and written.

Values stand in it as in a shot file, by the names of options; files are named from its folder.
"""

import os
from collections.abc import Collection, Mapping
from pathlib import Path

from render.errors import OutputError
from render.files.atomic import written_beside
from render.files.inputs import input_file, read_toml
from render.files.lenses import read_lens
from render.files.shots import as_words
from render.kept import user_settings
from render.shot.declaring import Words
from render.shot.defaults import check_defaults, default_keys, settled_by

__all__ = ["WITHOUT", "change_defaults", "defaults_file", "read_defaults"]

_NAMED = "HINGELINE_DEFAULTS"
#: In place of a file's name: there are no defaults.
WITHOUT = "none"
_BEGINS = "# Defaults of your own for hingeline; options and shot files win over them."


def defaults_file() -> Path | None:
    """Where the defaults lie: as the environment says, else the system's place; None: nowhere."""
    named = os.environ.get(_NAMED)
    if named:
        return None if named == WITHOUT else Path(named)
    try:
        return user_settings() / "defaults.toml"
    except RuntimeError:  # nobody's home is known
        return None


def read_defaults() -> dict[str, Words]:
    """Read one's own defaults by name, names of files whole; nothing where there is no file.

    Raises
    ------
    InputError, SettingError
        If the file cannot be read, or says what cannot be.
    """
    path = defaults_file()
    if path is None or not (path.exists() or path.is_symlink() or os.environ.get(_NAMED)):
        return {}
    return _understood(path)


def change_defaults(given: Mapping[str, Words], cleared: Collection[str] = ()) -> Path:
    """Write values into the file of defaults and take others out; what else it says stays.

    Raises
    ------
    InputError, SettingError, OutputError
        If the file that is there, or a value, cannot be read, or it cannot be written.
    """
    import tomlkit

    path = defaults_file()
    if path is None:
        raise OutputError(
            f"there is no place for defaults: name a file in the environment, {_NAMED}=FILE"
        )
    keys = default_keys()
    check_defaults(given, "--{name}")
    if isinstance(lens := given.get("lens-file"), str):
        read_lens(lens)
    if path.exists():
        _understood(path)
        document = tomlkit.parse(path.read_text(encoding="utf-8"))
    else:
        document = tomlkit.parse(f"{_BEGINS}\n")
    for name in {*cleared, *(settled_by(given) - set(given))}:
        document.pop(name, None)
    for name, words in given.items():
        document[name] = str(_whole(words)) if keys[name].is_file(words) else words
    check_defaults({name: str(value) for name, value in document.items()}, f"{path}, {{name}}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(
            f"{path.parent} cannot be made ({error.strerror}): name another place for your "
            f"defaults in the environment, {_NAMED}=FILE"
        ) from None
    with written_beside(path, overwrite=True) as beside:
        beside.write_text(tomlkit.dumps(document), encoding="utf-8")
    return path


def _understood(path: Path) -> dict[str, Words]:
    content, keys = read_toml(path, "file of your defaults", replaceable=True), default_keys()
    given: dict[str, Words] = {
        name: as_words(path, keys[name], entry) if name in keys else ""
        for name, entry in content.items()
    }
    check_defaults(given, f"{path}, {{name}}")
    return {
        name: str(path.parent / text) if keys[name].is_file(text) else text
        for name, text in given.items()
    }


def _whole(name: str) -> Path:
    """The whole name of a file that is there: it is meant wherever a command runs."""
    return input_file(Path(name)).resolve()

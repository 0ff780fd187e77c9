"""A shot and its files together as one file, packed and opened again."""

import errno
import shutil
import zipfile
import zlib
from dataclasses import replace
from pathlib import Path

from render.errors import InputError
from render.files.shots import write_shot
from render.limits import PACKED_FILES, UPLOAD_BYTES
from render.shot.shot import Shot, input_files, is_file_name, shot_keys

__all__ = ["beside", "pack", "shot_name", "unpack"]

_PIECE_BYTES = 1 << 20
#: What unpacking damaged, encrypted or strangely packed files brings.
_DAMAGED = (NotImplementedError, RuntimeError, OSError, EOFError, ValueError)


def shot_name(shot: Shot) -> str:
    """What a shot's own file is called, without its ending: as none of the files that it names."""
    taken = {path.name.lower() for path in input_files(shot)}
    return f"{shot.stem}_shot" if f"{shot.stem}.toml".lower() in taken else shot.stem


def beside(shot: Shot, folder: Path, *, only_in: Path | None = None) -> Shot:
    """The shot with its files named as if they lay in `folder`, under their bare names.

    Parameters
    ----------
    only_in : Path or None
        Files elsewhere keep their names; None: all lie in `folder`.
    """
    keys = shot_keys()

    def there(name: str) -> str:
        path = Path(name).resolve()
        if only_in is None or only_in.resolve() in path.parents:
            return str(folder / path.name)
        return name

    return replace(
        shot,
        picture=there(shot.picture) if shot.picture else None,
        scene=there(shot.scene) if shot.scene and is_file_name(shot.scene) else shot.scene,
        written=tuple(
            (name, there(text) if keys[name].is_file(text) else text) for name, text in shot.written
        ),
    )


def pack(shot: Shot, out: Path) -> None:
    """Write a shot with everything it names as one ZIP file.

    Raises
    ------
    InputError
        If two of its files have the same name, or its picture stands for many stills.
    """
    if shot.picture and not Path(shot.picture).is_file():
        raise InputError(
            f"{Path(shot.picture).name} stands for many stills, which are not packed: save the "
            "shot file alone"
        )
    keys = shot_keys()
    texts = [text for name, text in shot.written if keys[name].is_file(text)]
    scene = shot.scene if shot.scene and is_file_name(shot.scene) else None
    paths = [Path(name) for name in dict.fromkeys((shot.picture, scene, *texts)) if name]
    paths += [near for path in paths if (near := _words_of(path)) is not None]
    if len({path.name for path in paths}) < len(paths):
        raise InputError("two files of this shot have the same name: rename one of them")
    words = out.with_suffix(".toml")
    write_shot(words, beside(shot, out.parent))
    # a camera whose clock stands in 1970 dates files before ZIP can
    with zipfile.ZipFile(out, "w", strict_timestamps=False) as packed:
        packed.write(words, words.name, zipfile.ZIP_DEFLATED)
        for path in paths:
            packed.write(path, path.name, zipfile.ZIP_STORED)
    words.unlink()


def _words_of(path: Path) -> Path | None:
    """The TOML file that lies beside a network."""
    near = path.with_suffix(".toml")
    return near if path.suffix.lower() == ".onnx" and near.is_file() else None


def unpack(path: Path, folder: Path) -> list[Path]:
    """Write the files of a packed shot into a folder, under their bare names.

    Raises
    ------
    InputError
        If it is no ZIP file, is damaged, or holds more than a shot and its files would.
    OSError
        If the disk is full.
    """
    try:
        with zipfile.ZipFile(path) as packed:
            entries = [entry for entry in packed.infolist() if not entry.is_dir()]
            remedy = "open its files one by one"
            PACKED_FILES.check(len(entries), f"{path.name} holds {len(entries):,} files", remedy)
            size = sum(entry.file_size for entry in entries)
            UPLOAD_BYTES.check(size, f"{path.name} unfolds to {size:,} bytes", remedy)
            found = []
            for entry in entries:
                name = Path(entry.filename.replace("\\", "/")).name
                if not name or name.startswith("."):
                    continue
                target = folder / name
                with packed.open(entry) as source, target.open("wb") as file:
                    shutil.copyfileobj(source, file, _PIECE_BYTES)
                found.append(target)
            return found
    except InputError:
        raise
    except (*_DAMAGED, zipfile.BadZipFile, zlib.error) as error:
        if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
            raise
        raise InputError(f"{path.name} is damaged, or no shot that was saved here") from None

"""What a file is that was handed in, and what the page does with it."""

import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Any

from render.errors import InputError, NoPictureError
from render.files.formats.decoders import kind_of
from render.files.lenses import is_lens_file, lens_text, read_lens
from render.files.maps import read_map
from render.files.shipped import is_scene_file
from render.live.preview import Preview
from render.load.footage import is_footage
from render.page.desk import Desk, Paper, title_of
from render.page.wishes import read_float
from render.shot.declaring import Words
from render.shot.placekeys import is_map_file
from render.shot.shot import Shot

__all__ = ["Intake", "title_of"]

_ALSO = "a clip, a map (.osm, .pbf, .geojson), a shot, a scene or a lens file can be opened too"
_DEPTH_ENDINGS = (".npy", ".npz", ".pfm")
_LENS_KEYS = ("focal-mm", "tilt-limit-deg", "shift-limit-mm", "closest-focus-m")


class Intake:
    """Tells pictures, depth, shots, scenes, maps and lenses apart.

    Parameters
    ----------
    desk : Desk
    preview : Preview
        Says what has to be guessed of a picture.
    """

    def __init__(self, desk: Desk, preview: Preview) -> None:
        self._desk, self._preview = desk, preview
        self._guesses: dict[str, dict[str, Words]] = {}

    def papers(self) -> dict[str, dict[str, Any]]:
        """The files on the desk, by id; of pictures also what had to be guessed."""
        return {
            paper.id: {
                "name": self._called(paper),
                "guessed": self._guesses.get(paper.id),
                "footage": is_footage(str(paper.path)),
            }
            for paper in self._desk.papers.values()
        }

    def guess(self, shot: Shot) -> dict[str, Words]:
        """What has to be guessed of a shot's picture; errors as of `Preview.guess`."""
        guessed = self._preview.guess(shot)
        self._guesses[self._desk.lay(Path(str(shot.picture))).id] = guessed
        return guessed

    def _called(self, paper: Paper) -> str:
        """A lens by its own name, all else by that of its file."""
        if paper.path.suffix.lower() == ".toml" and is_lens_file(paper.path):
            with suppress(InputError):
                return read_lens(str(paper.path)).name
        return paper.name

    def understood(self, paper: Paper, beside: bool, plain: bool) -> dict[str, Any]:
        """Say what a file is; a picture comes with what had to be guessed.

        Parameters
        ----------
        beside : bool
            A picture is open: what may be its depth is.
        plain : bool
            It was chosen for a value of a shot, whatever it is.

        Raises
        ------
        HingelineError
            If nothing here can read it.
        """
        ending = paper.path.suffix.lower()
        named = {"id": paper.id, "name": paper.name}
        if plain:
            return {"kind": "file", **named}
        if ending == ".zip":
            return self._shot(self._desk.unpacked(paper))
        if ending == ".toml":
            if is_scene_file(paper.path):
                return {"kind": "scene", **named, "name": title_of(paper.name), "values": {}}
            if is_lens_file(paper.path):
                return {"kind": "lens", **named, "name": read_lens(str(paper.path)).name}
            return self._shot(paper)
        if is_map_file(paper.name):
            return {"kind": "scene", **named, "values": self.on_map(paper)}
        if ending in _DEPTH_ENDINGS:
            if not beside:
                raise InputError(f"{paper.name} holds depth: open its picture first")
            return {"kind": "depth", **named}
        footage = is_footage(str(paper.path))
        if not footage:
            try:
                kind_of(paper.path)
            except NoPictureError as error:
                raise InputError(f"{error}; {_ALSO}") from None
        shot = self._desk.shot({"picture": paper.id, "scene": None, "values": {}})
        if beside and self._preview.may_be_depth(shot):
            return {"kind": "depth", **named}
        self._guesses[paper.id] = self._preview.guess(shot)
        return {"kind": "picture", **named, "guessed": self._guesses[paper.id], "footage": footage}

    def lens(self, values: Any) -> dict[str, str]:
        """Write a lens down from the page's form.

        Raises
        ------
        InputError, SettingError
            If a number is missing, or the lens cannot be.
        """
        if not isinstance(values, dict) or not all(isinstance(v, str) for v in values.values()):
            raise InputError("the page sent no lens: load it again")
        name = values.get("name", "").strip()[:40] or "my lens"
        numbers = {key: read_float(values[key], key) for key in _LENS_KEYS if values.get(key)}
        widest, smallest = (
            read_float(values.get(key, ""), f"{key} f-number") for key in ("widest", "smallest")
        )
        plain = "".join(c if c.isalnum() else "-" for c in name)
        path = Path(tempfile.mkdtemp(dir=self._desk.folder)) / f"{plain}.toml"
        path.write_text(lens_text(name, numbers, (widest, smallest)), encoding="utf-8")
        read_lens(str(path))
        return {"id": self._desk.lay(path).id, "name": name}

    def _shot(self, paper: Paper) -> dict[str, Any]:
        shot = self._desk.dropped_shot(paper)
        names = {paper.id: self._called(paper) for paper in self._desk.papers.values()}
        return {"kind": "shot", "shot": {**shot, "name": self._desk.name(shot)}, "names": names}

    def on_map(self, paper: Paper) -> dict[str, str]:
        """Values that stand in the middle of a map, or beside the water there, to begin with.

        Raises
        ------
        InputError
            If it cannot be read.
        """
        data = read_map(paper.path)
        from render.world.place.grounds.cover import dry_middle  # shapely is an extra

        east, north = dry_middle(data)
        return {"at": f"{north:.5f}, {east:.5f}"}

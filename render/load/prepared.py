"""`Prepared`: one planned photograph, loaded and laid out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import ALL_SAID, Unsaid, taken_regions
from render.files.formats.picturefile import PictureFile
from render.optics.camera import Sensor
from render.optics.depth_of_field import USUAL_COC, circle_of_confusion_mm
from render.optics.lens import LensSetting
from render.optics.solving.limits import LensLimits
from render.optics.solving.targets import Target
from render.scene.colour import SRGB, Encoding
from render.scene.scene import Scene
from render.shot.shot import Shot
from render.world.description import Description

if TYPE_CHECKING:
    from render.trace.build import Built
    from render.trace.trace import View

__all__ = ["Notes", "Prepared"]


@dataclass(frozen=True, slots=True)
class Notes:
    """What was assumed, one sentence each, apart by what it hangs on.

    Attributes
    ----------
    place : tuple of str
        On the picture, its depth or the scene, and from where it is seen.
    left_open : tuple of str
        On what of the lens nobody gave, where a scene or the usual fills it.
    unfocused : tuple of str
        On what is focused on, where nobody gave that.
    lens : tuple of str
        On the lens as it is set, and on what its frame shows.
    """

    place: tuple[str, ...] = ()
    left_open: tuple[str, ...] = ()
    unfocused: tuple[str, ...] = ()
    lens: tuple[str, ...] = ()

    @property
    def every(self) -> tuple[str, ...]:
        """All of them, in the order in which they are told."""
        return (*self.place, *self.left_open, *self.unfocused, *self.lens)

    def led_by(self, said: Sequence[str]) -> "Notes":
        """With more on the picture before them."""
        return replace(self, place=(*said, *self.place))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Prepared:
    """One planned photograph, ready to be rendered or judged.

    Attributes
    ----------
    scene : Scene
        Picture, depth and camera, with the planned frame as its window.
    setting : LensSetting
    sensor : Sensor
        Of the planned camera.
    file : PictureFile or None
        The picture's file, whose profile and EXIF the result keeps; None for a demo scene.
    limits : LensLimits or None
        What the lens that the shot names can do; None where it names none.
    named : tuple of Target
        Things of the frame that the shot names: what must be sharp, and is spoken of by name.
    things : mapping of name to (x, y, z), or None
        Everything that has a name in a demo scene or on a map, in the camera's frame, metres;
        None for a photo.
    depth_how : str
        How the depth was made, in words.
    depth_unsure : float
        Typical uncertainty of the depth, one standard deviation, relative; 0 where it is exact.
    unsaid : Unsaid
        What may stand there without being in the depth; no uncertainty of the depth covers it.
    near : ndarray, shape (H, W), bool, or None
        What was cut out of the picture as standing near the lens.
    standing : ndarray, shape (H, W), int16, or None
        Numbers of the things further off that were cut out of it from spots, 0 where none is.
    guesses : mapping of str to mapping
        What nobody knows and the answer hangs on, by one sentence each, which are among the notes
        too: the guessed values by their names in a shot.
    assumed : Notes
    credit : str
        Whom the scene's data must be credited to; empty for photos and demo scenes.
    map_record : mapping
        How a map's buildings got their heights, for programs; empty without a map.
    description : Description or None
        The scene that was traced, from its file or its map; None for a photo.
    view : View or None
        From where it was traced, its shift as the extension shows it.
    built : Built or None
        The scene as rays walk through it, so that nobody builds it twice.
    times_smaller : float
        How many pixels of what the shot stands for lie across one of a preview's.
    """

    shot: Shot
    scene: Scene
    setting: LensSetting
    sensor: Sensor
    file: PictureFile | None
    depth_how: str
    assumed: Notes
    limits: LensLimits | None = None
    named: tuple[Target, ...] = ()
    things: Mapping[str, tuple[float, float, float]] | None = None
    depth_unsure: float = 0.0
    unsaid: Unsaid = ALL_SAID
    near: NDArray[np.bool_] | None = None
    standing: NDArray[np.int16] | None = None
    guesses: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    credit: str = ""
    map_record: Mapping[str, Any] = field(default_factory=dict)
    description: Description | None = None
    view: "View | None" = None
    built: "Built | None" = None
    times_smaller: float = 1.0

    def __repr__(self) -> str:
        """What is looked at, and how, without the pixels."""
        of = self.shot.picture or self.shot.scene
        return f"Prepared({of!r}, {self.scene!r}, {self.setting!r})"

    @property
    def notes(self) -> tuple[str, ...]:
        """What was assumed, one sentence each."""
        return self.assumed.every

    @property
    def coc_mm(self) -> float:
        """Circle of confusion of the planned sensor, mm: as the shot says, else the usual one."""
        width_px = round(self.scene.frame.width * self.times_smaller)
        return circle_of_confusion_mm(self.shot.lens.coc or USUAL_COC, self.sensor, width_px)

    @property
    def guessed(self) -> dict[str, str]:
        """What is only guessed, by its name in a shot: value, as it is written."""
        return {name: words for of in self.guesses.values() for name, words in of.items()}

    @property
    def unseen(self) -> tuple[str, ...]:
        """Names of what the shot asks to be sharp and its frame does not show."""
        shown = {thing.name for thing in self.named}
        return tuple(wish.name for wish in self.shot.lens.checks if wish.name not in shown)

    @property
    def taken_in_frame(self) -> tuple[tuple[str, NDArray[np.bool_]], ...]:
        """What was cut out, in words, and which pixels of the planned frame it takes."""
        frame = self.scene.frame
        return tuple(
            (words, region[frame.rows, frame.columns])
            for words, region in taken_regions(self.near, self.standing)
        )

    @property
    def encoding(self) -> Encoding:
        """How its light is written into a picture: as the file it came from, else sRGB."""
        return self.file.encoding if self.file else SRGB

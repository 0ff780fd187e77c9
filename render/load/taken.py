"""The camera that took a picture, from options or EXIF, or else guessed and said to be so."""

import math
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np

from render.errors import FrameError, InputError, SettingError
from render.files.formats.metadata.exif import taken_with
from render.files.formats.picturefile import PictureFile
from render.optics.camera import Camera, Sensor
from render.shot.shot import Shot, TakenKeys
from render.words import focal_words

__all__ = [
    "GUESSED_FOCAL_35_MM",
    "Taken",
    "UnknownLensError",
    "guessed_camera",
    "guesses_of",
    "on_paper",
    "resting_on",
    "taken_camera",
]

#: A telephone's main lens, 35 mm equivalent: common practice, no source.
GUESSED_FOCAL_35_MM = 28.0


@dataclass(frozen=True, slots=True)
class Taken:
    """The camera that took a picture.

    Attributes
    ----------
    camera : Camera
    how : str
        How it is known.
    guessed : bool
        Nobody said so, and the file does not either: to be put right by whoever knows.
    """

    camera: Camera
    how: str
    guessed: bool = False


#: Between what was guessed and the options that put it right.
_CURE = "; put it right with "


def guessed_camera(file: PictureFile, taken: TakenKeys) -> Taken:
    """The camera that took a picture; a telephone's usual lens where nothing is known of it.

    Pictures that were sent by a messenger have lost their EXIF, and most of them come from there.
    """
    try:
        return taken_camera(file, taken)
    except UnknownLensError as error:
        guess = taken_camera(file, TakenKeys(focal_35mm=GUESSED_FOCAL_35_MM))
        how = (
            f"guessed: {guess.how}, as with most telephones, for "
            f"{error.found}{_CURE}--focal-35 or --view"
        )
        return Taken(guess.camera, how, guessed=True)


def guesses_of(shot: Shot, taken: Taken) -> dict[str, dict[str, str]]:
    """What nobody knows of a picture and the answer hangs on.

    Returns
    -------
    dict of str to dict
        By one sentence each, the guessed values under their names in a shot, as they are written.
    """
    found = {taken.how: {"focal-35": f"{GUESSED_FOCAL_35_MM:g}"}} if taken.guessed else {}
    written = dict(shot.written)
    of_vantage = {name: str(written[name]) for name in shot.vantage.guessed if name in written}
    if of_vantage:
        said = " and ".join(f"{name} {words}" for name, words in of_vantage.items())
        found[f"guessed: {said}{_CURE}--height and --horizon or --pitch"] = of_vantage
    return found


def on_paper(guess: str) -> str:
    """What was guessed, for readers of a sheet, who have no options to put it right with."""
    return guess.partition(_CURE)[0]


@contextmanager
def resting_on(guesses: Iterable[str]) -> Iterator[None]:
    """Have a refusal by what the picture holds end with what was guessed of it, if anything was."""
    try:
        yield
    except FrameError as error:
        for guess in guesses:
            if guess not in str(error):
                error.args = (f"{error}; {guess}",)
        raise


class UnknownLensError(InputError):
    """Neither the options nor EXIF say what took a picture."""

    def __init__(self, name: str, found: str) -> None:
        self.found = found
        super().__init__(
            f"{name}: {found}: say what took the picture with --focal-35, with --focal and "
            "--sensor, or with --view"
        )


def taken_camera(file: PictureFile, taken: TakenKeys) -> Taken:
    """The camera that took a picture, as it is known.

    Raises
    ------
    UnknownLensError
        If neither the options nor EXIF say enough.
    SettingError
        If the options say it in two ways.
    """
    height, width = file.light.shape[:2]
    ways = {"--view": taken.field_deg, "--focal-35": taken.focal_35mm, "--focal": taken.focal_mm}
    if len(said := [option for option, value in ways.items() if value is not None]) > 1:
        raise SettingError(f"{' and '.join(said)} each say what took the picture: keep one of them")
    if file.focal_px is not None:
        seen = math.degrees(2 * math.atan(width / (2 * file.focal_px)))
        return Taken(Camera(width, height, file.focal_px), f"the view sees {seen:.0f}° across")
    if taken.field_deg is not None:
        focal_px = width / (2 * np.tan(np.radians(taken.field_deg / 2)))
        how = f"the picture sees {taken.field_deg:g}° across"
        return Taken(Camera(width, height, float(focal_px)), how)
    if taken.focal_35mm is not None:
        focal_px = taken.focal_35mm * np.hypot(width, height) / Sensor().diagonal_mm
        how = f"the picture was taken with {focal_words(taken.focal_35mm)} (35 mm equivalent)"
        return Taken(Camera(width, height, float(focal_px)), how)
    if taken.focal_mm is not None and taken.sensor_mm is not None:
        sensor = Sensor(*taken.sensor_mm)
        if height > width:
            sensor = sensor.portrait
        how = f"the picture was taken with {focal_words(taken.focal_mm)} on "
        how += f"{sensor.width_mm:g} mm width"
        return Taken(Camera.from_lens(width, height, taken.focal_mm, sensor), how)
    found = taken_with(file.kept.exif, width, height)
    of_sensor = Sensor(*taken.sensor_mm) if taken.sensor_mm else found.sensor
    focal_mm = taken.focal_mm or found.focal_mm
    if (taken.sensor_mm or taken.focal_mm) and of_sensor and focal_mm:
        given = "focal length" if taken.focal_mm else "sensor"
        width_words = f"{of_sensor.width_mm:.3g} mm width"
        how = f"{focal_words(focal_mm)} on {width_words} ({given} given, rest from EXIF)"
        return Taken(Camera.from_lens(width, height, focal_mm, of_sensor), how)
    if found.focal_px is None:
        raise UnknownLensError(file.path.name, found.how)
    return Taken(Camera(width, height, found.focal_px), found.how)

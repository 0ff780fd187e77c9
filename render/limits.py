"""Every limit on what is taken in, in one place; one setting of the environment raises them all.

A file from a stranger may claim anything. Each limit lies far above what a day's work needs and
well below what would bring a laptop to a halt; what is refused is told with its own number.
``HINGELINE_LIMITS=4`` lets four times as much through (times included).
"""

import math
import os
from dataclasses import dataclass

from render.errors import InputError

__all__ = [
    "ARCHIVE_BYTES",
    "CELLS",
    "CHUNKS",
    "COPIES",
    "CORNERS",
    "CROSSING_POINTS",
    "DESK_FILES",
    "DESK_STILLS",
    "FEATURES",
    "FILE_BYTES",
    "JOURNAL_BYTES",
    "MAP_BYTES",
    "MAP_MEMORY",
    "NETWORK_BYTES",
    "NETWORK_MEMORY",
    "PACKED_FILES",
    "PIXELS",
    "POINTS",
    "PROFILE_BYTES",
    "RAYS",
    "SCANS",
    "SECONDS_ANSWER",
    "SECONDS_APART",
    "SECONDS_UPLOAD",
    "SECONDS_WISH",
    "SETTING",
    "TARGETS",
    "TEXT_BYTES",
    "TRIANGLES",
    "UPLOAD_BYTES",
    "WAY_POINTS",
    "WISH_BYTES",
    "XMP_BYTES",
    "XMP_IMAGE_BYTES",
    "Limit",
]

#: The variable of the environment that raises every limit: a factor, 1 to 1000.
SETTING = "HINGELINE_LIMITS"


@dataclass(frozen=True, slots=True)
class Limit:
    """The most that is taken of something.

    Attributes
    ----------
    usual : float
        Before it is raised.
    what : str
        Its unit, in words.
    """

    usual: float
    what: str

    @property
    def most(self) -> float:
        """The limit as it stands, raised by the setting."""
        return self.usual * _factor()

    def words(self) -> str:
        """What the limit is and how it is raised, as the rest of a sentence."""
        return f"more than the {counted(self.most)} {self.what} taken here ({_raised()})"

    def check(self, found: float, claim: str, remedy: str) -> None:
        """Refuse what is above the limit.

        Parameters
        ----------
        found : float
        claim : str
            Begins the sentence: "roof.las claims 960,000,000 points".
        remedy : str
            What to do: "cut out the part you see".

        Raises
        ------
        InputError
        """
        if not found <= self.most:
            raise InputError(f"{claim}, {self.words()}: {remedy}")


def counted(number: float) -> str:
    """A whole number as people read it: "12,060", "500 million"."""
    if not math.isfinite(number):
        return "endlessly many"
    if number >= 1e6:
        scaled, word = (number / 1e9, "billion") if number >= 1e9 else (number / 1e6, "million")
        return f"{scaled:.3g} {word}" if scaled < 1000 else f"{scaled:.2g} {word}"
    return f"{number:,.0f}"


def _factor() -> float:
    return _said_factor() or 1.0


def _said_factor() -> float | None:
    """The factor of the setting, or None if it is none from 1 to 1000."""
    try:
        factor = float(os.environ.get(SETTING, "1"))
    except ValueError:
        return None
    return factor if 1 <= factor <= 1000 else None


def _raised() -> str:
    if _said_factor() is None:
        return f'{SETTING}="{os.environ[SETTING][:40]}" is no factor from 1 to 1000'
    return f"{SETTING} raises it"


#: Of a picture; beyond it a header is taken for damaged or hostile, whatever the machine.
PIXELS = Limit(500e6, "pixels")
#: Of any one file that is read whole.
FILE_BYTES = Limit(4e9, "bytes")
#: Of a shot, lens, scene or network's note: text that a person writes.
TEXT_BYTES = Limit(2e6, "bytes")
#: Of the note beside results of many, which says what was made.
JOURNAL_BYTES = Limit(50e6, "bytes")
#: Of GeoJSON, which unfolds to ten times its size in memory, and of OpenStreetMap's own files.
MAP_BYTES = Limit(250e6, "bytes")
#: Of memory that the reader of OpenStreetMap's files may hold, beside thirty times the file's size.
MAP_MEMORY = Limit(2e9, "bytes of memory")
#: Of what one array of an NPZ may unfold to beyond its depth plane.
ARCHIVE_BYTES = Limit(64e6, "bytes")
#: Of an XMP packet.
XMP_BYTES = Limit(16e6, "bytes")
#: Of a colour profile: those of presses have a few million.
PROFILE_BYTES = Limit(32e6, "bytes")
#: Of a PNG, or segments before the pixels of a JPEG, each gone through singly.
CHUNKS = Limit(1e6, "parts")
#: Of a progressive JPEG: each goes over the whole picture once more; ten are usual.
SCANS = Limit(100, "scans")
#: Of what an XMP packet carries in pieces: a depth map, an original.
XMP_IMAGE_BYTES = Limit(200e6, "bytes")
#: Of a depth network: ONNX itself ends at 2 GB.
NETWORK_BYTES = Limit(2e9, "bytes")
#: Of memory that a depth network may hold while it runs, beside three times its own size.
NETWORK_MEMORY = Limit(6e9, "bytes of memory")
#: Of a point cloud: 24 bytes each.
POINTS = Limit(100e6, "points")
#: Of a height model.
CELLS = Limit(100e6, "cells")
#: Of one line or outline of a map; OpenStreetMap itself takes 2,000.
WAY_POINTS = Limit(100e3, "points")
#: Of a line or outline of a map that crosses itself: mending grows with the square of them.
CROSSING_POINTS = Limit(2000, "points")
#: Of a map.
FEATURES = Limit(2e6, "features")
#: Of the things of a scene, copies counted singly.
COPIES = Limit(100e3, "things")
#: Of one outline or path in a scene file.
CORNERS = Limit(1000, "corners")
#: Of all shapes of a scene, each counted once however often it stands there.
TRIANGLES = Limit(10e6, "triangles")
#: That one plane of sharp focus is laid through.
TARGETS = Limit(400, "points")
#: A pixel, through the exact lens.
RAYS = Limit(16384, "rays")
#: That a reader in a process of its own may take.
SECONDS_APART = Limit(120, "seconds")
#: Of one file that is dropped on the page, and of all that a shot packed as one file unfolds to.
UPLOAD_BYTES = Limit(400e6, "bytes")
#: In a shot packed as one file.
PACKED_FILES = Limit(20, "files")
#: That lie on the page's desk at once.
DESK_FILES = Limit(40, "files")
#: Stills of a run that are dropped on the page: they are copied; a page that was started with their
#: folder copies none.
DESK_STILLS = Limit(3000, "stills")
#: Of any other request to the page.
WISH_BYTES = Limit(400e3, "bytes")
#: That a file, and any other request, may take to arrive at the page.
SECONDS_UPLOAD = Limit(180, "seconds")
SECONDS_WISH = Limit(20, "seconds")
#: That the page works on one answer; the first look at a scene may wait for all to be compiled.
SECONDS_ANSWER = Limit(300, "seconds")

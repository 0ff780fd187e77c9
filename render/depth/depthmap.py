"""`DepthMap`: metric depth with how it was made and how sure it is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.words import length_words

__all__ = ["ALL_SAID", "DepthMap", "Unsaid", "range_words", "taken_regions"]


@dataclass(frozen=True, slots=True)
class Unsaid:
    """What may stand in a picture without being in its depth, because nobody said so.

    No uncertainty of the depth covers it: what is missing is wrong by a factor, not by a share.

    Attributes
    ----------
    near : bool
        A rail, post, branch, wire or parapet close to the lens may be missing.
    standing : bool
        What stands on the ground is taken as flat, but for what was named.
    view : bool
        Height and pitch are not known, so the ground itself is a guess.
    named_share : float or None
        Share of the ground that named things and walls cover, where the depth was spread from
        marks: a mark raises or sinks ground where nothing stands. None where all that rises
        above the ground was named.
    """

    near: bool = False
    standing: bool = False
    view: bool = False
    named_share: float | None = None


#: The depth was measured, or is known exactly: everything in the picture is in it.
ALL_SAID = Unsaid()


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class DepthMap:
    """Metric depth of a picture. Immutable; checked when made.

    Attributes
    ----------
    depth_m : ndarray, shape (H, W), float32
        z in metres, > 0; ``inf`` is the sky; NaN is a hole that `render.depth.mending` can fill.
    how : str
        How it was made, in words that finish the sentence "depth from ...".
    uncertainty : float or ndarray, shape (H, W), float32
        One standard deviation of inverse depth over inverse depth (0.1: ten per cent); at the
        sky it says nothing. NaN where nobody can tell.
    remarks : tuple of str
        What was assumed or could not be done, one sentence each.
    unsaid : Unsaid
        What may stand there without being in the depth.
    near : ndarray, shape (H, W), bool, or None
        What was cut out as standing near the lens.
    standing : ndarray, shape (H, W), int16, or None
        Numbers of the things further off that were cut out from spots, 0 where none is.
    named : ndarray, shape (H, W), bool, or None
        Where the depth is a named thing's or wall's.

    Raises
    ------
    InputError
        If the depth is not two-dimensional, has values of 0 or below, or nothing known in it.
    """

    depth_m: NDArray[np.float32]
    how: str
    uncertainty: float | NDArray[np.float32]
    remarks: tuple[str, ...] = ()
    unsaid: Unsaid = ALL_SAID
    near: NDArray[np.bool_] | None = None
    standing: NDArray[np.int16] | None = None
    named: NDArray[np.bool_] | None = None

    def __repr__(self) -> str:
        """Size, range and how it was made, without the pixels."""
        height, width = self.depth_m.shape
        return f"DepthMap({width} x {height} px, {self.words()}, by {self.how})"

    def __post_init__(self) -> None:
        if self.depth_m.ndim != 2 or self.depth_m.size == 0:
            raise InputError(f"a depth map must be (height, width), not {self.depth_m.shape}")
        lowest = np.fmin.reduce(self.depth_m, axis=None)  # ignores nan, unless all are nan
        if not lowest > 0:
            raise InputError(
                "the depth has nothing known in it"
                if np.isnan(lowest)
                else "depth must be above 0 m (infinity is the sky, NaN is not known)"
            )
        if np.shape(self.uncertainty) not in ((), self.depth_m.shape):
            raise InputError("the uncertainty must be one number or as large as the depth")
        view = np.ascontiguousarray(self.depth_m, dtype=np.float32).view()
        view.flags.writeable = False  # on a view: the caller's own array stays writable
        object.__setattr__(self, "depth_m", view)

    @property
    def typical_uncertainty(self) -> float:
        """Median uncertainty of what is not sky (NaN if nobody can tell)."""
        if np.ndim(self.uncertainty) == 0:
            return float(self.uncertainty)
        plane = np.asarray(self.uncertainty)[np.isfinite(self.depth_m)]
        plane = plane[np.isfinite(plane)]
        return float(np.median(plane)) if plane.size else float("nan")

    def words(self) -> str:
        """Range and doubt in words: "nearest 4.1 m, farthest 212 m, 6 % sky, about 5 % unsure"."""
        typical = self.typical_uncertainty
        doubt = "" if np.isnan(typical) else f", about {max(1, round(100 * typical))} % unsure"
        return range_words(self.depth_m) + doubt


#: Level ground has no end; beyond this it is called the horizon.
_HORIZON_M = 100_000.0


def range_words(depth_m: NDArray[np.float32]) -> str:
    """Range of a depth in words: "nearest 4.1 m, farthest 212 m, 6 % sky".

    Parameters
    ----------
    depth_m : ndarray, shape (H, W)
        z in metres, ``inf`` the sky, NaN not known.
    """
    known = depth_m[np.isfinite(depth_m)]
    sky, holes = (float(np.mean(test(depth_m))) for test in (np.isposinf, np.isnan))
    parts = []
    if known.size:
        far = float(known.max())
        end = "to the horizon" if far > _HORIZON_M else f"farthest {length_words(far)}"
        parts += [f"nearest {length_words(float(known.min()))}", end]
    parts += [f"{_percent(sky)} sky" if sky else "no sky"]
    if holes:
        parts += [f"{_percent(holes)} not known"]
    return ", ".join(parts)


def _percent(share: float) -> str:
    return "less than 1 %" if share < 0.005 else f"{100 * share:.0f} %"


def taken_regions(
    near: NDArray[np.bool_] | None, standing: NDArray[np.int16] | None
) -> tuple[tuple[str, NDArray[np.bool_]], ...]:
    """What was cut out of a picture, with the words that are written on it."""
    regions = [] if near is None else [("taken as near", near)]
    if standing is not None:
        numbers = [int(number) for number in np.unique(standing) if number]
        regions += [(f"taken as thing {number}", standing == number) for number in numbers]
    return tuple(regions)

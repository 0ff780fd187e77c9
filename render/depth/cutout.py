"""The outline of a thing found from a spot inside it, and mended by further spots.

A spot does not say how large its thing is. So a small network (`near/insides.py`) looks at squares
of several sizes around the spot and says of each cell how likely it belongs to the thing; the
square whose answer is surest, lies within it and fills enough of it is taken, and looked at once
more closely. A further spot is shown to the network together with what was found before, and
what was asked for then holds: a spot that is added lies inside, one that is taken away outside.
Numbers were chosen on traced scenes in which every pixel's thing is known:
`render/depth/README.md`.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.depth.kernels import enlarge_by_colour
from render.depth.near.insides import Square
from render.depth.near.looks import Looks
from render.depth.sampling import reduced
from render.errors import InputError
from render.extras import needed
from render.threads import thread_count

__all__ = ["Cutout", "cutout_by_spots", "outline_around"]

Floats = NDArray[np.float64]
Plane = NDArray[np.float32]
Mask = NDArray[np.bool_]
Place = tuple[float, float]

_WORKED_PX = 1280  # long side of the picture in which things are looked for
_SIDES = (0.07, 0.12, 0.2, 0.34, 0.58, 1.0)  # of the squares, shares of the long side
_CLOSER = (1.5,)  # sides of the second look, shares of the thing's longer side
_MENDED = (1.5, 2.2)  # and after a further spot
_LEAST_SIDE_PX = 24.0
_SMALL, _SMALL_COST = 0.03, 0.3  # a thing that fills less of its square is seen too coarsely
_LEAST_LIKELY = 0.5
_LEAST_SURE = 0.3
_LEAST_CHANGE = 0.02  # of light over the whole picture, for a thing to stand out
_MOST_SHARE = 0.5  # of the picture: no thing any more
#: A spot alone is in doubt between a thing that takes so much of the picture and one that takes
#: less than such a part of it.
_LARGE, _PART = 0.04, 0.3
_SPOT_PX = 3.0  # what a spot says at least
#: Plain sky: its spread within, what counts as no change across an outline, how much of that, and
#: the share of the upper border that is a sky's.
_INNER_PX, _PLAIN, _NO_CHANGE, _GOES_ON, _SKYLIKE = 3, 0.03, 0.012, 0.25, 0.5
_SOFTNESS = 0.08
#: X, Y, Z of the sRGB primaries as shares of white's (IEC 61966-2-1).
_WHITE_XYZ = ((0.434, 0.376, 0.190), (0.213, 0.715, 0.072), (0.018, 0.109, 0.873))


@dataclass(frozen=True, slots=True, eq=False)
class Cutout:
    """A thing that was cut out by spots.

    Parameters
    ----------
    region : ndarray of bool, shape (H, W)
    alone : ndarray of bool, shape (H, W)
        What the first spot alone gave.
    doubtful : bool
        Whether the spot alone may as well mean a much smaller thing; not where further spots
        have mended it.
    """

    region: Mask
    alone: Mask
    doubtful: bool = False


def cutout_by_spots(
    picture: Plane,
    spot_px: Place,
    *,
    more_px: Sequence[Place] = (),
    less_px: Sequence[Place] = (),
) -> Cutout:
    """Region of the thing around a spot, what the spot alone gives, and how sure that is.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear light.
    spot_px : tuple of 2 floats
        A place inside the thing, best near its middle.
    more_px, less_px : sequences of (x, y)
        Further places that belong to the thing, and places that do not.

    Raises
    ------
    InputError
        If a spot lies outside, or nothing stands out around it but plain sky.
    """
    height, width = picture.shape[:2]
    for x, y in (spot_px, *more_px, *less_px):
        if not (0 <= x < width and 0 <= y < height):
            raise InputError(f"the spot ({x:.0f}, {y:.0f}) lies outside the {width} x {height} px")
    small = np.ascontiguousarray(reduced(picture, _WORKED_PX), np.float32)
    shrink = np.array([small.shape[1] / width, small.shape[0] / height])
    more, less = ([_place(shrink * p) for p in part] for part in (more_px, less_px))
    search = _Search(Looks.at(small))
    seen = search.seen_from(_place(shrink * spot_px))
    found, has_part = (None, False) if seen is None else seen
    if found is None or _is_no_thing(found > _LEAST_LIKELY, small):
        x, y = spot_px
        raise InputError(
            f"no thing stands out around ({x:.0f}, {y:.0f}): draw its outline or a box instead"
        )
    inside = [_place(shrink * spot_px)]
    alone = _enlarged(_parts_at(found > _LEAST_LIKELY, inside), small, picture)
    if not (more or less):
        return Cutout(alone, alone, has_part and bool(alone.mean() > _LARGE))
    for place in more:
        inside.append(place)
        found = search.mended(found, inside, [], place)
    for count, place in enumerate(less, 1):
        found = search.mended(found, inside, less[:count], place)
    region = _enlarged(_parts_at(found > _LEAST_LIKELY, inside), small, picture)
    return Cutout(region, alone)


def outline_around(
    region: NDArray[np.bool_], *, most_corners: int = 48
) -> list[tuple[float, float]]:
    """Corners of a region's outline, px, as few as follow it within a hundredth of its size.

    The line is thinned by the method of D. H. Douglas and T. K. Peucker (1973).

    Raises
    ------
    InputError
        If OpenCV is not installed.
    """
    cv2 = needed("cv2", "finding the outline of a thing from a spot")
    lines, _ = cv2.findContours(region.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    longest = max(lines, key=cv2.contourArea)
    slack = 0.01 * max(np.ptp(longest[:, 0, 0]), np.ptp(longest[:, 0, 1]), 1)
    corners = cv2.approxPolyDP(longest, slack, True)
    while len(corners) > most_corners:
        slack *= 1.3
        corners = cv2.approxPolyDP(longest, slack, True)
    return [(float(x) + 0.5, float(y) + 0.5) for x, y in corners[:, 0]]


@dataclass(frozen=True, slots=True, eq=False)
class _Search:
    """Looks at a picture in which a thing is looked for."""

    looks: Looks

    def seen_from(self, spot: Place, outside: Sequence[Place] = ()) -> tuple[Plane, bool] | None:
        """The thing around one spot, and whether it may be a much smaller one.

        None where nothing stands out.
        """
        if float(np.ptp(self.looks.levels[-1], axis=(1, 2)).max()) < _LEAST_CHANGE:
            return None
        squares = [Square(spot, side * max(self.looks.shape)) for side in _SIDES]
        sure, found, has_part = self._best(squares, [spot], outside, None)
        if sure < _LEAST_SURE:
            return None
        return self._again(found, [spot], outside, _CLOSER), has_part

    def mended(
        self, found: Plane, inside: Sequence[Place], outside: Sequence[Place], place: Place
    ) -> Plane:
        """What was found, with one more place said to lie inside or outside."""
        mended = self._again(found, inside, outside, _MENDED, place)
        if not self._holds(mended, inside, outside):
            adds = place in inside
            seen = self.seen_from(place, outside if adds else inside)
            alone = np.zeros_like(found) if seen is None else seen[0]
            mended = np.maximum(found, alone) if adds else np.minimum(found, 1.0 - alone)
        x, y = (np.arange(size) + 0.5 for size in self.looks.shape[::-1])
        for spots, value in ((outside, 0.0), (inside, 1.0)):
            for spot in spots:
                if self._holds(mended, [spot][: value > 0], [spot][: value <= 0]):
                    continue
                near = (x - spot[0]) ** 2 + (y[:, None] - spot[1]) ** 2 < _SPOT_PX**2
                mended = np.where(near, np.float32(value), mended)
        return mended

    def _again(
        self,
        found: Plane,
        inside: Sequence[Place],
        outside: Sequence[Place],
        shares: Sequence[float],
        also: Place | None = None,
    ) -> Plane:
        """A look at the thing that was found, in squares that just hold it."""
        rows, columns = np.nonzero(_parts_at(found > _LEAST_LIKELY, inside))
        places = [*inside, *([also] if also else [])]
        x = [*(p[0] for p in places), *((columns.min(), columns.max() + 1) if len(rows) else ())]
        y = [*(p[1] for p in places), *((rows.min(), rows.max() + 1) if len(rows) else ())]
        middle = float((min(x) + max(x)) / 2), float((min(y) + max(y)) / 2)
        size = float(max(max(x) - min(x), max(y) - min(y)))
        squares = [Square(middle, max(share * size, _LEAST_SIDE_PX)) for share in shares]
        return self._best(squares, inside, outside, found)[1]

    def _best(
        self,
        squares: Sequence[Square],
        inside: Sequence[Place],
        outside: Sequence[Place],
        before: Plane | None,
    ) -> tuple[float, Plane, bool]:
        """How sure the surest square is, and what it shows; the first of equals.

        And whether another square is sure of a much smaller thing.
        """
        with ThreadPoolExecutor(min(thread_count(), len(squares))) as pool:
            seen = list(
                pool.map(
                    lambda s: self.looks.seen(s, s.spots(inside), s.spots(outside), before), squares
                )
            )
        sure = [_sureness(*one) for one in seen]
        best = int(np.argmax(sure))
        sizes = [
            float((likely > _LEAST_LIKELY).mean()) * square.side_px**2
            for square, (likely, _) in zip(squares, seen, strict=True)
        ]
        has_part = any(
            one > _LEAST_LIKELY and 0.0 < size < _PART * sizes[best]
            for one, size in zip(sure, sizes, strict=True)
        )
        return sure[best], self.looks.laid(squares[best], *seen[best]), has_part

    @staticmethod
    def _holds(found: Plane, inside: Sequence[Place], outside: Sequence[Place]) -> bool:
        """Whether every place lies where it was said to."""
        is_in = [bool(found[int(y), int(x)] > _LEAST_LIKELY) for x, y in (*inside, *outside)]
        return all(is_in[: len(inside)]) and not any(is_in[len(inside) :])


def _sureness(likely: Plane, held: Plane) -> float:
    """Overlap with the truth to be expected if cells were independent; less where it is cut off.

    A square whose border the thing crosses holds a part of it; one that it hardly fills shows it
    coarsely.
    """
    region = likely > _LEAST_LIKELY
    if not region.any():
        return 0.0
    overlap = float(likely[region].sum()) / (region.sum() + float(likely[~region].sum()))
    rim = [(region & (held > 0))[side] for side in (0, -1, (slice(None), 0), (slice(None), -1))]
    cut_off = float(np.concatenate(rim).mean())
    small = float(region.mean()) < _SMALL
    return float(overlap) - cut_off - (_SMALL_COST if small else 0.0)


def _parts_at(region: Mask, inside: Sequence[Place]) -> Mask:
    """The pieces of a region in which a place lies; all of it where none does."""
    from scipy.ndimage import label

    pieces, _ = label(region)
    named = {int(pieces[int(y), int(x)]) for x, y in inside} - {0}
    return np.isin(pieces, list(named)) if named else region


def _enlarged(region: Mask, small: Plane, picture: Plane) -> Mask:
    """A region of a small picture in the whole one."""
    if small.shape == picture.shape:
        return region
    share = np.empty(picture.shape[:2], np.float32)
    full = np.ascontiguousarray(picture, np.float32)
    enlarge_by_colour(region.astype(np.float32), small, full, _SOFTNESS, share)
    return np.asarray(share > 0.5)


def _is_no_thing(region: Mask, light: Plane) -> bool:
    """Whether a region is plain sky, or larger than things are that the network knows."""
    return bool(region.mean() > _MOST_SHARE) or _is_sky(region, _graded(light))


def _place(at: NDArray[np.float64]) -> Place:
    return float(at[0]), float(at[1])


def _is_sky(region: Mask, graded: Floats) -> bool:
    """Whether a region is plain and no thing: all of a sky, or a piece of something that goes on.

    A sky fills most of the upper border. The outline of a piece crosses places where nothing
    changes: a quarter of it where the piece hangs from the upper border, else half.
    """
    from scipy.ndimage import binary_erosion, uniform_filter

    inner = binary_erosion(region, iterations=_INNER_PX)
    if not inner.any():
        return False
    if region[0].mean() > _SKYLIKE:  # it may grow paler towards the horizon
        near = uniform_filter(graded, (4 * _INNER_PX, 4 * _INNER_PX, 0))
        return bool(np.quantile(np.abs(graded - near)[inner], 0.75) < _NO_CHANGE)
    least, most = np.quantile(graded[inner], (0.25, 0.75), axis=0)
    if (most - least).max() > _PLAIN:
        return False
    rim = region & ~binary_erosion(region, border_value=1)
    size = 2 * _INNER_PX + 1

    def mean(mask: Mask) -> Floats:
        weight = uniform_filter(mask.astype(float), size)[rim]
        sums = [
            uniform_filter(np.where(mask, g, 0.0), size)[rim] for g in np.moveaxis(graded, 2, 0)
        ]
        return np.asarray(np.stack(sums, axis=-1) / np.maximum(weight, 1e-9)[:, None])

    change = np.linalg.norm(mean(region) - mean(~region), axis=-1)
    return bool(np.mean(change < _NO_CHANGE) > (_GOES_ON if region[0].any() else 2 * _GOES_ON))


def _graded(light: NDArray[np.float32]) -> Floats:
    """Light (H, W, 3) as CIE 1976 L*, and half as much again of a* and b* (CIE 15), over 100."""
    red, green, blue = np.moveaxis(np.clip(light, 0.0, 1.0).astype(float), -1, 0)
    x, y, z = (
        np.where(part > 0.008856, np.cbrt(part), 7.787 * part + 16 / 116)
        for part in (a * red + b * green + c * blue for a, b, c in _WHITE_XYZ)
    )
    return np.stack([1.16 * y - 0.16, 7.5 * (x - y), 3.0 * (y - z)], axis=-1)

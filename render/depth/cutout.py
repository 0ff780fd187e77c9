"""The outline of a thing found from a spot inside it, and mended by further spots.

Seen from the spot, an outline is one distance for every direction. So the picture is unrolled
around the spot, rows by direction, and the closed line over the strongest edges is found by
dynamic programming; then the colours inside and outside are learnt and the line is laid anew. In
such a picture a small outline has no advantage over a large one (A. Mishra, Y. Aloimonos, C. L.
Fah, "Active segmentation with fixation", ICCV 2009). It is done at many sizes; the outline that
lies on edges most of its way is taken. Numbers were chosen on traced scenes in which every pixel's
thing is known: `render/depth/README.md`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.depth.kernels import enlarge_by_colour
from render.depth.near.colours import Colours
from render.depth.outline import inside_outline
from render.depth.sampling import reduced
from render.errors import InputError
from render.extras import needed

__all__ = ["outline_around", "thing_at"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Place = tuple[float, float]

_WORKED_PX = 1280  # long side of the picture in which things are looked for
_WAYS, _CELLS = 128, 48  # directions around the spot, cells along each
_FIRST = _CELLS // 8  # an outline keeps off the spot
_REACHES = tuple(float(r) for r in np.geomspace(1 / 64, 0.52, 11))  # shares of the long side
_EDGE_QUANTILE, _LEAST_EDGE = 0.95, 0.02
_STEP_COST, _MOST_STEP = 0.2, 2  # of each cell by which neighbouring directions differ
_COLOUR_GAIN = 1.9  # of the logarithm of a likelihood, at most 3, over all cells of a direction
_ROUNDS = 2
_BESIDE = 4  # directions to either side that a further spot speaks for
_FRAME_EDGE = 0.8  # the picture's border is an edge
_KEPT = 0.3  # a further spot leaves alone what it does not speak of
_LEAST_SCORE = 0.15
_NEVER = -8.0
#: Plain sky: its spread within, what counts as no change across an outline, and how much of that.
_INNER_PX, _PLAIN, _NO_CHANGE, _GOES_ON = 3, 0.03, 0.012, 0.25
_SOFTNESS = 0.08
#: X, Y, Z of the sRGB primaries as shares of white's (IEC 61966-2-1).
_WHITE_XYZ = ((0.434, 0.376, 0.190), (0.213, 0.715, 0.072), (0.018, 0.109, 0.873))


def thing_at(
    picture: NDArray[np.float32],
    spot_px: Place,
    *,
    more_px: Sequence[Place] = (),
    less_px: Sequence[Place] = (),
) -> NDArray[np.bool_]:
    """Region of the thing around a spot.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear light.
    spot_px : tuple of 2 floats
        A place inside the thing, best near its middle.
    more_px, less_px : sequences of (x, y)
        Further places that belong to the thing, and places that do not.

    Returns
    -------
    ndarray of bool, shape (H, W)

    Raises
    ------
    InputError
        If the spot lies outside, or nothing stands out around it but plain sky.
    """
    height, width = picture.shape[:2]
    for x, y in (spot_px, *more_px, *less_px):
        if not (0 <= x < width and 0 <= y < height):
            raise InputError(f"the spot ({x:.0f}, {y:.0f}) lies outside the {width} x {height} px")
    small = np.ascontiguousarray(reduced(picture, _WORKED_PX))
    shrink = np.array([small.shape[1] / width, small.shape[0] / height])
    inside, outside = ([tuple(shrink * p) for p in part] for part in ((spot_px, *more_px), less_px))
    levels = _levels(_graded(small))
    found = _best(levels, inside[:1], [], None)
    for count in range(2, len(inside) + 1):
        found = _best(levels, inside[:count], [], found)
    for count in range(1, len(outside) + 1):
        found = _best(levels, inside, outside[:count], found)
    if found is None or _is_sky(found, levels[0]):
        x, y = spot_px
        raise InputError(
            f"no thing stands out around ({x:.0f}, {y:.0f}): draw its outline or a box instead"
        )
    if small.shape == picture.shape:
        return found
    share = np.empty((height, width), np.float32)
    full = np.ascontiguousarray(picture, np.float32)
    enlarge_by_colour(found.astype(np.float32), small, full, _SOFTNESS, share)
    return np.asarray(share > 0.5)


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


def _is_sky(region: Mask, graded: Floats) -> bool:
    """Whether a region is a piece of something plain that hangs from the upper border and goes on.

    Its outline crosses a part of it where nothing changes.
    """
    from scipy.ndimage import binary_erosion, uniform_filter

    inner = binary_erosion(region, iterations=_INNER_PX)
    if not region[0].any() or not inner.any():
        return False
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
    return bool(np.mean(change < _NO_CHANGE) > _GOES_ON)


def _best(
    levels: list[Floats], inside: Sequence[Place], outside: Sequence[Place], before: Mask | None
) -> Mask | None:
    """The best outline at any size, around the first spot or the middle of all inside."""
    long_side = max(levels[0].shape[:2])
    centres = {tuple(inside[0]), tuple(np.mean(inside, axis=0))}
    best, top = before, -np.inf if before is not None else _LEAST_SCORE
    for centre in sorted(centres):
        for reach in _REACHES:
            fan = _Fan.around(levels, centre, reach * long_side)
            score, region = fan.outlined(inside, outside, levels[0].shape[:2])
            if region is None:
                continue
            if before is not None:
                lost = (region & ~before if outside else before & ~region).sum()
                score -= (
                    _KEPT * float(lost) / max(1.0, float((region if outside else before).sum()))
                )
            if score > top:
                best, top = region, score
    return best


@dataclass(frozen=True, slots=True, eq=False)
class _Fan:
    """The picture around a place, unrolled: rows are directions, columns go outwards.

    Attributes
    ----------
    centre, reach_px : the place, and how far the columns go
    light : ndarray, shape (ways, cells, 3)
    inside : ndarray of bool, shape (ways, cells)
        Whether a cell lies in the picture.
    """

    centre: Place
    reach_px: float
    light: Floats
    inside: Mask

    @classmethod
    def around(cls, levels: list[Floats], centre: Place, reach_px: float) -> "_Fan":
        from scipy.ndimage import map_coordinates

        height, width = levels[0].shape[:2]
        level = int(np.clip(np.log2(max(reach_px / _CELLS, 1.0)), 0, len(levels) - 1))
        out = (np.arange(_CELLS) + 0.5) * reach_px / _CELLS
        x = centre[0] + np.cos(_angles())[:, None] * out
        y = centre[1] + np.sin(_angles())[:, None] * out
        at = [y / 2.0**level - 0.5, x / 2.0**level - 0.5]
        planes = np.moveaxis(levels[level], -1, 0)
        light = [map_coordinates(plane, at, order=1, mode="nearest") for plane in planes]
        inside = (x >= 0) & (x < width) & (y >= 0) & (y < height)
        return cls(centre, reach_px, np.stack(light, axis=-1), inside)

    def outlined(
        self, inside: Sequence[Place], outside: Sequence[Place], shape: tuple[int, int]
    ) -> tuple[float, Mask | None]:
        """Share of the best closed line that lies on edges, and what it holds; None if nothing."""
        if float(np.ptp(self.light[self.inside], axis=0).max(initial=0.0)) < _LEAST_EDGE:
            return 0.0, None
        edge = self._edges()
        reward = edge.copy()
        reward[:, :_FIRST] = _NEVER
        reward[:, -1] = -0.5
        for place, belongs in [(p, True) for p in inside] + [(p, False) for p in outside]:
            away, ways = self._seen(place)
            border = np.arange(_CELLS + 1) * self.reach_px / _CELLS
            if belongs and away > 0.95 * self.reach_px:
                return 0.0, None
            if belongs and away >= 2.0:
                reward[np.ix_(ways, border <= away + 1.0)] = _NEVER
            elif not belongs:
                least = max(away - 1.0, border[_FIRST] + 1e-6)
                reward[np.ix_(ways, border >= least)] = _NEVER
        line = _closed_line(reward)
        for _ in range(_ROUNDS):
            by_colour = self._likelier(line)
            if by_colour is None:
                break
            before, line = line, _closed_line(reward + by_colour)
            if np.array_equal(line, before):
                break
        on_edges = np.take_along_axis(edge, line[:, None], axis=1)
        out = line * self.reach_px / _CELLS
        x = self.centre[0] + np.cos(_angles()) * out
        y = self.centre[1] + np.sin(_angles()) * out
        try:
            region = inside_outline(*shape, list(zip(x, y, strict=True)))
        except InputError:  # smaller than a pixel
            return 0.0, None
        return float(np.maximum(on_edges, -0.5).mean()), region

    def _seen(self, place: Place) -> tuple[float, NDArray[np.intp]]:
        """How far away a place is, and the directions that it speaks for."""
        across, down = place[0] - self.centre[0], place[1] - self.centre[1]
        turn = np.arctan2(down, across) % (2.0 * np.pi) / (2.0 * np.pi)
        ways = int(turn * _WAYS) + np.arange(-_BESIDE, _BESIDE + 1)
        return float(np.hypot(across, down)), ways % _WAYS

    def _edges(self) -> Floats:
        """Strength of the borders between cells, to 1; the picture's own border is one."""
        from scipy.ndimage import gaussian_filter

        smooth = gaussian_filter(self.light, (1.0, 0.7, 0), mode=("wrap", "nearest", "nearest"))
        edge = np.zeros((_WAYS, _CELLS + 1))
        edge[:, 1:-1] = np.linalg.norm(np.diff(smooth, axis=1), axis=2)
        strong = max(float(np.quantile(edge[:, 3:-1], _EDGE_QUANTILE)), _LEAST_EDGE)
        edge = np.minimum(edge / strong, 1.0)
        for way in np.flatnonzero(~self.inside.all(axis=1)):
            first = int(np.argmin(self.inside[way]))
            edge[way, first] = max(edge[way, first], _FRAME_EDGE)
            edge[way, first + 1 :] = -1.0
        return edge

    def _likelier(self, line: NDArray[np.intp]) -> Floats | None:
        """What a border gains by the colours within it, by those inside and outside a line."""
        cell = np.arange(_CELLS)
        core = (cell < line[:, None]) & self.inside
        rest = (cell > line[:, None]) & self.inside
        if core.sum() < 30 or rest.sum() < 30:
            return None
        own = Colours.of(self.light[core], 4).likelihood(self.light)
        other = Colours.of(self.light[rest], 8).likelihood(self.light)
        gain = np.where(self.inside, np.clip(own - other, -3.0, 3.0), 0.0)
        total = np.cumsum(gain, axis=1) * (_COLOUR_GAIN / _CELLS)
        return np.concatenate([np.zeros((_WAYS, 1)), total], axis=1)


def _closed_line(reward: Floats) -> NDArray[np.intp]:
    """A border for every row, nearly the same in neighbouring rows, the last and first as well.

    Two rounds are gone; what lies half a round from either end does not know where it began.
    """
    twice = np.concatenate([reward, reward])
    steps = np.arange(-_MOST_STEP, _MOST_STEP + 1)
    size = reward.shape[1]
    from_where = np.arange(size)[None, :] + steps[:, None]
    off = (from_where < 0) | (from_where >= size)
    from_where = np.clip(from_where, 0, size - 1)
    cost = np.where(off, -1e9, -_STEP_COST * np.abs(steps)[:, None])
    came = np.zeros(twice.shape, np.intp)
    best = twice[0]
    for row in range(1, len(twice)):
        ways = best[from_where] + cost
        step = np.argmax(ways, axis=0)
        came[row] = from_where[step, np.arange(size)]
        best = ways[step, np.arange(size)] + twice[row]
    line = np.empty(len(twice), np.intp)
    line[-1] = int(np.argmax(best))
    for row in range(len(twice) - 1, 0, -1):
        line[row - 1] = came[row, line[row]]
    half = len(reward) // 2
    return np.roll(line[half : half + len(reward)], half)


def _angles() -> Floats:
    return np.asarray((np.arange(_WAYS) + 0.5) * 2.0 * np.pi / _WAYS)


def _graded(light: NDArray[np.float32]) -> Floats:
    """Light (H, W, 3) as CIE 1976 L*, and half as much again of a* and b* (CIE 15), over 100."""
    red, green, blue = np.moveaxis(np.clip(light, 0.0, 1.0).astype(float), -1, 0)
    x, y, z = (
        np.where(part > 0.008856, np.cbrt(part), 7.787 * part + 16 / 116)
        for part in (a * red + b * green + c * blue for a, b, c in _WHITE_XYZ)
    )
    return np.stack([1.16 * y - 0.16, 7.5 * (x - y), 3.0 * (y - z)], axis=-1)


def _levels(graded: Floats, count: int = 5) -> list[Floats]:
    """The picture, and each time at half its size."""
    from scipy.ndimage import gaussian_filter

    levels = [graded]
    for _ in range(count - 1):
        levels.append(gaussian_filter(levels[-1], (1.0, 1.0, 0))[::2, ::2])
    return levels

"""Where what should be sharp lies before the lens."""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from render.decimals import pointed
from render.errors import FrameError, InputError, SettingError
from render.load.asked.row import Row, row_of
from render.load.asked.shown import seen_in
from render.load.asked.wish import KINDS, Wish, length_or_0, read_spot
from render.load.named import outside_the_frame
from render.optics.camera import Camera, Vantage, Window
from render.optics.solving.arrangements import ahead_m, face_m, ground_m, place_m, row_m, wall_m
from render.optics.solving.selective import Region, evenly
from render.optics.solving.targets import Target
from render.typed import in_degrees, length_m, parse_place
from render.words import choices, span_words

__all__ = ["Site"]

_NUMBER = r"-?(?:\d+(?:\.\d*)?|\.\d+)"
_SIDEWAYS = re.compile(r"(left|right)\s+(.+)")
_ANGLE = re.compile(rf"(back|forward|left|right)\s+({_NUMBER})\s*(?:°|deg|degrees)?")
_HIGH = re.compile(r"(.+?)\s+high")
_USUAL_WALL_M = 3.0

_AREA_GRID = 7
#: What a tape over the ground is good to, whichever is more (common practice, no source).
_TAPE_M, _TAPE_SHARE = 0.02, 0.01
_THINGS_IN_ROW = 7


@dataclass(frozen=True, slots=True, eq=False)
class Site:
    """What wishes are looked up in: a picture with depth, or only a place to stand.

    Attributes
    ----------
    view : tuple of 4 floats
        Slopes of the frame's left, top, right and bottom edges.
    camera, depth_m : Camera and ndarray, or None
        The planned frame, its depth, and where it begins in the whole picture.
    left_px, top_px : int
    whole_px : tuple of int
        Width and height of the whole picture.
    vantage : Vantage or None
    things : mapping of name to (x, y, z)
        What is seen of the named things of a demo scene, in the camera's frame.
    depths_of : callable or None
        Depths (N,) at which rays of given slopes (N, 2) show a thing of a name, ``inf`` elsewhere.
    middle_of : callable or None
        Where the middle of a thing of a name is, seen or not, in the camera's frame.
    light : ndarray, shape (h, w, 3), or None
        Linear light of the planned frame: where there is something to focus on.
    depth_unsure : float
        Typical uncertainty of the depth, relative; 0 where it is exact.
    """

    view: tuple[float, float, float, float]
    camera: Camera | None = None
    depth_m: NDArray[np.float32] | None = None
    left_px: int = 0
    top_px: int = 0
    whole_px: tuple[int, int] = (0, 0)
    vantage: Vantage | None = None
    things: Mapping[str, tuple[float, float, float]] | None = None
    depths_of: Callable[[str, NDArray[np.float64]], NDArray[np.float64]] | None = None
    middle_of: Callable[[str], NDArray[np.float64]] | None = None
    light: NDArray[np.float32] | None = None
    depth_unsure: float = 0.0

    @property
    def half_angle_deg(self) -> float:
        """Half the view from left to right."""
        return math.degrees(math.atan((self.view[2] - self.view[0]) / 2))

    @property
    def pixel_slope(self) -> float:
        """Rays closer together than this are one: half a pixel, or a part in ten thousand."""
        return 0.5 / self.camera.focal_px if self.camera is not None else 1e-4

    def targets(self, wish: Wish) -> list[Target]:
        """Points that stand for the wish, at most 49.

        Raises
        ------
        SettingError, InputError
            If it cannot be read, lies outside the picture, on the sky or behind the camera, or
            needs a picture or a height that is not there.
        """
        region = self.region(wish, _AREA_GRID)
        with np.errstate(divide="ignore"):
            depths = np.asarray(1.0 / region.inverse_depth, float)
        doubts = self._doubts_m(wish, depths)
        return [
            Target(float(x), float(y), float(z), name=wish.name, doubt_m=float(doubt))
            for (x, y), z, doubt in zip(region.slopes, depths, doubts, strict=True)
        ]

    def _doubts_m(self, wish: Wish, depths_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """How far off the places of a wish may be, each by itself.

        A place by what a tape tells, or the depth; the parts of one thing that is said by its
        shape, and what a demo scene holds, are where they are.
        """
        alone = wish.kind in ("point", "row") and not wish.is_area
        if not alone or self.things is not None:
            return np.zeros(len(depths_m))
        share = max(_TAPE_SHARE, self.depth_unsure)
        return np.where(np.isfinite(depths_m), np.maximum(_TAPE_M, share * depths_m), 0.0)

    def named_in(self, wish: Wish) -> list[Wish]:
        """The things of a scene that a wish is made of, by their names: one, or a row's ends."""
        texts = re.split(r"\s+to\s+", wish.text) if wish.kind == "row" else [wish.text]
        called = [wish.name] if wish.kind == "point" else texts
        points = [Wish("point", text, name) for text, name in zip(texts, called, strict=True)]
        return [point for point in points if self._is_thing(point)]

    def region(self, wish: Wish, grid: int | None = None) -> Region:
        """Return the wish as rays and inverse depths; areas by every pixel, or by a grid of them.

        Errors as in `targets`.
        """
        if wish.is_area:
            return self._area(wish, wish.parts, grid)
        points = np.atleast_2d(self._points(wish))
        if not np.all(points[:, 2] > 0):
            raise SettingError(
                f"{wish.name} lies behind the camera: only things in front of it can be sharp"
                + (", so say how high it is: ', 2 m high'" if wish.kind == "wall" else "")
            )
        return Region(points[:, :2] / points[:, 2:], 1.0 / points[:, 2])

    def whole(self, wish: Wish) -> Region:
        """All that the frame shows of what is wished; a thing too small to be more by its place."""
        seen = self._seen_of(wish)
        return seen[0] if seen else self.region(wish)

    def counts_whole(self, wish: Wish) -> bool:
        """Whether all that is seen of it counts where only this is to be sharp: not one point."""
        return wish.is_area or self._seen_of(wish) is not None

    def _seen_of(self, wish: Wish) -> tuple[Region, NDArray[np.bool_]] | None:
        """What the frame shows of a thing with a name, and its pixels; None of one too small."""
        name = wish.text.strip()
        if not self.depths_of or not self._is_thing(wish):
            return None
        camera, _ = self._picture(wish.name)
        return seen_in(camera, partial(self.depths_of, name))

    def _is_thing(self, wish: Wish) -> bool:
        """Whether a thing of a scene is wished by its name."""
        return wish.kind == "point" and wish.text.strip() in (self.things or {})

    def foot_line(self, wish: Wish) -> str:
        """The foot of a wished wall in the whole picture and its height, as a shot writes them.

        Errors as in `targets`.
        """
        self._picture(wish.name)
        foot, top, last_foot, _ = self.targets(wish)
        feet = " ".join(self.spot_words(end, decimals=3) for end in (foot, last_foot))
        return f"{feet} high {math.dist(foot.place_m, top.place_m):.4g} m"

    def spot_words(self, target: Target, decimals: int = 2) -> str:
        """Where a place lies, as a spot of the whole picture, of which there must be one."""
        assert self.camera is not None, "a site without a picture has no spots"
        x, y = self.camera.positions((target.slope_x, target.slope_y))
        across = 100 * (self.left_px + float(x)) / self.whole_px[0]
        down = 100 * (self.top_px + float(y)) / self.whole_px[1]
        return f"{across:.{decimals}f}%,{down:.{decimals}f}%"

    def check_apart(self, sharp: list[Wish], soft: list[Wish]) -> None:
        """Refuse wishes that contradict each other.

        Raises
        ------
        SettingError
            If the same place is wished both sharp and soft, or two such areas overlap.
        """
        for wish in sharp:
            for other in soft:
                ours, theirs = self._pixels(wish), self._pixels(other)
                overlap = ours and theirs and all(map(_overlap, ours, theirs))
                if overlap or wish.text == other.text:
                    raise SettingError(
                        f"{wish.name} is wished sharp and {other.name} soft, but they overlap: "
                        "mark them apart"
                    )

    def everything_but(self, wishes: list[Wish]) -> Region:
        """Return the rest of the frame, outside the areas wished: at most 20 000 of its pixels.

        Raises
        ------
        InputError
            If there is no picture, or nothing is left.
        """
        camera, depth = self._picture("everything else")
        left = np.ones(depth.shape, bool)
        for wish in wishes:
            if rows_columns := self._pixels(wish):
                left[rows_columns] = False
            elif seen := self._seen_of(wish):
                left[seen[1]] = False
        pixels = np.flatnonzero(left)
        if not len(pixels):
            raise InputError("nothing is left to be soft: mark a smaller area as sharp")
        rows, columns = np.unravel_index(pixels[evenly(len(pixels))], depth.shape)
        return Region(
            camera.slopes(columns + 0.5, rows + 0.5),
            1.0 / depth[rows, columns].astype(float),
        )

    def _points(self, wish: Wish) -> NDArray[np.float64]:
        match wish.kind:
            case "point":
                return self._point(wish.name, wish.text)
            case "row":
                ends = re.split(r"\s+to\s+", wish.text)
                if len(ends) == 2:
                    return self._row(wish, ends[0], ends[1])
            case "ground" | "wall":
                found = self._stretch(wish)
                if found is not None:
                    return found
            case "face":
                found = self._face(wish)
                if found is not None:
                    return found
        raise SettingError(f'{wish.kind} "{wish.text}" is not understood: write {KINDS[wish.kind]}')

    def _stretch(self, wish: Wish) -> NDArray[np.float64] | None:
        """Ground or a wall, between two distances ahead or from spot to spot; None: not so said."""
        way, _, last = wish.text.lower().rpartition(",")
        high = _HIGH.fullmatch(last.strip()) if way else None
        height_m = length_m(high[1]) if high else _USUAL_WALL_M
        ends = re.split(r"\s+to\s+", way if high else wish.text.lower())
        if len(ends) != 2 or height_m is None or (high and wish.kind == "ground"):
            return None
        vantage = self._standing(wish.name)
        near, far = (length_m(end) for end in ends)
        if near is not None and far is not None:
            if wish.kind == "ground":
                return ground_m(vantage, near, far, self.half_angle_deg)
            return wall_m(vantage, near, far, self.half_angle_deg, height_m)
        spots = [read_spot(end) for end in ends]
        if not all(spots):
            return None
        feet = [self.seen(wish.name, *self._pixel(wish.name, spot)) for spot in spots if spot]
        if wish.kind == "ground":
            near, far = sorted(ahead_m(vantage, foot) for foot in feet)
            return ground_m(vantage, near, far, self.half_angle_deg)
        up = place_m(vantage, 0.0, 0.0, height_m) - place_m(vantage, 0.0, 0.0, 0.0)
        return np.array([foot + part * up for foot in feet for part in (0.0, 1.0)])

    def _face(self, wish: Wish) -> NDArray[np.float64] | None:
        """A face at a distance on the axis or at a spot of the picture; None: not so said."""
        where, *turns = re.split(r",\s*(?=[a-z])", wish.text.lower())
        angles = [_ANGLE.fullmatch(in_degrees(pointed(turn.strip()))) for turn in turns]
        spot, away_m = read_spot(where), length_m(where)
        if not all(angles) or (spot is None and away_m is None):
            return None
        turned = {m[1]: float(m[2]) for m in angles if m}
        back = turned.get("back", 0.0) - turned.get("forward", 0.0)
        aside = turned.get("right", 0.0) - turned.get("left", 0.0)
        if spot is None:
            return face_m(away_m or 0.0, back, aside)
        x, y, z = self.seen(wish.name, *self._pixel(wish.name, spot))
        return np.asarray(face_m(float(z), back, aside) + np.array([x, y, 0.0]))

    def row_gaps(self, wish: Wish) -> str:
        """Say where the picture shows something else between the ends of a row; else nothing."""
        row = self.row_in_picture(wish)
        if row is None or not row.gaps_m:
            return ""
        far = span_words(*row.gaps_m)
        where = "on the sky" if math.isinf(min(row.gaps_m)) else f"{far} away"
        return (
            f"{wish.name}: between its ends the picture also shows what is not in line with them "
            f"({where}), which does not count; what does, give its distance with --thing"
        )

    def row_in_picture(self, wish: Wish) -> Row | None:
        """A row between two spots of the picture; None if it is not said so."""
        if wish.kind != "row":
            return None
        spots = [read_spot(end) for end in re.split(r"\s+to\s+", wish.text)]
        if len(spots) != 2 or not all(spots):
            return None
        places = [self._pixel(wish.name, spot) for spot in spots if spot]
        first, *between, last = np.rint(row_m(places[0], places[1], _THINGS_IN_ROW)).astype(int)
        start, end = self.seen(wish.name, *first), self.seen(wish.name, *last)
        return row_of(start, [self._shown(*place) for place in between], end)

    def _row(self, wish: Wish, first: str, last: str) -> NDArray[np.float64]:
        """What stands for a row in the picture if both ends are spots, else even steps on site."""
        if row := self.row_in_picture(wish):
            return np.array(list(row.seen.values()))
        return row_m(self._point(wish.name, first), self._point(wish.name, last))

    def _point(self, name: str, text: str) -> NDArray[np.float64]:
        if spot := read_spot(text):
            return self.seen(name, *self._pixel(name, spot))
        parts = [part.strip() for part in text.lower().split(",")]
        ahead, above, right = length_m(parts[0]), length_or_0(parts[1]) if parts[1:] else None, 0.0
        if ahead is not None and above is not None and len(parts) in (2, 3):
            aside = _SIDEWAYS.fullmatch(parts[2]) if parts[2:] else None
            away = length_or_0(aside[2]) if aside else None
            if aside and away is not None:
                right = away if aside[1] == "right" else -away
            if len(parts) == 2 or away is not None:
                return place_m(self._standing(name), ahead, right, above)
        return self._thing(name, text)

    def _thing(self, name: str, text: str) -> NDArray[np.float64]:
        things = self.things or {}
        if text.strip() in things:
            return np.array(things[text.strip()])
        if re.fullmatch(r"[a-zA-Z][\w -]*", text.strip()) and self.things is not None:
            known = choices(sorted(things), text.strip()) or "none"
            raise InputError(
                f'there is no "{text.strip()}" in this scene; its things are: {known}; or write a '
                "spot such as 50%,62%, or metres such as 12 m, 1.5 m (ahead, above the ground)"
            )
        raise SettingError(f'point "{text}" is not understood: write {KINDS["point"]}')

    def _area(self, wish: Wish, parts: list[str], grid: int | None) -> Region:
        camera, depth = self._picture(wish.name)
        rows, columns = self._rectangle(wish.name, parts)
        if grid:
            rows, columns = (
                np.unique(np.rint(np.linspace(side[0], side[-1], grid)).astype(int))
                for side in (rows, columns)
            )
        y, x = np.meshgrid(rows, columns, indexing="ij")
        inside = depth[y, x]
        seen = np.isfinite(inside)
        if not seen.any():
            raise InputError(
                f"{wish.name} lies on the sky, where nothing can be sharp: mark a "
                "thing, or say by --wall-foot or --thing what stands there"
            )
        slopes = camera.slopes(x[seen] + 0.5, y[seen] + 0.5)
        return Region(slopes, 1.0 / inside[seen].astype(float))

    def _rectangle(
        self, name: str, parts: list[str]
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Rows and columns of the frame whose middles lie inside an area, at least one of each."""
        spots = [(parse_place(parts[k]), parse_place(parts[k + 1])) for k in (0, 2)]
        pixels = [self._pixel(name, spot) for spot in spots]
        columns, rows = (
            _inside(
                [spot[axis] for spot in spots],
                [pixel[axis] for pixel in pixels],
                self.whole_px[axis],
                (self.left_px, self.top_px)[axis],
            )
            for axis in (0, 1)
        )
        return rows, columns

    def _pixels(self, wish: Wish) -> tuple[slice, slice] | None:
        if wish.kind == "point" and len(wish.parts) == 4:
            rows, columns = self._rectangle(wish.name, wish.parts)
            return slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
        return None

    def _pixel(
        self, name: str, spot: tuple[tuple[float, bool], tuple[float, bool]]
    ) -> tuple[int, int]:
        """Column and row in the frame of a spot in the whole picture."""
        camera, _ = self._picture(name)
        width, height = self.whole_px
        x, y = (
            value * size if share else value
            for (value, share), size in zip(spot, (width, height), strict=True)
        )
        if not (0 <= x <= width and 0 <= y <= height):
            raise SettingError(
                f"{name} lies outside the picture of {width} x {height} px: choose a spot inside"
            )
        column = min(int(x), width - 1) - self.left_px
        row = min(int(y), height - 1) - self.top_px
        if not (0 <= column < camera.width_px and 0 <= row < camera.height_px):
            frame = Window(self.left_px, self.top_px, camera.width_px, camera.height_px)
            raise FrameError(outside_the_frame(name, frame, self.whole_px))
        return column, row

    def seen(self, name: str, column: int, row: int) -> NDArray[np.float64]:
        """Point of the camera's frame that a pixel of the planned frame shows.

        Raises
        ------
        InputError
            If it is sky, or there is no picture.
        """
        self._picture(name)
        point = self._shown(column, row)
        if math.isinf(point[2]):
            raise InputError(
                f"{name} lies on the sky, where nothing can be sharp: choose a spot "
                "on a thing, or say by --wall-foot or --thing what stands there"
            )
        return point

    def _shown(self, column: int, row: int) -> NDArray[np.float64]:
        """Point that a pixel of the planned frame shows; its z is ``inf`` on the sky."""
        assert self.camera is not None
        assert self.depth_m is not None
        z = float(self.depth_m[row, column])
        if math.isinf(z):
            return np.array([0.0, 0.0, z])
        x, y = self.camera.slopes(column + 0.5, row + 0.5)
        return np.array([x * z, y * z, z])

    def _picture(self, name: str) -> tuple[Camera, NDArray[np.float32]]:
        if self.camera is None or self.depth_m is None:
            raise InputError(
                f"{name} needs a picture to be found in: name one, or say where it is in metres, "
                "such as '12 m, 1.5 m'"
            )
        return self.camera, self.depth_m

    def _standing(self, name: str) -> Vantage:
        if self.vantage is None:
            raise InputError(
                f"{name} is measured from the ground: say how high the lens is with --height"
            )
        return self.vantage


def _inside(
    ends: list[tuple[float, bool]], pixels: list[int], whole_px: int, first_px: int
) -> NDArray[np.int64]:
    """Pixels along one side of the frame between two ends, each a share or a pixel's number."""
    exact = [
        value * whole_px - first_px if share else pixel + 0.5
        for (value, share), pixel in zip(ends, pixels, strict=True)
    ]
    between = np.arange(math.ceil(min(exact) - 0.5), math.floor(max(exact) - 0.5) + 1)
    return between if len(between) else np.array([sum(pixels) // 2])


def _overlap(one: slice, other: slice) -> bool:
    return bool(one.start < other.stop and other.start < one.stop)

"""Depth from two pictures taken a step apart, matched by OpenCV.

Disparity d of a rectified pair gives ``z = f b / d`` with the step b. Matching is semi-global
(H. Hirschmüller, 2008), checked from left to right and back; where the two do not agree is a
hole. Pictures held by hand are rectified from their own features first.
"""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import DepthMap
from render.depth.sampling import coded_grey, reduced
from render.errors import InputError
from render.extras import needed
from render.optics.camera import Camera
from render.words import length_words

__all__ = ["by_features", "by_rectified", "disparity_of", "offset_unsaid"]

_LONG_SIDE_PX = 1200
_AGREE_PX = 1.5
_DOUBT_PX = 0.5  # of a match
_LEAST_MATCHES = 40
_LEAST_MATCHED = 0.4  # share of the picture
_LEAST_AGREEING, _BEFORE = 0.5, 0.95  # of the matches: with the pose, and before the camera
_LEAST_SIDEWAYS = 0.8  # of the step
_LOSS_PX = 0.5  # from here a match counts as wrong
_STRAY = 0.1  # of the step, up or ahead, one standard deviation of what a person does (ours)
_TILES, _DRAWS, _DRAWN_SHARE = 48, 8, 0.5  # of the picture, to see how sure the pose is
_MOST_POSE_DOUBT = 0.5
_FOCAL_DOUBT = 0.05  # fields of view from EXIF are off by 5 to 10 % (measured)
_LEVEL_DEG, _LEVEL_WAY = 0.1, 0.01  # nobody's hand is so still
_OFFSET_SHARE = 0.03  # of the width: how far a calibration moves principal points apart (measured)
_PURPOSE = "matching a stereo pair"
_NO_OFFSET = (
    "no --disparity-offset was given: both pictures are taken to have one principal point, and the "
    "doubt holds that a calibration may say otherwise (where it says the same, --disparity-offset "
    "0 takes the doubt away)"
)
_LEVEL = (
    "the rows of the two pictures are level already, as a calibration leaves them and no hand "
    "does: add --rectified, and the --disparity-offset that it names, or distances may be far off"
)


def by_rectified(
    left: NDArray[np.float32],
    right: NDArray[np.float32],
    camera: Camera,
    baseline_m: float,
    *,
    offset_px: float | None = None,
) -> DepthMap:
    """Depth of the left of two rectified pictures.

    Parameters
    ----------
    left, right : ndarray, shape (H, W, 3), float32
        Linear light; the same thing lies in the same row, farther left in the right picture.
    camera : Camera
        Of the left picture.
    baseline_m : float
        Distance between the two lenses, > 0.
    offset_px : float or None
        Added to each disparity: how far the two principal points lie apart. None where nobody
        said: then they are taken as one, and the doubt holds what a calibration may say.

    Returns
    -------
    DepthMap
        With holes (NaN) where the two do not match; the uncertainty is half a pixel's, and the
        offset's.

    Raises
    ------
    InputError
        If sizes differ, the step is not above 0, or hardly anything matches.
    """
    _check_pair(left, right, baseline_m)
    small_left, small_right = (coded_grey(reduced(p, _LONG_SIDE_PX)) for p in (left, right))
    shrink = small_left.shape[1] / left.shape[1]
    found = disparity_of(small_left, small_right)
    matched = float(np.isfinite(found).mean())
    if matched < _LEAST_MATCHED:
        other = float(np.isfinite(disparity_of(small_right, small_left)).mean())
        if other > 1.5 * matched and other > _LEAST_MATCHED:
            raise InputError(
                f"the pair looks swapped: {100 * matched:.0f} % matches as named, "
                f"{100 * other:.0f} % the other way round: name the picture taken on the right "
                "as the second one"
            )
    disparity = found / np.float32(shrink)
    row, column = _nearest(left.shape[:2], disparity.shape)
    full = disparity[np.ix_(row, column)] + np.float32(offset_px or 0.0)
    along = camera.focal_px * baseline_m
    made = _depth_of(full, along / full, baseline_m, shrink, 0.0)
    return made if offset_px is not None else offset_unsaid(made, camera, baseline_m)


def by_features(
    first: NDArray[np.float32], second: NDArray[np.float32], camera: Camera, step_m: float
) -> DepthMap:
    """Depth of the first of two pictures taken a sideways step apart with one lens.

    Features (SIFT, D. G. Lowe, 2004) give rotation and direction of the step, the step's length
    the metres. The doubt is of the pose, the focal length and half a pixel.

    Parameters
    ----------
    first, second : ndarray, shape (H, W, 3), float32
        Linear light.
    camera : Camera
        Of both.
    step_m : float
        Distance between the two places, > 0.

    Raises
    ------
    InputError
        If sizes differ, too few features match, the step is not sideways, or there was none.
    """
    cv2 = needed("cv2", _PURPOSE)
    _check_pair(first, second, step_m)
    one, other = (
        np.asarray(255 * coded_grey(reduced(picture, _LONG_SIDE_PX)), np.uint8)
        for picture in (first, second)
    )
    height, width = one.shape
    small = camera.resized(width, height)
    matrix = np.array(
        [
            [small.focal_px, 0, small.centre_x_px - 0.5],
            [0, small.focal_px, small.centre_y_px - 0.5],
            [0, 0, 1],
        ]
    )
    pose = _pose(cv2, one, other, matrix)
    rectified = _rectified(cv2, [one, other], matrix, pose)
    backward = rectified.reach > 0
    here, there = (np.asarray(grey / np.float32(255), np.float32) for grey in rectified.greys)
    if backward:  # the second picture was taken on the left: mirror, so that it lies on the right
        disparity = disparity_of(here[:, ::-1].copy(), there[:, ::-1].copy())[:, ::-1]
    else:
        disparity = disparity_of(here, there)
    columns, rows = camera.grid()
    rays = np.stack(np.broadcast_arrays(columns[None, :], rows[:, None], 1.0), axis=-1)
    turned = rays @ rectified.turn.T
    seen = turned @ rectified.camera.T
    x, y = (seen[..., k] / seen[..., 2] for k in (0, 1))
    inside = (x > 0) & (y > 0) & (x < width - 1) & (y < height - 1) & (turned[..., 2] > 0)
    at = disparity[
        np.clip(np.round(y), 0, height - 1).astype(np.intp),
        np.clip(np.round(x), 0, width - 1).astype(np.intp),
    ]
    at = np.where(inside, at, np.float32(np.nan))
    along = rectified.camera[0, 0] * step_m / at
    shrink = width / first.shape[1]
    depth = along / turned[..., 2]
    doubt = pose.doubt / step_m
    if pose.is_level:
        doubt = math.hypot(doubt, _OFFSET_SHARE * camera.width_px / (camera.focal_px * step_m))
    found = _depth_of(
        at / np.float32(shrink), depth, step_m, shrink, doubt, focal_doubt=pose.focal_doubt
    )
    return replace(found, remarks=(*found.remarks, _LEVEL)) if pose.is_level else found


def disparity_of(left: NDArray[np.float32], right: NDArray[np.float32]) -> NDArray[np.float32]:
    """Disparity x_left - x_right in px of a rectified grey pair (0 to 1); NaN where unsure."""
    cv2 = needed("cv2", _PURPOSE)
    codes = [np.asarray(np.round(255 * np.clip(g, 0, 1)), np.uint8) for g in (left, right)]
    width = left.shape[1]
    count = max(16, int(np.ceil(0.16 * width / 16)) * 16)
    matcher = cv2.StereoSGBM_create(
        minDisparity=0,
        numDisparities=count,
        blockSize=5,
        P1=8 * 25,
        P2=32 * 25,
        uniquenessRatio=5,
        speckleWindowSize=60,
        speckleRange=2,
        mode=cv2.STEREO_SGBM_MODE_SGBM_3WAY,
    )
    forth = _matched(matcher, codes[0], codes[1], count)
    back = _matched(matcher, codes[1][:, ::-1], codes[0][:, ::-1], count)[:, ::-1]
    columns = np.arange(width)[None, :] - np.nan_to_num(np.round(forth)).astype(np.intp)
    other = np.take_along_axis(back, np.clip(columns, 0, width - 1), axis=1)
    agree = np.abs(forth - other) <= _AGREE_PX
    return np.where(agree & (columns >= 0), forth, np.float32(np.nan)).astype(np.float32)


def _matched(
    matcher: Any, left: NDArray[np.uint8], right: NDArray[np.uint8], count: int
) -> NDArray[np.float32]:
    """Run the matcher on pictures widened to the left, where its answer is blind."""
    wide = [np.pad(codes, ((0, 0), (count, 0)), mode="edge") for codes in (left, right)]
    found = matcher.compute(*wide).astype(np.float32)[:, count:] / 16.0
    return np.where(found > 0, found, np.float32(np.nan)).astype(np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class _Rectified:
    """Two grey pictures with level rows, the turn and camera of the first, the step's sign."""

    greys: tuple[NDArray[np.uint8], NDArray[np.uint8]]
    turn: NDArray[np.float64]
    camera: NDArray[np.float64]
    reach: float


def _pose(
    cv2: Any, first: NDArray[np.uint8], second: NDArray[np.uint8], matrix: NDArray[np.float64]
) -> "_Pose":
    """How the second picture was taken, from matched features."""
    sift = cv2.SIFT_create(4000)
    (keys_a, words_a), (keys_b, words_b) = (sift.detectAndCompute(g, None) for g in (first, second))
    few = InputError(
        "the two pictures have too few features in common: take them from places closer together, "
        "of the same subject, with the same lens"
    )
    if words_a is None or words_b is None or min(len(words_a), len(words_b)) < _LEAST_MATCHES:
        raise few
    pairs = cv2.BFMatcher().knnMatch(words_a, words_b, k=2)
    good = [p[0] for p in pairs if len(p) == 2 and p[0].distance < 0.75 * p[1].distance]
    if len(good) < _LEAST_MATCHES:
        raise few
    here = np.array([keys_a[m.queryIdx].pt for m in good])
    there = np.array([keys_b[m.trainIdx].pt for m in good])
    same = InputError(
        "the two pictures were taken from nearly the same place: step farther to the side"
    )
    least_px = 0.002 * first.shape[1]
    if not np.median(np.linalg.norm(here - there, axis=1)) > least_px:
        raise same
    focal_px = float(matrix[0, 0])
    to_rays = np.linalg.inv(matrix).T
    rays = _Matches(*(np.hstack([q, np.ones((len(q), 1))]) @ to_rays for q in (here, there)))
    turn, way, _ = pose = _fitted(rays, focal_px)
    agree = np.abs(_misses_px(rays, turn, way, focal_px)) < _AGREE_PX
    explained = agree.sum() >= _LEAST_MATCHES // 2 and agree.mean() > _LEAST_AGREEING
    if not explained or abs((turn.T @ way)[0]) < _LEAST_SIDEWAYS:
        raise InputError(
            "no step to the side explains how the two pictures differ: take the second from "
            "beside the first, neither forward nor up, with one lens, of a subject that stands "
            "still"
        )
    turned = rays.first @ turn.T
    left_over = turned[:, :2] / turned[:, 2:] - rays.second[:, :2]
    if not focal_px * np.median(np.linalg.norm(left_over[agree], axis=1)) > least_px:
        raise same
    doubt, focal_doubt = _pose_doubt(rays, here, pose, agree, focal_px)
    typical = float(np.median(_nearness(rays, turn, way)[agree]))
    share = np.hypot(doubt / typical, focal_doubt) if typical > 0 else np.inf
    if not share < _MOST_POSE_DOUBT:
        raise InputError(
            "the two pictures do not fix how the camera moved between them (distances differ by "
            f"{100 * min(share, 9.99):.0f} % with the places they are taken from): take a longer "
            "step, hold the camera level, or calibrate the pair and add --rectified"
        )
    return _Pose(turn, way, doubt, focal_doubt)


@dataclass(frozen=True, slots=True, eq=False)
class _Pose:
    """``P2 = turn P1 + way``, the step being of length 1, and how sure it is.

    `doubt` is of inverse depth in 1/steps, the same for near and far; `focal_doubt` is relative.
    """

    turn: NDArray[np.float64]
    way: NDArray[np.float64]
    doubt: float
    focal_doubt: float

    @property
    def is_level(self) -> bool:
        """Whether nobody holds a camera so still: the pair was rectified before."""
        turned_deg = math.degrees(math.acos(np.clip((np.trace(self.turn) - 1) / 2, -1.0, 1.0)))
        return turned_deg < _LEVEL_DEG and float(np.hypot(*self.way[1:])) < _LEVEL_WAY


@dataclass(frozen=True, slots=True, eq=False)
class _Matches:
    """Rays (x, y, 1) of the same things in both pictures, shape (K, 3)."""

    first: NDArray[np.float64]
    second: NDArray[np.float64]

    def kept(self, which: NDArray[np.bool_]) -> "_Matches":
        return _Matches(self.first[which], self.second[which])


_Found = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]


def _fitted(matches: _Matches, focal_px: float, start: NDArray[np.float64] | None = None) -> _Found:
    """Turn and unit step that explain most matches, and their five numbers.

    Least Sampson distances (P. D. Sampson, 1982) under a loss that forgives wrong matches. A step
    to the side and a turn look alike in all but small differences, so the steps that a person
    takes are preferred, and of several minima the best in which things lie before the camera.
    """
    from scipy.optimize import least_squares  # a quarter of a second, and seldom asked for

    across, down = (matches.second - matches.first)[:, :2].T
    weight = _LOSS_PX * math.sqrt(len(across) / _TILES) / _STRAY

    def misses(numbers: NDArray[np.float64]) -> NDArray[np.float64]:
        off = _misses_px(matches, *_turn_and_way(numbers), focal_px)
        return np.append(off, weight * numbers[3:5])

    starts = [start] if start is not None else []
    for side in () if starts else (-1.0, 1.0):
        for far in (2, 30):  # where the far things lie among the shifts, per cent
            yaw = np.percentile(across, 100 - far if side < 0 else far)
            starts.append(np.array([-np.median(down), yaw, 0.0, 0.0, 0.0, side]))
    best, found = (False, -math.inf), starts[0]
    for numbers in starts:
        end = numbers[5:]
        fit = least_squares(
            lambda five, end=end: misses(np.append(five, end)),
            numbers[:5],
            loss="cauchy",
            f_scale=_LOSS_PX,
            x_scale=(1e-3, 1e-3, 1e-3, 0.1, 0.1),
            max_nfev=40,
        )
        turn, way = _turn_and_way(np.append(fit.x, end))
        agree = np.abs(_misses_px(matches, turn, way, focal_px)) < _AGREE_PX
        before = float(np.mean(_nearness(matches, turn, way)[agree] > 0)) if agree.any() else 0.0
        if (before > _BEFORE, -fit.cost) > best:
            best, found = (before > _BEFORE, -float(fit.cost)), np.append(fit.x, end)
    turn, way = _turn_and_way(found)
    return turn, way, found


def _turn_and_way(numbers: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Turn and unit step from a rotation vector, the step down and ahead, and its side."""
    from scipy.spatial.transform import Rotation  # as above

    way = np.array([numbers[5], numbers[3], numbers[4]])
    return Rotation.from_rotvec(numbers[:3]).as_matrix(), way / np.linalg.norm(way)


def _misses_px(
    matches: _Matches, turn: NDArray[np.float64], way: NDArray[np.float64], focal_px: float
) -> NDArray[np.float64]:
    """How far matches lie off the lines on which a pose has them, px, shape (K,)."""
    x, y, z = way
    essential = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]]) @ turn
    lines, back = matches.first @ essential.T, matches.second @ essential
    size = np.sqrt((lines[:, :2] ** 2).sum(axis=1) + (back[:, :2] ** 2).sum(axis=1))
    return np.asarray(focal_px * (matches.second * lines).sum(axis=1) / np.maximum(size, 1e-12))


def _nearness(
    matches: _Matches, turn: NDArray[np.float64], way: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Inverse depth of matches in the first picture, in 1/steps, shape (K,)."""
    turned = np.cross(matches.second, matches.first @ turn.T)
    stepped = np.cross(matches.second, way)
    size = np.maximum((stepped**2).sum(axis=1), 1e-18)
    return np.asarray(-(turned * stepped).sum(axis=1) / size)


def _pose_doubt(
    matches: _Matches,
    here: NDArray[np.float64],
    pose: _Found,
    agree: NDArray[np.bool_],
    focal_px: float,
) -> tuple[float, float]:
    """Doubt of inverse depth from where the matches lie (1/steps), and from the focal length.

    Halves of the picture's tiles are drawn, not single matches, as neighbours err together; every
    depth follows the pose, so this is no error that more matching takes away.
    """
    turn, way, numbers = pose
    usual = _nearness(matches, turn, way)[agree]
    span = np.maximum(np.ptp(here, axis=0), 1e-9)
    column, row = ((here - here.min(axis=0)) / span * (7.999, 5.999)).astype(np.intp).T
    tile = 8 * row + column
    rng = np.random.default_rng(1)
    off = []
    for _ in range(_DRAWS):
        drawn = (rng.random(_TILES) < _DRAWN_SHARE)[tile]
        if drawn.sum() < _LEAST_MATCHES // 2:
            return np.inf, np.inf
        found = _fitted(matches.kept(drawn), focal_px, numbers)
        off.append(float(np.median((_nearness(matches, *found[:2])[agree] - usual) ** 2)))
    longer = np.array([1.0 / (1.0 + _FOCAL_DOUBT), 1.0 / (1.0 + _FOCAL_DOUBT), 1.0])
    other = _Matches(matches.first * longer, matches.second * longer)
    found = _fitted(other, (1.0 + _FOCAL_DOUBT) * focal_px, numbers)
    nearness = _nearness(other, *found[:2])[agree]
    with np.errstate(divide="ignore", invalid="ignore"):
        focal = float(np.nanmedian(np.abs(nearness / usual - 1.0)))
    return math.sqrt(float(np.mean(off))), focal


def _rectified(
    cv2: Any,
    greys: list[NDArray[np.uint8]],
    matrix: NDArray[np.float64],
    pose: _Pose,
) -> _Rectified:
    height, width = greys[0].shape
    size = (width, height)
    flags = cv2.CALIB_ZERO_DISPARITY
    way = pose.way[:, None]
    turns = cv2.stereoRectify(
        matrix, None, matrix, None, size, pose.turn, way, flags=flags, alpha=0
    )
    level = []
    for grey, rotation, projection in zip(greys, turns[:2], turns[2:4], strict=True):
        maps = cv2.initUndistortRectifyMap(
            matrix, None, rotation, projection[:, :3], size, cv2.CV_32FC1
        )
        level.append(cv2.remap(grey, *maps, cv2.INTER_LINEAR))
    return _Rectified((level[0], level[1]), turns[0], turns[2][:, :3], float(turns[3][0, 3]))


def _depth_of(
    disparity: NDArray[np.float32],
    depth_m: NDArray[np.floating],
    step_m: float,
    shrink: float,
    doubt_per_m: float,
    *,
    focal_doubt: float = 0.0,
) -> DepthMap:
    """The doubt of inverse depth (1/m) is the same near and far, so the far is less sure."""
    usable = (disparity > 0.2) & np.isfinite(depth_m) & (depth_m > 0)
    share = float(usable.mean())
    if share < _LEAST_MATCHED:
        raise InputError(
            f"only {100 * share:.0f} % of the two pictures matches, less than "
            f"{100 * _LEAST_MATCHED:.0f} %, and the rest would be made up: check that they show "
            "the same subject from places side by side, with one lens"
        )
    depth = np.where(usable, depth_m, np.nan).astype(np.float32)
    with np.errstate(divide="ignore", invalid="ignore"):
        pixel = np.hypot(_DOUBT_PX / shrink / disparity, doubt_per_m * depth)
        unsure = np.where(usable, np.hypot(pixel, focal_doubt), np.nan).astype(np.float32)
    remark = f"{100 * share:.0f} % of the picture was matched"
    return DepthMap(
        depth, f"a stereo pair a step of {length_words(step_m)} apart", unsure, (remark,)
    )


def offset_unsaid(made: DepthMap, camera: Camera, step_m: float) -> DepthMap:
    """Depth from disparity with the doubt of an offset that nobody said, and told so."""
    per_m = _OFFSET_SHARE * camera.width_px / (camera.focal_px * step_m)
    far = np.where(np.isposinf(made.depth_m), np.float32(0.0), made.depth_m)
    doubt = np.hypot(np.nan_to_num(made.uncertainty), per_m * far).astype(np.float32)
    return replace(made, uncertainty=doubt, remarks=(*made.remarks, _NO_OFFSET))


def _check_pair(first: NDArray[np.float32], second: NDArray[np.float32], step_m: float) -> None:
    if first.shape != second.shape:
        raise InputError(
            f"the two pictures are {first.shape[1]} x {first.shape[0]} and {second.shape[1]} x "
            f"{second.shape[0]} px: a pair must be of one size"
        )
    if not (np.isfinite(step_m) and step_m > 0):
        raise InputError(f"the step between the pictures must be above 0 m, not {step_m!r}")


def _nearest(
    size: tuple[int, ...], small: tuple[int, ...]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    row, column = (
        ((np.arange(length) + 0.5) * count / length).astype(np.intp)
        for length, count in zip(size, small, strict=True)
    )
    return row, column

"""Depth from two pictures taken a step apart, matched by OpenCV.

Disparity d of a rectified pair gives ``z = f b / d`` with the step b. Matching is semi-global
(H. Hirschmüller, 2008), checked from left to right and back; where the two do not agree is a
hole. Pictures held by hand are rectified from their own features first.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import DepthMap
from render.depth.sampling import coded_grey, reduced
from render.errors import InputError
from render.extras import needed
from render.optics.camera import Camera
from render.words import metres

__all__ = ["by_features", "by_rectified", "disparity_of"]

_LONG_SIDE_PX = 1200
_AGREE_PX = 1.5
_DOUBT_PX = 0.5  # of a match
_LEAST_MATCHES = 40
_LEAST_MATCHED = 0.4  # share of the picture
_DRAWS, _DRAWN_SHARE = 6, 0.5  # of the matches, to see how sure the pose is
_MOST_POSE_DOUBT = 0.5
_PURPOSE = "matching a stereo pair"


def by_rectified(
    left: NDArray[np.float32],
    right: NDArray[np.float32],
    camera: Camera,
    baseline_m: float,
    *,
    offset_px: float = 0.0,
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
    offset_px : float
        Added to each disparity: how far the two principal points lie apart.

    Returns
    -------
    DepthMap
        With holes (NaN) where the two do not match; the uncertainty is half a pixel's.

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
    full = disparity[np.ix_(row, column)] + np.float32(offset_px)
    return _depth_of(full, camera.focal_px * baseline_m / full, baseline_m, shrink)


def by_features(
    first: NDArray[np.float32], second: NDArray[np.float32], camera: Camera, step_m: float
) -> DepthMap:
    """Depth of the first of two pictures taken a sideways step apart with one lens.

    Features (SIFT, D. G. Lowe, 2004) give rotation and direction of the step, the step's length
    the metres.

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
    turn, way, pose_doubt = _pose(cv2, one, other, matrix)
    rectified = _rectified(cv2, [one, other], matrix, turn, way)
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
    return _depth_of(at / np.float32(shrink), depth, step_m, shrink, pose_doubt)


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
) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Rotation and unit translation ``P2 = R P1 + t`` from matched features, and their doubt."""
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
    if not np.median(np.linalg.norm(here - there, axis=1)) > 0.002 * first.shape[1]:
        raise same
    cv2.setRNGSeed(1)
    essential, mask = cv2.findEssentialMat(here, there, matrix, cv2.RANSAC, 0.999, 1.0)
    if essential is None or essential.shape != (3, 3) or int(mask.sum()) < _LEAST_MATCHES:
        raise few
    _, turn, way, mask = cv2.recoverPose(essential, here, there, matrix, mask=mask)
    keep = mask.ravel() > 0
    if int(keep.sum()) < _LEAST_MATCHES // 2:
        raise few
    homography = matrix @ turn @ np.linalg.inv(matrix)
    turned = np.hstack([here[keep], np.ones((int(keep.sum()), 1))]) @ homography.T
    left_over = np.linalg.norm(turned[:, :2] / turned[:, 2:] - there[keep], axis=1)
    if not np.median(left_over) > 0.002 * first.shape[1]:
        raise same
    place = -turn.T @ way.ravel()
    if abs(place[0]) < 0.8:
        raise InputError(
            "the second picture was not taken from beside the first: step to the side, neither "
            "forward nor up"
        )
    doubt = _pose_doubt(cv2, here[keep], there[keep], matrix, (turn, way))
    if not doubt < _MOST_POSE_DOUBT:
        raise InputError(
            "the two pictures do not fix how the camera moved between them (distances differ by "
            f"{100 * min(doubt, 9.99):.0f} % with the places they are taken from): take a longer "
            "step, hold the camera level, or calibrate the pair and add --rectified"
        )
    return np.asarray(turn), np.asarray(way), doubt


def _pose_doubt(
    cv2: Any,
    here: NDArray[np.float64],
    there: NDArray[np.float64],
    matrix: NDArray[np.float64],
    pose: tuple[NDArray[np.float64], NDArray[np.float64]],
) -> float:
    """Relative scatter of the matches' depths over poses found from half of them each.

    A short step fixes turn and direction badly, and every depth follows them together, so this
    is no error that more matching takes away.
    """
    usual = _triangulated(cv2, here, there, matrix, *pose)
    rng = np.random.default_rng(1)
    off = []
    for _ in range(_DRAWS):
        drawn = rng.random(len(here)) < _DRAWN_SHARE
        essential, mask = cv2.findEssentialMat(
            here[drawn], there[drawn], matrix, cv2.RANSAC, 0.999, 1.0
        )
        if essential is None or essential.shape != (3, 3):
            return np.inf
        _, turn, way, _ = cv2.recoverPose(essential, here[drawn], there[drawn], matrix, mask=mask)
        other = _triangulated(cv2, here, there, matrix, turn, way)
        both = (usual > 0) & (other > 0)
        if both.mean() < 0.5:
            return np.inf
        off.append(float(np.median(np.abs(np.log(other[both] / usual[both])))))
    return 1.48 * float(np.median(off))


def _triangulated(
    cv2: Any,
    here: NDArray[np.float64],
    there: NDArray[np.float64],
    matrix: NDArray[np.float64],
    turn: NDArray[np.float64],
    way: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Depth of matches in the first picture, in steps, shape (K,)."""
    first = matrix @ np.hstack([np.eye(3), np.zeros((3, 1))])
    second = matrix @ np.hstack([turn, way.reshape(3, 1)])
    points = cv2.triangulatePoints(first, second, here.T.copy(), there.T.copy())
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(points[2] / points[3])


def _rectified(
    cv2: Any,
    greys: list[NDArray[np.uint8]],
    matrix: NDArray[np.float64],
    turn: NDArray[np.float64],
    way: NDArray[np.float64],
) -> _Rectified:
    height, width = greys[0].shape
    size = (width, height)
    turns = cv2.stereoRectify(
        matrix, None, matrix, None, size, turn, way, flags=cv2.CALIB_ZERO_DISPARITY, alpha=0
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
    pose_doubt: float = 0.0,
) -> DepthMap:
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
        pixel = np.hypot(_DOUBT_PX / shrink / disparity, pose_doubt)
        unsure = np.where(usable, pixel, np.nan).astype(np.float32)
    remark = f"{100 * share:.0f} % of the picture was matched"
    return DepthMap(depth, f"a stereo pair a step of {metres(step_m)} apart", unsure, (remark,))


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

"""exact.py [SCENE ...]: how near the engine comes to the exact lens once noise is taken out.

Both pictures are made in independent parts: each takes its rays through other places of the
pixel, its first sample too, and of the iris.  The product of the errors of two parts has the mean
that the squared error would have without any noise, of the plain picture and of the exact lens
alike; the rest of the plain squared error is noise.  Errors are of light, times the slope of the
sRGB curve there: codes of noisy light would be too dark on the mean.  With noise it is the error
of the first part, whose samples lie where the program lays them.
The standard error comes from leaving out one of
three or more parts at a time.  "whole pixels": the same plain picture without its quarters.
"""

import argparse
import functools
import itertools
import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter
from scipy.stats import qmc

from render.engine.holes import find_parts
from render.engine.photograph import photograph
from render.load.prepared import Prepared
from render.load.scenes import list_scenes, one_lens, prepare_scene
from render.optics.blur import blur_field
from render.optics.camera import Sensor
from render.optics.plane import focus_lens
from render.scene.colour import SRGB_CURVE
from render.scene.scene import Scene
from render.shot.shot import DemoKeys, Shot
from render.trace import trace
from render.trace.columns import Eye
from render.trace.exact import trace_exact
from render.trace.spread import pixel_offsets

Places = NDArray[np.float64]

#: Pixels that a part is moved by, so that no pixel sends the same rays in two.
_MOVED_PX = (0, 3, 5, 6, 7)


#: Directions of edges by which places in a pixel are told apart, along which they are looked at
#: from so many offsets; how many samples pixels stop at; draws among which a part finds its own.
_EDGES_RAD, _OFFSETS = np.arange(16) * (math.pi / 16), np.linspace(-0.7, 0.7, 71)
_STOPS, _DRAWS = (1, 4, 8, 16, 32), 200


def _missed(points: Places) -> list[Places]:
    """By how much of a pixel its first samples miss the share that an edge covers.

    One array for each number at which pixels stop, (directions, offsets), of length 1.
    """
    toward = np.stack([np.cos(_EDGES_RAD), np.sin(_EDGES_RAD)])
    fine = (np.arange(64) + 0.5) / 64
    grid = np.stack(np.meshgrid(fine, fine), axis=-1).reshape(-1, 2)

    def covered(places: Places) -> Places:
        along = np.sort((places - 0.5) @ toward, axis=0)
        found = [np.searchsorted(line, _OFFSETS) for line in along.T]
        return np.array(found) / len(places)

    whole = covered(grid)
    missed = [covered(points[:stop]) - whole for stop in _STOPS if stop <= len(points)]
    return [one / np.linalg.norm(one) for one in missed]


def _first(part: int) -> Places:
    """Where the first sample of a part goes."""
    return np.array([0.5, 0.5]) if part == 0 else np.random.default_rng(part).uniform(0.2, 0.8, 2)


@functools.cache
def _places(part: int, samples: int) -> Places:
    """Where the samples of a part go: the program's own places for the first.

    Those of the others miss edges where no part before does: of many drawn at random, the set
    whose errors at edges of all directions go least with theirs, wherever a pixel stops.  Merely
    moved, as one after another group lies round the centre again, they would miss the same.
    """
    if part == 0:
        return pixel_offsets(samples)
    before = [_missed(_places(other, samples)) for other in range(part)]
    rng, best, least = np.random.default_rng(part), pixel_offsets(samples), math.inf
    for _ in range(_DRAWS):
        points = qmc.Sobol(2, scramble=True, rng=rng).random(samples)
        points = (points - points[0] + 0.5) % 1.0
        points[0] = _first(part)
        start, stop = 1, 4
        while start < samples:
            kept = points[:start].sum(axis=0) if start == 1 else 0.5 * start
            points[start:stop] += (0.5 * stop - kept) / (stop - start) - points[start:stop].mean(0)
            start, stop = stop, 2 * stop
        missed = _missed(points)
        alike = max(
            abs(float(np.sum(mine * theirs)))
            for other in before
            for mine, theirs in zip(missed, other, strict=True)
        )
        if alike < least:
            best, least = points, alike
    return best


@contextmanager
def _other_places(part: int) -> Iterator[None]:
    """Samples through other places of each pixel, the first among them.

    The program takes soft light and looks for what shades from where the first sample landed,
    which it knows by the depth at the pixel's centre: what it reads there must be seen from an eye
    moved as far as that sample is, or half of these places would lie under the ground.
    """
    usual = trace.pixel_offsets, trace.over_rows, trace.sun_seen
    right, down = _first(part) - 0.5

    def moved(eye: Eye) -> Eye:
        return eye._replace(centre_x=eye.centre_x - right, centre_y=eye.centre_y - down)

    def over_rows(loop: object, *made: object) -> None:
        found = [moved(it) if isinstance(it, Eye) else it for it in made]
        usual[1](loop, *(found if loop is trace.soft_pass else made))

    trace.pixel_offsets = lambda samples: _places(part, samples)
    trace.over_rows = over_rows
    trace.sun_seen = lambda *made: usual[2](*made[:-1], moved(made[-1]))
    try:
        yield
    finally:
        trace.pixel_offsets, trace.over_rows, trace.sun_seen = usual


def plain_part(prepared: Prepared, part: int, samples: int) -> Scene:
    """The plain picture of one part."""
    view, built = prepared.view, prepared.built
    view = replace(view, margin_px=view.margin_px + _MOVED_PX[part])
    only = one_lens(prepared.setting, view.camera())
    with _other_places(part):
        return trace.trace_built(
            *(prepared.description, built, view),
            samples=samples,
            behind_px=view.margin_px,
            only=only,
        )


def exact_part(prepared: Prepared, part: int, rays: int) -> NDArray[np.float32]:
    """Light through the lens itself of one part."""
    view, move = replace(prepared.view, margin_px=0), _MOVED_PX[part]
    wide, high = view.width_px + 2 * move, view.height_px + 2 * move
    mm = view.sensor.width_mm / view.width_px
    wider = replace(view, width_px=wide, sensor=Sensor(wide * mm, high * mm))
    light = trace_exact(prepared.built, wider, prepared.setting, samples=rays)
    return light[move : high - move, move : wide - move]


Pictures = list[NDArray[np.float32]]

#: Samples of the picture that tells codes for light.
_TELLING = 64


def coding(prepared: Prepared, part: int) -> NDArray[np.float32]:
    """How fast sRGB codes grow with light at each place; 0 where it clips.

    By a picture of its own, of many samples through other places than any `part` before: by the
    exact lens' light, places where both its parts are dark by chance would count more than those
    where both are bright, and by the engine's, a bulb that it has found would clip and not count
    where one that it has missed does; either looks like an error that parts share.
    """
    light = photograph(plain_part(prepared, part, _TELLING), prepared.setting).light
    step = np.float32(1e-3)
    slope = (SRGB_CURVE.encode(light + step) - SRGB_CURVE.encode(light)) / step
    return np.where(light < 1, slope, 0).astype(np.float32)


def noisy(engine: Pictures, exact: Pictures) -> float:
    """Mean squared error with the noise of the engine's picture, without that of the exact lens."""
    found = [(engine[0] - exact[a]) * (engine[0] - exact[b]) for a, b in _pairs(len(exact))]
    return float(np.mean(found))


def quiet(engine: Pictures, exact: Pictures) -> NDArray[np.float64]:
    """Squared error of each pixel without any noise (which may fall below 0), (h, w)."""
    errors = [e - x for e, x in zip(engine, exact, strict=True)]
    found = [errors[a] * errors[b] for a, b in _pairs(len(errors))]
    return np.asarray(np.mean(found, axis=(0, 3)))


def _pairs(count: int) -> list[tuple[int, int]]:
    return [(a, b) for a in range(count) for b in range(count) if a != b]


def db(square: float) -> float:
    """PSNR of a mean squared error of coded values."""
    return -10 * math.log10(max(square, 1e-9))


def quiet_db(engine: Pictures, exact: Pictures) -> str:
    """PSNR without noise, in words with its standard error (jackknife) where that can be told."""
    found, count = f"{db(quiet(engine, exact).mean()):.1f}", len(exact)
    if count < 3:
        return found
    without = [
        db(quiet(engine[:k] + engine[k + 1 :], exact[:k] + exact[k + 1 :]).mean())
        for k in range(count)
    ]
    return f"{found} +- {math.sqrt(count - 1) * np.std(without):.2f}"


def where_it_lies(prepared: Prepared, scene: Scene, square: NDArray[np.float64]) -> str:
    """Share of the error, share of the frame and PSNR, by blur and round depth edges."""
    field = blur_field(focus_lens(prepared.setting), scene.camera, scene.depth_m)
    frame, radius = scene.frame, np.abs(field.radius_px())
    parted = find_parts(field).flags[frame.rows, frame.columns] > 0
    radius = radius[frame.rows, frame.columns]
    edge = maximum_filter(parted, 5)
    kinds = {"at and behind depth edges": edge}
    for low, high in itertools.pairwise((0, 0.5, 1.2, 3, math.inf)):
        kinds[f"{low:g} to {high:g} px"] = ~edge & (radius >= low) & (radius < high)
    return "; ".join(
        f"{kind} {square[at].sum() / square.sum():.0%} of it on {at.mean():.0%}, "
        f"{db(square[at].mean()):.1f} dB"
        for kind, at in kinds.items()
        if at.mean() > 0.005
    )


def main() -> None:
    """Print for each scene how near the engine comes, and where its error lies."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("scenes", nargs="*", help="all of them unless some are named")
    parser.add_argument("--width", type=int, default=480)
    parser.add_argument("--rays", type=int, default=64, help="of the exact lens, in each part")
    parser.add_argument("--samples", type=int, default=16, help="of the plain picture")
    parser.add_argument("--parts", type=int, default=2, choices=(2, 3, 4))
    options = parser.parse_args()
    parts = range(options.parts)
    for name in options.scenes or [line.name for line in list_scenes()]:
        shot = Shot(scene=name, demo=DemoKeys(width_px=options.width))
        prepared = prepare_scene(shot, lambda *_: None, samples=1, behind=False)
        scenes = [plain_part(prepared, part, options.samples) for part in parts]
        lights = [exact_part(prepared, part, options.rays) for part in parts]
        taken = [photograph(scene, prepared.setting).light for scene in scenes]
        per_light = coding(prepared, options.parts)
        exact = [light * per_light for light in lights]
        whole = [replace(scene, finer=None) for scene in scenes]
        for what, pictures in (
            ("whole pixels", [photograph(scene, prepared.setting).light for scene in whole]),
            ("quarters", taken),
        ):
            engine = [light * per_light for light in pictures]
            square = quiet(engine, exact)
            print(
                f"{name}, {what}: {db(noisy(engine, exact)):.1f} dB, without noise "
                f"{quiet_db(engine, exact)} dB; {where_it_lies(prepared, scenes[0], square)}",
                flush=True,
            )


if __name__ == "__main__":
    main()

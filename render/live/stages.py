"""Demo scenes that stay traced while the lens is turned: a draft at once, a clean picture later.

Tracing takes seconds and holds its process, so it is done in two of their own: one for drafts,
one for clean pictures, which is ended when the vantage has changed meanwhile.
"""

import contextlib
import math
import multiprocessing
import signal
from collections import OrderedDict
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from render.errors import HingelineError, InputError
from render.load.named import named_things, thing_found
from render.load.plan import planned_on
from render.load.prepared import Prepared
from render.load.scenes import prepare_scene, scene_of, stance_of
from render.optics.camera import Window
from render.shot.keys import PictureSpot
from render.shot.shot import LensKeys, Shot
from render.trace.build import Built
from render.trace.builds import built_scene

__all__ = ["Stages", "Traced", "width_for"]

_MOST_TRACED = 6
_DRAFT_WIDTH_PX, _DRAFT_SAMPLES = 256, 2
_HALF_SAMPLES, _CLEAN_SAMPLES = 4, 16
#: Clean pictures come in steps, so that a window made a little wider needs no new one.
_WIDTH_STEP_PX, _MOST_WIDTH_PX = 128, 1024
_DRAFT_SECONDS = 90.0


@dataclass(frozen=True, slots=True)
class _Wish:
    """A picture to trace; it is clean if it is as wide as it will become."""

    stand: Shot
    width_px: int
    last_px: int

    @property
    def clean(self) -> bool:
        return self.width_px == self.last_px


@dataclass(frozen=True, slots=True, eq=False)
class Traced:
    """A traced scene, and where its camera stands.

    Attributes
    ----------
    prepared : Prepared
    heading_deg, distance_m : float
        Compass heading, and the level distance to the scene's subject.
    """

    prepared: Prepared
    heading_deg: float
    distance_m: float


class _Tracer:
    """A process that traces one wish after another."""

    def __init__(self) -> None:
        self._process: BaseProcess | None = None
        self._line: Connection | None = None
        self.working_on: _Wish | None = None
        self.share = 0.0

    def ask(self, wish: _Wish) -> None:
        """Begin; the process is started if there is none."""
        if self._process is None or not self._process.is_alive() or self._line is None:
            context = multiprocessing.get_context("spawn")
            self._line, theirs = context.Pipe()
            self._process = context.Process(target=_trace, args=(theirs,), daemon=True)
            self._process.start()
            theirs.close()
        self.working_on, self.share = wish, 0.0
        self._line.send(wish)

    def answer(self, patience_s: float) -> Traced | HingelineError | None:
        """What was traced, or None if it is not done by then."""
        if self.working_on is None or self._line is None:
            return None
        try:
            while self._line.poll(patience_s):
                found = self._line.recv()
                if not isinstance(found, float):
                    self.working_on = None
                    return found  # type: ignore[no-any-return]
                self.share = found
        except (EOFError, OSError):
            self.close()
            return InputError("tracing ended before it was done: there may be too little memory")
        return None

    def close(self) -> None:
        """End it, whatever it is doing."""
        self.working_on = None
        if self._process is not None:
            self._process.kill()
            self._process.join(timeout=5)
        if self._line is not None:
            self._line.close()
        self._process = self._line = None


class Stages:
    """Keeps what was traced last. One task at a time: it is not for several threads."""

    def __init__(self) -> None:
        self._traced: OrderedDict[Shot, Traced] = OrderedDict()
        self._drafts, self._clean = _Tracer(), _Tracer()

    def planned(self, shot: Shot, wanted_px: int) -> Prepared:
        """Prepare a shot of a demo scene from the best picture that there is by now.

        Raises
        ------
        HingelineError
            As `prepare_scene`.
        """
        stand = _stand(shot)
        self._gather()
        if stand not in self._traced:
            self._draft(stand)
        self._finish(stand, width_for(self._traced[stand].prepared, wanted_px))
        self._traced.move_to_end(stand)
        return _planned(shot, self._traced[stand].prepared)

    def stance(self, shot: Shot) -> dict[str, float | None]:
        """Heading and distance of a shot that was planned, and how much of it is yet to come.

        On a map there is no subject to keep a distance from: None.
        """
        traced = self._traced[_stand(shot)]
        return {
            "heading": traced.heading_deg,
            "distance": None if shot.on_map else traced.distance_m,
            "waiting": self.waiting(shot),
        }

    def waiting(self, shot: Shot) -> float | None:
        """Share of the clean picture of this vantage that is done; None if none is on its way."""
        wish = self._clean.working_on
        return self._clean.share if wish is not None and wish.stand == _stand(shot) else None

    def close(self) -> None:
        """End both processes."""
        self._drafts.close()
        self._clean.close()

    def _draft(self, stand: Shot) -> None:
        wish = _Wish(stand, _DRAFT_WIDTH_PX, _MOST_WIDTH_PX)
        self._drafts.ask(wish)
        found = self._drafts.answer(_DRAFT_SECONDS)
        if found is None:
            self._drafts.close()
            raise InputError("this scene takes too long to trace: try another")
        if isinstance(found, HingelineError):
            raise found
        self._keep(stand, found)

    def _finish(self, stand: Shot, width_px: int) -> None:
        """Have the clean picture made, unless there is one or it is on its way."""
        working, here = self._clean.working_on, self._traced[stand].prepared
        if here.scene.frame.width >= width_px:
            return
        if working is not None and working.stand == stand:
            return
        if working is not None:
            self._clean.close()
        self._clean.ask(_Wish(stand, min(width_px, 2 * here.scene.frame.width), width_px))

    def _gather(self) -> None:
        wish = self._clean.working_on
        found = self._clean.answer(0.0)
        if wish is not None and isinstance(found, Traced):
            self._keep(wish.stand, found)

    def _keep(self, stand: Shot, found: Traced) -> None:
        self._traced[stand] = found
        while len(self._traced) > _MOST_TRACED:
            self._traced.popitem(last=False)


def width_for(prepared: Prepared, wanted_px: int) -> int:
    """Width at which a frame of this shape has about so many pixels, in steps."""
    shape = prepared.scene.frame.width / prepared.scene.frame.height
    steps = round(math.sqrt(wanted_px * shape) / _WIDTH_STEP_PX)
    return min(max(2, steps) * _WIDTH_STEP_PX, _MOST_WIDTH_PX)


def _stand(shot: Shot) -> Shot:
    """The part of a shot that a traced picture depends on."""
    keys = shot.lens
    lens = LensKeys(
        focal_mm=keys.focal_mm,
        lens_file=keys.lens_file,
        rise_mm=keys.rise_mm,
        lateral_mm=keys.lateral_mm,
    )
    return replace(shot, lens=lens, demo=replace(shot.demo, width_px=None), written=())


def _planned(shot: Shot, traced: Prepared) -> Prepared:
    """Turn the lens of a traced scene: what the shot leaves open follows the scene."""
    start, keys = traced.shot, shot.lens
    given = {
        name: value
        for name in LensKeys.__dataclass_fields__
        if (value := getattr(keys, name)) is not None
    }
    if isinstance(keys.focus, PictureSpot):
        given["focus"] = _in_whole(keys.focus, traced.scene.frame, traced)
    things = traced.things or {}
    whole = replace(start, lens=replace(start.lens, **given))
    scene, planned = planned_on(thing_found(whole, traced.scene, things), traced.scene)
    named, unseen = named_things(whole, scene, things)
    return replace(
        traced,
        shot=shot,
        scene=scene,
        setting=planned.setting,
        sensor=planned.sensor,
        limits=planned.limits,
        named=named,
        notes=(*traced.notes, *planned.notes, *unseen),
    )


def _in_whole(spot: PictureSpot, frame: Window, traced: Prepared) -> PictureSpot:
    """A spot of the frame, as a share of the traced picture with its margin."""
    camera = traced.scene.camera
    asked = traced.shot.demo.width_px or frame.width
    scale = frame.width / asked
    x = spot.x * frame.width if spot.x_is_share else spot.x * scale
    y = spot.y * frame.height if spot.y_is_share else spot.y * scale
    return PictureSpot(
        (frame.left + x) / camera.width_px,
        (frame.top + y) / camera.height_px,
        x_is_share=True,
        y_is_share=True,
    )


def _trace(line: Connection) -> None:
    """Run in the process of its own until nobody listens."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    built: tuple[object, Built] | None = None
    with contextlib.suppress(EOFError, OSError):
        while True:
            wish: _Wish = line.recv()
            time_s = wish.stand.demo.time_s or 0.0
            what = wish.stand.scene, wish.stand.place, time_s
            try:
                if built is None or built[0] != what:
                    built = what, built_scene(scene_of(wish.stand), time_s)
                found: object = _traced(wish, built[1], line)
            except HingelineError as error:
                found = error
            line.send(found)


def _traced(wish: _Wish, built: Built, line: Connection) -> Traced:
    shot = replace(wish.stand, demo=replace(wish.stand.demo, width_px=wish.width_px))
    prepared = prepare_scene(
        shot,
        lambda _, share: line.send(float(share)),
        samples=_CLEAN_SAMPLES if wish.clean else _samples(wish.width_px),
        behind=wish.clean,
        built=built,
    )
    heading_deg, distance_m = stance_of(prepared)
    return Traced(prepared, heading_deg, distance_m)


def _samples(width_px: int) -> int:
    return _DRAFT_SAMPLES if width_px == _DRAFT_WIDTH_PX else _HALF_SAMPLES

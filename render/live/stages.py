"""Demo scenes that stay traced while the lens is turned: a draft at once, a clean picture later.

Tracing takes seconds and holds its process, so it is done in two of their own: one for drafts,
one for what follows, which is ended when the vantage has changed meanwhile. First that makes
the picture that `judge` looks at, so that both say the same, then the clean one. No size follows
the window's: what is said must not.
"""

import contextlib
import multiprocessing
import signal
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from render.errors import HingelineError, InputError
from render.load.named import focus_unseen, named_things, thing_found
from render.load.plan import planned_on
from render.load.prepared import Prepared
from render.load.scenes import USUAL_WIDTH_PX, open_words, prepare_scene, scene_of, stance_of
from render.optics.camera import Window
from render.shot.belonging import refuse_strange
from render.shot.declaring import PictureSpot
from render.shot.shot import LensKeys, Shot
from render.shot.things import ThingName
from render.trace.build import Built, at_moment
from render.trace.builds import built_scene

__all__ = ["LeftError", "Stages", "Traced"]

_MOST_TRACED = 6
#: The first time on a machine all that traces is compiled meanwhile.
_DRAFT_SECONDS = 280.0
#: So often it is asked meanwhile whether the draft is still waited for, s.
_ASKED_EVERY_S = 0.2


class LeftError(Exception):
    """The draft of a scene is no longer waited for; it is made all the same."""


@dataclass(frozen=True, slots=True)
class _Step:
    """How finely a picture is traced."""

    width_px: int
    samples: int
    behind: bool


_DRAFT = _Step(256, 2, behind=False)
#: As `judge` traces what it looks at.
_JUDGED = _Step(1280, 1, behind=False)
_CLEAN = _Step(1280, 16, behind=True)
_STEPS = (_DRAFT, _JUDGED, _CLEAN)


@dataclass(frozen=True, slots=True)
class _Wish:
    """A picture to trace."""

    stand: Shot
    step: _Step


@dataclass(frozen=True, slots=True, eq=False)
class Traced:
    """A traced scene, and where its camera stands.

    Attributes
    ----------
    prepared : Prepared
    heading_deg, distance_m : float
        Compass heading, and the level distance to the scene's subject.
    things : tuple of str
        Names of what can be focused on.
    """

    prepared: Prepared
    step: _Step
    heading_deg: float
    distance_m: float
    things: tuple[str, ...]


class _Tracer:
    """A process that traces one wish after another."""

    def __init__(self) -> None:
        self._process: BaseProcess | None = None
        self._line: Connection | None = None
        self.working_on: _Wish | None = None
        self.at: tuple[str, float] = ("", 0.0)

    def ask(self, wish: _Wish) -> None:
        """Begin; the process is started if there is none."""
        if self._process is None or not self._process.is_alive() or self._line is None:
            context = multiprocessing.get_context("spawn")
            self._line, theirs = context.Pipe()
            self._process = context.Process(target=_trace, args=(theirs,), daemon=True)
            self._process.start()
            theirs.close()
        self.working_on, self.at = wish, ("starting", 0.0)
        self._line.send(wish)

    def answer(self, patience_s: float) -> Traced | HingelineError | None:
        """What was traced, or None if it is not done by then."""
        if self.working_on is None or self._line is None:
            return None
        try:
            while self._line.poll(patience_s):
                found = self._line.recv()
                if not isinstance(found, tuple):
                    self.working_on = None
                    return found  # type: ignore[no-any-return]
                self.at = found
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
    """Keeps what was traced last. One task at a time: it is not for several threads.

    Parameters
    ----------
    left : callable
        Whether whoever waits for a draft wants something else by now.
    """

    def __init__(self, left: Callable[[], bool] = lambda: False) -> None:
        self._left, self._awaited = left, False
        self._traced: OrderedDict[Shot, Traced] = OrderedDict()
        self._judged: dict[Shot, Prepared] = {}
        self._drafts, self._clean = _Tracer(), _Tracer()
        #: Vantages whose picture was ended for the one that is being made.
        self._ended: set[Shot] = set()

    def planned(self, shot: Shot, *, passing: bool = False) -> Prepared:
        """Prepare a shot of a demo scene from the best picture that there is by now.

        Parameters
        ----------
        passing : bool
            A draft is enough: no better picture of this moment is begun.

        Raises
        ------
        HingelineError
            As `prepare_scene`.
        LeftError
            If something else is wanted before there is a draft.
        """
        stand = self._stood(shot, passing=passing)
        return self._said(shot, stand, _planned(shot, self._traced[stand].prepared))

    def judged(self, shot: Shot) -> Prepared:
        """Prepare a shot from what `judge` looks at; from a draft until that is there."""
        stand = self._stood(shot)
        found = self._judged.get(stand) or self._traced[stand].prepared
        return _planned(shot, found)

    def heed_name(self, shot: Shot, thing: ThingName) -> None:
        """Refuse a thing to focus on that is not there, or not seen, where a shot is taken.

        Raises
        ------
        HingelineError
            As `render.load.named.thing_found`.
        """
        stand = self._stood(shot)
        named = replace(stand, lens=replace(stand.lens, focus=thing))
        _planned(named, self._traced[stand].prepared)

    def _stood(self, shot: Shot, *, passing: bool = False) -> Shot:
        refuse_strange(shot)
        stand = _stand(shot)
        self._gather()
        if stand not in self._traced:
            self._draft(stand)
        if not passing:
            self._finish(stand)
        self._traced.move_to_end(stand)
        return stand

    def _said(self, shot: Shot, stand: Shot, shown: Prepared) -> Prepared:
        """With the setting as it is judged: its focus spot has one depth at every size."""
        judged = self._judged.get(stand)
        if judged is None:
            return shown
        said = _planned(shot, judged)
        return replace(shown, setting=said.setting, assumed=said.assumed)

    def stance(self, shot: Shot) -> dict[str, Any]:
        """Heading and distance of a shot that was planned, and how much of it is yet to come.

        On a map there is no subject to keep a distance from: None.
        """
        traced = self._traced[_stand(shot)]
        return {
            "heading": traced.heading_deg,
            "distance": None if shot.on_map else traced.distance_m,
            "waiting": self.waiting(shot),
            "draft": self.drafted(shot),
            "things": traced.things,
            "on_map": shot.on_map,
        }

    def waiting(self, shot: Shot) -> float | None:
        """Share of the clean picture of this vantage that is done; None once it is there."""
        wish, stand = self._clean.working_on, _stand(shot)
        step = self._traced[stand].step
        if step == _CLEAN:
            return None
        share = self._clean.at[1] if wish is not None and wish.stand == stand else 0.0
        return 0.2 * share if step == _DRAFT else 0.2 + 0.8 * share

    def drafted(self, shot: Shot) -> bool:
        """Whether what `judge` looks at is not there yet: what is judged is a draft."""
        return _stand(shot) not in self._judged

    def at(self) -> tuple[str, float] | None:
        """What the draft that is waited for is at, and its share; None if none is made."""
        return self._drafts.at if self._awaited else None

    def close(self) -> None:
        """End both processes."""
        self._drafts.close()
        self._clean.close()

    def _draft(self, stand: Shot) -> None:
        working = self._drafts.working_on
        if working is None or working.stand != stand:
            if working is not None:
                self._drafts.close()
            self._drafts.ask(_Wish(stand, _DRAFT))
        found, end_s = None, time.monotonic() + _DRAFT_SECONDS
        self._awaited = True
        try:
            while found is None and time.monotonic() < end_s:
                found = self._drafts.answer(_ASKED_EVERY_S)
                if found is None and self._left():
                    raise LeftError
        finally:
            self._awaited = False
        if found is None:
            self._drafts.close()
            raise InputError("this scene takes too long to trace: try another")
        if isinstance(found, HingelineError):
            raise found
        self._keep(stand, found)

    def _finish(self, stand: Shot) -> None:
        """Have the next picture made, unless all are there or it is on its way.

        It takes the place of another vantage's, but not by turns: two that are both asked for
        again and again (tabs, a border between two lenses) would end each other for ever.
        """
        working, here = self._clean.working_on, self._traced[stand].step
        if here == _CLEAN or (working is not None and working.stand == stand):
            return
        if working is None:
            self._ended.clear()
        elif stand in self._ended:
            return
        else:
            self._ended.add(working.stand)
            self._clean.close()
        self._clean.ask(_Wish(stand, _STEPS[_STEPS.index(here) + 1]))

    def _gather(self) -> None:
        for tracer in (self._drafts, self._clean):
            wish = tracer.working_on
            found = tracer.answer(0.0)
            known = wish is not None and (wish.step == _DRAFT or wish.stand in self._traced)
            if wish is not None and known and isinstance(found, Traced):
                self._keep(wish.stand, found)

    def _keep(self, stand: Shot, found: Traced) -> None:
        self._traced[stand] = found
        if found.step == _JUDGED:
            self._judged[stand] = found.prepared
        while len(self._traced) > _MOST_TRACED:
            old, _ = self._traced.popitem(last=False)
            self._judged.pop(old, None)


def _stand(shot: Shot) -> Shot:
    """The part of a shot that a traced picture depends on."""
    keys = shot.lens
    lens = LensKeys(
        focal_mm=keys.focal_mm,
        lens_file=keys.lens_file,
        rise_mm=keys.rise_mm,
        lateral_mm=keys.lateral_mm,
    )
    demo = replace(shot.demo, width_px=None)
    return replace(shot, lens=lens, demo=demo, key_frames=(), written=(), own=())


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
    whole = replace(start, lens=replace(start.lens, **given), own=shot.own)
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
        times_smaller=(shot.demo.width_px or USUAL_WIDTH_PX) / scene.frame.width,
        assumed=replace(
            traced.assumed,
            left_open=tuple(open_words(shot, start.lens)),
            unfocused=traced.assumed.unfocused if keys.focus is None else (),
            lens=(
                *planned.notes,
                *focus_unseen(keys.focus, scene, planned.setting),
                *unseen,
            ),
        ),
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
    place = _Built()
    with contextlib.suppress(EOFError, OSError):
        while True:
            wish: _Wish = line.recv()
            try:
                found: object = _traced(wish, place.of(wish.stand, line), line)
            except HingelineError as error:
                found = error
            line.send(found)


class _Built:
    """The place last built. A second moment of it is not built anew: what moves is moved."""

    def __init__(self) -> None:
        self._what: object = None
        self._time_s = 0.0
        self._built: Built | None = None
        self._moves = False

    def of(self, stand: Shot, line: Connection) -> Built:
        """The place of a shot at its moment."""
        what, time_s = (stand.scene, stand.place), stand.demo.time_s or 0.0
        if self._built is None or self._what != what:
            line.send(("building the place", 0.0))
            self._built, self._moves = built_scene(scene_of(stand), time_s), False
        elif self._time_s != time_s:
            scene = scene_of(stand)
            if not self._moves:
                self._built, self._moves = built_scene(scene, time_s, moving=True), True
            else:
                self._built = at_moment(self._built, scene, time_s)
        self._what, self._time_s = what, time_s
        return self._built


def _traced(wish: _Wish, built: Built, line: Connection) -> Traced:
    step = wish.step
    shot = replace(wish.stand, demo=replace(wish.stand.demo, width_px=step.width_px))
    prepared = prepare_scene(
        shot,
        lambda what, share: line.send((what, float(share))),
        samples=step.samples,
        behind=step.behind,
        built=built,
    )
    heading_deg, distance_m = stance_of(prepared)
    things = tuple(prepared.things or ())
    # what it was built from stays here: it is large, and nothing outside walks through it
    told = prepared.description
    if told is not None:
        told = replace(told, things=(), materials={}, ground=None)
    light = replace(prepared, built=None, description=told)
    return Traced(light, step, heading_deg, distance_m, things)

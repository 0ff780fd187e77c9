"""A demo scene or map whose things move, seen through one lens at any moment."""

import math
from dataclasses import replace

import numpy as np

from render.errors import SettingError
from render.load.prepared import Prepared
from render.load.scenes import one_lens
from render.optics.lens import FocusSpot, LensSetting
from render.scene.scene import Scene
from render.trace.aim import in_camera, margin_for, spot_on, thing_spot
from render.trace.build import Built, at_moment
from render.trace.builds import built_scene
from render.trace.trace import View, soft_rays, trace_built

__all__ = ["MovingScene"]

_SAMPLES = 16


class MovingScene:
    """What a lens sees of a scene at any moment: samples stay in place, so only motion moves.

    Parameters
    ----------
    prepared : Prepared
        The scene as a still: its view, frame, margin and rays hold for the whole film.
    settings : sequence of LensSetting
        Through which it will be seen; the margin serves the widest blur of them.
    held : bool
        The only setting is the prepared one: what it cannot show is not traced.
    """

    def __init__(
        self, prepared: Prepared, settings: tuple[LensSetting, ...], *, held: bool = False
    ) -> None:
        assert prepared.view is not None, "a photo was taken for a scene"
        assert prepared.built is not None, "a photo was taken for a scene"
        assert prepared.description is not None, "a photo was taken for a scene"
        self._description = prepared.description
        built, view = prepared.built, prepared.view
        margin = max(margin_for(built, replace(view, margin_px=0), each) for each in settings)
        self._view = replace(view, margin_px=max(margin, view.margin_px))
        self._soft = soft_rays(built, self._view)
        self._only = one_lens(prepared.setting, self._view.camera()) if held else None
        self._window = prepared.scene.window
        self._shift = self._view.margin_px - view.margin_px
        self._pitched = prepared.shot.vantage.pitch_deg is not None or (
            prepared.description.vantage.level
        )
        self._start_s = prepared.shot.demo.time_s or 0.0
        self._moves = any(thing.moves for thing in self._description.things)
        if self._moves:
            built = built_scene(self._description, self._start_s, moving=True)
        self._built: tuple[float, Built] = (self._start_s, built)
        self._before: dict[str, tuple[float, float, float]] = {}
        self._seen: tuple[tuple[float, float | None], Scene] | None = None

    @property
    def moves(self) -> bool:
        """Whether anything in it moves."""
        return self._moves

    def scene(self, seconds: float, height_m: float | None = None) -> Scene:
        """The scene so many seconds after its beginning.

        From another height than the still's it goes on looking at the scene's subject, unless the
        shot gave a pitch.
        """
        at = (seconds if self._moves else 0.0, height_m)
        if self._seen is None or self._seen[0] != at:
            view = self._from(height_m)
            scene = trace_built(
                self._description, self._at(seconds), view,
                samples=_SAMPLES, behind_px=view.margin_px, soft=self._soft,
                only=self._only,
            )  # fmt: skip
            if self._window is not None:
                left, top = self._window.left + self._shift, self._window.top + self._shift
                scene = replace(scene, window=replace(self._window, left=left, top=top))
            self._seen = (at, scene)
        return self._seen[1]

    def spot(self, name: str, seconds: float, height_m: float | None = None) -> FocusSpot:
        """Where a named thing is seen at that moment, as a focus.

        Raises
        ------
        SettingError
            If nothing has that name, or it is behind the camera.
        """
        built = self._at(seconds)
        if name not in built.spots:
            raise SettingError(
                f'nothing here is called "{name}"; there are {", ".join(sorted(built.spots))}'
            )
        view = self._from(height_m)
        middle = spot_on(view, built.spots[name], name)
        if not any(row.moves and name in (*row.names, *row.spots) for row in built.placed):
            return thing_spot(built, view, name)
        if name not in self._before:
            self._before[name] = self._shown_before(name)
        x, y, z = np.array([middle.slope_x, middle.slope_y, 1.0]) * middle.depth_m
        dx, dy, dz = self._before[name]
        return FocusSpot((x + dx) / (z + dz), (y + dy) / (z + dz), z + dz) if z + dz > 0 else middle

    def _shown_before(self, name: str) -> tuple[float, float, float]:
        """From the middle of what moves to what is seen of it at first, m, in the camera's frame.

        Held, since each moment's own would jump from leg to leg of a walker.
        """
        built, view = self._at(0.0), self._view
        middle = in_camera(view, built.spots[name])
        if not middle[2] > 0:
            return 0.0, 0.0, 0.0
        spot = thing_spot(built, view, name)
        dx, dy, dz = np.array([spot.slope_x, spot.slope_y, 1.0]) * spot.depth_m - middle
        return float(dx), float(dy), float(dz)

    def _at(self, seconds: float) -> Built:
        moment = self._start_s + seconds if self._moves else self._start_s
        if self._built[0] != moment:
            self._built = (moment, at_moment(self._built[1], self._description, moment))
        return self._built[1]

    def _from(self, height_m: float | None) -> View:
        if height_m is None:
            return self._view
        x, y, z = self._view.at_m
        z += height_m - self._view.height_m
        pitch = self._view.pitch_deg
        if not self._pitched:
            look = self._description.vantage.look_at_m
            away = math.hypot(look[0] - x, look[1] - y)
            pitch = math.degrees(math.atan2(z - look[2], max(away, 1e-6)))
        return replace(self._view, at_m=(x, y, z), height_m=height_m, pitch_deg=pitch)

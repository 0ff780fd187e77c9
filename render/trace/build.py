"""From a description to what the tracer walks through: shapes, placements, materials, light."""

import math
import zlib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import InputError
from render.scene.colour import LUMINANCE
from render.trace.columns import LAMP_NUMBERS
from render.trace.light import Light, Surfaces
from render.trace.tree.bvh import World, aligned, build_tree, widened
from render.trace.tree.placed import (
    STEPS,
    Mover,
    Placed,
    part_places,
    part_share,
    parts_of,
    share_of,
    stand,
)
from render.trace.tree.shapes import Materials, Meshes, Shapes
from render.world.description import Description, Ground, LightWords, Thing
from render.world.ground import ground_mesh
from render.world.mesh import Mesh, moved
from render.world.night import nearest
from render.world.sky import afterglow, sun_colour
from render.world.surfaces.material import linear_rgb

__all__ = ["Built", "at_moment", "build"]

#: A lamp that gives less light than this (1: a white surface in the sun) is left out.
_DIM = 0.001
#: So many lamps that things carry light what is round them: the nearest in view.
_MOST_CARRIED = 24
#: Dipped lamps are followed so far: beyond, a road has less than 1 lx of them.
_DIPPED_M = 22.0
#: What the sky's glow (`render.trace.light.sky`) comes to on the sun itself.
_GLOW_AT_SUN = 0.32
#: What haze sends of the sun's light, beside white squarely lit: ours, so that full daylight
#: leaves every haze its colour; most of it goes on forward.
_AIR_IN_SUN = 0.8


@dataclass(frozen=True, slots=True, eq=False)
class Built:
    """A scene at one moment, ready for rays.

    Attributes
    ----------
    world, surfaces, light : named tuples
        Arrays for the compiled loops.
    spots : mapping
        Named things and marks: world position (x, y, z) of the middle of each, metres.
    solid : tuple of tuples of bool
        Of every placement, whether a camera may not be inside each thing in it.
    names : tuple of tuples of str
        What errors call them.
    placed : tuple
        Where every shape stands, for `at_moment`.
    """

    world: World
    surfaces: Surfaces
    light: Light
    spots: Mapping[str, tuple[float, float, float]]
    solid: tuple[tuple[bool, ...], ...]
    names: tuple[tuple[str, ...], ...]
    placed: tuple[Placed, ...] = ()


def build(description: Description, time_s: float = 0.0, *, moving: bool = False) -> Built:
    """Work out every shape and where it is at `time_s`.

    Things that stand alone are joined into one shape; copies share theirs. What walks has its
    legs where its way has brought them; `moving` makes all of its steps, for `at_moment`.

    Raises
    ------
    InputError
        If the scene holds nothing to see.
    """
    making = _Making(description, time_s, moving)
    if description.ground is not None:
        making.ground(description.ground)
    for at, thing in enumerate(description.things):
        for copy in range(len(thing.places)):
            making.copy(at, thing, copy)
    return making.built()


class _Making:
    """A scene while it is gathered, thing after thing."""

    def __init__(self, description: Description, time_s: float, moving: bool) -> None:
        self._description, self._time_s, self._moving = description, time_s, moving
        self._shapes, self._materials = Shapes(), Materials(description.materials)
        self._meshes = Meshes(description)
        self._roots: dict[int, tuple[int, NDArray[np.float64]]] = {}
        self._rows: list[Placed] = []
        self._alone = _Alone()
        self._pick: list[int] = []
        self._spots: dict[str, tuple[float, float, float]] = dict(description.marks)  # type: ignore[arg-type]
        self._parts: dict[tuple[str, str], tuple[float, float, float]] = {}
        self._of_mover: dict[str | tuple[str, str], Placed] = {}

    def ground(self, ground: Ground) -> None:
        """The ground, under everything."""
        stuff = [self._materials.index(ground.material, "")]
        self._alone.add(ground_mesh(ground), np.eye(4), stuff, False, "ground")

    def copy(self, at: int, thing: Thing, copy: int) -> None:
        """One copy of a thing, with its moving parts."""
        rng = np.random.default_rng([thing.seed, zlib.crc32(thing.kind.name.encode()), copy])
        variant = int(rng.integers(thing.kind.variants))
        colours = {slot: str(rng.choice(values)) for slot, values in thing.colours.items()}
        share = share_of(thing, copy, self._time_s)
        mesh = self._meshes.of(thing, variant, None if share is None else share / STEPS)
        matrix = stand(self._description, thing, copy, self._time_s)
        mover = Mover(at, copy, variant)
        called = thing.name if copy == 0 else ""
        if called:
            self._name(thing, mover, mesh, matrix)
        self._parts_of(thing, mover, matrix, colours)
        stays = thing.way(copy) is None and thing.kind.sways is None
        if stays and len(thing.places) == 1:
            stuff = self._picked(thing, mesh.slots, colours)
            named = thing.name or thing.kind.name
            self._alone.add(mesh, matrix, stuff, thing.kind.solid, named)
            return
        every = [mesh]
        if self._moving and share is not None:
            every = [self._meshes.of(thing, variant, k / STEPS) for k in range(STEPS + 1)]
        row = self._put(thing, mesh, every, matrix, colours, None if stays else mover)
        if called and not stays:
            self._of_mover[called] = row
            self._of_mover.update({(called, part): row for part, _ in mesh.spots})

    def _name(self, thing: Thing, mover: Mover, mesh: Mesh, matrix: NDArray[np.float64]) -> None:
        """Its middle, with all its parts where they are at first, and the spots on it."""
        corners = [mesh.xyz.reshape(-1, 3)]
        for number, part in parts_of(thing):
            if not part.under_way:
                shape = self._meshes.of_part(thing, mover.variant, number, 0).xyz.reshape(-1, 3)
                places = part_places(thing, replace(mover, part=number), 0.0)
                corners += [shape @ place[:3, :3].T + place[:3, 3] for place in places]
        every = np.concatenate(corners)
        middle = np.stack([every.min(axis=0), every.max(axis=0)]).mean(axis=0)
        self._spots[thing.name] = _there(matrix, middle)
        self._parts.update({(thing.name, part): _there(matrix, p) for part, p in mesh.spots})

    def _parts_of(
        self, thing: Thing, mover: Mover, matrix: NDArray[np.float64], colours: Mapping[str, str]
    ) -> None:
        for number, part in parts_of(thing):
            moves = replace(mover, part=number)
            places = part_places(thing, moves, self._time_s)
            if not len(places):
                continue
            share = part_share(part, mover.copy, self._time_s)
            mesh = self._meshes.of_part(thing, mover.variant, number, share)
            every = [mesh]
            if self._moving and part.shapes > 1:
                every = [
                    self._meshes.of_part(thing, mover.variant, number, k)
                    for k in range(part.shapes)
                ]
            for which, place in enumerate(places):
                each = replace(moves, which=which)
                self._put(thing, mesh, every, matrix @ place, colours, each)

    def _put(
        self,
        thing: Thing,
        mesh: Mesh,
        every: Sequence[Mesh],
        matrix: NDArray[np.float64],
        colours: Mapping[str, str],
        moves: Mover | None,
    ) -> Placed:
        """A shape as a placement of its own, with all shapes that it changes between."""
        for one in every:
            if id(one) not in self._roots:
                self._roots[id(one)] = self._shapes.add(one)
        root, bounds = self._roots[id(mesh)]
        steps = tuple(self._roots[id(one)] for one in every) if len(every) > 1 else ()
        named = [thing.name or thing.kind.name]
        solid = [thing.kind.solid]
        row = Placed(root, bounds, matrix, len(self._pick), solid, named, moves, steps)
        self._rows.append(row)
        self._pick += self._picked(thing, mesh.slots, colours)
        return row

    def _picked(
        self, thing: Thing, slots: tuple[str, ...], colours: Mapping[str, str]
    ) -> list[int]:
        """Rows of the materials of a shape's slots."""
        out = []
        for slot in slots:
            name = colours.get(slot, thing.stuff.get(slot, slot))
            out.append(self._materials.index(name, thing.kind.stuff.get(slot, "")))
        return out

    def built(self) -> Built:
        """All of it, as rays walk through it."""
        alone = self._alone
        if alone.meshes:
            root, bounds = self._shapes.add(*alone.joined())
            row = Placed(root, bounds, np.eye(4), len(self._pick), alone.solid, alone.names)
            self._rows.append(row)
            self._pick += alone.stuff
        if not self._rows:
            raise InputError(
                f"{self._description.name}: the scene holds nothing: add [[things]] or a ground"
            )
        called = _called(self._parts)
        spots = {**{name: self._parts[part] for name, part in called.items()}, **self._spots}
        for name in spots:
            owner = self._of_mover.get(called.get(name, name))
            if owner is not None:
                owner.spots.append(name)
        light = lit_at(self._description, self._time_s)
        return _assemble(self._shapes, self._materials, self._rows, self._pick, spots, light)


def _there(matrix: NDArray[np.float64], point: ArrayLike) -> tuple[float, float, float]:
    x, y, z = (matrix @ np.append(np.asarray(point, float), 1.0))[:3]
    return float(x), float(y), float(z)


def _called(parts: Iterable[tuple[str, str]]) -> dict[str, tuple[str, str]]:
    """Names of parts: "left eye" where one thing has such a part, else "ann left eye"."""
    every = list(parts)
    owners = Counter(part for _thing, part in every)
    return {
        part if owners[part] == 1 else f"{thing} {part}": (thing, part) for thing, part in every
    }


def at_moment(built: Built, description: Description, time_s: float) -> Built:
    """The same scene at another moment: what `build` makes of it, without making shapes anew."""
    spots = dict(built.spots)
    rows = []
    stands: dict[tuple[int, int], NDArray[np.float64]] = {}
    places: dict[tuple[int, int, int], NDArray[np.float64]] = {}
    for row in built.placed:
        mover = row.moves
        if mover is None:
            rows.append(row)
            continue
        thing, copy = description.things[mover.thing], mover.copy
        of = (mover.thing, copy)
        if of not in stands:
            stands[of] = stand(description, thing, copy, time_s)
        matrix = stands[of]
        share = share_of(thing, copy, time_s)
        if mover.part >= 0:
            if (*of, mover.part) not in places:
                places[(*of, mover.part)] = part_places(thing, mover, time_s)
            matrix = matrix @ places[(*of, mover.part)][mover.which]
            share = part_share(thing.kind.parts[mover.part], copy, time_s)
        for name in row.spots:
            spots[name] = _there(matrix @ np.linalg.inv(row.matrix), spots[name])
        row = replace(row, matrix=matrix)
        if row.steps and share is not None:
            root, bounds = row.steps[share]
            row = replace(row, root=root, bounds=bounds)
        rows.append(row)
    top, inverse = _top(rows)
    roots = np.array([row.root for row in rows], np.int32)
    world = built.world._replace(top=top, inverse=inverse, root=roots)
    light = light_numbers(lit_at(description, time_s))
    return replace(built, world=world, light=light, spots=spots, placed=tuple(rows))


class _Alone:
    """Things that stand alone, gathered into one shape that still knows which is which."""

    def __init__(self) -> None:
        self.meshes: list[Mesh] = []
        self.stuff: list[int] = []
        self.solid: list[bool] = []
        self.names: list[str] = []

    def add(
        self, mesh: Mesh, matrix: NDArray[np.float64], stuff: list[int], solid: bool, name: str
    ) -> None:
        there = moved(mesh, matrix[:3, 3].tolist(), matrix=matrix[:3, :3])
        slot = np.asarray(mesh.slot + len(self.stuff), np.int32)
        self.meshes.append(replace(there, slot=slot))
        self.stuff += stuff
        self.solid.append(solid)
        self.names.append(name)

    def joined(self) -> tuple[Mesh, NDArray[np.int32]]:
        """One mesh, and which thing each triangle belongs to."""
        m = self.meshes
        thing = np.repeat(np.arange(len(m), dtype=np.int32), [len(part.xyz) for part in m])
        mesh = Mesh(
            np.concatenate([part.xyz for part in m]),
            np.concatenate([part.uv for part in m]),
            np.concatenate([part.normal for part in m]),
            np.concatenate([part.slot for part in m]),
            (),
        )
        return mesh, thing


def _assemble(
    shapes: Shapes,
    materials: Materials,
    rows: list[Placed],
    pick: list[int],
    spots: dict[str, tuple[float, float, float]],
    words: LightWords,
) -> Built:
    top, inverse = _top(rows)
    world = World(
        top,
        inverse,
        np.array([row.root for row in rows], np.int32),
        aligned(np.concatenate(shapes.wide)),
        aligned(np.concatenate(shapes.blocks)),
        np.ascontiguousarray(np.concatenate(shapes.tris), np.float32),
    )
    surfaces = Surfaces(
        np.concatenate(shapes.uvs),
        np.concatenate(shapes.normals),
        np.concatenate(shapes.slots),
        np.concatenate(shapes.things),
        np.array([row.first for row in rows], np.int32),
        np.arange(len(rows), dtype=np.int32),
        np.array(pick, np.int32),
        np.ascontiguousarray(materials.rows),
    )
    return Built(
        world,
        surfaces,
        light_numbers(words),
        spots,
        tuple(tuple(row.solid) for row in rows),
        tuple(tuple(row.names) for row in rows),
        tuple(rows),
    )


def _top(rows: Sequence[Placed]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """The tree over all placements, and the way from the world into each."""
    low, high, inverse = [], [], []
    for row in rows:
        b = row.bounds
        corners = np.array(
            [[b[i, 0], b[j, 1], b[k, 2], 1.0] for i in (0, 1) for j in (0, 1) for k in (0, 1)]
        )
        there = corners @ row.matrix.T
        low.append(there[:, :3].min(axis=0) - 1e-4)
        high.append(there[:, :3].max(axis=0) + 1e-4)
        inverse.append(np.linalg.inv(row.matrix)[:3].ravel())
    box, kid, order = build_tree(np.asarray(low, np.float32), np.asarray(high, np.float32), leaf=1)
    top, leaves = widened(box, kid)
    links = top.view(np.int32)[:, 48:56]
    links[links < 0] = -1 - order[leaves[-1 - links[links < 0], 0]]
    return aligned(top), np.ascontiguousarray(inverse, np.float32)


def lit_at(description: Description, time_s: float) -> LightWords:
    """The light of a moment: lamps that things carry stand where those are."""
    light, carried = description.light, []
    for thing in description.things if any(t.lamps for t in description.things) else ():
        for copy in range(len(thing.places) if thing.lamps else 0):
            matrix = stand(description, thing, copy, time_s)
            for lamp in thing.lamps:
                there = replace(lamp, at_m=_there(matrix, lamp.at_m))
                carried.append(replace(there, toward_m=_there(matrix, lamp.toward_m)))
    near = nearest(carried, description, _MOST_CARRIED)
    return replace(light, lamps=(*light.lamps, *near)) if near else light


def light_numbers(words: LightWords) -> Light:
    """The light's words as the numbers that `render.trace.light` reads."""
    a, e = math.radians(words.sun_heading_deg), math.radians(words.sun_height_deg)
    to = np.array([math.sin(a) * math.cos(e), math.cos(a) * math.cos(e), math.sin(e)])
    gain = 2.0**words.exposure_ev
    sun = np.array(
        linear_rgb(words.sun_colour) if words.sun_colour else sun_colour(words.sun_height_deg)
    )
    sun = sun * words.sun_level * gain if words.sun_height_deg > -0.5 else np.zeros(3)
    zenith = np.array(linear_rgb(words.sky_colour)) * 0.55 * words.sky_level * gain
    horizon = np.array(linear_rgb(words.horizon_colour)) * 0.80 * words.sky_level * gain
    glow = words.sky_level * sun
    if words.when is not None:  # who says the sky without a date says all of it
        glow = np.maximum(glow, afterglow(words.sun_height_deg, horizon) / _GLOW_AT_SUN)
    ground = 0.18 * (zenith + horizon) + 0.12 * max(to[2], 0.0) * sun
    veil = 0.92 * horizon
    if words.haze_colour:  # no brighter than air that half the sky, the ground and the sun light
        veil = np.array(linear_rgb(words.haze_colour)) * gain
        lit = 0.25 * (zenith + horizon) + 0.5 * ground + _AIR_IN_SUN * sun
        veil = veil * min(1.0, float(LUMINANCE @ lit) / max(float(LUMINANCE @ veil), 1e-9))
    ambient = 0.30 * (zenith + horizon) / 2 + 0.05 * max(to[2], 0.0) * sun + words.fill * gain
    lamp = np.zeros((len(words.lamps), LAMP_NUMBERS))
    for row, q in zip(lamp, words.lamps, strict=True):
        row[0:3], row[3:6], row[6] = (
            q.at_m,
            np.array(linear_rgb(q.colour)) * q.strength * gain,
            q.radius_m,
        )
        row[10] = -2.0
        if q.toward_m:
            aim = np.array(q.toward_m) - np.array(q.at_m)
            row[7:10] = aim / np.linalg.norm(aim)
            row[10] = math.cos(math.radians(q.cone_deg / 2))
        row[11] = max(row[3:6]) / _DIM
        if q.dipped:
            row[11] = min(row[11], _DIPPED_M**2)
        row[12:] = max(row[3:6].mean(), 1e-12), q.soft, q.dipped
    return Light(
        to,
        sun,
        math.tan(math.radians(words.sun_softness_deg / 2)),
        float(words.sky_level),
        glow,
        zenith,
        horizon,
        ground,
        ambient,
        float(words.cloud),
        3.912 / (1000.0 * words.visual_range_km),
        veil,
        lamp,
        len(lamp),
    )

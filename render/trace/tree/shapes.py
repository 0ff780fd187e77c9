"""Shapes and stuff gathered for the tracer: each made once, however often it stands."""

import zlib
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.limits import TRIANGLES
from render.trace.tree.bvh import build_tree, triangle_blocks, widened
from render.world.description import Description, Thing
from render.world.drape import draped
from render.world.ground import ground_height, is_flat
from render.world.mesh import Mesh, moved
from render.world.surfaces.material import Material, material_row
from render.world.things.kind import Values

__all__ = ["Materials", "Meshes", "Shapes", "drawn_for", "words_of"]


class Materials:
    """Rows of materials, each stored once."""

    def __init__(self, named: Mapping[str, Material]) -> None:
        self._named = named
        self._index: dict[tuple[str, str], int] = {}
        self.rows: list[NDArray[np.float64]] = []

    def index(self, name: str, base: str) -> int:
        """Row of a named material, or of `base` in another colour."""
        key = (name, base if name.startswith("#") else "")
        if key not in self._index:
            self._index[key] = len(self.rows)
            if name.startswith("#"):
                like = self._named.get(base, Material())
                made = replace(
                    like, colour=name, second="" if like.rule != "stripes" else like.second
                )
            else:
                made = self._named[name]
            self.rows.append(material_row(made))
        return self._index[key]


class Shapes:
    """Meshes gathered for the trees below the top."""

    def __init__(self) -> None:
        self.wide: list[NDArray[np.float32]] = []
        self.blocks: list[NDArray[np.float32]] = []
        self.tris: list[NDArray[np.float32]] = []
        self.uvs: list[NDArray[np.float32]] = []
        self.normals: list[NDArray[np.float32]] = []
        self.slots: list[NDArray[np.int32]] = []
        self.things: list[NDArray[np.int32]] = []
        self.nodes = 0
        self.ends = 0
        self.count = 0

    def add(
        self, mesh: Mesh, thing: NDArray[np.int32] | None = None
    ) -> tuple[int, NDArray[np.float64]]:
        """Root node of the mesh's tree, and its bounds (2, 3)."""
        xyz = np.ascontiguousarray(mesh.xyz, np.float32)
        low, high = xyz.min(axis=1), xyz.max(axis=1)
        box, kid, order = build_tree(low, high)
        wide, leaves = widened(box, kid)
        links = wide.view(np.int32)[:, 48:56]
        links += np.where(links >= 0, self.nodes, -self.ends)
        p = xyz[order]
        corner = np.concatenate([p[:, 0], p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]], axis=1)
        self.tris.append(corner)
        self.blocks.append(triangle_blocks(corner, leaves, self.count))
        self.uvs.append(np.asarray(mesh.uv[order].reshape(-1, 6), np.float32))
        self.normals.append(np.asarray(mesh.normal[order].reshape(-1, 9), np.float32))
        self.slots.append(np.asarray(mesh.slot[order], np.int32))
        self.things.append(np.zeros(len(p), np.int32) if thing is None else thing[order])
        self.wide.append(wide)
        root = self.nodes
        self.nodes += len(wide)
        self.ends += len(leaves)
        self.count += len(p)
        return root, np.stack([low.min(axis=0), high.max(axis=0)]).astype(float)


class Meshes:
    """Shapes that have been made, so that equal things share one."""

    def __init__(self, description: Description) -> None:
        self._description = description
        self._known: dict[tuple[object, ...], Mesh] = {}
        self._count = 0

    def of(self, thing: Thing, variant: int, share: float | None = None) -> Mesh:
        """The shape of a thing in one of its variants.

        At a share of two steps if it walks; 1 is one that waits on its way.
        """
        kind, values = thing.kind, thing.values
        key = _key(thing, variant)
        if share is not None and kind.gait is not None:
            key = (*key, share)
            values = kind.gait.values(values, share if share < 1 else None)
        if kind.draped:
            key = (*key, thing.places[0])
        if key not in self._known:
            mesh = kind.make(values, drawn_for(thing, variant))
            if kind.draped:
                mesh = _draped(mesh, thing, self._description)
            self._known[key] = self._counted(mesh, kind.name)
        return self._known[key]

    def of_part(self, thing: Thing, variant: int, number: int, shape: int) -> Mesh:
        """One of the shapes of a part of it."""
        key = (*_key(thing, variant), "part", number, shape)
        if key not in self._known:
            part = thing.kind.parts[number]
            values = words_of(thing)
            mesh = part.make(values, drawn_for(thing, variant), shape / part.shapes)
            self._known[key] = self._counted(mesh, thing.kind.name)
        return self._known[key]

    def _counted(self, mesh: Mesh, name: str) -> Mesh:
        if not len(mesh.xyz):
            raise InputError(f"{self._description.name}, {name}: nothing to draw")
        self._count += len(mesh.xyz)
        TRIANGLES.check(
            self._count,
            f"{self._description.name}: its shapes have {self._count:,} triangles",
            "make fewer different things, or copies of one",
        )
        return mesh


def words_of(thing: Thing) -> Values:
    """A thing's values, and its speed if it goes along a path."""
    speed = thing.motion.speed_m_s if thing.motion is not None else 0.0
    return Values({**thing.values, "speed_m_s": speed})


def drawn_for(thing: Thing, variant: int) -> np.random.Generator:
    """The random numbers that a variant of a thing is made with."""
    what = repr((thing.kind.name, repr(sorted(thing.values.items()))))
    return np.random.default_rng([zlib.crc32(what.encode()), variant, thing.seed])


def _key(thing: Thing, variant: int) -> tuple[object, ...]:
    kind = thing.kind
    speed = words_of(thing)["speed_m_s"] if kind.parts else 0.0
    what = (kind.name, repr(sorted(thing.values.items())), speed)
    alone = len(thing.places) == 1  # joined with what else is alone: nothing is shared by it
    return (*what, variant, thing.seed if alone or (kind.variants > 1 and not kind.pooled) else 0)


def _draped(mesh: Mesh, thing: Thing, description: Description) -> Mesh:
    """Lay a flat thing on uneven ground, in the thing's own frame."""
    ground = description.ground
    if ground is None or is_flat(ground):
        return mesh
    x, y, _lift, turn, scale = thing.places[0]
    foot = float(ground_height(ground, np.array(x), np.array(y)))
    laid = draped(moved(mesh, (x, y, 0.0), turn, scale), ground)
    return moved(moved(laid, (-x, -y, -foot)), (0.0, 0.0, 0.0), -turn, 1 / scale)

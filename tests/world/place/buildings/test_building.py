"""Buildings as meshes: closed, outward, as high as they should be."""

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from render.world.mesh import Mesh
from render.world.place.buildings.building import Building, add_building
from render.world.place.buildings.looks import Look
from render.world.place.buildings.roofs import roof_over
from render.world.place.heights import Standing
from render.world.place.soup import Soup

_LOOK = Look("front #d9cbb0", "plain #d9cbb0", "deck #6f6d69")
_BELOW = 2.0


def _mesh(outline: Polygon, low: float, eaves: float, top: float, roof: str = "flat") -> Mesh:
    soup = Soup()
    standing = Standing(low, eaves, top, roof, "given")
    over = roof_over(outline, roof, top - eaves)
    add_building(soup, Building(outline, 0.0, standing, over, _LOOK, 3))
    return soup.mesh()


def _volume(mesh: Mesh) -> float:
    """By the divergence theorem; an open foot at z = 0 adds nothing."""
    p = mesh.xyz
    return float(np.einsum("nc,nc->n", p[:, 0], np.cross(p[:, 1], p[:, 2])).sum() / 6)


def _moved_up(mesh: Mesh, by: float) -> Mesh:
    xyz = mesh.xyz + np.array([0.0, 0.0, by])
    return Mesh(xyz, mesh.uv, mesh.normal, mesh.slot, mesh.slots)


def test_a_far_block_encloses_its_outline_times_its_height() -> None:
    """With a courtyard, far away (without parapet), 15 m and 2 m below the ground."""
    outline = Polygon(
        [(900, 0), (940, 0), (940, 30), (900, 30)], [[(910, 10), (910, 20), (930, 20), (930, 10)]]
    )

    mesh = _moved_up(_mesh(outline, 0, 15, 15), _BELOW)

    assert _volume(mesh) == pytest.approx(outline.area * (15 + _BELOW), rel=1e-9)
    assert mesh.xyz[..., 2].max() == pytest.approx(15 + _BELOW)


def test_a_gabled_house_encloses_prism_and_roof() -> None:
    """12 m by 8 m, walls 5 m, ridge 3 m above them: the roof's half of a box on top."""
    mesh = _moved_up(_mesh(shapely.box(800, 0, 812, 8), 0, 5, 8, "gabled"), _BELOW)

    # roofs lie 2 cm over the walls' tops
    assert _volume(mesh) == pytest.approx(96 * (5 + _BELOW) + 96 * 3 / 2 + 96 * 0.02, rel=2e-3)


def test_a_part_that_begins_above_the_ground_is_closed_below() -> None:
    """From 10 m to 14 m: its volume counts from its underside."""
    mesh = _mesh(shapely.box(800, 0, 810, 10), 10, 14, 14)

    assert mesh.xyz[..., 2].min() == 10
    assert _volume(mesh) == pytest.approx(400, rel=1e-9)


def test_near_flat_roofs_have_a_parapet_and_keep_the_outline() -> None:
    """The top is the given height; the deck lies a third of a metre lower."""
    mesh = _mesh(shapely.box(0, 20, 12, 32), 0, 9, 9)

    deck = mesh.xyz[mesh.slot == mesh.slots.index("deck #6f6d69")]
    assert mesh.xyz[..., 2].max() == 9
    assert np.all(deck[..., 2] == pytest.approx(8.65))
    low, high = mesh.xyz.min(axis=(0, 1)), mesh.xyz.max(axis=(0, 1))
    assert (low[:2], high[:2]) == (pytest.approx([0, 20]), pytest.approx([12, 32]))


def test_windows_fit_whole_bays_and_storeys() -> None:
    """A front 12 m long and 9 m high holds 5 bays of 2.4 and 3 storeys of 3 in its own measure."""
    mesh = _mesh(shapely.box(0, 20, 12, 32), 0, 9, 9)

    front = mesh.slot == mesh.slots.index("front #d9cbb0")
    south = front & (np.abs(mesh.normal[:, 0, 1] + 1) < 1e-9)
    assert np.ptp(mesh.uv[south][..., 0]) == pytest.approx(5 * 2.4)
    assert mesh.uv[south][..., 1].max() == pytest.approx(9.0)


def test_a_curved_wall_is_one_run_of_bays() -> None:
    """Round a tower of 32 sides windows go on from side to side."""
    mesh = _mesh(shapely.Point(0, 40).buffer(8, quad_segs=8), 0, 12, 12)

    front = mesh.uv[mesh.slot == mesh.slots.index("front #d9cbb0")][..., 0]
    around = 2 * np.pi * 8
    assert np.ptp(front) == pytest.approx(2.4 * int(around / 2.4), rel=0.02)


def test_a_lone_house_has_eaves_that_overhang() -> None:
    """35 cm beyond the walls, and below their tops; not where a neighbour touches it."""
    outline = shapely.box(20, 0, 32, 8)
    spans = []
    for alone in (True, False):
        soup = Soup()
        standing = Standing(0, 5, 8, "gabled", "given")
        roof = roof_over(outline, "gabled", 3)
        add_building(soup, Building(outline, 0.0, standing, roof, _LOOK, 3, alone=alone))
        mesh = soup.mesh()
        tiles = mesh.xyz[mesh.slot == mesh.slots.index("deck #6f6d69")]
        spans.append(float(np.ptp(tiles[..., 1])))

    assert spans == pytest.approx([8.7, 8.0])

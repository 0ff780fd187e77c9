"""Things and walls of a shot."""

from dataclasses import replace

import numpy as np
import pytest

from render.depth.depthmap import DepthMap
from render.depth.ground import ground_depth
from render.errors import InputError
from render.load.depths.standing import with_things
from render.optics.camera import Camera, Vantage
from render.shot.depthkeys import DepthKeys, read_thing
from render.shot.shot import Shot, merged

CAMERA = Camera(120, 80, 100.0)
VANTAGE = Vantage(8.0, 20.0)
LIGHT = np.full((80, 120, 3), 0.3, np.float32)


def _depth(**given: object) -> DepthMap:
    shot = merged(Shot(), given, "--{name}")  # type: ignore[arg-type]
    ground = DepthMap(ground_depth(CAMERA, VANTAGE), "the ground", 0.05)
    return with_things(ground, shot.depth, LIGHT, CAMERA, VANTAGE)


def test_a_thing_at_a_distance_has_it_all_over() -> None:
    """A given distance is the depth of every pixel of the box, wherever its foot is."""
    depth = _depth(thing=("box 10,5 50,40 at 18 m",))

    np.testing.assert_allclose(depth.depth_m[6:39, 11:49], 18, rtol=1e-5)
    assert depth.how == "the ground, with 1 thing"


def test_a_wall_hides_the_ground_behind_it_only() -> None:
    """Above its foot line a wall is nearer than the ground; below, the ground is as before."""
    depth, ground = _depth(**{"wall-foot": ("20%,60% 80%,60% high 3 m",)}).depth_m, _depth().depth_m

    assert depth[45, 60] < ground[45, 60]
    np.testing.assert_array_equal(depth[49:], ground[49:])


def test_without_a_vantage_nothing_can_stand() -> None:
    """The sentence says what to give."""
    shot = merged(Shot(), {"thing": ("box 10,5 50,40",)}, "--{name}")
    plain = DepthMap(np.full((80, 120), 9, np.float32), "it", 0.1)

    with pytest.raises(InputError, match='give --height and --pitch, or say "at"'):
        with_things(plain, shot.depth, LIGHT, CAMERA, None)


def test_a_refusal_names_its_thing_and_can_be_passed_over() -> None:
    """The second thing has no foot on the ground; told to go on, the first still stands."""
    camera = Camera(100, 80, 100.0)
    depth = DepthMap(np.full((80, 100), 50, np.float32), "ground", 0.05)
    light = np.full((80, 100, 3), 0.3, np.float32)
    keys = DepthKeys(things=(read_thing("box 10%,40% 30%,80%"), read_thing("box 50%,2% 70%,10%")))
    vantage = Vantage(10, 10)

    with pytest.raises(InputError, match=r"thing 2.*--go-on"):
        with_things(depth, keys, light, camera, vantage)
    made = with_things(depth, replace(keys, go_on=True), light, camera, vantage)

    assert made.depth_m[50, 20] < 50
    assert any(remark.startswith("left out") and "thing 2" in remark for remark in made.remarks)

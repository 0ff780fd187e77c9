"""Stance: depression, sky, and a vantage found from the ground."""

import dataclasses
import math

import numpy as np
import pytest

from render.depth.ground import Slope, ground_depth
from render.judge.samples import sample
from render.judge.verdict import judge
from render.judge.viewpoint import (
    above_share,
    crowded_share,
    depression_deg,
    ground_vantage,
    stance,
    stand_m,
    stands,
    underfoot,
)
from render.optics.camera import Camera, Vantage
from render.optics.terrain import ground_line
from render.scene.scene import Scene


def test_depression_is_pitch_plus_the_ray_s_own_angle():
    """Pitched down by 20, a ray 10 degrees below the axis lies 30 below the horizon."""
    below = (0.0, math.tan(math.radians(10)))

    assert depression_deg(Vantage(20, 20), (0.0, 0.0)) == pytest.approx(20)
    assert depression_deg(Vantage(20, 20), below) == pytest.approx(30)


def test_roll_drops_the_horizon_on_the_left():
    """With the camera turned clockwise, the ray to the right lies deeper below the horizon."""
    rolled = Vantage(20, 0, 10)

    assert depression_deg(rolled, (0.3, 0.0)) > 0 > depression_deg(rolled, (-0.3, 0.0))


def test_height_and_pitch_come_back_from_the_ground(roof, front):
    """Depth of flat ground with houses on it gives the vantage to a few per cent."""
    here = roof(height_m=12.0, pitch_deg=25.0)
    houses = [front(40.0, 6.0, -14.0, -6.0), front(22.0, 5.0, 2.0, 6.0)]
    found = ground_vantage(sample(here.scene(houses)))

    assert found.height_m == pytest.approx(12.0, rel=0.03)
    assert found.pitch_deg == pytest.approx(25.0, abs=0.5)


def test_a_wall_is_not_taken_for_the_ground():
    """A wall parallel to the sensor gives no vantage."""
    depth = np.full((60, 90), 8.0, np.float32)
    scene = Scene(np.ones((60, 90, 3), np.float32), depth, Camera(90, 60, 100.0))

    assert ground_vantage(sample(scene)) is None


def test_sky_and_things_too_near_are_shares_of_the_picture():
    """A quarter of sky, and a railing over a tenth nearer than a quarter of the focus distance."""
    depth = np.full((40, 40), 20.0, np.float32)
    depth[:10] = np.inf
    depth[36:] = 2.0
    scene = Scene(np.ones((40, 40, 3), np.float32), depth, Camera(40, 40, 50.0))
    taken = sample(scene)
    sharp = np.ones(taken.inverse.size)
    standing = stands(taken, Vantage(10, 20))
    found = stance(taken, Vantage(10, 20), False, standing, (0.0, 0.0), 1 / 20, sharp)

    assert found.sky_share == pytest.approx(0.25)
    assert found.foreground_share == pytest.approx(0.1)


def test_a_wall_that_hides_the_sky_counts_as_the_sky_does(roof, front):
    """What rises above eye level is the same share with and without it."""
    here = roof(height_m=1.7, pitch_deg=12.0, focal_mm=24.0)
    wall = front(15.0, 50.0, -1e3, 1e3)
    open_share, walled = (
        above_share(sample(here.scene(fronts)), Vantage(1.7, 12.0)) for fronts in ((), (wall,))
    )

    assert 0.2 < open_share < 0.4
    assert walled == pytest.approx(open_share)


def test_what_stands_is_told_from_the_ground(roof, front):
    """A front of 2 m stands, the ground does not, and neither does noise lift it."""
    here = roof()
    scene = here.scene([front(here.foot_m, 2.0, -3.0, 3.0)])
    rng = np.random.default_rng(0)
    noisy = dataclasses.replace(
        here.scene(),
        depth_m=(
            here.scene().depth_m * (1 + 0.1 * rng.standard_normal(here.inverse().shape))
        ).astype(np.float32),
    )

    assert 0.001 < stands(sample(scene), Vantage(20, 20)).mean() < 0.1
    assert stands(sample(noisy), Vantage(20, 20)).mean() < 0.001


def _on_a_roof(roof, rows):
    """From 20 m up, 1.6 m over one's own roof, which fills so much of the picture from below."""
    here = roof(pitch_deg=8.0)
    own = dataclasses.replace(here, height_m=1.6)
    inverse = here.inverse()
    inverse[round((1 - rows) * len(inverse)) :] = own.inverse()[round((1 - rows) * len(inverse)) :]
    scene = dataclasses.replace(here.scene(), depth_m=(1.0 / inverse).astype(np.float32))
    return sample(scene), Vantage(20.0, 8.0)


@pytest.mark.parametrize(("rows", "own"), [(0.3, False), (0.9, True)])
def test_over_ones_own_roof_one_stands_as_high_as_over_that(roof, rows, own):
    """Where it is most of the picture; a strip of it is only told as a share."""
    samples, vantage = _on_a_roof(roof, rows)
    found, share = underfoot(samples, vantage)

    assert (found is not None) is own
    assert share == pytest.approx(rows * own, abs=0.02)
    assert found is None or found.height_m == pytest.approx(1.6, rel=0.05)
    assert underfoot(samples, None) == (None, 0.0)


def test_a_lower_roof_out_of_reach_is_told(roof):
    """12 of 20 m below the lens, over most of the frame: not one's own, yet said."""
    here = roof(pitch_deg=20.0)
    inverse = here.inverse()
    lower = round(0.3 * len(inverse))
    inverse[lower:] = dataclasses.replace(here, height_m=12.0).inverse()[lower:]
    depth_m = (1.0 / inverse).astype(np.float32)
    scene = dataclasses.replace(here.scene(), depth_m=depth_m, vantage=Vantage(20.0, 20.0))

    (told,) = [r for r in judge(scene, here.setting(2.8)).remarks if "roof or deck" in r]
    assert "a roof or deck 12.0 m below the lens fills 7" in told
    assert underfoot(sample(scene), scene.vantage) == (None, 0.0)
    assert not any("roof or deck" in r for r in judge(here.scene(), here.setting(2.8)).remarks)


def test_what_stands_within_reach_is_a_share_of_the_picture(roof):
    """A parapet 2 m away along the lower tenth; ground and far houses are none."""
    here = roof()
    scene = here.scene()
    depth = scene.depth_m.copy()
    depth[-16:] = 2.0

    assert crowded_share(sample(scene), scene.vantage) == 0
    near = sample(dataclasses.replace(scene, depth_m=depth))
    assert crowded_share(near, scene.vantage) == pytest.approx(0.1)
    assert crowded_share(near, None) == 0


def test_a_stand_on_a_hillside_is_as_high_as_it_lies_over_what_is_seen():
    """Two metres over ground that falls by 15 degrees: each metre ahead the lens stands higher."""
    slope, camera = Slope(-15.0), Camera(90, 60, 100.0)
    vantage = Vantage(2.0, 30.0, terrain=slope)
    depth = ground_depth(camera, vantage, slope)
    samples = sample(Scene(np.ones((60, 90, 3), np.float32), depth, camera, vantage=vantage))
    line = ground_line(camera, vantage, 45.0)
    rows = camera.positions(line.slopes)[:, 1]
    ahead = np.interp(np.arange(60) + 0.5, rows, line.over_m)

    assert stand_m(samples, Vantage(2.0, 30.0)) == 2.0
    expected = 2.0 + np.median(ahead) * math.tan(math.radians(15.0))
    assert stand_m(samples, vantage) == pytest.approx(expected, rel=0.03)

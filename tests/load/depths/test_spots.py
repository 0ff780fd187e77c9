"""Things named by spots."""

import numpy as np
import pytest

from render.depth.depthmap import DepthMap, taken_regions
from render.errors import InputError
from render.load.depths.near import with_near
from render.load.depths.spots import region_by_spots
from render.load.depths.standing import with_things
from render.optics.camera import Camera
from render.shot.depthkeys import DepthKeys, read_near, read_thing


def _picture() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Noise with a red oval and a blue one beside it, linear light."""
    rng = np.random.default_rng(4)
    light = (rng.uniform(0.15, 0.3, (200, 300, 1)) * np.array([0.9, 1.0, 0.7])).astype(np.float32)
    rows, columns = np.ogrid[:200, :300]
    red = np.hypot((rows - 100) / 1.5, columns - 160) < 35
    blue = np.hypot(rows - 100, columns - 215) < 20
    light[red], light[blue] = (0.5, 0.12, 0.1), (0.15, 0.2, 0.7)
    return light, red, blue


def test_what_further_spots_changed_is_said() -> None:
    """The blue oval is added, with its share; one spot alone says nothing."""
    light, red, blue = _picture()

    alone, nothing = region_by_spots(read_thing("spot 150,100"), light)
    both, said = region_by_spots(read_thing("spot 150,100 with 215,100"), light)

    assert nothing == ""
    assert (alone & red).sum() > 0.9 * (alone | red).sum()
    assert both[100, 215]
    assert (both & (red | blue)).sum() > 0.85 * (both | red | blue).sum()
    assert said.startswith(" (further spots: 2")
    assert said.endswith("taken away)")


def test_a_spot_that_may_mean_a_part_or_all_about_it_is_not_taken() -> None:
    """Large and small squares are sure of things ten times apart in size: a second spot decides."""
    rng = np.random.default_rng(1)
    light = (0.4 * rng.uniform(0.97, 1.03, (400, 600, 1)) * np.ones(3)).astype(np.float32)
    light[120:290, 180:420] = 0.15 * rng.uniform(0.9, 1.1, (170, 240, 1))
    light[180:215, 270:320] = (0.5, 0.05, 0.04)

    with pytest.raises(
        InputError, match=r"all that takes 1\d % of the picture or a part of it: add"
    ):
        region_by_spots(read_thing("spot 230,150"), light)
    wall, _ = region_by_spots(read_thing("spot 230,150 with 400,280"), light)
    window, _ = region_by_spots(read_thing("spot 295,197"), light)

    assert wall[120:290, 180:420].mean() > 0.9
    assert window.mean() == pytest.approx(35 * 50 / light[..., 0].size, rel=0.1)


def test_what_was_cut_out_is_kept_to_be_outlined() -> None:
    """Each thing by its spot and a near one with words; a box, which somebody drew, is not."""
    light, red, blue = _picture()
    camera = Camera(300, 200, 300.0)
    depth = DepthMap(np.full((200, 300), 50, np.float32), "it", 0.05)
    keys = DepthKeys(
        things=tuple(
            read_thing(f"{where} m")
            for where in ("spot 150,100 at 18", "box 10,10 40,40 at 9", "spot 215,100 at 18")
        ),
        near=(read_near("10,190 290,190 3 m"),),
    )

    made = with_near(with_things(depth, keys, light, camera, None), keys, light, camera)

    words, regions = zip(*taken_regions(made.near, made.standing), strict=True)
    assert words == ("taken as near", "taken as thing 1", "taken as thing 3")
    for region, oval in zip(regions[1:], (red, blue), strict=True):
        assert (region & oval).sum() > 0.9 * (region | oval).sum()
    assert any(r.startswith("thing 1 takes") for r in made.remarks)
    assert any(r.endswith("cm thick") for r in made.remarks)

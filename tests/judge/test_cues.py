"""What the picture adds."""

import math

import numpy as np
import pytest
from skimage import color

from render.errors import InputError
from render.judge.case import assess, look
from render.scene.scene import Scene


def _cues(here, picture, rendered=None, **more):
    scene = here.scene(picture=picture)
    case = look(scene, rendered=rendered, **more)
    return assess(case, here.setting(4.0)).picture


@pytest.fixture
def patches():
    """A colourful picture, linear light."""
    return np.random.default_rng(3).random((160, 240, 3), dtype=np.float32)


def test_chroma_agrees_with_a_library_of_colour_science(roof, patches):
    """Mean C*ab is that of scikit-image on the same pixels."""
    coded = np.where(patches <= 0.0031308, 12.92 * patches, 1.055 * patches ** (1 / 2.4) - 0.055)
    lab = color.rgb2lab(coded)
    grid = np.hypot(lab[..., 1], lab[..., 2])

    assert _cues(roof(), patches).chroma == pytest.approx(grid.mean(), rel=2e-3)


def test_colour_and_contrast_are_told_and_not_scored(roof, patches):
    """A grey picture over many stops earns as much as any with its band in the middle."""
    grey = np.repeat(2.0 ** (-8 * patches[..., :1]), 3, axis=2).astype(np.float32)
    found = _cues(roof(), grey)

    assert found.chroma < 0.5
    assert found.contrast_stops == pytest.approx(7.2, abs=0.2)
    assert found.mark == pytest.approx(1.0)
    assert found.measured == ("place of the band",)


def test_nothing_measured_earns_the_stated_middle(roof):
    """A picture without any detail earns 0.7."""
    found = _cues(roof(), None)

    assert found.mark == 0.7
    assert math.isnan(found.chroma)


def test_haze_by_koschmieder(roof, patches):
    """V = 20 km leaves about 94 % of the contrast at 300 m (Koschmieder's law)."""
    found = _cues(roof(pitch_deg=8.5), patches, visual_range_m=20_000.0)
    far = 1 / np.quantile(roof(pitch_deg=8.5).inverse(), 0.1)

    assert found.transmission == pytest.approx(math.exp(-3.912 * far / 20_000), rel=1e-3)
    assert math.exp(-3.912 * 300 / 20_000) == pytest.approx(0.94, abs=0.005)


def test_small_things_count_up_to_three(roof, patches):
    """Three people in the band are as good as ten; none costs."""
    none, three, ten = (_cues(roof(), patches, small_things=n).mark for n in (0, 3, 10))

    assert none < three == ten


def test_the_rendered_picture_is_measured_in_place_of_the_sharp_one(roof, patches):
    """A graded photograph has its own colour."""
    grey = np.full_like(patches, 0.3)

    assert _cues(roof(), patches, rendered=grey).chroma < 0.5


def test_sky_does_not_count_as_colour(roof):
    """A deep blue sky over grey ground is no colour of the model."""
    here = roof(pitch_deg=2.0)
    sky = here.inverse() == 0
    picture = np.full((*sky.shape, 3), 0.2, np.float32)
    picture[sky] = (0.0, 0.1, 1.0)
    picture[~sky] *= np.random.default_rng(4).random((int((~sky).sum()), 1), dtype=np.float32)

    assert isinstance(here.scene(picture=picture), Scene)
    assert _cues(here, picture).chroma < 0.5


def test_a_rendering_of_another_size_is_refused(roof, patches):
    """The rendered picture must be the planned frame."""
    with pytest.raises(InputError, match="planned frame"):
        _cues(roof(), patches, rendered=patches[:10])

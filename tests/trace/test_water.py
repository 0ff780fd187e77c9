"""What water mirrors, against published reflectances and the laws of rough surfaces."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from render.trace.columns import HIT, NORMAL, OTHER, SLOPES
from render.trace.water import facet, fresnel, glitter, glossy
from tests.steps import opened

#: Mean square slope of the sea under 2 m/s of wind (Cox and Munk 1954).
_LIGHT_AIR = 0.003 + 0.00512 * 2


def _water(variance: float) -> NDArray[np.float64]:
    h = np.zeros(OTHER - HIT)
    h[NORMAL + 2], h[SLOPES] = 1.0, variance
    return h


@pytest.mark.parametrize(
    ("degrees", "percent"),
    [(0, 2.0), (30, 2.1), (50, 3.3), (60, 5.9), (70, 13.3), (80, 34.7), (85, 58.3)],
)
def test_reflectance_of_flat_water(degrees: float, percent: float) -> None:
    """N. G. Jerlov, *Marine Optics*, 1976, reflectance (index 4/3, from memory)."""
    share = opened(fresnel)(math.cos(math.radians(degrees)))

    assert 100 * share == pytest.approx(percent, abs=0.15)


def test_facets_are_met_as_often_as_they_are_seen() -> None:
    """Seen 15 degrees over the water, slopes lean towards the eye by variance / 2 / tan(15).

    The mean of a slope of density p weighed by what the ray sees of it, p (1 + s / tan): derived
    here. 2 % of facets look away, which shifts it by less than what is allowed.
    """
    h, down = _water(_LIGHT_AIR), math.radians(15)
    numbers = np.random.default_rng(5).random((4000, 3))
    normals = np.array(
        [
            opened(facet)(h, math.cos(down), 0.0, -math.sin(down), *three)
            for three in numbers.tolist()
        ]
    )
    slopes = -normals[:, 0] / normals[:, 2]

    assert slopes.mean() == pytest.approx(_LIGHT_AIR / 2 / math.tan(down), rel=0.1)
    assert np.all(normals @ [math.cos(down), 0.0, -math.sin(down)] < 1e-9)


def test_the_sun_mirrored_from_everywhere_is_fresnel_s_share() -> None:
    """Seen from straight above, glitter of a light in every direction adds up to 2 %."""
    h, total = _water(_LIGHT_AIR), 0.0
    step = math.radians(1.0)
    for height in np.arange(step / 2, math.pi / 2, step):
        light = opened(glitter)(h, 0.0, 0.0, -1.0, math.cos(height), 0.0, math.sin(height))
        total += light / math.pi * 2 * math.pi * math.cos(height) * step

    assert total == pytest.approx(opened(fresnel)(1.0), rel=0.03)


@pytest.mark.parametrize("rough", [0.3, 0.58, 0.8])
def test_rough_gloss_does_not_flare_at_grazing_angles(rough: float) -> None:
    """Within 0.035 of what facets mirror that stand as Trowbridge and Reitz 1975 have them.

    Smith's shading of facets by each other, Schlick's share of each; summed over facets drawn
    evenly, width of their spread the square of the roughness (Walter et al. 2007, from memory).
    """
    gloss, wide = 0.03, rough**2
    a, b = (np.indices((200, 64)).reshape(2, -1).T + 0.5).T / [[200], [64]]
    high = np.sqrt((1 - a) / (1 + (wide**2 - 1) * a))
    facet_x, facet_z = np.sqrt(1 - high**2) * np.cos(2 * np.pi * b), high
    for cosine in (0.06, 0.15, 0.4, 1.0):
        toward = np.sqrt(1 - cosine**2) * facet_x + cosine * facet_z
        out = 2 * toward * facet_z - cosine
        seen, sent = (
            2 / (1 + np.sqrt(1 + wide**2 * (1 / np.maximum(c, 1e-4) ** 2 - 1)))
            for c in (np.full_like(out, cosine), out)
        )
        each = gloss + (1 - gloss) * (1 - np.clip(toward, 0, 1)) ** 5
        share = each * seen * sent * toward / (facet_z * cosine)
        whole = np.where((out > 0) & (toward > 0), share, 0).mean()

        assert opened(glossy)(gloss, rough, cosine) == pytest.approx(whole, abs=0.035)

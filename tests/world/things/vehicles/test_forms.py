"""Forms of cars."""

import numpy as np
import pytest

from render.world.things.vehicles.forms import ARCH_M, FORMS, WHEEL_M, Form

_EVERY = pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)


@_EVERY
def test_nose_tail_and_sides_are_one_skin(form: Form) -> None:
    """Where an end says how far it reaches at a width, the side there is as wide."""
    z = np.array([0.4, 0.5, 0.6])
    for way in (-1.0, 1.0):
        for x in (0.4, 0.6, 0.7):
            end = form.end(np.full(3, x), z, way)
            along = np.linspace(0, 0.25, 4001) * form.long_m
            y = along if way < 0 else form.long_m - along
            for k in range(3):
                side = form.side(y, np.full(len(y), z[k]))
                at = np.argmin(np.hypot(side[:, 0] - x, side[:, 1] - end[k, 1]))
                assert np.hypot(side[at, 0] - x, side[at, 1] - end[k, 1]) < 0.01


@_EVERY
def test_wheels_have_room(form: Form) -> None:
    """The lower edge of the sides goes round each wheel, and is the sill elsewhere."""
    for axle in form.axles_m:
        y = axle + np.linspace(-0.99, 0.99, 41) * ARCH_M
        reach = np.hypot(y - axle, form.arch(y) - WHEEL_M)

        np.testing.assert_allclose(reach, ARCH_M)
        assert form.arch(axle + ARCH_M + 0.05) == form.sill_m


@_EVERY
def test_the_cabin_stands_within_the_body(form: Form) -> None:
    """Its foot nowhere reaches beyond the lower body's length or the car's half width."""
    y = np.linspace(form.roof_m[0][0], form.roof_m[-1][0], 60)
    foot = form.cabin_side(y, np.zeros(60))
    middle = form.cabin_top(np.zeros(60), y)

    assert np.all(foot[:, 0] <= form.wide_m / 2)
    assert max(foot[:, 1].max(), middle[:, 1].max()) < form.long_m - 0.05
    assert np.all(foot[:, 2] < form.belt(y))

"""Lenses with their limits, as a lens file gives them."""

from dataclasses import replace

from render.optics.solving.limits import LensLimits

__all__ = ["LONG", "LONG_ABOUT_ITS_CENTRE"]

#: A long lens that turns 40 mm behind its centre.
LONG = LensLimits(
    name="long",
    focal_mm=90,
    widest_f_number=2.8,
    smallest_f_number=22,
    tilt_limit_deg=8,
    pivot_behind_mm=40,
    closest_focus_m=0.5,
)
LONG_ABOUT_ITS_CENTRE = replace(LONG, name="long 90", smallest_f_number=32, pivot_behind_mm=0.0)

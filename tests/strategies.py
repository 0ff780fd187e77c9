"""Shared hypothesis strategies, drawn from the ranges that real gear has."""

import math

from hypothesis import strategies as st

from render.optics.camera import Vantage
from render.optics.lens import FocusExtension, LensSetting
from render.optics.plane import FocusedLens, focus_lens

__all__ = [
    "coc_mm",
    "depth_m",
    "f_number",
    "focal_mm",
    "inverse_depth",
    "lenses",
    "movement_deg",
    "slope",
    "vantages",
]

focal_mm = st.floats(14.0, 210.0)
f_number = st.floats(1.4, 32.0)
movement_deg = st.floats(-10.0, 10.0)
coc_mm = st.floats(0.005, 0.05)
slope = st.floats(-0.6, 0.6)
depth_m = st.floats(0.5, 2000.0) | st.just(math.inf)
inverse_depth = st.just(0.0) | st.floats(1e-5, 2.0)
vantages = st.builds(
    Vantage,
    height_m=st.floats(0.5, 80.0),
    pitch_deg=st.floats(-10.0, 50.0),
    roll_deg=st.floats(-5.0, 5.0),
)


@st.composite
def lenses(draw: st.DrawFn, *, tilted: bool = False) -> FocusedLens:
    """Focused lenses; `tilted` keeps the total tilt above half a degree."""
    focal = draw(focal_mm)
    tilt, swing = draw(movement_deg), draw(movement_deg)
    if tilted and math.hypot(tilt, swing) < 0.5:
        tilt += math.copysign(1.0, tilt)
    stretch = draw(st.floats(0.999, 1.08))
    return focus_lens(
        LensSetting(
            focal_mm=focal,
            f_number=draw(f_number),
            focus=FocusExtension(focal * stretch),
            tilt_deg=tilt,
            swing_deg=swing,
        )
    )

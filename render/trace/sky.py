"""Light of the sky along a ray, and of the haze before it; `L` is a `render.trace.light.Light`."""

import math

from render.compiled import step
from render.world.surfaces.tables import f64

__all__ = ["haze", "sky"]


@step()
def sky(L, dx, dy, dz, lobe, out):
    """Light from the sky along a unit direction.

    `lobe` > 0 adds the sun spread to that angle; < 0 takes clouds as an even veil, which is
    enough for soft light.
    """
    up = max(dz, 0.0)
    t = 1 - (1 - up) ** 4
    toward = dx * f64(L.sun_to, 0) + dy * f64(L.sun_to, 1) + dz * f64(L.sun_to, 2)
    away = math.sqrt(max(2 - 2 * toward, 0.0))
    glow = 0.22 * math.exp(-3.2 * away) + 0.10 * math.exp(-12.0 * away)
    for c in range(3):
        out[c] = f64(L.horizon, c) * (1 - t) + f64(L.zenith, c) * t + glow * f64(L.glow, c)
    if L.cloud > 0 and dz > 0.02:
        body, cover = 0.5, 0.5 * L.cloud
        if lobe >= 0:
            body = _clouds(dx / (dz + 0.08), dy / (dz + 0.08))
            cover = min(max((body - 0.55 + 0.75 * L.cloud) * 3.0, 0.0), 1.0) * min(dz * 9, 1.0)
        white = 0.62 + 0.5 * max(body, 0.0) + L.level * glow
        for c in range(3):
            tone = white * (0.62 * f64(L.sun, c) + 0.75 * f64(L.horizon, c))
            out[c] += (tone - out[c]) * 0.85 * cover
    if dz < 0:
        k = min(-dz * 12, 1.0)
        for c in range(3):
            out[c] += (f64(L.ground, c) - out[c]) * k
    if lobe > 0 and toward > 0:
        peak = 1.6 * math.exp(-((away / lobe) ** 2)) * min(0.1 / lobe, 4.0)
        for c in range(3):
            out[c] += peak * f64(L.sun, c)


@step()
def _clouds(x, y):
    """Thickness of the clouds over a place of the sky, 0..1."""
    body, weight = 0.0, 0.5
    for octave in range(5):
        a = math.sin(1.3 * x + 0.7 * y + 1.9 * octave) * math.cos(1.1 * y - 0.6 * x + 2.3 * octave)
        b = math.sin(0.9 * y + 1.7 * math.sin(0.8 * x + octave)) * math.cos(1.2 * x + 0.5 * octave)
        body += weight * (0.5 + 0.25 * (a + b))
        x, y = 1.7 * x + 1.1 * y, -1.1 * x + 1.7 * y
        weight *= 0.52
    return body


@step(forceinline=True)
def haze(L, along_m, dx, dy, out):
    """Share of light that arrives; out: the veil's own light.  Koschmieder's law, 2 % contrast."""
    arrives = math.exp(-L.haze_per_m * along_m)
    for c in range(3):
        out[c] = (1 - arrives) * f64(L.haze, c)
    return arrives

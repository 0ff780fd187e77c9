"""What weather and work do to painted metal: containers, wagons, hulls, tin roofs, cranes."""

import math

from render.compiled import step
from render.world.surfaces.noise import clouded, covered, fade, noise, resolved, scale
from render.world.surfaces.tables import f64
from render.world.surfaces.wear import bare, drips, mended

__all__ = ["ribbed", "weathered"]

#: Rust in linear light where it is thin ("#7a4a2c", after looking); thick it is a dark brown.
_RUST_R, _RUST_G, _RUST_B = 0.195, 0.069, 0.026
#: A container's corrugation is pressed in so far apart where a fork or a neighbour has hit it.
_DENT_M = 1.9


@step()
def _scraped(u, v, worn, foot, seed):
    """Where something dragged along: level strokes in patches, -1 dark to 1 bare metal."""
    k = fade(foot, 0.10)
    if k == 0.0:
        return 0.0
    here = noise(u / 2.3, v / 0.7, seed) - 0.35 + 0.4 * worn
    if here < 0.0:
        return 0.0
    line = noise(u / 0.55, v / 0.028, seed + 1)
    if abs(line) < 0.5:
        return 0.0
    return k * math.copysign(min(5.0 * here, 1.0) * min((abs(line) - 0.5) / 0.2, 1.0), line)


@step()
def weathered(m, u, v, copy, foot, out):
    """Paint on metal out of doors: chalked, painted over in places, scraped, rusty, dirty low down.

    m: a material's row; vary is how far it is gone, the third colour what lies low (dust of brakes
    or roads, weed) and size_m's second number how high that reaches above v = 0; copies differ.
    """
    seed, worn = f64(m, 20) + 29 * copy, f64(m, 21)
    cloud = clouded(u, v, 2.1, foot, seed)
    fine = resolved(u / 0.11, v / 0.08, seed + 5, foot, 0.1)
    pale = worn * min(max(0.5 + 1.1 * cloud, 0.0), 1.0)
    grey = (out[0] + out[1] + out[2]) / 3
    for c in range(3):
        out[c] += (1.10 * grey + 0.015 - out[c]) * 0.42 * pale
    thin = resolved(u / 0.065, v / 1.5, seed + 6, foot, 0.08)
    thin += 0.7 * resolved(u / 0.29, v / 2.4, seed + 7, foot, 0.3)
    again = mended(u, v, 1.6, 0.13, foot, seed + 20)
    tone = 1 + 0.16 * worn * cloud + 0.08 * fine * worn - 0.42 * worn * max(thin, -0.1)
    tone *= 1 + 0.45 * worn * again
    drag = _scraped(u, v, worn, foot, seed + 9)
    tone *= 1 + worn * drag * (0.5 if drag > 0.0 else 0.8)
    scale(tone, out)
    gone = max(worn - 0.15, 0.0)
    rust = 0.8 * drips(u, v, foot, seed + 50) * min(2.2 * gone, 1.0)
    aged = min(5.0 * gone, 1.0)
    fallen = aged * bare(0.22 * fine - 0.9 * cloud, u, v, 2.1, gone, foot)
    halo = min(max((0.16 * fine - 0.9 * cloud - 0.46 + 0.5 * gone) / 0.2, 0.0), 1.0) * fade(
        foot, 1.5
    )
    rust = max(rust, max(fallen, 0.4 * halo * aged))
    if rust > 0.0:  # dark where it is thick, bright at its rims and where it has run
        thick = fallen * min(max(0.35 - 1.3 * cloud + 0.35 * thin + 0.5 * fine, 0.0), 1.0)
        shade = 1 + 0.30 * fine
        out[0] += ((_RUST_R - 0.105 * thick) * shade - out[0]) * 0.85 * rust
        out[1] += ((_RUST_G - 0.037 * thick) * shade - out[1]) * 0.85 * rust
        out[2] += ((_RUST_B - 0.012 * thick) * shade - out[2]) * 0.85 * rust
    reach = f64(m, 11)
    if reach > 0.0 and -reach < v < 4 * reach:
        thrown = 0.75 + 0.5 * resolved(u / 0.45, v / 0.16, seed + 11, foot, 0.3) + 0.2 * fine
        low = min(max(1.5 * worn * thrown * math.exp(-max(v, 0.0) / reach), 0.0), 0.9)
        for c in range(3):
            out[c] += (f64(m, 7 + c) - out[c]) * low
        rust = max(rust, low)
    out[3] *= 1 - rust
    out[7] = f64(m, 22) * (0.10 * fine + 0.16 * resolved(u / 0.8, v / 0.7, seed + 13, foot, 0.9))
    out[8] = f64(m, 22) * 0.12 * resolved(u / 0.7, v / 0.6, seed + 14, foot, 0.8)


@step()
def ribbed(m, u, v, copy, foot, out):
    """`weathered` sheets with ribs `size_m` apart, dented here and there, sheets replaced."""
    rib = max(f64(m, 10), 0.01)
    dent = resolved(u / _DENT_M, v / (0.6 * _DENT_M), f64(m, 20) + 41 + 29 * copy, foot, _DENT_M)
    dent = f64(m, 21) * max(abs(dent) - 0.25, 0.0)
    weathered(m, u, v, copy, foot, out)
    phase = 2 * math.pi * u / rib + 2.5 * dent
    k = fade(foot, rib)
    deep = k * (1 - min(1.6 * dent, 0.7))
    scale(1 + 0.10 * deep * math.cos(phase) - 0.25 * dent, out)
    lap = covered(abs(v / 3.1 - math.floor(v / 3.1) - 0.5) * 3.1, 0.02, foot) * fade(foot, 0.3)
    scale(1 - 0.3 * lap, out)
    out[7] += f64(m, 22) * deep * math.sin(phase)
    out[8] += 0.5 * f64(m, 22) * dent

"""Hair by rule: a soft body that follows the skull, and single strands over it, brows, lashes.

Millimetres in the frame of a head (see `faces`) until a mesh is handed out.
"""

from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.world.isosurface import Field, graded, isosurface, slope
from render.world.mesh import Mesh, join, moved
from render.world.things.faces import head_field, lid_edges, skull_field
from render.world.things.fields import carved, curve, melted

__all__ = [
    "CUTS",
    "PARTINGS",
    "UNDER_M",
    "brows_mesh",
    "combed",
    "hair_mesh",
    "lashes_mesh",
    "ribbons",
]

Floats = NDArray[np.float64]

#: Ways to wear it, and where it may be parted.
CUTS = ("parted", "cropped", "receding", "long", "bun", "tail", "bob", "bald")
PARTINGS = ("left", "middle", "right")

_SHORT = ("cropped", "receding")

#: Where hair springs from that is combed from the crown, and where it is gathered.
_CROWN, _KNOT = np.array([4.0, 28.0, 112.0]), np.array([0.0, 104.0, 62.0])

#: What lies under the strands has its u so far before theirs, and less light (rule `strands`).
UNDER_M = 10.0

#: Hairline from front to back: y and the height where hair begins.
#: Lowest in the middle of the forehead, back at the temples, forward again over the cheekbones.
_LINE_Y = (-110, -94, -84, -72, -62, -55, -49, -42, -34, -27, -22, -12, -8, 30, 42, 60, 110)
_LINE_Z = (58, 57, 59, 63, 58, 44, 33, 26, 10, -6, -14, -12, 16, 12, -30, -58, -62)


def _smooth(t: Floats) -> Floats:
    t = np.clip(t, 0, 1)
    return np.asarray(t * t * (3 - 2 * t))


def _line(p: Floats, cut: str) -> Floats:
    """Height at which hair begins."""
    x, y = p[:, 0], p[:, 1]
    line = np.interp(y, _LINE_Y, _LINE_Z)
    if cut == "receding":  # farther back, most at the temples
        line = line + _smooth((-y - 4) / 32) * (14 + 30 * _smooth((np.abs(x) - 10) / 24))
    if cut == "bob":  # down to the brows
        line = np.where(y < -50, np.minimum(line, 25.0 + 0.06 * np.abs(x)), line)
    return np.asarray(line)


def _body(cut: str, part_mm: float) -> Field:
    """Distance to the body of the hair."""

    def field(p: Floats) -> Floats:
        x, y, z = p[:, 0], p[:, 1], p[:, 2]
        wave = 1.6 * np.sin(x * 0.11 + 0.7) + 0.9 * np.sin(x * 0.43 + y * 0.2)
        wave = wave + 0.6 * np.sin(x * 1.1 + 0.9 * y + 0.5 * z)
        top = _smooth((z - 40) / 55)
        front = _smooth((-y - 30) / 50)
        inside = (z - _line(p, cut) - wave - 8.0 * front) * 0.8  # fine hairs stand before it
        if cut in _SHORT:
            thick = 5.0 + (4.0 if cut == "cropped" else 1.5) * top
        elif cut in ("bun", "tail"):  # combed back, close to the head
            thick = 5.5 + 5.0 * top
        elif cut == "bob":
            thick = 8.0 + 8.0 * top
        else:
            part = np.exp(-(((x - part_mm) / 5.0) ** 2)) * _smooth((z - 62) / 20)
            part = part * _smooth(-y / 30 + 1)
            sweep = _smooth((part_mm - 10 - x) / 40) if part_mm else 0.5
            thick = 6.0 + 11.0 * top * (1 - 0.45 * part) + 4.0 * top * front * sweep
        locks = np.sin(0.35 * x + 0.22 * y) * np.sin(0.28 * z - 0.12 * x)
        locks = locks + 0.9 * np.sin(0.13 * x - 0.19 * y + 1.0) * np.sin(0.15 * z + 0.08 * y)
        thick = thick + (0.45 if cut in ("cropped", "receding", "bun", "tail") else 0.8) * locks
        ends = 6 if cut == "bob" else 15 + 25 * front * top
        cover = -2.0 + (thick + 2.0) * _smooth(inside / ends) - 1.2 * np.clip(-inside, 0, 25)
        d = skull_field(p) - cover
        if cut in ("long", "bun", "tail", "bob"):
            d = melted(d, _fall(p, cut), 14)
        return np.asarray(0.7 * d)

    return field


def _fall(p: Floats, cut: str) -> Floats:
    x, y, z = np.abs(p[:, 0]), p[:, 1], p[:, 2]
    if cut == "bun":
        return np.asarray(np.sqrt(x * x + (y - 104) ** 2 + (1.15 * (z - 62)) ** 2) - 30)
    if cut == "tail":
        hung = [(0, 96, 62), (0, 122, 46), (0, 122, -14), (0, 108, -78), (0, 104, -116)]
        return curve(p.T, hung, (13, 19, 23, 17, 5))
    end = -86.0 if cut == "bob" else -150.0
    wide = 77.0 - 0.03 * z - (0.06 * np.maximum(-z - 40, 0) if cut == "bob" else 0)
    shell = np.abs(np.hypot(x, y - 18) - wide) - 10.0
    low = end + 12 * np.sin(0.09 * p[:, 0]) * (end < -100) + 0.25 * x
    free = -14.0 - y + 0.10 * np.maximum(-z, 0) + 0.3 * np.maximum(z, 0)  # before the ears
    return carved(carved(shell, -free, 12), np.minimum(z - low, 50 - z), 16)


def _flow(p: Floats, cut: str, part_mm: float) -> Floats:
    """Which way hair runs, unit vectors (n, 3), not yet along the surface."""
    x, y, z = p.T
    top = _smooth((z - 52) / 40)
    aside = np.where(x < part_mm, -1.0, 1.0)
    front = _smooth((-y - 58) / 25)
    over = np.stack([aside, 0.15 + 0.75 * front, 0.10 + 2.0 * front], -1)
    down = np.stack([0.12 * np.sign(x), 0.55 + 0 * x, -1.0 + 0 * x], -1)
    if cut == "parted" or part_mm == 0:  # across the forehead from the parting, and a little up
        over = np.stack([1.2 * aside, 0.15 + 0.25 * front, 0.10 + 0.7 * front], -1)
    if cut in ("bun", "tail"):
        gathered = np.stack(list(_KNOT[:, None] - p.T), -1) / 80
        hangs = (cut == "tail") * _smooth((y - 92) / 12)[:, None]
        down = (1 - hangs) * gathered + hangs * np.array([0.0, 0.0, -1.0])
        over = down
    if cut == "bob":
        over = (p - _CROWN) / 80
        down = np.stack([0 * x, 0 * x, -1.0 + 0 * x], -1)
        down = np.where(y[:, None] < -50, over + [0, 0, -1.0], down)
    out = top[:, None] * over + (1 - top[:, None]) * down
    return np.asarray(out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9))


def ribbons(
    path: Floats, normal: Floats, width: ArrayLike, slot: str, u: Floats, round_by: float = 0.7
) -> Mesh:
    """Tapered strips along paths (n, k, 3), mm, facing their normals; uv tells strands apart.

    Their edges are lit as if turned away by `round_by`.
    """
    n, k = path.shape[:2]
    along = np.gradient(path, axis=1)
    side = np.cross(along, normal)
    side /= np.maximum(np.linalg.norm(side, axis=-1, keepdims=True), 1e-9)
    t = np.linspace(0, 1, k)
    half = (
        0.5
        * np.broadcast_to(width, (n,))[:, None]
        * ((1 - 0.85 * t**2) * np.minimum(0.3 + 3 * t, 1))[None]
    )
    left, right = path - half[..., None] * side, path + half[..., None] * side
    lean_l, lean_r = normal - round_by * side, normal + round_by * side
    run = np.concatenate(
        [np.zeros((n, 1)), np.cumsum(np.linalg.norm(np.diff(path, axis=1), axis=-1), axis=1)], 1
    )
    corner = np.stack([left[:, :-1], right[:, :-1], right[:, 1:], left[:, 1:]], axis=2)
    lean = np.stack([lean_l[:, :-1], lean_r[:, :-1], lean_r[:, 1:], lean_l[:, 1:]], axis=2)
    v = np.stack([run[:, :-1], run[:, :-1], run[:, 1:], run[:, 1:]], axis=2) / 1000
    across = np.array([-0.5, 0.5, 0.5, -0.5]) * 5e-4
    uv = np.stack([np.broadcast_to(u[:, None, None] + across, v.shape), v], -1)
    pick = [0, 1, 2, 0, 2, 3]
    xyz = corner[:, :, pick].reshape(-1, 3, 3)
    lean = lean[:, :, pick].reshape(-1, 3, 3)
    lean /= np.maximum(np.linalg.norm(lean, axis=-1, keepdims=True), 1e-9)
    uv = uv[:, :, pick].reshape(-1, 3, 2)
    mesh = Mesh(xyz, uv, lean, np.zeros(len(xyz), np.int32), (slot,))
    return moved(mesh, size=0.001)


def combed(
    field: Field, root: Floats, way: Floats, lift: Floats, reach: Floats, steps: int
) -> tuple[Floats, Floats]:
    """Paths (n, steps, 3) from roots along the surface of a field, `lift` (steps,) above it."""
    points, normals = [], []
    p = root
    step = reach / (steps - 1)
    for i in range(steps):
        value, g = slope(field, p, 0.6)
        size = np.maximum(np.linalg.norm(g, axis=1, keepdims=True), 1e-6)
        g = g / size
        p = p - np.clip((value / size[:, 0] - lift[i])[:, None] * g, -2.5, 2.5)
        points.append(p)
        normals.append(g)
        flat = way - np.sum(way * g, axis=1, keepdims=True) * g
        flat /= np.maximum(np.linalg.norm(flat, axis=1, keepdims=True), 1e-6)
        p = p + step[:, None] * flat
    return np.stack(points, 1), np.stack(normals, 1)


@cache
def hair_mesh(cut: str, level: int, parting: str = "left") -> Mesh:
    """The hair of a cut, metres; single strands from level 1 on."""
    if cut == "bald":
        raise ValueError("a bald head has no hair to make")
    if parting == "right":
        return moved(hair_mesh(cut, level), matrix=np.diag([-1.0, 1.0, 1.0]))
    part_mm = 0.0 if parting == "middle" else 30.0
    field = _body(cut, part_mm)
    fine = (9.0, 4.5, 2.6)[level]
    low = {"long": -160.0, "bob": -96.0, "tail": -130.0}.get(cut, -75.0)
    back = {"bun": 140.0, "tail": 152.0}.get(cut, 122.0)
    axes = (
        graded([(-118, fine), (118, fine)]),
        graded([(-126, fine), (back, fine * 1.3)]),
        graded([(low, fine), (144, fine)]),
    )
    surface = isosurface(field, axes, step=(2.0, 1.0, 0.6)[level])
    p, n = surface.xyz, surface.normal
    upward = np.abs(n[:, 2]) > 0.75
    uv = np.where(
        upward[:, None],
        p[:, [1, 0]],
        np.stack([75 * np.arctan2(p[:, 0], 12 - p[:, 1]), p[:, 2]], -1),
    )
    under = [UNDER_M if level > 0 else 0.0, 0.0]
    body = surface.mesh(uv / 1000 - under, "hair")
    seen = skull_field(body.xyz.mean(axis=1)) > -6.0  # the rest lies inside the head
    body = Mesh(body.xyz[seen], body.uv[seen], body.normal[seen], body.slot[seen], body.slots)
    parts = [moved(body, size=0.001)]
    if level > 0:
        parts.append(_strands(field, parts[0], cut, (0, 2000, 8000)[level], part_mm))
    if level > 0 and cut != "bob":
        parts.append(_fringe(field, surface.xyz, cut, (0, 2400, 6500)[level], part_mm))
    return join(parts)


def _fringe(field: Field, body: Floats, cut: str, count: int, part_mm: float) -> Mesh:
    """Fine hairs that spring from the skin along the hairline, so that it has no edge."""
    rng = np.random.default_rng(count + 1)
    over = body[:, 2] - _line(body, cut)
    near = body[(over > -6.0) & (over < 22.0) & (body[:, 1] < 34)]
    near = near[(near[:, 1] < -14) | (near[:, 2] > 26)]  # none hangs over an ear
    thick = _smooth((near[:, 2] - _line(near, cut) + 7.0) / 17.0)
    which = rng.choice(len(near), count, p=thick / thick.sum())
    root = near[which] + rng.normal(0, 2.2, (count, 3))
    x, y = root[:, 0], root[:, 1]
    front = _smooth((-y - 42) / 30)[:, None]  # up and back from the forehead, back at the temples
    up = np.stack([np.where(x < part_mm, -0.55, 0.55), 0.7 + 0 * x, 1.2 + 0 * x], -1)
    back = np.stack([0.1 * np.sign(x), 0.8 + 0 * x, -0.55 + 0 * x], -1)
    way = front * up + (1 - front) * back + rng.normal(0, 0.24, (count, 3))
    reach = rng.uniform(14, 32, count) * (0.6 if cut in _SHORT else 1.0)

    def skin(p: Floats) -> Floats:
        return np.asarray(np.minimum(skull_field(p), field(p)))

    lift = np.array([-0.3, 0.3, 0.7, 0.9, 0.7])
    if count <= 2500:  # the skin under them is coarse: they must not dip into it, or they are dots
        lift = lift + [0.2, 0.9, 1.1, 1.1, 1.0]
    path, normal = combed(skin, root, way, lift, reach, 5)
    width = rng.uniform(0.09, 0.24, count) * (1.0 if count > 2500 else 1.2)
    return ribbons(path, normal, width, "hair", rng.uniform(0, 3.0, count))


def _strands(field: Field, body: Mesh, cut: str, count: int, part_mm: float) -> Mesh:
    rng = np.random.default_rng(count)
    xyz = 1000 * body.xyz
    wide = np.linalg.norm(np.cross(xyz[:, 1] - xyz[:, 0], xyz[:, 2] - xyz[:, 0]), axis=1)
    which = rng.choice(len(xyz), count, p=wide / wide.sum())
    a, b = np.sort(rng.random((2, count)), axis=0)
    share = np.stack([a, b - a, 1 - b], -1)
    root = np.einsum("nk,nkc->nc", share, xyz[which])
    way = _flow(root, cut, part_mm)
    lock = np.floor(root / 14.0) @ np.array([1.0, 17.0, 131.0])
    turn = np.sin(lock * 12.9898) * 0.22
    way = way + turn[:, None] * np.stack([way[:, 1], -way[:, 0], 0 * turn], -1)
    way += rng.normal(0, 0.10, way.shape)
    reach = rng.uniform(16, 44, count) * (0.5 if cut in _SHORT else 1.0)
    lift = np.array([-1.0, 0.3, 0.9, 1.2, 0.8])
    path, normal = combed(field, root, way, lift, reach, 5)
    loose = np.where(rng.random(count) < 0.05, rng.uniform(1.0, 4.5, count), 0.0)
    away = rng.uniform(-0.5, 1.1, count)[:, None] + loose[:, None] * np.linspace(0, 1, 5) ** 2
    drawn = 0.0 if cut in _SHORT else 0.3 if cut == "bob" else 0.65
    path = _gathered(path + normal * away[..., None], drawn, rng)
    fine = count > 2000
    width = rng.uniform(0.25, 0.7, count) * (1.0 if fine else 1.8)
    # from some metres off single strands are finer than a pixel: they take the light of the rest
    round_by = 0.7 if fine else 0.2
    return ribbons(path, normal, width, "hair", rng.uniform(0, 3.0, count), round_by)


def _gathered(path: Floats, share: float, rng: np.random.Generator) -> Floats:
    """Strands (n, k, 3) drawn together into locks of about 9 mm, the more the nearer their tips."""
    if share == 0.0:
        return path
    lead = path[rng.choice(len(path), max(1, len(path) // 16), replace=False)]
    apart = (
        np.sum(path[:, :1] ** 2, -1) + np.sum(lead[:, 0] ** 2, -1) - 2 * path[:, 0] @ lead[:, 0].T
    )
    which = np.argmin(apart, axis=1)
    far = np.linalg.norm(path[:, 0] - lead[which, 0], axis=1)
    t = np.linspace(0, 1, path.shape[1])
    pull = share * np.clip(1.5 - far / 8.0, 0, 1)[:, None] * t[None] ** 1.3
    lift = rng.uniform(-0.4, 1.6, len(lead))[which, None] * t[None]
    out = path + pull[..., None] * (lead[which] - path)
    middle = np.array([0.0, -4.0, 37.0])
    up = out - middle
    up /= np.maximum(np.linalg.norm(up, axis=-1, keepdims=True), 1e-9)
    return np.asarray(out + lift[..., None] * up)


def _face(p: Floats) -> Floats:
    return head_field(p, 1)


#: Eyebrows: how thick, how many hairs, height of the arch, how far out it is highest, length (as
#: shares of the first's) and how much the inner end lies lower, mm.
_BROWS = (
    (1.0, 1.0, 1.0, 1.0, 1.0, 0.0),
    (1.45, 1.5, 0.6, 0.9, 1.04, -1.0),
    (0.72, 0.7, 1.15, 1.3, 0.96, 0.6),
    (1.2, 1.25, 0.35, 1.0, 1.06, 0.4),
    (0.85, 0.55, 0.8, 1.2, 0.9, 0.0),
    (1.3, 0.95, 0.9, 1.4, 1.0, 1.2),
)


@cache
def brows_mesh(level: int, which: int = 0) -> Mesh:
    """Both eyebrows of the `which`th shape, hair by hair; flat strokes at level 1."""
    thick, many, arch, peak, long, low = _BROWS[which % len(_BROWS)]
    rng = np.random.default_rng(3 + which)
    count = round((0, 130, 760)[level] * many)
    t = rng.beta(1.15, 1.25, count)
    x = 11.5 + 38 * long * t
    rise = np.sin(np.pi * np.clip(0.86 * t ** (1.25 * peak) + 0.05, 0, 1)) ** 1.1
    spine = 15.0 + 4.0 * (1 - arch) + 8.0 * arch * rise - 0.8 * t - low * (1 - t) ** 2
    # the inner end thins out, its hairs stand apart
    tall = thick * (8.8 - 5.4 * t) * (0.72 + 0.28 * np.clip(t / 0.15, 0, 1))
    z = spine + np.clip(rng.normal(0, 0.27, count), -0.6, 0.6) * tall
    root = np.stack([x, -105 + 0.62 * t * 30, z], -1)
    for _ in range(4):  # onto the brow from in front
        root[:, 1] += np.clip(_face(root), -12, 12)
    up = 0.62 * (1 - t) ** 1.5 - 0.12
    way = np.stack([0.55 + 0.5 * t, 0.3 * t, up - (z - spine) * 0.12], -1)
    way += rng.normal(0, 0.17, way.shape)
    reach = rng.uniform(4.0, 9.0, count)
    path, normal = combed(_face, root, way, np.array([-0.3, 0.25, 0.4, 0.3]), reach, 4)
    width = rng.uniform(0.6, 1.1, count) * (0, 0.6, 0.17)[level]
    u = rng.uniform(0, 3.0, count)
    both = [ribbons(path * [s, 1, 1], normal * [s, 1, 1], width, "hair", u) for s in (1, -1)]
    return join(both)


@cache
def lashes_mesh() -> Mesh:
    """Eyelashes of both eyes."""
    rng = np.random.default_rng(4)
    parts = []
    for side in (1, -1):
        upper, lower = lid_edges(side, 92)
        for edge, length, rise in ((upper, 7.0, 0.6), (lower[::2], 3.4, -0.55)):
            t = np.linspace(-1, 1, len(edge))
            out = np.stack([side * 0.55 * t, -1.0 + 0.15 * t * t, 0 * t], -1)
            out += rng.normal(0, 0.07, out.shape)
            s = np.linspace(0, 1, 4)[None, :, None]
            reach = (length * rng.uniform(0.75, 1.0, len(edge)) * (0.75 + 0.25 * t))[:, None, None]
            path = edge[:, None] + reach * (
                s * out[:, None] * (1 - 0.25 * s) + s * s * np.array([0, 0, rise])
            )
            normal = np.broadcast_to(np.array([0, -0.6, 0.8]), path.shape)
            parts.append(ribbons(path, normal, 0.30, "lash", rng.uniform(0, 3.0, len(edge))))
    return join(parts)

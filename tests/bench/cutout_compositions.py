"""What the network of a cut-out learns from: squares of traced views, photographs and drawn bars.

For `cutout_training.py`; needs PyTorch. A traced view knows every pixel's thing, a photograph only
what real surfaces look like. So of the squares some are traced as they are, some traced things
stand before a photograph, some have only a traced thing's shape and a photograph's surface, and
some are thin things drawn as curves (bars, railings, bare branches, wires), often in the colours
of what is behind. Shadows, other light, blur, noise and JPEG come over all of them.
"""

import math
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as fun
from cutout_views import HEIGHT, INDOORS, WIDTH
from PIL import Image

SIDE = 128
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"
_LEVELS = 4
_SPOT, _STROKE = 3.0, 1.0  # radius of what is shown of a spot and of a stroke, cells
_CURVE, _TWIGS = 7, 8  # pieces of a thin thing's line, and what grows out of it
_KINDS = 0.4, 0.55, 0.8  # up to where traced as it is, before a photograph, only shaped; drawn
_CELLS = torch.arange(SIDE, device=DEVICE) + 0.5
_Y, _X = torch.meshgrid(_CELLS, _CELLS, indexing="ij")


def uniform(low: float, high: float, *shape: int):
    return torch.rand(*shape, device=DEVICE) * (high - low) + low


def log_uniform(low: float, high: float, *shape: int):
    return torch.exp(uniform(math.log(low), math.log(high), *shape))


def some(share: float, count: int):
    """Which of `count`, one by one."""
    return torch.rand(count, device=DEVICE) < share


def wide(values):
    return values[:, None, None, None]


def blurred(planes, size: int):
    half = size // 2
    return fun.avg_pool2d(fun.pad(planes, (half,) * 4, mode="replicate"), size, 1)


class Pictures:
    """Pictures of one size in the GPU's memory, each at four sizes; more can be added."""

    def __init__(self, most: int) -> None:
        sizes = [(HEIGHT >> k, WIDTH >> k) for k in range(_LEVELS)]
        starts = np.cumsum([0, *(h * w for h, w in sizes)])
        self.starts = torch.tensor(starts[:-1], device=DEVICE)
        self.each, self.count = int(starts[-1]), 0
        self.codes = torch.zeros(most, self.each, 3, dtype=torch.uint8, device=DEVICE)

    def add(self, code: np.ndarray) -> None:
        """One more picture, sRGB codes (HEIGHT, WIDTH, 3)."""
        level = torch.from_numpy(np.array(code)).to(DEVICE).permute(2, 0, 1)[None].float()
        parts = []
        for k in range(_LEVELS):
            level = fun.avg_pool2d(level, 2) if k else level
            parts.append(level[0].permute(1, 2, 0).reshape(-1, 3))
        self.codes[self.count] = (torch.cat(parts) + 0.5).byte()
        self.count += 1

    def sampled(self, which, source, step):
        """Colours (N, 3, SIDE, SIDE) of pictures at places (N, SIDE, SIDE, 2), px, between px."""
        level = (torch.log2(step.clamp(min=1.0)) + 0.25).long().clamp(0, _LEVELS - 1)
        scale = wide(2.0**level)
        width, height = (WIDTH >> level)[:, None, None], (HEIGHT >> level)[:, None, None]
        at = source / scale - 0.5
        low = at.floor()
        share = at - low
        base = (which * self.each + self.starts[level])[:, None, None]
        flat, total = self.codes.view(-1, 3), 0
        for down in (0, 1):
            for right in (0, 1):
                x = torch.minimum((low[..., 0] + right).long().clamp(min=0), width - 1)
                y = torch.minimum((low[..., 1] + down).long().clamp(min=0), height - 1)
                part = (share[..., 0] if right else 1 - share[..., 0]) * (
                    share[..., 1] if down else 1 - share[..., 1]
                )
                total = total + flat[base + y * width + x].float() * part[..., None]
        return total.permute(0, 3, 1, 2) / 255

    def anywhere(self, count: int):
        """Squares of pictures, from anywhere in them, turned and mirrored."""
        which = torch.randint(self.count, (count,), device=DEVICE)
        step = log_uniform(0.5, 2.9, count)
        turn = uniform(-0.4, 0.4, count) * some(0.5, count)
        flip = torch.where(some(0.5, count), -1.0, 1.0)
        axes = _axes(turn, flip, step)
        reach = 0.5 * SIDE * step[:, None].clamp(max=0.9 * HEIGHT / SIDE)
        size = torch.tensor([WIDTH, HEIGHT], device=DEVICE)
        middle = reach + (size - 2 * reach) * torch.rand(count, 2, device=DEVICE)
        return self.sampled(which, _places(axes, middle), step)


def _axes(turn, stretch, step):
    across = torch.stack([torch.cos(turn) * stretch, -torch.sin(turn)], 1)
    down = torch.stack([torch.sin(turn) * stretch, torch.cos(turn)], 1)
    return torch.stack([across, down], 1) * step[:, None, None]


def _places(axes, middle):
    grid = torch.stack([_X, _Y], -1) - SIDE / 2
    return torch.einsum("nij,hwj->nhwi", axes, grid) + middle[:, None, None]


class Source:
    """Views and photographs, of which batches are composed."""

    def __init__(self, folder: Path, photographs: Path, wanted, most: int = 6000) -> None:
        self.folder, self.wanted, self.read = folder, wanted, set()
        self.views, self.photographs = Pictures(most), Pictures(len(list(photographs.iterdir())))
        self.ids = torch.zeros(most, HEIGHT * WIDTH, dtype=torch.uint8, device=DEVICE)
        self.parts: list[list] = [[], [], []]
        for path in sorted(photographs.iterdir()):
            self.photographs.add(np.asarray(Image.open(path).convert("RGB")))
        self.look()

    def look(self) -> None:
        """Take in the views made since."""
        new = [
            p
            for p in sorted(self.folder.glob("*.npz"))
            if p not in self.read and self.wanted(p) and time.time() - p.stat().st_mtime > 4
        ][: len(self.ids) - self.views.count]
        if not new:
            return

        def load(path: Path):
            with np.load(path) as held:
                return held["pic"], held["ids"], held["box"], held["pts"]

        with ThreadPoolExecutor(4) as pool:
            held = list(pool.map(load, new))
        for path, (code, ids, boxes, inside) in zip(new, held, strict=True):
            k = self.views.count
            self.ids[k] = torch.from_numpy(ids).to(DEVICE).flatten()
            self.views.add(code)
            weight = np.sqrt(np.clip(boxes[:, 4], 100, 12_000))
            weight *= min(1.0, len(boxes) / 6) / weight.sum()
            scale = 0.5 if path.name.split("-")[0] in INDOORS else 1.0
            self.parts[0].append(np.float32(weight * scale))
            self.parts[1] += [(k, i + 1, *box[:4]) for i, box in enumerate(boxes)]
            self.parts[2].append(inside)
            self.read.add(path)
        self.weights = torch.tensor(np.concatenate(self.parts[0]), device=DEVICE)
        self.rows = torch.tensor(self.parts[1], device=DEVICE)
        self.spots = torch.tensor(np.concatenate(self.parts[2]), device=DEVICE)

    def squares(self, count: int):
        """Colours, things' numbers, region, what lies in the picture, and the first spot."""
        chosen = torch.multinomial(self.weights, count, replacement=True)
        row = self.rows[chosen]
        spot = self.spots[chosen, torch.randint(self.spots.shape[1], (count,), device=DEVICE)]
        size = torch.maximum(row[:, 4] - row[:, 2], row[:, 5] - row[:, 3]).float()
        side = (size * log_uniform(0.55, 7.0, count)).clamp(24, 1.5 * WIDTH)
        box = torch.stack([row[:, 2] + row[:, 4], row[:, 3] + row[:, 5]], 1) / 2.0
        moved = spot + (box - spot) * uniform(0, 1, count, 1)
        moved = moved + uniform(-0.12, 0.12, count, 2) * side[:, None]
        middle = torch.where(some(0.5, count)[:, None], moved, spot)
        reach = 0.42 * side[:, None]
        middle = torch.maximum(torch.minimum(middle, spot + reach), spot - reach)
        turn = uniform(-0.25, 0.25, count) * some(0.4, count)
        stretch = torch.exp(uniform(-0.15, 0.15, count)) * torch.where(some(0.5, count), -1.0, 1.0)
        axes = _axes(turn, stretch, side / SIDE)
        source = _places(axes, middle)
        at = torch.linalg.solve(axes, (spot - middle)[..., None])[..., 0] + SIDE / 2
        light = self.views.sampled(row[:, 0], source, side / SIDE)
        held = (source >= 0) & (source < torch.tensor([WIDTH, HEIGHT], device=DEVICE))
        held = held.all(-1)[:, None].float()
        region, number = 0, None
        for dx, dy in ((-0.25, -0.25), (0.25, 0.25), (-0.25, 0.25), (0.25, -0.25)):
            step = torch.einsum("nij,j->ni", axes, torch.tensor([dx, dy], device=DEVICE))
            x, y = (source + step[:, None, None]).floor().long().unbind(-1)
            place = y.clamp(0, HEIGHT - 1) * WIDTH + x.clamp(0, WIDTH - 1)
            ids = self.ids[row[:, 0, None, None], place]
            number = ids if number is None else number
            region = region + (ids == row[:, 1, None, None])[:, None].float() / 4
        return light, number, region * held, held, at

    def batch(self, count: int):
        """Colours, region, what lies in the picture, and the first prompt."""
        light, number, region, held, at = self.squares(count)
        light = self._surfaced(light, number)
        light, region, held, at = _pasted(light, region, held, at)
        moved, shaped, drawn = (round(share * count) for share in _KINDS)
        thin, across, line, on_line, others = _thin_things(count - drawn, at[drawn:])
        surface = self.photographs.anywhere(count - shaped)
        bars = _painted(surface[drawn - shaped :], across)
        behind = self.photographs.anywhere(count - moved)
        behind = torch.where(wide(some(0.3, count - moved)), light[moved:].roll(3, 0), behind)
        as_it_is = wide(some(0.4, count - drawn))
        behind[drawn - moved :] = torch.where(as_it_is, light[drawn:], behind[drawn - moved :])
        front = torch.cat([light[moved:shaped], surface[: drawn - shaped], bars])
        share = torch.cat([blurred(region[moved:drawn], 3), thin])
        front = _toned(front, behind, share, some(0.4, count - moved))
        beside = front[drawn - moved :] * others
        behind[drawn - moved :] = behind[drawn - moved :] * (1 - others) + beside
        light[moved:] = behind * (1 - share) + front * share
        region[drawn:] = thin
        all_in = wide(some(0.85, count - moved))
        held[moved:] = torch.where(all_in, torch.ones_like(held[moved:]), held[moved:])
        few = torch.arange(len(thin), device=DEVICE)  # of them some are seen behind a bar
        cell = at[: len(thin)].long().clamp(0, SIDE - 1)
        bar = thin.roll(1, 0) * wide(some(0.5, len(thin)))
        bar = bar * wide(bar[few, 0, cell[:, 1], cell[:, 0]] < 0.1)
        light[: len(thin)] = light[: len(thin)] * (1 - bar) + bars.roll(1, 0) * bar
        region[: len(thin)] *= 1 - bar
        region *= held
        at = torch.cat([self._spot(region[:drawn], at[:drawn]), on_line])
        prompt = spots_at(at)
        stroke = wide(some(0.65, count - drawn))
        prompt[drawn:] = torch.where(stroke, line[:, None], prompt[drawn:])
        return recoloured(light) * held, region, held, prompt

    def _surfaced(self, light, number):
        """Traced things with the grain of photographs, each thing its own."""
        count = len(light)
        grain = [self.photographs.anywhere(count) for _ in range(2)]
        turn = torch.randint(1, 250, (count, 1, 1), device=DEVICE)
        pick = (number.long() * turn) % 3
        gain = wide(uniform(0.1, 0.9, count) * some(0.5, count))
        for k, one in enumerate(grain):
            one = one.mean(1, keepdim=True) if k else one
            one = one / one.mean((2, 3), keepdim=True).clamp(min=0.05)
            light = light * torch.where((pick == k)[:, None], 1 + gain * (one - 1), 1.0)
        return light.clamp(0, 1)

    @staticmethod
    def _spot(region, at):
        """Now and then another spot, near an edge as well as in the middle."""
        inside = (fun.avg_pool2d(region, 3, 1, 1) > 0.95).float()
        deep = sum(fun.avg_pool2d(region, k, 1, k // 2) for k in (9, 21)) * wide(
            uniform(0, 1.5, len(region))
        )
        best = ((deep + torch.rand_like(region)) * inside).flatten(1)
        chosen = best.argmax(1)
        other = torch.stack([chosen % SIDE + 0.5, chosen // SIDE + 0.5], 1)
        cell = at.long().clamp(0, SIDE - 1)
        lost = region[torch.arange(len(at), device=DEVICE), 0, cell[:, 1], cell[:, 0]] < 0.5
        usable = best.amax(1) > 0
        return torch.where((usable & (lost | some(0.4, len(at))))[:, None], other, at)


def _pasted(light, region, held, at):
    """Some squares with another's thing pasted over them: as the thing meant, or in front of it."""
    count = len(light)
    order = torch.arange(count, device=DEVICE)
    other = order.roll(1)
    share, kind = blurred(region, 3)[other], torch.rand(count, device=DEVICE)
    gain = torch.exp(torch.randn(count, 3, 1, 1, device=DEVICE) * 0.15)
    pasted = light * (1 - share) + (light[other] * gain).clamp(0, 1) * share
    left, cell = region * (1 - region[other]), at.long().clamp(0, SIDE - 1)
    free = left[order, 0, cell[:, 1], cell[:, 0]] > 0.5
    meant, front = wide(kind < 0.15), wide((kind >= 0.15) & (kind < 0.3) & free)
    light = torch.where(meant | front, pasted, light)
    held = torch.where(meant | front, torch.maximum(held, (share > 0).float()), held)
    region = torch.where(meant, region[other], torch.where(front, left, region))
    return light, region, held, torch.where(meant[:, :, 0, 0], at[other], at)


def _toned(front, behind, share, which):
    """What stands in front, some of it in about the colours of what is behind."""
    inside = share.sum((2, 3), keepdim=True).clamp(min=1)
    own = (front * share).sum((2, 3), keepdim=True) / inside
    ring = (blurred(share, 15) > 0.02).float() * (1 - share)
    around = (behind * ring).sum((2, 3), keepdim=True) / ring.sum((2, 3), keepdim=True).clamp(min=1)
    near = around * torch.exp(torch.randn_like(around) * 0.08)
    near = near * wide(torch.exp(torch.randn(len(front), device=DEVICE) * 0.25))
    moved = front * (near / own.clamp(min=0.03)).clamp(0.1, 6)
    return torch.where(wide(which), moved, front).clamp(0, 1)


def _painted(grain, across):
    """A thin thing's surface: one colour with some grain, lit from a side."""
    count = len(grain)
    hue = wide(log_uniform(0.06, 1.0, count)) * torch.exp(
        torch.randn(count, 3, 1, 1, device=DEVICE) * wide(uniform(0, 0.35, count))
    )
    grain = grain / grain.mean((1, 2, 3), keepdim=True).clamp(min=0.05)
    rough = wide(uniform(0, 0.6, count) * some(0.6, count))
    lit = 1 + wide(uniform(-0.5, 0.5, count)) * across
    lit = lit + wide(uniform(-0.3, 0.6, count) * some(0.4, count)) * (1 - across * across)
    steps = wide(some(0.3, count)) * torch.sign(across) * wide(uniform(-0.4, 0.4, count))
    return (hue * (1 + rough * (grain - 1)) * (lit + steps).clamp(0.1, 2.5)).clamp(0, 1)


def _thin_things(count: int, at):
    """Bars, railings, branches, wires: coverage, place across (-1 to 1), a stroke, a spot, others.

    A line through `at` of some thickness; others grow out of it (part of the thing) or run along
    with it (not part of it).
    """
    way = uniform(0, math.pi, count)
    way = torch.where(some(0.5, count), (way / (math.pi / 2)).round() * math.pi / 2, way)
    way = way + torch.randn(count, device=DEVICE) * 0.06
    along = torch.stack([torch.cos(way), torch.sin(way)], 1)
    aside = torch.stack([-along[:, 1], along[:, 0]], 1)
    radius = log_uniform(0.6, 10.0, count)
    ends = -log_uniform(12, 220, count), log_uniform(12, 220, count)
    bend = uniform(-0.12, 0.12, count) * some(0.45, count)
    t = torch.linspace(0, 1, _CURVE + 1, device=DEVICE)
    place = ends[0][:, None] + (ends[1] - ends[0])[:, None] * t
    lift = bend[:, None] * place * place.abs() / 60
    lift = torch.where(some(0.5, count)[:, None], lift.abs(), lift)
    wave = torch.randn(count, _CURVE + 1, device=DEVICE) * wide(some(0.2, count) * 1.5)[:, :, 0, 0]
    lift = lift + wave
    points = at[:, None] + place[..., None] * along[:, None] + lift[..., None] * aside[:, None]
    taper = torch.where(some(0.35, count), uniform(0.3, 1, count), torch.ones(count, device=DEVICE))
    radii = radius[:, None] * (1 + (taper - 1)[:, None] * t)
    kind = torch.rand(count, device=DEVICE)
    railing, branch = kind < 0.35, (kind >= 0.35) & (kind < 0.6)
    k = torch.arange(_TWIGS, device=DEVICE)
    gap = log_uniform(9, 40, count).maximum(3 * radius)
    where_even = (k - _TWIGS // 2)[None] * gap[:, None] + uniform(0, 1, count, 1) * gap[:, None]
    where_any = ends[0][:, None] + (ends[1] - ends[0])[:, None] * uniform(0, 1, count, _TWIGS)
    on = torch.where(railing[:, None], where_even, where_any)
    valid = (on > ends[0][:, None]) & (on < ends[1][:, None]) & (railing | branch)[:, None]
    lean = torch.where(
        railing[:, None],
        uniform(-0.15, 0.15, count, 1) + math.pi / 2,
        uniform(0.3, 1.3, count, _TWIGS),
    )
    side = torch.where(torch.rand(count, _TWIGS, device=DEVICE) < 0.5, 1.0, -1.0)
    side = torch.where(railing[:, None], side[:, :1], side)
    length = torch.where(
        railing[:, None], log_uniform(25, 200, count, 1), log_uniform(8, 60, count, _TWIGS)
    )
    index = ((on - ends[0][:, None]) / (ends[1] - ends[0])[:, None]).clamp(0, 1) * _CURVE
    low = index.long().clamp(max=_CURVE - 1)
    part = (index - low)[..., None]
    pick = low[..., None].expand(-1, -1, 2)
    start = points.gather(1, pick) * (1 - part) + points.gather(1, pick + 1) * part
    heading = way[:, None] + side * lean
    end = start + length[..., None] * torch.stack([torch.cos(heading), torch.sin(heading)], -1)
    slim = radius[:, None] * torch.where(
        railing[:, None], uniform(0.3, 1.0, count, 1), uniform(0.2, 0.6, count, _TWIGS)
    )
    slim = torch.where(valid, slim.clamp(min=0.45), torch.full_like(slim, -50.0))
    starts = torch.cat([points[:, :-1], start], 1)
    stops = torch.cat([points[:, 1:], end], 1)
    first = torch.cat([radii[:, :-1], slim], 1)
    last = torch.cat([radii[:, 1:], torch.where(valid & branch[:, None], 0.6 * slim, slim)], 1)
    cover = torch.full((count, SIDE, SIDE), -99.0, device=DEVICE)
    across = torch.zeros_like(cover)
    for s in range(starts.shape[1]):
        near, off, t = _beside(starts[:, s], stops[:, s])
        thick = first[:, s, None, None] * (1 - t) + last[:, s, None, None] * t
        inside = thick - near
        across = torch.where(inside > cover, off / thick.abs().clamp(min=0.5), across)
        cover = torch.maximum(cover, inside)
    apart = (2.5 + log_uniform(1.0, 8.0, count)) * radius
    beside, _, _ = _beside(
        points[:, 0] + apart[:, None] * aside, points[:, -1] + apart[:, None] * aside
    )
    others = ((radius[:, None, None] - beside + 0.5).clamp(0, 1))[:, None]
    others = others * wide((kind > 0.6) & some(0.5, count))
    line, on_line = _stroke(points, radius, at)
    coverage = (cover + 0.5).clamp(0, 1)[:, None]
    return coverage, across.clamp(-1, 1)[:, None], line, on_line, others * (1 - coverage)


def _beside(start, stop):
    """Distance of every cell from a piece of a line, signed distance aside, and share along it."""
    x, y = (start[:, k, None, None] for k in (0, 1))
    dx, dy = (stop[:, k, None, None] - start[:, k, None, None] for k in (0, 1))
    long = (dx * dx + dy * dy).clamp(min=1e-4)
    t = (((_X - x) * dx + (_Y - y) * dy) / long).clamp(0, 1)
    off = ((_X - x) * dy - (_Y - y) * dx) / long.sqrt()
    return ((_X - x - t * dx) ** 2 + (_Y - y - t * dy) ** 2).sqrt(), off, t


def _stroke(points, radius, at):
    """A stroke along a line as a hand draws it, (N, SIDE, SIDE), and a spot on the thing."""
    count = len(points)
    hand = torch.randn_like(points) * (0.3 * radius + 0.6)[:, None, None]
    hand = hand * 0.5 + hand[:, :1] * 0.6  # beside the middle, mostly all along
    near = torch.full((count, SIDE, SIDE), 1e9, device=DEVICE)
    whole = some(0.6, count)
    for s in range(_CURVE):
        apart = _beside(points[:, s] + hand[:, s], points[:, s + 1] + hand[:, s + 1])[0]
        drawn = whole | (s in (2, 3, 4)) | some(0.3, count)
        near = torch.where(drawn[:, None, None], torch.minimum(near, apart), near)
    shift = torch.randn(count, 2, device=DEVICE) * (0.3 * radius).clamp(max=2)[:, None]
    return (near < _STROKE).float(), at + shift


def spots_at(places, radius: float = _SPOT):
    x, y = (places[:, k, None, None] for k in (0, 1))
    return ((_X - x) ** 2 + (_Y - y) ** 2 < radius * radius).float()[:, None]


_K = torch.arange(8, device=DEVICE)
_COSINES = torch.cos((2 * _K[None] + 1) * _K[:, None] * math.pi / 16) / 2
_COSINES[0] /= math.sqrt(2)
_STEPS = 8 + 5.0 * (_K[:, None] + _K[None])  # about the table of ITU-T T.81, annex K


def _jpeg(light):
    """Blocks of 8 x 8 cells, their cosines rounded (ITU-T T.81); one channel like the other."""
    count, height = len(light), SIDE // 8
    blocks = light.reshape(count, 3, height, 8, height, 8).permute(0, 1, 2, 4, 3, 5)
    waves = _COSINES @ (blocks * 255 - 128) @ _COSINES.T
    steps = _STEPS * log_uniform(0.2, 2.5, count)[:, None, None, None, None, None]
    back = _COSINES.T @ ((waves / steps).round() * steps) @ _COSINES
    back = (back + 128) / 255
    return back.permute(0, 1, 2, 4, 3, 5).reshape(count, 3, SIDE, SIDE)


def recoloured(light):
    """Other colours, contrast, shadows, blur, sharpening, noise, JPEG, and a slope of light."""
    count = len(light)
    mix = torch.eye(3, device=DEVICE) + torch.randn(count, 3, 3, device=DEVICE) * 0.08
    orders = torch.stack([torch.randperm(3, device=DEVICE) for _ in range(8)])
    swap = torch.eye(3, device=DEVICE)[orders][torch.randint(8, (count,), device=DEVICE)]
    mix = torch.where(some(0.2, count)[:, None, None], mix @ swap, mix)
    grey = uniform(0, 1, count) * some(0.35, count)
    grey = torch.where(some(0.08, count), torch.ones_like(grey), grey)[:, None, None]
    light = torch.einsum("nij,njhw->nihw", mix * (1 - grey) + grey / 3, light)
    way, at = uniform(0, 2 * math.pi, count), uniform(-50, 50, count)
    beyond = torch.cos(way)[:, None, None] * (_X - 64) + torch.sin(way)[:, None, None] * (_Y - 64)
    beyond = (beyond - at[:, None, None]) / log_uniform(0.5, 12, count)[:, None, None]
    shade = wide(uniform(0.15, 0.65, count) * some(0.3, count))
    light = light * (1 - shade * torch.sigmoid(beyond)[:, None])
    light = light.clamp(1e-4, 1) ** wide(torch.exp(uniform(-0.45, 0.45, count)))
    mean = light.mean((1, 2, 3), keepdim=True)
    light = (light - mean) * wide(torch.exp(uniform(-0.5, 0.35, count))) + mean
    light = light + wide(uniform(-0.15, 0.15, count))
    soft, softer = blurred(light, 3), blurred(light, 5)
    kind = torch.rand(count, device=DEVICE)
    light = torch.where(wide(kind < 0.2), soft, light)
    light = torch.where(wide((kind >= 0.2) & (kind < 0.3)), softer, light)
    sharper = light + wide(uniform(0.2, 1.2, count)) * (light - soft)
    light = torch.where(wide((kind >= 0.3) & (kind < 0.5)), sharper, light)
    half = fun.interpolate(fun.avg_pool2d(light, 2), scale_factor=2, mode="bilinear")
    light = torch.where(wide((kind >= 0.5) & (kind < 0.58)), half, light)
    light = light + torch.randn_like(light) * wide(uniform(0, 0.05, count) * some(0.5, count))
    coarse = sum(
        fun.interpolate(
            torch.randn(count, 3, SIDE // k, SIDE // k, device=DEVICE), scale_factor=k, mode=mode
        )
        for k, mode in ((4, "bilinear"), (2, "nearest"))
    )
    light = light + coarse * wide(uniform(0, 0.06, count) * some(0.35, count))
    slope = [uniform(-0.2, 0.2, count)[:, None, None] * (k / SIDE - 0.5) for k in (_X, _Y)]
    light = (light + (slope[0] + slope[1])[:, None]).clamp(0, 1)
    return torch.where(wide(some(0.35, count)), _jpeg(light).clamp(0, 1), light)

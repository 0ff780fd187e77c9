"""Trains the network of `render/depth/near/insides.py` on views of `cutout_views.py`.

    python tests/bench/cutout_training.py FOLDER OUT.npz [--seconds 360] [--all] [--batch 256]

Needs PyTorch and a GPU; neither is asked for elsewhere in this project. Without --all it learns
from the scenes of `LEARNT` alone, so that the others can measure it; the shipped weights were
learnt from all (1,144 views, 6,788 steps, six minutes on one data-centre GPU, 2026-11-29).

Squares of many sizes are cut around things, turned, mirrored and recoloured, blurred and made
noisy; other things are pasted over them, as the thing meant or in front of it. Half of the time
the network first answers itself, and a spot in the middle of its largest mistake is added, up to
twice (K. Sofiiuk et al., ICIP 2022). Loss: cross entropy and one less the soft overlap.
"""

import argparse
import itertools
import math
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as fun
from cutout_views import INDOORS, LEARNT
from torch import nn

SIDE = 128
WIDTHS = (16, 32, 64, 96, 128)
INPUTS = 7  # colour 3, in the picture, spots inside, spots outside, found before
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


class Network(nn.Module):
    """U-Net: two convolutions at each size, down and up again."""

    def __init__(self) -> None:
        super().__init__()

        def twice(size: int, out: int) -> nn.Sequential:
            parts: list[nn.Module] = []
            for start in (size, out):
                conv = nn.Conv2d(start, out, 3, padding=1, bias=False)
                parts += [conv, nn.BatchNorm2d(out), nn.ReLU()]
            return nn.Sequential(*parts)

        starts = (INPUTS, *WIDTHS[:-1])
        self.down = nn.ModuleList(twice(a, b) for a, b in zip(starts, WIDTHS, strict=True))
        self.up = nn.ModuleList(twice(a + b, a) for a, b in itertools.pairwise(WIDTHS))
        self.head = nn.Conv2d(WIDTHS[0], 1, 1)

    def forward(self, planes):
        """Log odds of every cell."""
        passed = []
        for level, part in enumerate(self.down):
            planes = part(fun.max_pool2d(planes, 2) if level else planes)
            passed.append(planes)
        for level in reversed(range(len(self.up))):
            larger = fun.interpolate(planes, scale_factor=2, mode="nearest")
            planes = self.up[level](torch.cat([passed[level], larger], 1))
        return self.head(planes)

    def folded(self) -> dict[str, np.ndarray]:
        """Weights as `insides.py` reads them, batch norms folded in."""
        kept = {"head_weights": self.head.weight[0, :, 0, 0], "head_bias": self.head.bias}
        for way, parts in (("down", self.down), ("up", self.up)):
            for level, part in enumerate(parts):
                for turn in range(2):
                    conv, norm = part[3 * turn], part[3 * turn + 1]
                    gain = norm.weight / torch.sqrt(norm.running_var + norm.eps)
                    weights = conv.weight * gain[:, None, None, None]
                    name = f"{way}{level}_{turn}"
                    kept[f"{name}_weights"] = weights.permute(1, 2, 3, 0).contiguous()
                    kept[f"{name}_bias"] = norm.bias - norm.running_mean * gain
        return {k: v.detach().float().cpu().numpy().astype(np.float16) for k, v in kept.items()}


def uniform(low: float, high: float, *shape: int):
    return torch.rand(*shape, device=DEVICE) * (high - low) + low


def some(share: float, count: int):
    """Which of `count`, one by one."""
    return torch.rand(count, device=DEVICE) < share


def wide(values):
    return values[:, None, None, None]


_CELLS = torch.arange(SIDE, device=DEVICE) + 0.5
_Y, _X = torch.meshgrid(_CELLS, _CELLS, indexing="ij")


class Views:
    """All views in the GPU's memory, and their things."""

    def __init__(self, paths: list[Path]) -> None:
        def read(path: Path):
            with np.load(path) as held:
                return held["pic"], held["ids"], held["box"], held["pts"]

        with ThreadPoolExecutor(8) as pool:
            held = list(pool.map(read, paths))
        self.pictures = torch.from_numpy(np.stack([h[0] for h in held])).to(DEVICE)
        self.ids = torch.from_numpy(np.stack([h[1] for h in held])).to(DEVICE)
        rows, spots, weights = [], [], []
        for k, (_, _, boxes, inside) in enumerate(held):
            weight = np.sqrt(np.clip(boxes[:, 4], 100, 12_000))
            weight *= min(1.0, len(boxes) / 6) / weight.sum()
            weights.append(weight * (0.5 if paths[k].name.split("-")[0] in INDOORS else 1.0))
            rows += [(k, i + 1, *box[:4]) for i, box in enumerate(boxes)]
            spots.append(inside)
        self.rows = torch.tensor(rows, device=DEVICE)
        self.spots = torch.tensor(np.concatenate(spots), device=DEVICE)
        self.weights = torch.tensor(np.concatenate(weights), device=DEVICE, dtype=torch.float32)

    def squares(self, count: int):
        """Colours, region, what lies in the picture, and the first spot (cells) of squares."""
        chosen = torch.multinomial(self.weights, count, replacement=True)
        row = self.rows[chosen]
        spot = self.spots[chosen, torch.randint(self.spots.shape[1], (count,), device=DEVICE)]
        size = torch.maximum(row[:, 4] - row[:, 2], row[:, 5] - row[:, 3]).float()
        height, width = self.ids.shape[1:]
        side = size * torch.exp(uniform(math.log(0.55), math.log(7.0), count))
        side = side.clamp(24, 1.5 * width)
        box = torch.stack([row[:, 2] + row[:, 4], row[:, 3] + row[:, 5]], 1) / 2.0
        moved = spot + (box - spot) * uniform(0, 1, count, 1)
        moved = moved + uniform(-0.12, 0.12, count, 2) * side[:, None]
        middle = torch.where(some(0.5, count)[:, None], moved, spot)
        reach = 0.42 * side[:, None]
        middle = torch.maximum(torch.minimum(middle, spot + reach), spot - reach)
        turn = uniform(-0.25, 0.25, count) * some(0.4, count)
        stretch = torch.exp(uniform(-0.15, 0.15, count)) * torch.where(some(0.5, count), -1.0, 1.0)
        across = torch.stack([torch.cos(turn) * stretch, -torch.sin(turn)], 1)
        down = torch.stack([torch.sin(turn) * stretch, torch.cos(turn)], 1)
        axes = torch.stack([across, down], 1) * (side / SIDE)[:, None, None]
        grid = torch.stack([_X, _Y], -1) - SIDE / 2
        source = torch.einsum("nij,hwj->nhwi", axes, grid) + middle[:, None, None]
        at = torch.linalg.solve(axes, (spot - middle)[..., None])[..., 0] + SIDE / 2
        whole = torch.cat(
            [
                self.pictures[row[:, 0]].permute(0, 3, 1, 2).float() / 255,
                (self.ids[row[:, 0]] == row[:, 1][:, None, None])[:, None].float(),
                torch.ones(count, 1, height, width, device=DEVICE),
            ],
            1,
        )
        total = 0
        for dx, dy in ((-0.25, -0.25), (0.25, 0.25), (-0.25, 0.25), (0.25, -0.25)):
            step = torch.einsum("nij,j->ni", axes, torch.tensor([dx, dy], device=DEVICE))
            place = source + step[:, None, None]
            place = torch.stack([place[..., 0] / width, place[..., 1] / height], -1) * 2 - 1
            total = total + fun.grid_sample(whole, place, align_corners=False) / 4
        return total[:, :3], total[:, 3:4], total[:, 4:5], at

    def batch(self, count: int):
        """Squares, some with another thing pasted over them, in other colours."""
        light, region, held, at = self.squares(count)
        order = torch.arange(count, device=DEVICE)
        other = order.roll(1)
        share, kind = fun.avg_pool2d(region, 3, 1, 1)[other], torch.rand(count, device=DEVICE)
        gain = torch.exp(torch.randn(count, 3, 1, 1, device=DEVICE) * 0.15)
        pasted = light * (1 - share) + (light[other] * gain).clamp(0, 1) * share
        left, cell = region * (1 - region[other]), at.long().clamp(0, SIDE - 1)
        free = left[order, 0, cell[:, 1], cell[:, 0]] > 0.5
        meant, front = wide(kind < 0.15), wide((kind >= 0.15) & (kind < 0.3) & free)
        light = torch.where(meant | front, pasted, light)
        held = torch.where(meant | front, torch.maximum(held, (share > 0).float()), held)
        region = torch.where(meant, region[other], torch.where(front, left, region))
        at = torch.where(meant[:, :, 0, 0], at[other], at)
        return recoloured(light) * (held > 0), region, held, at


def recoloured(light):
    """Other colours, contrast, blur, noise, and a slope of light."""
    count = len(light)
    mix = torch.eye(3, device=DEVICE) + torch.randn(count, 3, 3, device=DEVICE) * 0.08
    orders = torch.stack([torch.randperm(3, device=DEVICE) for _ in range(8)])
    swap = torch.eye(3, device=DEVICE)[orders][torch.randint(8, (count,), device=DEVICE)]
    mix = torch.where(some(0.2, count)[:, None, None], mix @ swap, mix)
    grey = uniform(0, 1, count) * some(0.35, count)
    grey = torch.where(some(0.08, count), torch.ones_like(grey), grey)[:, None, None]
    light = torch.einsum("nij,njhw->nihw", mix * (1 - grey) + grey / 3, light)
    light = light.clamp(1e-4, 1) ** wide(torch.exp(uniform(-0.45, 0.45, count)))
    mean = light.mean((1, 2, 3), keepdim=True)
    light = (light - mean) * wide(torch.exp(uniform(-0.5, 0.35, count))) + mean
    light = light + wide(uniform(-0.15, 0.15, count))
    soft = fun.avg_pool2d(fun.pad(light, (1, 1, 1, 1), mode="replicate"), 3, 1)
    light = torch.where(wide(some(0.25, count)), soft, light)
    light = light + torch.randn_like(light) * wide(uniform(0, 0.04, count) * some(0.5, count))
    coarse = sum(
        fun.interpolate(
            torch.randn(count, 3, SIDE // k, SIDE // k, device=DEVICE), scale_factor=k, mode=mode
        )
        for k, mode in ((4, "bilinear"), (2, "nearest"))
    )
    light = light + coarse * wide(uniform(0, 0.06, count) * some(0.35, count))
    slope = [uniform(-0.2, 0.2, count)[:, None, None] * (k / SIDE - 0.5) for k in (_X, _Y)]
    return (light + (slope[0] + slope[1])[:, None]).clamp(0, 1)


def spots_at(places, radius: float = 3.0):
    x, y = (places[:, k, None, None] for k in (0, 1))
    return ((_X - x) ** 2 + (_Y - y) ** 2 < radius * radius).float()[:, None]


def next_spots(likely, region, held):
    """About the middle of the largest mistake: places, whether they belong, whether any is left."""
    missing = ((likely < 0.5) & (region > 0.5)).float()
    extra = ((likely >= 0.5) & (region <= 0.5)).float() * (held > 0.5)

    def bulk(wrong):
        sizes = ((5, 0.6), (11, 1.0), (23, 1.0), (45, 1.0))
        mean = sum(fun.avg_pool2d(wrong, k, 1, k // 2) * weight for k, weight in sizes)
        return ((mean + 0.15 * torch.rand_like(wrong)) * wrong).flatten(1).argmax(1)

    areas = [wrong.flatten(1).sum(1) for wrong in (missing, extra)]
    belongs = areas[0] * torch.exp(uniform(-0.4, 0.4, len(region))) > areas[1]
    at = torch.where(belongs, bulk(missing), bulk(extra))
    left = torch.where(belongs, *areas) > 4
    return torch.stack([at % SIDE + 0.5, at // SIDE + 0.5], 1), belongs, left


def joined(light, held, more, less, before):
    planes = [(light - 0.45) / 0.25 * (held > 0), held, more, less, before]
    return torch.cat(planes, 1).contiguous(memory_format=torch.channels_last)


def loss_of(odds, region, held):
    seen = (held > 0).float()
    entropy = fun.binary_cross_entropy_with_logits(odds, region, reduction="none") * seen
    entropy = entropy.sum((1, 2, 3)) / seen.sum((1, 2, 3)).clamp(min=1)
    likely = torch.sigmoid(odds) * seen
    both = (likely * region).sum((1, 2, 3))
    either = (likely + region - likely * region).sum((1, 2, 3)).clamp(min=1)
    return (entropy + 1 - both / either).mean()


def inputs_of(views: Views, steady: Network, count: int, spots: int):
    """A batch with `spots` spots each, the later ones where the steady network was wrong."""
    light, region, held, at = views.batch(count)
    more = spots_at(at)
    less, before = torch.zeros_like(more), torch.zeros_like(more)
    for _ in range(spots - 1):
        odds = steady(joined(light, held, more, less, before)).float()
        likely = torch.sigmoid(odds) * (held > 0)
        place, belongs, left = next_spots(likely, region, held)
        spot = spots_at(place) * wide(left)
        more = torch.maximum(more, spot * wide(belongs))
        less = torch.maximum(less, spot * wide(~belongs))
        before = likely * wide(torch.rand(count, device=DEVICE) > 0.15)
    if spots == 1:  # now and then something rough was found before, as at another size
        shift = tuple(int(k) for k in np.random.default_rng().integers(-4, 5, 2))
        rough = fun.avg_pool2d(torch.roll(region, shift, (2, 3)), 9, 1, 4)
        rough = torch.sigmoid((rough - wide(uniform(0.25, 0.75, count))) * 12) * (held > 0)
        before = torch.where(wide(some(0.25, count)), rough, before)
    return joined(light, held, more, less, before), region, held


def main() -> None:
    """Train and write the weights."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seconds", type=float, default=360.0)
    parser.add_argument("--all", action="store_true")
    parser.add_argument("--batch", type=int, default=256)
    asked = parser.parse_args()
    torch.manual_seed(0)
    rng = np.random.default_rng(0)
    paths = sorted(asked.folder.glob("*.npz"))
    views = Views([p for p in paths if asked.all or p.name.split("-")[0] in LEARNT])
    network, steady = (Network().to(DEVICE).to(memory_format=torch.channels_last) for _ in "ab")
    steady.load_state_dict(network.state_dict())
    steady.eval()
    optimiser = torch.optim.AdamW(network.parameters(), lr=2e-3, weight_decay=1e-4)
    start, step = time.time(), 0
    while (gone := (time.time() - start) / asked.seconds) < 1:
        rate = 2e-3 * min(1, (step + 1) / 200) * (0.5 + 0.5 * math.cos(math.pi * gone)) + 1e-5
        optimiser.param_groups[0]["lr"] = rate
        half = torch.autocast(DEVICE, torch.bfloat16, enabled=DEVICE == "cuda")
        with torch.no_grad(), half:
            spots = 1 + int(rng.choice(3, p=(0.45, 0.3, 0.25)))
            given, region, held = inputs_of(views, steady, asked.batch, spots)
        with half:
            odds = network(given)
        loss = loss_of(odds.float(), region.float(), held.float())
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(network.parameters(), 2.0)
        optimiser.step()
        keep = min(0.999, 1 - 1 / (step + 2))
        with torch.no_grad():
            for old, new in zip(
                steady.state_dict().values(), network.state_dict().values(), strict=True
            ):
                if old.dtype.is_floating_point:
                    old.mul_(keep).add_(new, alpha=1 - keep)
                else:
                    old.copy_(new)
        step += 1
        if step % 200 == 0:
            print(step, f"{gone:.0%}", f"loss {float(loss.detach()):.3f}", flush=True)
    np.savez(asked.out, **steady.folded())
    print(step, "steps")


if __name__ == "__main__":
    main()

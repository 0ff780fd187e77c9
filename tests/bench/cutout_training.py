"""Trains the network of `render/depth/near/insides.py` on views of `cutout_views.py`.

    python tests/bench/cutout_training.py FOLDER PHOTOGRAPHS OUT.npz
        [--seconds 480] [--batch 256]

Needs PyTorch and a GPU; neither is asked for elsewhere in this project. The scenes of `HELD` are
passed over, so that they can measure it. Views that are still being made are taken in as they
come; PHOTOGRAPHS holds pictures of the views' size.

What a square holds is composed by `cutout_compositions.py`. Half of the time the network first
answers itself, and a spot in the middle of its largest mistake is added, up to twice (K. Sofiiuk
et al., ICIP 2022). Loss: cross entropy and one less the soft overlap.
"""

import argparse
import itertools
import math
import time
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as fun
from cutout_compositions import DEVICE, SIDE, Source, some, spots_at, uniform, wide
from cutout_views import HELD
from torch import nn

WIDTHS = (16, 32, 64, 96, 128)
INPUTS = 7  # colour 3, in the picture, spots inside, spots outside, found before


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


def inputs_of(source: Source, steady: Network, count: int, spots: int, half):
    """A batch with `spots` spots each, the later ones where the steady network was wrong."""
    light, region, held, more = source.batch(count)
    less, before = torch.zeros_like(more), torch.zeros_like(more)
    for _ in range(spots - 1):
        with half:
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
    parser.add_argument("photographs", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seconds", type=float, default=480.0)
    parser.add_argument("--batch", type=int, default=256)
    asked = parser.parse_args()
    torch.manual_seed(0)
    torch.backends.cudnn.benchmark = True
    rng = np.random.default_rng(0)
    source = Source(asked.folder, asked.photographs, lambda p: p.name.split("-")[0] not in HELD)
    network, steady = (Network().to(DEVICE).to(memory_format=torch.channels_last) for _ in "ab")
    steady.load_state_dict(network.state_dict())
    steady.eval()
    optimiser = torch.optim.AdamW(network.parameters(), lr=2e-3, weight_decay=1e-4)
    start, step = time.time(), 0
    while (gone := (time.time() - start) / asked.seconds) < 1:
        rate = 2e-3 * min(1, (step + 1) / 200) * (0.5 + 0.5 * math.cos(math.pi * gone)) + 1e-5
        optimiser.param_groups[0]["lr"] = rate
        half = torch.autocast(DEVICE, torch.bfloat16, enabled=DEVICE == "cuda")
        with torch.no_grad():  # places must not be rounded, so only the network's sums are halved
            spots = 1 + int(rng.choice(3, p=(0.45, 0.3, 0.25)))
            given, region, held = inputs_of(source, steady, asked.batch, spots, half)
        with half:
            odds = network(given)
        loss = loss_of(odds.float(), region, held)
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
            source.look()
            print(
                step,
                f"{gone:.0%}",
                f"loss {float(loss.detach()):.3f}",
                source.views.count,
                flush=True,
            )
    np.savez_compressed(asked.out, **steady.folded())
    print(step, "steps", source.views.count, "views")


if __name__ == "__main__":
    main()

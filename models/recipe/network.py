"""The network: forty cepstra a frame in, scores of every unit's two outputs each third frame out.

A factored time-delay network (TDNN-F): each layer squeezes its input through a bottleneck, looks some frames back and
forth, and adds 0.66 of what it was given. Each part has an exact counterpart in Kaldi's nnet3, see export.py.
"""

from __future__ import annotations

import math

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

from export import EPSILON, RESIDUAL, Weights
from phones import UNITS

REACH = (1, 1, 1, 0, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3)  # frames each layer looks back and forth
THINNING_LAYER = 4  # from here on only every third frame is computed
STRIDE = 3
CONTEXT = 1 + sum(REACH)
CEPSTRA = 40


class Frames(nn.Module):
    """An affine map of each frame and those `reach` steps after it, one weight matrix as Kaldi keeps it."""

    def __init__(self, inputs: int, outputs: int, taps: int, bias: bool = True) -> None:
        super().__init__()
        self.taps, self.map = taps, nn.Linear(inputs * taps, outputs, bias=bias)

    def forward(self, frames: Tensor) -> Tensor:
        """(clips, frames, inputs) to (clips, frames - taps + 1, outputs)."""
        if self.taps > 1:
            length = frames.shape[1] - self.taps + 1
            frames = torch.cat([frames[:, tap : tap + length] for tap in range(self.taps)], -1)
        return self.map(frames)


class Norm(nn.BatchNorm1d):
    """Batch normalisation of (clips, frames, values)."""

    def __init__(self, size: int) -> None:
        super().__init__(size, eps=EPSILON, affine=False)

    def forward(self, frames: Tensor) -> Tensor:
        return super().forward(frames.reshape(-1, frames.shape[-1])).view(frames.shape)


class Factored(nn.Module):
    """One layer. Every layer with a reach looks one step back and forth: a frame before thinning, three after it."""

    def __init__(self, width: int, bottleneck: int, reach: int, dropout: float) -> None:
        super().__init__()
        taps, self.reach = (2 if reach else 1), reach
        self.squeeze = Frames(width, bottleneck, taps, bias=False)
        self.expand = Frames(bottleneck, width, taps)
        self.norm, self.dropout = Norm(width), dropout

    def forward(self, frames: Tensor) -> Tensor:
        said = self.norm(functional.relu(self.expand(self.squeeze(frames))))
        if self.training and self.dropout:  # one mask for all frames of a clip
            mask = torch.rand(said.shape[0], 1, said.shape[2], device=said.device, dtype=said.dtype)
            said = said * (1 + 2 * self.dropout * (2 * mask - 1))
        kept = frames[:, 1:-1] if self.reach else frames
        return RESIDUAL * kept + said


class Network(nn.Module):
    def __init__(self, width: int = 768, bottleneck: int = 96, last: int = 96, dropout: float = 0.1) -> None:
        super().__init__()
        self.first, self.first_norm = Frames(CEPSTRA, width, 3), Norm(width)
        self.layers = nn.ModuleList([Factored(width, bottleneck, reach, dropout) for reach in REACH])
        self.last_small = Frames(width, last, 1, bias=False)
        self.last_affine, self.last_norm = Frames(last, width, 1), Norm(width)
        self.last_linear, self.last_even = Frames(width, last, 1, bias=False), Norm(last)
        self.output = Frames(last, 2 * len(UNITS), 1)
        nn.init.zeros_(self.output.map.weight)
        nn.init.zeros_(self.output.map.bias)

    def forward(self, cepstra: Tensor) -> Tensor:
        """(clips, frames + 2 CONTEXT, 40) to (clips, about frames / 3, outputs)."""
        frames = self.first_norm(functional.relu(self.first(cepstra)))
        for index, layer in enumerate(self.layers):
            frames = layer(frames[:, ::STRIDE] if index == THINNING_LAYER else frames)
        frames = self.last_norm(functional.relu(self.last_affine(self.last_small(frames))))
        return self.output(self.last_even(self.last_linear(frames))).float()

    def weights(self) -> Weights:
        """The numbers under the names that export.py reads."""
        named: Weights = {"reach": np.array(REACH)}
        put_affine(named, "first", self.first, self.first_norm)
        for index, layer in enumerate(self.layers):
            put_affine(named, f"layer{index}", layer.expand, layer.norm)
            named[f"layer{index}.linear"] = matrix_of(layer.squeeze)
        put_affine(named, "last", self.last_affine, self.last_norm)
        named["last.small"], named["last.linear"] = matrix_of(self.last_small), matrix_of(self.last_linear)
        put_norm(named, "last.even", self.last_even)
        named["output.weight"], named["output.bias"] = matrix_of(self.output), as_array(self.output.map.bias)
        return named


def as_array(tensor: Tensor) -> np.ndarray:
    return tensor.detach().cpu().float().numpy()


def matrix_of(frames: Frames) -> np.ndarray:
    return as_array(frames.map.weight)


def put_norm(named: Weights, stem: str, norm: Norm) -> None:
    named[stem + ".mean"], named[stem + ".var"] = as_array(norm.running_mean), as_array(norm.running_var)


def put_affine(named: Weights, stem: str, frames: Frames, norm: Norm) -> None:
    named[stem + ".weight"], named[stem + ".bias"] = matrix_of(frames), as_array(frames.map.bias)
    put_norm(named, stem, norm)


# ---- features


def mel(hertz: float) -> float:
    return 1127 * math.log(1 + hertz / 700)


def filter_bank(bands: int = 40, low: float = 20, high: float = 7600, rate: int = 16000, size: int = 512) -> Tensor:
    """Kaldi's triangular filters on the mel scale."""
    step = (mel(high) - mel(low)) / (bands + 1)
    place = torch.tensor([mel(k * rate / size) for k in range(size // 2 + 1)])
    left = torch.tensor([mel(low) + b * step for b in range(bands)])[:, None]
    rising, falling = (place - left) / step, (left + 2 * step - place) / step
    bank = torch.minimum(rising, falling).clamp_min(0)
    bank[:, -1] = 0
    return bank


def cosine_transform(bands: int = 40, lifter: float = 22) -> Tensor:
    k, n = torch.arange(bands)[:, None], torch.arange(bands)[None]
    table = math.sqrt(2 / bands) * torch.cos(math.pi / bands * (n + 0.5) * k)
    table[0] = math.sqrt(1 / bands)
    return table * (1 + 0.5 * lifter * torch.sin(math.pi * torch.arange(bands) / lifter))[:, None]


class Cepstra(nn.Module):
    """Kaldi's MFCC without dither: 25 ms windows each 10 ms, 40 bands, 40 cepstra."""

    def __init__(self) -> None:
        super().__init__()
        self.register_buffer("window", torch.hann_window(400, periodic=False) ** 0.85)
        self.register_buffer("bank", filter_bank().T.contiguous())
        self.register_buffer("cosines", cosine_transform().T.contiguous())

    def bands(self, samples: Tensor) -> Tensor:
        frames = samples.unfold(1, 400, 160)
        frames = frames - frames.mean(-1, keepdim=True)
        frames = torch.cat([frames[..., :1] * 0.03, frames[..., 1:] - 0.97 * frames[..., :-1]], -1) * self.window
        power = torch.fft.rfft(frames, 512).abs() ** 2
        return (power @ self.bank).clamp_min(1.1920929e-07).log()

    def forward(self, samples: Tensor) -> Tensor:
        return self.bands(samples) @ self.cosines

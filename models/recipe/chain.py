"""The training criterion: lattice-free maximum mutual information, from a flat start.

For each clip, the log of the summed score of all alignments of its own phones (numerator), less that of any phone
string under a phone bigram (denominator). The gradient of each is the share of alignments that pass through an
output, found by a forward and a backward pass; both passes run in double precision on values scaled at each frame.
"""

from __future__ import annotations

from typing import NamedTuple

import torch
from torch import Tensor
from torch.autograd.function import FunctionCtx
from torch.nn import functional

TINY = 1e-300


class Targets(NamedTuple):
    """Units of each clip in order, padded; `optional` marks those that may be skipped."""

    units: Tensor  # (clips, states) int64
    optional: Tensor  # (clips, states) bool
    count: Tensor  # (clips,) states in use


class Bigram(NamedTuple):
    """Phone bigram as probabilities."""

    start: Tensor  # (units,)
    follow: Tensor  # (units, units)
    end: Tensor  # (units,)


def scaled(outputs: Tensor, frames: Tensor) -> tuple[Tensor, Tensor, Tensor]:
    """Exponentials of entering and staying scores over their largest a frame, that log scale, and the mask.

    Past a clip's end, staying costs nothing and entering is impossible, so both passes carry their values through.
    """
    values = outputs.double()
    inside = torch.arange(outputs.shape[1], device=outputs.device)[None] < frames[:, None]
    top = values.amax(-1, keepdim=True)
    enter, stay = (values[..., 0::2] - top).exp(), (values[..., 1::2] - top).exp()
    enter = torch.where(inside[..., None], enter, 0.0)
    stay = torch.where(inside[..., None], stay, 1.0)
    return enter, stay, (top[..., 0] * inside)


def passes_denominator(enter: Tensor, stay: Tensor, bigram: Bigram) -> tuple[Tensor, Tensor, Tensor]:
    """Log score of a clip, and shares of alignments that enter and that stay, (frames, clips, units)."""
    sums = kernels().denominator if enter.is_cuda else denominator_by_frame
    come, held, after, scale = sums(enter, stay, *bigram)
    return scale.log().sum(0), *shares(come * enter * after, held * stay * after)


def denominator_by_frame(
    enter: Tensor, stay: Tensor, start: Tensor, follow: Tensor, end: Tensor
) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    """Forward mass about to enter and already held, backward mass, and the scale of each frame and of the end."""
    length, clips, units = enter.shape
    come, held, after = torch.empty_like(enter), torch.zeros_like(enter), torch.empty_like(enter)
    scale = enter.new_empty(length + 1, clips)
    come[0] = start
    now = start * enter[0]
    scale[0] = now.sum(-1)
    now = now / scale[0][:, None]
    for t in range(1, length):
        held[t], come[t] = now, now @ follow
        now = now * stay[t] + come[t] * enter[t]
        scale[t] = now.sum(-1)
        now = now / scale[t][:, None]
    scale[length] = (now * end).sum(-1)
    back = end.expand(clips, units)
    for t in range(length - 1, -1, -1):
        after[t] = back
        back = (back * enter[t]) @ follow.T + back * stay[t]
        back = back / back.sum(-1, keepdim=True)
    return come, held, after, scale


def kernels():  # type: ignore[no-untyped-def]
    """The compiled passes, read only where there is a graphics card."""
    import chain_kernels

    return chain_kernels


def shares(entering: Tensor, staying: Tensor) -> tuple[Tensor, Tensor]:
    both = (entering.sum(-1) + staying.sum(-1)).clamp_min(TINY)[..., None]
    return entering / both, staying / both


def passes_numerator(enter: Tensor, stay: Tensor, skip: Tensor, targets: Targets) -> tuple[Tensor, Tensor, Tensor]:
    """The same over a clip's own states; a state is reached from the one before, or past an optional one."""
    place = torch.arange(enter.shape[2], device=enter.device)
    last = (targets.count - 1)[:, None]
    begin = (place == 0)[None] | ((place == 1)[None] & targets.optional[:, :1])
    finish = (place == last) | ((place == last - 1) & targets.optional.gather(1, last))
    sums = kernels().numerator if enter.is_cuda else numerator_by_frame
    come, held, after, scale = sums(enter, stay, skip, begin.to(enter.dtype), finish.to(enter.dtype))
    return scale.log().sum(0), *shares(come * enter * after, held * stay * after)


def numerator_by_frame(
    enter: Tensor, stay: Tensor, skip: Tensor, begin: Tensor, finish: Tensor
) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    length, clips, _ = enter.shape
    come, held, after = torch.empty_like(enter), torch.zeros_like(enter), torch.empty_like(enter)
    scale = enter.new_empty(length + 1, clips)
    come[0] = begin
    now = begin * enter[0]
    scale[0] = now.sum(-1).clamp_min(TINY)
    now = now / scale[0][:, None]
    for t in range(1, length):
        held[t] = now
        come[t] = functional.pad(now, (1, 0))[:, :-1] + skip * functional.pad(now, (2, 0))[:, :-2]
        now = now * stay[t] + come[t] * enter[t]
        scale[t] = now.sum(-1).clamp_min(TINY)
        now = now / scale[t][:, None]
    scale[length] = (now * finish).sum(-1).clamp_min(TINY)
    back = finish
    for t in range(length - 1, -1, -1):
        after[t] = back
        ahead = back * enter[t]
        back = back * stay[t] + functional.pad(ahead, (0, 1))[:, 1:] + functional.pad(skip * ahead, (0, 2))[:, 2:]
        back = back / back.sum(-1, keepdim=True).clamp_min(TINY)
    return come, held, after, scale


def occupancy(entering: Tensor, staying: Tensor, inside: Tensor) -> Tensor:
    """(frames, clips, units) twice to (clips, frames, outputs) with entering and staying in turn."""
    both = torch.stack([entering, staying], -1).flatten(2).transpose(0, 1)
    return both * inside[..., None]


def score_targets(outputs: Tensor, frames: Tensor, targets: Targets) -> tuple[Tensor, Tensor]:
    """Numerator log score of each clip and its gradient."""
    enter, stay, top = scaled(outputs, frames)
    length = enter.shape[1]
    wanted = targets.units[:, None].expand(-1, length, -1)
    skip = torch.zeros_like(targets.optional)
    skip[:, 2:] = targets.optional[:, 1:-1]
    chosen = [x.gather(2, wanted).transpose(0, 1).contiguous() for x in (enter, stay)]
    total, entering, staying = passes_numerator(*chosen, skip.double(), targets)
    spread = [
        torch.zeros_like(enter).scatter_add_(2, wanted, x.transpose(0, 1)).transpose(0, 1) for x in (entering, staying)
    ]
    inside = torch.arange(length, device=outputs.device)[None] < frames[:, None]
    return total + top.sum(1), occupancy(*spread, inside)


def score_any(outputs: Tensor, frames: Tensor, bigram: Bigram) -> tuple[Tensor, Tensor]:
    """Denominator log score of each clip and its gradient."""
    enter, stay, top = scaled(outputs, frames)
    enter, stay = enter.transpose(0, 1).contiguous(), stay.transpose(0, 1).contiguous()
    total, entering, staying = passes_denominator(enter, stay, bigram)
    inside = torch.arange(outputs.shape[1], device=outputs.device)[None] < frames[:, None]
    return total + top.sum(1), occupancy(entering, staying, inside)


class MutualInformation(torch.autograd.Function):
    """Denominator less numerator a frame, averaged over the clips that can be aligned at all."""

    @staticmethod
    def forward(ctx: FunctionCtx, outputs: Tensor, frames: Tensor, targets: Targets, bigram: Bigram) -> Tensor:
        numerator, up = score_targets(outputs, frames, targets)
        denominator, down = score_any(outputs, frames, bigram)
        loss = (denominator - numerator) / frames
        sound = torch.isfinite(loss) & (loss < 50)
        weight = sound.double() / (frames * sound.sum().clamp_min(1))
        ctx.gradient = torch.nan_to_num((down - up) * weight[:, None, None]).to(outputs.dtype)  # type: ignore[attr-defined]
        return torch.where(sound, loss, 0.0).sum() / sound.sum().clamp_min(1)

    @staticmethod
    def backward(ctx: FunctionCtx, given: Tensor) -> tuple[Tensor, None, None, None]:  # type: ignore[override]
        return ctx.gradient * given.to(ctx.gradient.dtype), None, None, None  # type: ignore[attr-defined]

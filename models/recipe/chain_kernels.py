"""The two passes of chain.py as one graphics-card program a clip: the same sums, some thirty times faster.

`before` and `after` hold, for each frame and clip, the forward mass before entering and the backward mass.
"""

from __future__ import annotations

import torch
import triton
import triton.language as tl
from torch import Tensor


@triton.jit
def any_string(
    enter,
    stay,
    start,
    follow,
    end,
    come,
    held,
    after,
    scale,
    length,
    clips,
    units: tl.constexpr,
    width: tl.constexpr,
):  # type: ignore[no-untyped-def]
    clip = tl.program_id(0)
    unit = tl.arange(0, width)
    inside = unit < units
    square = unit[:, None] * units + unit[None, :]
    both = inside[:, None] & inside[None, :]
    forth = tl.load(follow + square, mask=both, other=0.0)
    row = clip * units + unit
    step = clips * units
    coming = tl.load(start + unit, mask=inside, other=0.0)
    tl.store(come + row, coming, mask=inside)
    now = coming * tl.load(enter + row, mask=inside, other=0.0)
    total = tl.sum(now, axis=0)
    tl.store(scale + clip, total)
    now = now / total
    for t in range(1, length):
        at = t * step + row
        tl.store(held + at, now, mask=inside)
        coming = tl.sum(now[:, None] * forth, axis=0)
        tl.store(come + at, coming, mask=inside)
        now = now * tl.load(stay + at, mask=inside, other=0.0) + coming * tl.load(enter + at, mask=inside, other=0.0)
        total = tl.sum(now, axis=0)
        tl.store(scale + t * clips + clip, total)
        now = now / total
    last = tl.load(end + unit, mask=inside, other=0.0)
    tl.store(scale + length * clips + clip, tl.sum(now * last, axis=0))
    turned = unit[None, :] * units + unit[:, None]
    back_way = tl.load(follow + turned, mask=both, other=0.0)
    back = last
    for s in range(length):
        at = (length - 1 - s) * step + row
        tl.store(after + at, back, mask=inside)
        entered = back * tl.load(enter + at, mask=inside, other=0.0)
        back = tl.sum(entered[:, None] * back_way, axis=0) + back * tl.load(stay + at, mask=inside, other=0.0)
        back = back / tl.sum(back, axis=0)


@triton.jit
def own_string(
    enter,
    stay,
    skip,
    begin,
    finish,
    come,
    held,
    after,
    ahead,
    scale,
    length,
    clips,
    states,
    width: tl.constexpr,
):  # type: ignore[no-untyped-def]
    clip = tl.program_id(0)
    state = tl.arange(0, width)
    inside = state < states
    row = clip * states + state
    step = clips * states
    jump = tl.load(skip + row, mask=inside, other=0.0)
    jump_next = tl.load(skip + row + 2, mask=state + 2 < states, other=0.0)
    coming = tl.load(begin + row, mask=inside, other=0.0)
    tl.store(come + row, coming, mask=inside)
    now = coming * tl.load(enter + row, mask=inside, other=0.0)
    total = tl.maximum(tl.sum(now, axis=0), 1e-300)
    tl.store(scale + clip, total)
    now = now / total
    for t in range(1, length):
        at = t * step + row
        tl.store(held + at, now, mask=inside)
        tl.debug_barrier()
        one = tl.load(held + at - 1, mask=inside & (state >= 1), other=0.0)
        two = tl.load(held + at - 2, mask=inside & (state >= 2), other=0.0)
        coming = one + jump * two
        tl.store(come + at, coming, mask=inside)
        now = now * tl.load(stay + at, mask=inside, other=0.0) + coming * tl.load(enter + at, mask=inside, other=0.0)
        total = tl.maximum(tl.sum(now, axis=0), 1e-300)
        tl.store(scale + t * clips + clip, total)
        now = now / total
    last = tl.load(finish + row, mask=inside, other=0.0)
    tl.store(scale + length * clips + clip, tl.maximum(tl.sum(now * last, axis=0), 1e-300))
    back = last
    for s in range(length):
        at = (length - 1 - s) * step + row
        tl.store(after + at, back, mask=inside)
        tl.store(ahead + at, back * tl.load(enter + at, mask=inside, other=0.0), mask=inside)
        tl.debug_barrier()
        one = tl.load(ahead + at + 1, mask=state + 1 < states, other=0.0)
        two = tl.load(ahead + at + 2, mask=state + 2 < states, other=0.0)
        back = back * tl.load(stay + at, mask=inside, other=0.0) + one + jump_next * two
        back = back / tl.maximum(tl.sum(back, axis=0), 1e-300)


def width_for(size: int) -> int:
    return max(32, triton.next_power_of_2(size))


def denominator(
    enter: Tensor, stay: Tensor, start: Tensor, follow: Tensor, end: Tensor
) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    """Forward mass about to enter, forward mass held, backward mass, scale of each frame (and the end)."""
    length, clips, units = enter.shape
    come, held, after = torch.empty_like(enter), torch.zeros_like(enter), torch.empty_like(enter)
    scale = enter.new_empty(length + 1, clips)
    any_string[(clips,)](
        enter, stay, start, follow, end, come, held, after, scale, length, clips, units, width_for(units)
    )
    return come, held, after, scale


def numerator(
    enter: Tensor, stay: Tensor, skip: Tensor, begin: Tensor, finish: Tensor
) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    length, clips, states = enter.shape
    come, held, after = torch.empty_like(enter), torch.zeros_like(enter), torch.empty_like(enter)
    ahead, scale = torch.empty_like(enter), enter.new_empty(length + 1, clips)
    own_string[(clips,)](
        enter,
        stay,
        skip,
        begin,
        finish,
        come,
        held,
        after,
        ahead,
        scale,
        length,
        clips,
        states,
        width_for(states),
    )
    return come, held, after, scale

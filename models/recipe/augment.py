"""Make clean clips sound like a workshop, in batches on the graphics card: speed, room, noise, microphone, level."""

from __future__ import annotations

import math

import torch
from torch import Tensor
from torch.nn import functional

RATE = 16000
LONGER = 1.12  # at most so much slower


def uniform(clips: int, low: float, high: float, device: torch.device) -> Tensor:
    return torch.rand(clips, 1, device=device) * (high - low) + low


def some(clips: int, share: float, device: torch.device) -> Tensor:
    return (torch.rand(clips, 1, device=device) < share).float()


def decibels(level: Tensor) -> Tensor:
    return 10 ** (level / 20)


def power(sound: Tensor) -> Tensor:
    return sound.pow(2).mean(1, keepdim=True).sqrt() + 1e-3


def place(store: Tensor, starts: Tensor, lengths: Tensor, at: Tensor, speed: Tensor, samples: int) -> Tensor:
    """Lay stored clips into silence: (clips, slots) starts, lengths and places; played `speed` times as fast.

    Linear interpolation between samples; changing the speed moves pitch and formants too, like another speaker.
    """
    sound = torch.zeros(starts.shape[0], samples, device=store.device)
    time = torch.arange(samples, device=store.device)[None]
    for slot in range(starts.shape[1]):
        position = (time - at[:, slot, None]).clamp_min(0) * speed
        whole = position.long()
        length = lengths[:, slot, None]
        inside = (time >= at[:, slot, None]) & (whole < length - 1)
        index = starts[:, slot, None] + whole.clamp_max((length - 2).clamp_min(0))
        left, right = store[index].float(), store[index + 1].float()
        sound += torch.where(inside, left + (right - left) * (position - whole), 0.0)
    return sound


def rooms(clips: int, device: torch.device, taps: int = 8000) -> Tensor:
    """Impulse responses: the direct sound, some early echoes, and a tail that dies away, faster at high pitch."""
    time = torch.arange(taps, device=device)[None] / RATE
    dying = uniform(clips, 0.08, 0.7, device)
    tail = torch.randn(clips, taps, device=device)
    dull = uniform(clips, 0.0, 0.8, device)
    tail = tail + dull * functional.pad(tail, (1, 0))[:, :-1]
    response = tail * torch.exp(-6.9 * time / dying) * uniform(clips, 0.0, 0.1, device) * (time > 0.004)
    echoes = torch.randint(16, 700, (clips, 8), device=device)
    response.scatter_add_(1, echoes, (torch.rand(clips, 8, device=device) - 0.4) * uniform(clips, 0.0, 0.5, device))
    response = response * some(clips, 0.6, device)
    response[:, 0] = 1.0
    return response


def convolve(sound: Tensor, responses: Tensor) -> Tensor:
    size = 1 << (sound.shape[1] + responses.shape[1] - 1).bit_length()
    return torch.fft.irfft(torch.fft.rfft(sound, size) * torch.fft.rfft(responses, size), size)[:, : sound.shape[1]]


def microphone(sound: Tensor) -> Tensor:
    """A random smooth response; some as narrow as a telephone or an 8 kHz recording; low cut."""
    clips, samples = sound.shape
    size = 1 << (samples - 1).bit_length()
    spectrum = torch.fft.rfft(sound, size)
    frequency = torch.linspace(0, RATE / 2, spectrum.shape[1], device=sound.device)[None]
    curve = torch.randn(clips, 1, 10, device=sound.device) * uniform(clips, 0.0, 0.8, sound.device)[:, None]
    shape = functional.interpolate(curve, size=spectrum.shape[1], mode="linear", align_corners=True)[:, 0].exp()
    narrow = some(clips, 0.3, sound.device)
    top = narrow * uniform(clips, 3200, 4000, sound.device) + (1 - narrow) * uniform(clips, 5000, 12000, sound.device)
    bottom = uniform(clips, 0, 1, sound.device) ** 2 * 350
    shape = shape * torch.sigmoid((top - frequency) / 60) * torch.sigmoid((frequency - bottom) / 20)
    return torch.fft.irfft(spectrum * shape, size)[:, :samples]


def noises(bank: Tensor, clips: int, samples: int, kinds: Tensor) -> Tensor:
    """A stretch of a stored noise for each clip."""
    start = torch.randint(0, bank.shape[1] - 1, (clips, 1), device=bank.device)
    time = (torch.arange(samples, device=bank.device)[None] + start) % bank.shape[1]
    return bank[kinds[:, None], time].float()


def talkers(sound: Tensor) -> Tensor:
    """Other clips of the batch, as people talking across the room."""
    first, second = (torch.randperm(sound.shape[0], device=sound.device) for _ in range(2))
    return sound[first].roll(5000, 1) + sound[second].roll(-9000, 1)


def workshop(speech: Tensor, bank: Tensor, kinds: Tensor, empty: Tensor) -> Tensor:
    """Speech (or, where `empty`, nothing) in a room with noise, through a microphone, at some level."""
    clips, samples = speech.shape
    device = speech.device
    speech = convolve(speech, rooms(clips, device))
    loud = torch.where(empty[:, None], torch.full((clips, 1), 2000.0, device=device), power(speech) * 1.3)
    noise = noises(bank, clips, samples, kinds)
    margin = uniform(clips, 0, 1, device) ** 0.75 * 38 - 3  # -3 to 35 dB; a quarter of all clips below 10 dB
    other = talkers(speech)
    behind = some(clips, 0.2, device) * decibels(-uniform(clips, 7, 25, device)) * loud / power(other)
    mixed = speech + noise * loud * decibels(-margin) + other * behind
    heard = microphone(mixed)
    hiss = torch.randn_like(heard) * loud * decibels(-uniform(clips, 25, 60, device))
    level = uniform(clips, -34, 8, device)
    heard = (heard + hiss) * decibels(level)
    return coarse(heard.clamp(-32768, 32767)) + torch.randn_like(heard)


def coarse(sound: Tensor) -> Tensor:
    """One clip in ten as if stored in few bits, as old recordings are."""
    step = 32 * some(sound.shape[0], 0.1, sound.device) + 1
    return torch.where(step > 1, (sound / step).round() * step, sound)


def stretched(bands: Tensor, frames: Tensor) -> tuple[Tensor, Tensor]:
    """Say it faster or slower without changing pitch: frames are interpolated along time."""
    clips, length, _ = bands.shape
    pace = uniform(clips, 0.85, LONGER, bands.device)
    longest = math.ceil(length * LONGER)
    position = (torch.arange(longest, device=bands.device)[None] / pace).clamp_max(length - 1.001)
    left = position.long()
    part = (position - left)[..., None]
    wanted = left[..., None].expand(-1, -1, bands.shape[2])
    warped = bands.gather(1, wanted) * (1 - part) + bands.gather(1, wanted + 1) * part
    count = (frames[:, None] * pace)[:, 0].long().clamp_min(4)
    return warped, count


def reshaped(bands: Tensor) -> Tensor:
    """Another throat and another engine: bands moved along the mel scale, blurred, and a few of them lost."""
    clips, _, count = bands.shape
    device = bands.device
    index = torch.arange(count, device=device)[None] * uniform(clips, 0.92, 1.08, device)
    index = index.clamp_max(count - 1.001)
    left = index.long()[:, None].expand_as(bands)
    part = (index - index.floor())[:, None]
    moved = bands.gather(2, left) * (1 - part) + bands.gather(2, left + 1) * part
    return masked(blurred(moved))


def blurred(bands: Tensor) -> Tensor:
    """Some clips smoothed along pitch and time, as voices built from averages are."""
    clips = bands.shape[0]
    for axis in (1, 2):
        share = some(clips, 0.3, bands.device) * uniform(clips, 0, 0.3, bands.device)
        near = bands.roll(1, axis) + bands.roll(-1, axis)
        ends = [slice(None)] * 3
        ends[axis] = slice(1, -1)
        bands = bands.clone()
        bands[tuple(ends)] = (bands * (1 - 2 * share[..., None]) + near * share[..., None])[tuple(ends)]
    return bands


def masked(bands: Tensor, widest: int = 8) -> Tensor:
    """In half of the clips some neighbouring bands say nothing: they hold the clip's mean."""
    clips, _, count = bands.shape
    place = torch.arange(count, device=bands.device)[None]
    first, width = uniform(clips, 0, count, bands.device), uniform(clips, 0, widest, bands.device)
    hidden = (place >= first) & (place < first + width * some(clips, 0.5, bands.device))
    return torch.where(hidden[:, None], bands.mean((1, 2), keepdim=True), bands)


def padded(cepstra: Tensor, frames: Tensor, context: int) -> Tensor:
    """Repeat the first and the last real frame of each clip outwards, as the recogniser does."""
    index = torch.arange(-context, cepstra.shape[1] + context, device=cepstra.device)[None]
    index = index.clamp_min(0).minimum(frames[:, None] - 1)
    return cepstra.gather(1, index[..., None].expand(-1, -1, cepstra.shape[2]))

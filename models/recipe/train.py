"""Train the acoustic model on packs of clips; resumable.

    python train.py PACKS OUT --seconds 480 [--seed 1] [--from 0.0 --to 1.0] [--resume OUT.pt] [--start WEIGHTS.npz]

PACKS holds *.bin with *.jsonl (see clips.py). OUT.npz gets the weights, OUT.pt everything needed to go on. The rate
of learning falls along one cosine; a run covers the part between --from and --to of it.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import random
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from itertools import islice, pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np
import torch
from torch import Tensor

import augment
from bench_sounds import BROKEN, STEADY
from chain import Bigram, MutualInformation, Targets, score_any, score_targets
from clips import decode, read_index
from lexicon import Dictionary
from network import CONTEXT, STRIDE, Cepstra, Network
from phones import NOISE, SILENCE, UNIT_INDEX, UNITS
from voices import is_british, is_kept

SHARES = {"kk": 0.42, "flite": 0.1, "espeak": 0.12, "festival": 0.09, "rhvoice": 0.11, "fsdd": 0.1, "noise": 0.06}
RATE = 16000
SECONDS_A_BATCH = 720
LENGTHS = (
    1.2,
    1.6,
    2.0,
    2.5,
    3.0,
    3.5,
    4.0,
    5.0,
    6.5,
)  # of batches [s]: few shapes, so that plans are made once
DIGITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
SIL, NSN = UNIT_INDEX[SILENCE], UNIT_INDEX[NOISE]


class Spoken(NamedTuple):
    """A decoded clip: where its samples lie in the store, its units and its voice."""

    start: int
    length: int
    units: tuple[tuple[int, ...], ...]
    voice: str
    text: str


class Example(NamedTuple):
    """Clips said one after another, each with the silence before it [samples]; none of them for mere noise."""

    clips: tuple[Spoken, ...]
    gaps: tuple[int, ...]
    speed: float
    tail: int
    noise: int

    @property
    def samples(self) -> int:
        return sum(self.gaps) + self.tail + int(sum(c.length for c in self.clips) / self.speed) + 1


# ---- data


def load(folder: Path) -> tuple[Tensor, list[Spoken]]:
    """All samples end to end, and where each clip lies."""
    dictionary, sounds, spoken, start = Dictionary(), [], [], 0
    for stem in sorted(folder.glob("*.jsonl")):
        audio = stem.with_suffix(".bin").read_bytes()
        listed = [c for c in read_index(stem) if all(word in dictionary for word in c.text.split())]
        with ProcessPoolExecutor(os.cpu_count()) as pool:
            decoded = pool.map(decode, [audio[c.offset : c.offset + c.length] for c in listed], chunksize=64)
            for clip, samples in zip(listed, decoded, strict=True):
                spoken.append(
                    Spoken(
                        start,
                        len(samples),
                        pronounce(dictionary, clip.text, clip.voice),
                        clip.voice,
                        clip.text,
                    )
                )
                sounds.append(loudened(samples))
                start += len(samples)
    return torch.from_numpy(np.concatenate(sounds)), spoken


def loudened(samples: np.ndarray) -> np.ndarray:
    peak = max(1, int(np.abs(samples.astype(np.int32)).max()))
    return (samples.astype(np.float32) * (16000 / peak)).astype(np.int16)


def pronounce(dictionary: Dictionary, text: str, voice: str) -> tuple[tuple[int, ...], ...]:
    say = dictionary.british if is_british(voice) else dictionary.american
    return tuple(tuple(UNIT_INDEX[p] for p in say(word)[0]) for word in text.split())


def noise_sound(kind: str, seed: int) -> np.ndarray:
    return ({**STEADY, **BROKEN}[kind])(np.random.default_rng(seed), 20 * RATE)


def noise_bank(copies: int = 24) -> tuple[Tensor, int]:
    """Noises of every kind, steady ones first, and how many are steady."""
    jobs = [(kind, 7000 + 100 * k + c) for k, kind in enumerate([*STEADY, *BROKEN]) for c in range(copies)]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        sounds = list(pool.map(noise_sound, *zip(*jobs, strict=True)))
    return torch.from_numpy(np.stack(sounds)).half(), copies * len(STEADY)


class Sampler:
    """Draws examples: engines in fixed shares, people's digits strung together, some noise with no speech."""

    def __init__(self, spoken: list[Spoken], noises: int, seed: int) -> None:
        self.chance, self.noises = random.Random(seed), noises
        self.groups: dict[str, list[Spoken]] = {}
        self.voices: dict[str, list[Spoken]] = {}
        for clip in spoken:
            self.groups.setdefault(clip.voice.split(":")[0], []).append(clip)
            self.voices.setdefault(clip.voice, []).append(clip)
        self.names = [name for name in SHARES if name == "noise" or name in self.groups]

    def example(self) -> Example:
        chance = self.chance
        name = chance.choices(self.names, [SHARES[n] for n in self.names])[0]
        noise = chance.randrange(self.noises)
        if name == "noise":
            return Example((), (), 1.0, int(RATE * chance.uniform(0.8, 4)), noise)
        first = chance.choice(self.groups[name])
        more = chance.choice((0, 0, 1, 2, 3)) if name == "fsdd" else chance.choices((0, 1), (5, 1))[0]
        clips = (first, *(chance.choice(self.voices[first.voice]) for _ in range(more)))
        gaps = (
            int(RATE * chance.uniform(0, 0.5)),
            *(int(RATE * chance.uniform(0, 0.2)) for _ in range(more)),
        )
        made = Example(clips, gaps, chance.uniform(0.8, 1.25), int(RATE * chance.uniform(0.05, 0.6)), noise)
        return made if made.samples < LENGTHS[-1] * RATE else self.example()

    def batches(self) -> Iterator[tuple[list[Example], int]]:
        """Examples of like length together, and the samples to lay each of them into."""
        waiting: dict[float, list[Example]] = {length: [] for length in LENGTHS}
        while True:
            example = self.example()
            length = next(x for x in LENGTHS if example.samples < x * RATE)
            waiting[length].append(example)
            if len(waiting[length]) == int(SECONDS_A_BATCH / length):
                yield waiting[length], int(length * RATE)
                waiting[length] = []


def states(example: Example, steady: int) -> tuple[list[int], list[bool]]:
    """Units of an example and which may be skipped: silence may stand around every word."""
    if not example.clips:
        return ([SIL], [False]) if example.noise < steady else ([SIL, NSN, SIL], [True, False, True])
    units, optional = [SIL], [True]
    for word in (w for clip in example.clips for w in clip.units):
        units += [*word, SIL]
        optional += [False] * len(word) + [True]
    return units, optional


def targets(rows: list[tuple[list[int], list[bool]]], device: torch.device) -> Targets:
    longest = -(-max(len(units) for units, _ in rows) // 16) * 16
    units, optional = np.zeros((len(rows), longest), np.int64), np.zeros((len(rows), longest), bool)
    for row, (u, o) in enumerate(rows):
        units[row, : len(u)], optional[row, : len(o)] = u, o
    count = torch.tensor([len(u) for u, _ in rows])
    return Targets(torch.from_numpy(units).to(device), torch.from_numpy(optional).to(device), count.to(device))


def phone_bigram(spoken: list[Spoken], device: torch.device) -> Bigram:
    """Counts of unit pairs, silence between words a third of the time, mixed with a tenth of "anything goes"."""
    size, chance = len(UNITS), random.Random(0)
    counts = np.full((size + 1, size + 1), 0.02)
    for clip in spoken:
        row = [size]
        for word in clip.units:
            row += ([SIL] if chance.random() < 0.35 else []) + list(word)
        row += ([SIL] if chance.random() < 0.7 else []) + [size]
        for pair in pairwise(row):
            counts[pair] += 1
    quiet = len(spoken) * 0.04
    for pair in ((size, SIL), (SIL, size), (size, NSN), (NSN, size), (SIL, NSN), (NSN, SIL)):
        counts[pair] += quiet
    shares = 0.9 * counts / counts.sum(1, keepdims=True) + 0.1 / (size + 1)
    table = torch.tensor(shares, dtype=torch.float64, device=device)
    return Bigram(table[size, :size].clone(), table[:size, :size].clone(), table[:size, size].clone())


class Studio:
    """Turns examples into features on the device."""

    def __init__(self, store: Tensor, bank: Tensor, device: torch.device) -> None:
        self.store, self.bank, self.device = store.to(device), bank.to(device), device
        self.cepstra = Cepstra().to(device)

    def laid_out(self, batch: list[Example], length: int) -> tuple[Tensor, Tensor]:
        slots = max(1, max(len(e.clips) for e in batch))
        table = np.zeros((3, len(batch), slots), np.int64)
        for row, example in enumerate(batch):
            at = 0
            for slot, (clip, gap) in enumerate(zip(example.clips, example.gaps, strict=True)):
                table[:, row, slot] = clip.start, clip.length, at + gap
                at += gap + int(clip.length / example.speed)
        starts, lengths, at = torch.from_numpy(table).to(self.device)
        speed = torch.tensor([[e.speed] for e in batch], device=self.device)
        samples = torch.tensor([e.samples for e in batch], device=self.device)
        return augment.place(self.store, starts, lengths, at, speed, length), samples

    def features(self, batch: list[Example], rough: bool, length: int = 0) -> tuple[Tensor, Tensor]:
        """Padded cepstra and how many outputs each clip has."""
        sound, samples = self.laid_out(batch, length or max(e.samples for e in batch))
        if rough:
            kinds = torch.tensor([e.noise for e in batch], device=self.device)
            empty = torch.tensor([not e.clips for e in batch], device=self.device)
            sound = augment.workshop(sound, self.bank, kinds, empty)
        else:
            sound = sound * 0.5 + torch.randn_like(sound) * 20
        frames = (samples - 400) // 160 + 1
        bands = self.cepstra.bands(sound)
        if rough:
            bands, frames = augment.stretched(augment.reshaped(bands), frames)
        outputs = (frames + STRIDE - 1) // STRIDE
        return augment.padded(bands @ self.cepstra.cosines, frames, CONTEXT), outputs


# ---- the run


def alone(clip: Spoken) -> Example:
    return Example((clip,), (4800,), 1.0, 6400, 0)


@torch.no_grad()
def digit_test(network: Network, studio: Studio, clips: list[Spoken]) -> dict[str, float]:
    """Share of single digits whose own word scores highest of the ten, a voice at a time."""
    dictionary, right = Dictionary(), {}
    for first in range(0, len(clips), 128):
        part = clips[first : first + 128]
        features, frames = studio.features([alone(c) for c in part], rough=False)
        outputs = network(features)
        scores = []
        for word in DIGITS:
            said = [
                c._replace(units=tuple(tuple(UNIT_INDEX[p] for p in r) for r in dictionary.american(word)[:1]))
                for c in part
            ]
            rows = targets([states(alone(c), 0) for c in said], studio.device)
            scores.append(score_targets(outputs, frames, rows)[0])
        for clip, best in zip(part, torch.stack(scores).argmax(0).tolist(), strict=True):
            right.setdefault(clip.voice, []).append(DIGITS[best] == clip.text)
    return {voice: round(sum(marks) / len(marks), 4) for voice, marks in right.items()}


@torch.no_grad()
def kept_objective(network: Network, studio: Studio, examples: list[Example], bigram: Bigram, steady: int) -> float:
    """Mutual information a frame on voices that do not train the model, in noise."""
    total, count = 0.0, 0
    for first in range(0, len(examples), 64):
        part = examples[first : first + 64]
        features, frames = studio.features(part, rough=True)
        outputs = network(features)
        rows = targets([states(e, steady) for e in part], studio.device)
        gain = (score_targets(outputs, frames, rows)[0] - score_any(outputs, frames, bigram)[0]) / frames
        total, count = total + float(gain.clamp_min(-20).sum()), count + len(part)
    return round(total / count, 4)


class Average:
    """A slow average of the weights, which does better than the last of them."""

    def __init__(self, network: Network, keep: float = 0.999) -> None:
        self.keep, self.values = keep, [p.detach().clone() for p in network.parameters()]

    def update(self, network: Network) -> None:
        torch._foreach_lerp_(self.values, [p.detach() for p in network.parameters()], 1 - self.keep)

    def lend(self, network: Network) -> list[Tensor]:
        """Put the average into the network; returns what was there."""
        before = [p.detach().clone() for p in network.parameters()]
        for parameter, value in zip(network.parameters(), self.values, strict=True):
            parameter.data.copy_(value)
        return before


def give_back(network: Network, values: list[Tensor]) -> None:
    for parameter, value in zip(network.parameters(), values, strict=True):
        parameter.data.copy_(value)


class Run:
    def __init__(self, given: argparse.Namespace) -> None:
        self.given, self.began = given, time.time()
        self.device = torch.device(given.device)
        torch.manual_seed(given.seed)
        torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
        store, spoken = load(given.packs)
        bank, self.steady = noise_bank(given.noise_copies)
        self.studio = Studio(store, bank, self.device)
        train = [c for c in spoken if not is_kept(c.voice)]
        kept = [c for c in spoken if is_kept(c.voice)]
        self.sampler = Sampler(train, len(bank), given.seed)
        tests = Sampler([c for c in kept if not c.voice.startswith("fsdd")], len(bank), 0)
        self.tests = [tests.example() for _ in range(512)]
        self.digits = [c for c in kept if c.voice.startswith("fsdd")]
        self.bigram = phone_bigram(train, self.device)
        self.network = Network(bottleneck=given.bottleneck, last=given.last).to(self.device)
        if given.start:
            from borrowed import put_weights

            put_weights(self.network, given.start)
        self.average = Average(self.network)
        self.optimiser = torch.optim.AdamW(
            self.network.parameters(), lr=given.rate, weight_decay=2e-3, betas=(0.9, 0.98)
        )
        self.steps = 0
        hours = sum(c.length for c in train) / RATE / 3600
        size = sum(p.numel() for p in self.network.parameters())
        self.say(f"{len(train)} clips, {hours:.1f} h, {len(kept)} kept, {size} weights")
        if given.resume:
            self.restore(given.resume)

    def say(self, line: str) -> None:
        print(f"[{time.time() - self.began:6.1f} s] {line}", flush=True)

    def restore(self, path: Path) -> None:
        state = torch.load(path, map_location=self.device)
        self.network.load_state_dict(state["network"])
        self.average.values, self.steps = state["average"], state["steps"]
        if "optimiser" in state:
            self.optimiser.load_state_dict(state["optimiser"])
        self.say(f"goes on from step {self.steps}")

    def learning_rate(self, share: float) -> float:
        along = self.given.begin + (self.given.end - self.given.begin) * share
        return (
            float(self.given.rate)
            * (0.5 * (1 + math.cos(math.pi * min(1.0, along))) + 1e-3)
            * min(1.0, (self.steps + 1) / 400)
        )

    def step(self, batch: list[Example], length: int, rate: float) -> Tensor:
        for group in self.optimiser.param_groups:
            group["lr"] = rate
        with torch.no_grad():
            features, frames = self.studio.features(batch, rough=True, length=length)
        rows = targets([states(e, self.steady) for e in batch], self.device)
        with torch.autocast(self.device.type, torch.bfloat16, enabled=self.device.type == "cuda"):
            outputs = self.network(features)
        loss = MutualInformation.apply(outputs, frames, rows, self.bigram)
        whole = loss + 5e-4 * outputs.pow(2).mean()
        self.optimiser.zero_grad(set_to_none=True)
        whole.backward()
        torch.nn.utils.clip_grad_norm_(self.network.parameters(), 5.0)
        self.optimiser.step()
        self.average.update(self.network)
        self.steps += 1
        return loss.detach()

    def report(self) -> None:
        before = self.average.lend(self.network)
        np.savez(self.given.out.with_suffix(".draft.npz"), **self.network.weights())  # should the machine be lost
        self.network.eval()
        gain = kept_objective(self.network, self.studio, self.tests, self.bigram, self.steady)
        self.say(f"step {self.steps}: kept voices {gain}, digits {digit_test(self.network, self.studio, self.digits)}")
        self.network.train()
        give_back(self.network, before)

    def train(self) -> None:
        started, reported, losses = time.time(), time.time(), []
        self.network.train()
        for batch, length in self.sampler.batches():
            spent = (time.time() - started) / self.given.seconds
            if spent >= 1 or self.steps >= self.given.most:
                return
            losses.append(self.step(batch, length, self.learning_rate(spent)))
            if self.steps % 100 == 0:
                self.say(f"step {self.steps}, loss {torch.stack(losses).mean():.4f}")
                losses = []
            if time.time() - reported > self.given.every:
                self.report()
                reported = time.time()

    def settle(self, batches: int = 60) -> None:
        """Take the average weights and measure the normalisers' statistics afresh for them."""
        self.average.lend(self.network)
        self.network.train()
        norms = [m for m in self.network.modules() if isinstance(m, torch.nn.BatchNorm1d)]
        for norm in norms:
            norm.reset_running_stats()
            norm.momentum = None
        with (
            torch.no_grad(),
            torch.autocast(self.device.type, torch.bfloat16, enabled=self.device.type == "cuda"),
        ):
            for batch, length in islice(self.sampler.batches(), batches):
                self.network(self.studio.features(batch, rough=True, length=length)[0])

    def save(self) -> None:
        state = {"network": self.network.state_dict(), "average": self.average.values, "steps": self.steps}
        state["optimiser"] = self.optimiser.state_dict()
        torch.save(state, self.given.out.with_suffix(".pt"))
        self.settle()
        np.savez(self.given.out.with_suffix(".npz"), **self.network.weights())
        self.network.eval()
        gain = kept_objective(self.network, self.studio, self.tests, self.bigram, self.steady)
        digits = digit_test(self.network, self.studio, self.digits)
        self.say(f"saved at step {self.steps}: kept voices {gain}, digits {digits}")
        about = {"steps": self.steps, "kept_objective": gain, "digits": digits}
        self.given.out.with_suffix(".json").write_text(json.dumps(about))


def main() -> None:
    parser = argparse.ArgumentParser(description="Train the acoustic model.")
    parser.add_argument("packs", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seconds", type=float, default=480)
    parser.add_argument("--most", type=int, default=10**9, help="stop after so many steps")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rate", type=float, default=2e-3)
    parser.add_argument("--from", dest="begin", type=float, default=0.0)
    parser.add_argument("--to", dest="end", type=float, default=1.0)
    parser.add_argument("--resume", type=Path)
    parser.add_argument("--start", type=Path, help="begin with these weights, of an earlier run or see borrowed.py")
    parser.add_argument("--bottleneck", type=int, default=96)
    parser.add_argument("--last", type=int, default=96)
    parser.add_argument("--device", default="cuda")
    parser.add_argument("--every", type=float, default=60)
    parser.add_argument("--noise-copies", type=int, default=24)
    run = Run(parser.parse_args())
    run.train()
    run.save()


if __name__ == "__main__":
    main()

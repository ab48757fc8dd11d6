"""A pack of speech clips: Ogg Opus files one after another, and a list of [offset, length, text, "source:voice"]."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import NamedTuple

import numpy as np
import soundfile
from scipy.signal import resample_poly

RATE = 16000


class Clip(NamedTuple):
    offset: int
    length: int
    text: str
    voice: str

    @property
    def source(self) -> str:
        return self.voice.split(":")[0]


def read_index(stem: Path) -> list[Clip]:
    return [Clip(*json.loads(line)) for line in stem.with_suffix(".jsonl").read_text().splitlines()]


def at_16k(samples: np.ndarray, rate: int) -> np.ndarray:
    if samples.ndim > 1:
        samples = samples.mean(1)
    common = int(np.gcd(rate, RATE))
    return samples if rate == RATE else resample_poly(samples, RATE // common, rate // common)


def trimmed(samples: np.ndarray, floor: float = 0.01, margin: int = 1600) -> np.ndarray:
    """Without the silence before and after, but for a tenth of a second."""
    loud = np.flatnonzero(np.abs(samples) > floor * np.abs(samples).max())
    return samples[max(0, loud[0] - margin) : loud[-1] + margin] if len(loud) else samples


class Writer:
    """Appends clips to STEM.bin and STEM.jsonl."""

    def __init__(self, stem: Path) -> None:
        stem.parent.mkdir(parents=True, exist_ok=True)
        self._audio = stem.with_suffix(".bin").open("ab")
        self._index = stem.with_suffix(".jsonl").open("a")

    def add(self, samples: np.ndarray, rate: int, text: str, voice: str) -> None:
        mono = trimmed(at_16k(samples, rate))
        peak = float(np.abs(mono).max()) if len(mono) else 0.0
        if peak < 1e-3 or len(mono) < RATE // 8:
            return
        packed = io.BytesIO()
        soundfile.write(packed, mono / peak * 0.7, RATE, format="OGG", subtype="OPUS", compression_level=0.9)
        offset = self._audio.tell()
        self._audio.write(packed.getvalue())
        self._index.write(json.dumps([offset, packed.tell(), text, voice]) + "\n")
        self._index.flush()


def decode(audio: bytes) -> np.ndarray:
    samples, rate = soundfile.read(io.BytesIO(audio), dtype="int16")
    if rate != RATE:
        raise ValueError(f"Wanted a clip at {RATE} Hz, got {rate} Hz: make the pack again with clips.Writer.")
    return samples

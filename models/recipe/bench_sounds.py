"""Sounds of a workshop made from scratch: running water, mixers, fans, the wheel, clanks, hum.

Each maker takes a numpy Generator and a length in samples at 16 kHz and returns a sound of unit power.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

RATE = 16000
Maker = Callable[[np.random.Generator, int], np.ndarray]


def unit(sound: np.ndarray) -> np.ndarray:
    return (sound / (np.sqrt(np.mean(sound**2)) + 1e-9)).astype(np.float32)


def coloured(chance: np.random.Generator, length: int, slope: float, low: float = 20, high: float = 8000) -> np.ndarray:
    """Noise whose power falls with frequency to the power `slope`, between two edges [Hz]."""
    frequency = np.fft.rfftfreq(length, 1 / RATE)
    shape = np.maximum(frequency, 20.0) ** (-slope / 2)
    shape = shape / (1 + np.exp((low - frequency) / 30)) / (1 + np.exp((frequency - high) / 200))
    return unit(np.fft.irfft(np.fft.rfft(chance.standard_normal(length)) * shape, length))


def slow(chance: np.random.Generator, length: int, hertz: float) -> np.ndarray:
    """A wandering curve about zero that changes `hertz` times a second."""
    knots = chance.standard_normal(max(4, int(length / RATE * hertz) + 3))
    return np.interp(np.linspace(0, len(knots) - 1, length), np.arange(len(knots)), knots)


def ring(chance: np.random.Generator, length: int, hertz: float, decay: float) -> np.ndarray:
    time = np.arange(length) / RATE
    return np.sin(2 * np.pi * hertz * time + chance.uniform(0, 6.3)) * np.exp(-time / decay)


def scatter(sound: np.ndarray, piece: np.ndarray, start: int, gain: float) -> None:
    end = min(len(sound), start + len(piece))
    sound[start:end] += gain * piece[: end - start]


def water(chance: np.random.Generator, length: int) -> np.ndarray:
    """A tap or a hose: broad hiss that swells, and bubbles."""
    hiss = coloured(chance, length, chance.uniform(0, 1.2), chance.uniform(100, 500), chance.uniform(4000, 8000))
    sound = hiss * (1 + 0.25 * slow(chance, length, 4))
    for start in chance.integers(0, length, int(length / RATE * chance.uniform(0, 40))):
        scatter(
            sound,
            ring(chance, 800, chance.uniform(350, 2800), chance.uniform(0.004, 0.02)),
            start,
            chance.uniform(0.2, 2),
        )
    return unit(sound)


def motor(chance: np.random.Generator, length: int) -> np.ndarray:
    """A mixer: harmonics of a speed that sags under load, brush noise beating with the blade."""
    speed = chance.uniform(40, 220) * (1 + 0.04 * slow(chance, length, chance.uniform(0.3, 2)))
    turn = 2 * np.pi * np.cumsum(speed) / RATE
    strength = [chance.uniform(0.2, 1) / k ** chance.uniform(0.3, 1.2) for k in range(1, 26)]
    tones = sum(s * np.sin(k * turn + chance.uniform(0, 6.3)) for k, s in enumerate(strength, 1))
    brush = coloured(chance, length, chance.uniform(0, 1.5), 200, chance.uniform(3000, 8000))
    beat = 1 + 0.5 * np.sin(turn / chance.integers(2, 8))
    return unit(unit(tones) + chance.uniform(0.3, 1.2) * brush * beat)


def fan(chance: np.random.Generator, length: int) -> np.ndarray:
    """A kiln fan or extractor: rumbling air and a blade tone."""
    time = np.arange(length) / RATE
    blade = chance.uniform(60, 240)
    tone = sum(np.sin(2 * np.pi * blade * k * time + chance.uniform(0, 6.3)) / k for k in range(1, 5))
    return unit(coloured(chance, length, chance.uniform(1, 2.2)) + chance.uniform(0, 0.6) * tone)


def wheel(chance: np.random.Generator, length: int) -> np.ndarray:
    """Clay on a wheel: motor rumble, and a rub once a turn."""
    time = np.arange(length) / RATE
    turns = chance.uniform(0.7, 4)
    rub = coloured(chance, length, 0.8, 300, 5000) * np.maximum(0, np.sin(2 * np.pi * turns * time)) ** 2
    return unit(coloured(chance, length, 2.0, 20, 600) + chance.uniform(0.3, 1.5) * rub)


def hum(chance: np.random.Generator, length: int) -> np.ndarray:
    time = np.arange(length) / RATE
    mains = chance.choice([50, 60])
    tones = sum(chance.uniform(0, 1) * np.sin(2 * np.pi * mains * k * time) for k in range(1, 12))
    return unit(unit(tones) + 0.3 * coloured(chance, length, 1))


def clanks(chance: np.random.Generator, length: int) -> np.ndarray:
    """Pots, buckets and tools put down; clicks; over faint air."""
    sound = 0.03 * coloured(chance, length, 1.0)
    for start in chance.integers(0, length, max(2, int(length / RATE * chance.uniform(0.7, 4)))):
        piece = 0.3 * chance.standard_normal(6400) * np.exp(-np.arange(6400) / chance.uniform(20, 400))
        for _ in range(chance.integers(0, 7)):
            piece += ring(chance, 6400, chance.uniform(200, 6500), chance.uniform(0.005, 0.12))
        scatter(sound, piece, start, chance.uniform(0.3, 1))
    return unit(sound)


def scraping(chance: np.random.Generator, length: int) -> np.ndarray:
    """Sieving, brushing, stirring grit: bursts of harsh noise at a working rhythm."""
    time = np.arange(length) / RATE
    stroke = np.maximum(0, np.sin(2 * np.pi * chance.uniform(1, 5) * time + slow(chance, length, 2))) ** chance.uniform(
        1, 4
    )
    return unit(coloured(chance, length, chance.uniform(-0.5, 1), chance.uniform(300, 1500), 8000) * (stroke + 0.05))


def plain(chance: np.random.Generator, length: int) -> np.ndarray:
    return coloured(chance, length, chance.uniform(-0.3, 2.0))


def compressor(chance: np.random.Generator, length: int) -> np.ndarray:
    """A piston compressor: low knocks many times a second. Kept for tests."""
    sound = 0.2 * coloured(chance, length, 1.2)
    for start in range(0, length, int(RATE / chance.uniform(12, 26))):
        scatter(
            sound,
            ring(chance, 1600, chance.uniform(70, 300), 0.02) + 0.2 * chance.standard_normal(1600),
            start,
            1.0,
        )
    return unit(sound)


def rain(chance: np.random.Generator, length: int) -> np.ndarray:
    """Rain on a tin roof. Kept for tests."""
    sound = 0.5 * coloured(chance, length, 0.3, 500, 8000)
    for start in chance.integers(0, length, int(length / RATE * 200)):
        scatter(sound, ring(chance, 400, chance.uniform(900, 5000), 0.003), start, chance.uniform(0.1, 2))
    return unit(sound)


STEADY: dict[str, Maker] = {"water": water, "motor": motor, "fan": fan, "hum": hum, "plain": plain}
BROKEN: dict[str, Maker] = {"wheel": wheel, "clanks": clanks, "scraping": scraping}
KEPT: dict[str, Maker] = {"compressor": compressor, "rain": rain}

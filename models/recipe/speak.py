"""Speak training texts with one engine into a pack of clips.

    python speak.py ENGINE STEM TEXTS SEED [--first N] [--count N] [--kokoro FOLDER]

TEXTS is a file of sentences, one a line, from texts.py; --first and --count take a part of it.

ENGINE: flite, espeak, festival, rhvoice (Debian packages) or kokoro (see fetch_kokoro.sh). Voices kept for tests are
in voices.py and never spoken here.
"""

from __future__ import annotations

import argparse
import random
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import soundfile

from clips import Writer
from voices import ESPEAK_ACCENTS, ESPEAK_VARIANTS, FESTIVAL_VOICES, FLITE_VOICES, RHVOICE_VOICES

Spoken = tuple[np.ndarray, int, str]


def run_to_wav(command: list[str], path: Path, text: str = "") -> tuple[np.ndarray, int]:
    subprocess.run(command, check=True, capture_output=True, input=text.encode())
    samples, rate = soundfile.read(path, dtype="float32")
    return samples, rate


def flite(text: str, chance: random.Random, wav: Path) -> Spoken:
    voice = chance.choice(FLITE_VOICES)
    stretch, pitch = chance.uniform(0.75, 1.4), chance.uniform(0.8, 1.3)
    middle = {"slt": 190, "rms": 100}.get(voice, 110) * pitch
    command = [
        "flite",
        "-voice",
        voice,
        "--setf",
        f"duration_stretch={stretch:.2f}",
        "--setf",
        f"int_f0_target_mean={middle:.0f}",
        "-t",
        text,
        "-o",
        str(wav),
    ]
    return *run_to_wav(command, wav), f"flite:{voice}"


def espeak(text: str, chance: random.Random, wav: Path) -> Spoken:
    accent, variant = chance.choice(ESPEAK_ACCENTS), chance.choice(ESPEAK_VARIANTS)
    command = [
        "espeak-ng",
        "-v",
        f"{accent}+{variant}",
        "-s",
        str(chance.randint(110, 210)),
        "-p",
        str(chance.randint(20, 80)),
        "-w",
        str(wav),
        text,
    ]
    return *run_to_wav(command, wav), f"espeak:{accent}+{variant}"


def festival(text: str, chance: random.Random, wav: Path) -> Spoken:
    """The diphone voice at any pace and pitch; the statistical one as it is."""
    name, voice = chance.choice(FESTIVAL_VOICES)
    stretch, pitch = chance.uniform(0.75, 1.4), chance.uniform(80, 170)
    script = f"""(voice_{voice})
        (Parameter.set 'Duration_Stretch {stretch:.2f})
        (set! int_lr_params '((target_f0_mean {pitch:.0f}) (target_f0_std 14) (model_f0_mean 170) (model_f0_std 34)))
        (utt.save.wave (utt.synth (Utterance Text "{text}")) "{wav}" 'riff)"""
    return *run_to_wav(["festival", "--pipe"], wav, script), f"festival:{name}"


def rhvoice(text: str, chance: random.Random, wav: Path) -> Spoken:
    voice, rate, pitch = chance.choice(RHVOICE_VOICES), chance.randint(75, 150), chance.randint(75, 130)
    command = ["RHVoice-test", "-p", voice, "-r", str(rate), "-t", str(pitch), "-o", str(wav)]
    return *run_to_wav(command, wav, text), f"rhvoice:{voice}"


def engine(name: str, folder: Path | None) -> Callable[[str, random.Random, Path], Spoken]:
    if name == "kokoro":
        from kokoro import Kokoro

        if folder is None:
            raise SystemExit("Wanted --kokoro FOLDER for the kokoro engine: make it with fetch_kokoro.sh.")
        return Kokoro(folder).speak
    return {"flite": flite, "espeak": espeak, "festival": festival, "rhvoice": rhvoice}[name]


def spoken(name: str, texts: list[str], seed: int, folder: Path | None) -> Iterator[tuple[str, Spoken]]:
    chance, speak = random.Random(seed), engine(name, folder)
    with tempfile.TemporaryDirectory() as scratch:
        for text in texts:
            yield text, speak(text, chance, Path(scratch) / "said.wav")


def main() -> None:
    parser = argparse.ArgumentParser(description="Speak training texts with one engine.")
    parser.add_argument("engine", choices=("flite", "espeak", "festival", "rhvoice", "kokoro"))
    parser.add_argument("stem", type=Path)
    parser.add_argument("texts", type=Path)
    parser.add_argument("seed", type=int)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=10**9)
    parser.add_argument("--kokoro", type=Path)
    given = parser.parse_args()
    writer = Writer(given.stem)
    texts = given.texts.read_text().splitlines()[given.first : given.first + given.count]
    for text, (samples, rate, voice) in spoken(given.engine, texts, given.seed, given.kokoro):
        writer.add(samples, rate, text, voice)


if __name__ == "__main__":
    main()

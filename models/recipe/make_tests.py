"""Speak the test sentences with the kept voices: FOLDER/SET/VOICE-NUMBER.wav and .txt.

    python make_tests.py FOLDER [--each 20] --kokoro FOLDER --piper VOICE.onnx

Sets: weights (numbers with and without a unit), commands, and alike (number words that sound alike), every sentence
one that the product understands; and talk, which is for nobody.
"""

from __future__ import annotations

import argparse
import json
import random
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import onnxruntime
import soundfile
from benchvoice.meaning import phrases

from clips import RATE, at_16k, trimmed
from commands import COMMANDS
from kokoro import Kokoro
from talk import TALK
from texts import digits, hundreds, pairs

Voice = Callable[[str, Path], None]
HARD = (
    102,
    103,
    106,
    113,
    114,
    115,
    116,
    117,
    130,
    140,
    150,
    160,
    170,
    236,
    262,
    326,
    463,
    513,
    550,
    615,
    660,
)


def weight_text(chance: random.Random) -> str:
    value = chance.choice(HARD) if chance.random() < 0.3 else chance.randint(90, 999)
    ways = (pairs, hundreds, lambda v, c: digits(str(v), c))
    said = chance.choice(ways if value > 99 else ways[2:])(value, chance)
    said += f" point {digits(str(chance.randint(0, 9)), chance)}" if chance.random() < 0.3 else ""
    return said + chance.choice(("", "", " grams", " grams", " grams"))


ALIKE = ["six", "two", "three", "sixteen", "sixty", "fifteen", "fifty", "thirteen", "thirty", "four", "forty"]


def alike_texts() -> list[str]:
    """Number words that are mistaken for each other, alone and at the end of a weight."""
    return [*ALIKE, *(f"one hundred and {word} grams" for word in ALIKE)]


def command_text(chance: random.Random) -> str:
    return chance.choice(phrases.sentences_of(chance.choice(COMMANDS)))


def program(*command: str) -> Voice:
    """A voice that is a program; {wav} and {text} stand for the file and the sentence."""

    def speak(text: str, wav: Path) -> None:
        subprocess.run([part.format(wav=wav, text=text) for part in command], check=True, capture_output=True)

    return speak


def kokoro_voice(kokoro: Kokoro, name: str) -> Voice:
    def speak(text: str, wav: Path) -> None:
        soundfile.write(wav, kokoro.say(kokoro.tokens(text, name.startswith("b")), [(name, 1.0)], 1.05), 24000)

    return speak


def piper_voice(path: Path) -> Voice:
    """Piper: espeak-ng's phonemes, each followed by a blank, to a VITS network."""
    settings = json.loads(Path(f"{path}.json").read_text())
    numbers = settings["phoneme_id_map"]
    session = onnxruntime.InferenceSession(str(path))

    def speak(text: str, wav: Path) -> None:
        command = ["espeak-ng", "-q", "--ipa=1", "-v", "en-us", text]
        spelt = subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip().replace("\n", " ")
        ids = [*numbers["^"], *numbers["_"]]
        for letter in spelt.replace("\u200d", "").replace("_", ""):
            ids += [*numbers[letter], *numbers["_"]] if letter in numbers else []
        ids += numbers["$"]
        given = {
            "input": np.array([ids], np.int64),
            "input_lengths": np.array([len(ids)], np.int64),
            "scales": np.array([0.667, 1.0, 0.8], np.float32),
        }
        soundfile.write(wav, session.run(None, given)[0].squeeze(), settings["audio"]["sample_rate"])

    return speak


def voices(kokoro: Kokoro, piper: Path) -> dict[str, Voice]:
    festival = '(begin (voice_ked_diphone) (utt.save.wave (utt.synth (Utterance Text "{text}")) "{wav}" \'riff))'
    return {
        "pico-gb": program("pico2wave", "-l", "en-GB", "-w", "{wav}", "{text}"),
        "pico-us": program("pico2wave", "-l", "en-US", "-w", "{wav}", "{text}"),
        "piper-joe": piper_voice(piper),
        "festival-ked": program("festival", "-b", festival),
        "flite-awb": program("flite", "-voice", "awb", "-t", "{text}", "-o", "{wav}"),
        "kokoro-fable": kokoro_voice(kokoro, "bm_fable"),
        "kokoro-nova": kokoro_voice(kokoro, "af_nova"),
        "espeak-annie": program("espeak-ng", "-v", "en-gb+Annie", "-s", "150", "-w", "{wav}", "{text}"),
        "espeak-m7": program("espeak-ng", "-v", "en-us+m7", "-s", "150", "-w", "{wav}", "{text}"),
        "rhvoice-alan": program("sh", "-c", 'echo "{text}" | RHVoice-test -p alan -o "{wav}"'),
    }


def write(folder: Path, name: str, text: str, voice: Voice) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    wav = folder / f"{name}.wav"
    voice(text, wav)
    samples, rate = soundfile.read(wav, dtype="float32")
    said = trimmed(at_16k(samples, rate))
    soundfile.write(wav, said / np.abs(said).max() * 0.6, RATE, subtype="PCM_16")
    wav.with_suffix(".txt").write_text(text + "\n")


def main() -> None:
    parser = argparse.ArgumentParser(description="Speak the test sentences with the kept voices.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--each", type=int, default=20)
    parser.add_argument("--kokoro", type=Path, required=True)
    parser.add_argument("--piper", type=Path, required=True)
    given = parser.parse_args()
    for seed, (name, voice) in enumerate(voices(Kokoro(given.kokoro), given.piper).items()):
        chance = random.Random(9000 + seed)
        for number in range(given.each):
            write(given.folder / "weights", f"{name}-{number:03}", weight_text(chance), voice)
            write(given.folder / "commands", f"{name}-{number:03}", command_text(chance), voice)
        for number, text in enumerate(alike_texts()):
            write(given.folder / "alike", f"{name}-{number:03}", text, voice)
        for number, text in enumerate(chance.sample(TALK, 12)):
            write(given.folder / "talk", f"{name}-{number:03}", text, voice)


if __name__ == "__main__":
    main()

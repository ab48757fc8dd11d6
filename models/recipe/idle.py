"""Count what is heard where nothing was said: noise and talk about something else while a weight is waited for.

    python idle.py FOLDER [--make]

--make first writes the sounds: noises of every kind, two of them never trained on, and random words by kept voices.
Other WAV files in the folder count as well. Uses the product's own ears, with their turns and their filler.
"""

from __future__ import annotations

import argparse
import random
import subprocess
import sys
from pathlib import Path

import numpy as np
import soundfile

from bench_sounds import BROKEN, KEPT, STEADY
from clips import RATE, at_16k

sys.path.append(str(Path(__file__).parents[2]))
from benchvoice.ears.engines import engine_for
from benchvoice.ears.model_folder import check_model
from benchvoice.ears.recogniser import SpeechEars
from benchvoice.ears.recordings import Recording
from benchvoice.meaning import phrases
from benchvoice.messages import UNKNOWN_WORD, Closed, Expectation

SPEAKERS = (
    ("pico2wave", "-l", "en-GB", "-w", "{wav}", "{text}"),
    ("flite", "-voice", "awb", "-t", "{text}", "-o", "{wav}"),
)


def write_noises(folder: Path, seconds: int = 15) -> None:
    """Write two stretches of each kind, at two levels."""
    for kind, maker in {**STEADY, **BROKEN, **KEPT}.items():
        chance = np.random.default_rng(995000)
        stretches = [maker(chance, seconds * RATE) * 0.03 * 10 ** (chance.uniform(-10, 6) / 20) for _ in range(2)]
        sound = np.concatenate(stretches)
        soundfile.write(folder / f"noise-{kind}.wav", sound / max(1.0, np.abs(sound).max() * 1.05), RATE)


def write_talk(folder: Path, turns: int = 36) -> None:
    """Write random common words in the voices kept for tests, with pauses."""
    from texts import general_words

    chance, sounds, scratch = random.Random(4), [], folder / "scratch.wav"
    for turn in range(turns):
        text = " ".join(chance.choice(general_words()) for _ in range(chance.randint(3, 8)))
        command = [part.format(wav=scratch, text=text) for part in SPEAKERS[turn % len(SPEAKERS)]]
        subprocess.run(command, check=True, capture_output=True)
        said = at_16k(*soundfile.read(scratch))
        sounds += [said / np.abs(said).max() * 0.3, np.zeros(int(RATE * chance.uniform(0.8, 1.8)))]
    scratch.unlink()
    soundfile.write(folder / "talk-words.wav", np.concatenate(sounds), RATE)


def taken(ears: SpeechEars) -> list[str]:
    """Return the text of every turn that was taken for words."""
    network, found = phrases.network(Expectation(("weight",))), []
    while not isinstance(heard := ears.hear(network, None), Closed):
        if heard is not None and heard.text and UNKNOWN_WORD not in heard.text:
            found.append(f"{heard.text} ({heard.confidence or 0:.2f})")
    return found


def main() -> None:
    """Print each recording's length and what was taken for speech in it."""
    parser = argparse.ArgumentParser(description="Count what is heard where nothing was said.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--make", action="store_true")
    parser.add_argument("--model", type=Path, default=Path(__file__).parents[1] / "bench")
    given = parser.parse_args()
    if given.make:
        given.folder.mkdir(parents=True, exist_ok=True)
        write_noises(given.folder)
        write_talk(given.folder)
    engine, count, seconds = engine_for(check_model(given.model)), 0, 0.0
    for wav in sorted(given.folder.glob("*.wav")):
        found = taken(SpeechEars(engine, Recording(wav)))
        count, seconds = count + len(found), seconds + soundfile.info(wav).duration
        print(wav.stem, *found, sep="; ", flush=True)
    print(f"{count} in {seconds / 60:.1f} minutes")


if __name__ == "__main__":
    main()

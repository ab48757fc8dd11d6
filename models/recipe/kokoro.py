"""Speak with Kokoro-82M (Apache-2.0): text to phonemes by espeak-ng, phonemes to sound by an ONNX network."""

from __future__ import annotations

import json
import random
import subprocess
from pathlib import Path

import numpy as np
import onnxruntime

from voices import KEPT_KOKORO

RATE = 24000
ROWS = 510  # one style a phoneme count
# espeak-ng's phonemes to the ones the network knows.
ALPHABET = (
    ("\u200d", ""),
    ("_", ""),
    ("dʒ", "ʤ"),
    ("tʃ", "ʧ"),
    ("oʊ", "O"),
    ("aɪ", "I"),
    ("eɪ", "A"),
    ("aʊ", "W"),
    ("ɔɪ", "Y"),
    ("əʊ", "Q"),
    ("r", "ɹ"),
    ("ɚ", "əɹ"),
    ("ɝ", "ɜɹ"),
    ("ɐ", "ə"),
    ("e", "ɛ"),
    ("\u0329", ""),
    ("oːɹ", "ɔɹ"),
    ("ɔːɹ", "ɔɹ"),
)


def phonemes(text: str, british: bool) -> str:
    command = ["espeak-ng", "-q", "--ipa=3", "-v", "en-gb" if british else "en-us", text]
    spelt = " ".join(subprocess.run(command, capture_output=True, text=True, check=True).stdout.split())
    for ours, theirs in ALPHABET:
        spelt = spelt.replace(ours, theirs)
    return spelt


def blend(chance: random.Random, names: list[str]) -> list[tuple[str, float]]:
    """One to three voices of one accent and their shares: speakers that nobody recorded."""
    chosen = [chance.choice(names)]
    same = [name for name in names if name[0] == chosen[0][0]]
    chosen += chance.sample(same, chance.choice((0, 1, 1, 2)))
    shares = np.array([chance.uniform(0.3, 1.0) for _ in chosen])
    return list(zip(chosen, (shares / shares.sum()).tolist(), strict=True))


class Kokoro:
    def __init__(self, folder: Path) -> None:
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        self._session = onnxruntime.InferenceSession(str(folder / "kokoro.onnx"), options)
        table = json.loads((folder / "vocab.json").read_text())
        self._vocabulary = table.get("vocab", table)
        files = sorted((folder / "voices").glob("[ab]*.bin"))
        self._styles = {f.stem: np.fromfile(f, np.float32).reshape(-1, 256) for f in files}
        self.names = [name for name in self._styles if name not in KEPT_KOKORO]

    def tokens(self, text: str, british: bool) -> list[int]:
        return [self._vocabulary[c] for c in phonemes(text, british) if c in self._vocabulary][: ROWS - 1]

    def say(self, tokens: list[int], parts: list[tuple[str, float]], speed: float) -> np.ndarray:
        style = sum(share * self._styles[name][len(tokens)] for name, share in parts)
        given = {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": np.asarray(style, np.float32)[None],
            "speed": np.array([speed], np.float32),
        }
        return self._session.run(None, given)[0]

    def speak(self, text: str, chance: random.Random, _scratch: Path) -> tuple[np.ndarray, int, str]:
        parts = blend(chance, self.names)
        tokens = self.tokens(text, parts[0][0].startswith("b"))
        stop = [self._vocabulary["."]] if chance.random() < 0.4 else []
        sound = self.say(tokens + stop, parts, chance.uniform(0.75, 1.4))
        return sound, RATE, "kk:" + "+".join(name for name, _ in parts)

"""Fit how sure the ears may be (benchvoice/ears/confidence.py), and say what they then let through.

    python sureness.py FOLDER... [--noise clean mixed:10] [--model FOLDER] [--keep EVIDENCE.json]

FOLDERs hold NAME.wav with NAME.txt, see evaluate.py; what is in one called talk is said to nobody, so that whatever
is heard in it is wrong. The sound goes through the product's own ears. Half of the sentences are for fitting, by
logistic regression; the figures are for the other half.
"""

from __future__ import annotations

import argparse
import json
import sys
import zlib
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

import evaluate

sys.path.append(str(Path(__file__).parents[2]))
from benchvoice.dialogue.said import SURE_ENOUGH
from benchvoice.ears.confidence import Calibration, Evidence, Reading, chance, evidence
from benchvoice.ears.engines import Engine, engine_for
from benchvoice.ears.model_folder import check_model
from benchvoice.ears.recogniser import SpeechEars
from benchvoice.messages import UNKNOWN_WORD, Block, Closed

BLOCK = 800
PULL = 1e-2  # towards nought, so that few turns do not make it certain


class Played:
    """Samples as ears hear them."""

    def __init__(self, samples: np.ndarray) -> None:
        self._rest, self.position = samples, 0.0

    def read(self) -> Block | None:
        block, self._rest = self._rest[:BLOCK], self._rest[BLOCK:]
        self.position += len(block) / evaluate.RATE
        return Block(block.astype("<i2").tobytes(), evaluate.RATE) if len(block) else None

    def shut(self) -> None:
        """Nothing comes in by itself."""

    open = close = shut


@dataclass(frozen=True)
class Turn:
    """What was said, what was heard, and the evidence for it; no evidence where nothing or filler was heard."""

    folder: str
    noise: str
    voice: str
    said: str
    heard: str
    right: bool
    seen: Evidence | None

    @property
    def for_fitting(self) -> bool:
        return zlib.crc32(self.said.encode()) % 2 == 0


# ---- hearing


def turns(engine: Engine, folder: Path, condition: str) -> list[Turn]:
    return [
        Turn(folder.name, condition, one.voice, one.text, *heard(engine, folder, one, condition))
        for one in evaluate.sentences(folder, 0)
    ]


def heard(engine: Engine, folder: Path, one: evaluate.Sentence, condition: str) -> tuple[str, bool, Evidence | None]:
    """The first turn that is made of one sentence."""
    seen: list[Evidence] = []

    def judge(found: Sequence[Reading], rival: float | None) -> float:
        seen.append(evidence(found, rival))
        return chance(seen[-1])

    ears = SpeechEars(engine, Played(evaluate.in_a_room(one, condition)), judge=judge)
    words = ears.hear(evaluate.network_for(folder))
    if words is None or isinstance(words, Closed) or UNKNOWN_WORD in words.text:
        return "", False, None
    right = folder.name != "talk" and evaluate.means_the_same(folder, one.text, words.text)
    return words.text, right, seen[0]


# ---- fitting


def fit(found: Sequence[Turn]) -> Calibration:
    """Newton's method for the likeliest logistic curve."""
    with_evidence = [(turn.seen, turn.right) for turn in found if turn.seen is not None]
    rows = np.array([(1.0, seen.margin, seen.strain) for seen, _ in with_evidence])
    right = np.array([float(right) for _, right in with_evidence])
    weights = np.zeros(3)
    for _ in range(50):
        likely = 1 / (1 + np.exp(-np.clip(rows @ weights, -30, 30)))
        curve = rows.T @ (rows * (likely * (1 - likely))[:, None]) + PULL * np.eye(3)
        weights += np.linalg.solve(curve, rows.T @ (right - likely) - PULL * weights)
    return Calibration(*(round(float(weight), 3) for weight in weights))


# ---- figures


def report(name: str, found: Sequence[Turn], how: Calibration) -> str:
    """Counts: taken at once, asked again, nothing heard, each for right and wrong."""
    sure = [turn.seen is not None and chance(turn.seen, how) >= SURE_ENOUGH for turn in found]
    right = sum(turn.right for turn in found)
    taken = sum(yes and turn.right for yes, turn in zip(sure, found, strict=True))
    silent = sum(yes and not turn.right for yes, turn in zip(sure, found, strict=True))
    return f"{name:34} {len(found):5} said {right:5} right {taken:5} of them at once {silent:4} wrong at once"


def main() -> None:
    parser = argparse.ArgumentParser(description="Fit and measure how sure the ears may be.")
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--noise", nargs="+", default=["clean", "mixed:10"])
    parser.add_argument("--model", type=Path, default=Path(__file__).parents[1] / "bench")
    parser.add_argument("--keep", type=Path, help="write every turn with its evidence")
    given = parser.parse_args()
    engine = engine_for(check_model(given.model))
    found = [turn for folder in given.folders for noise in given.noise for turn in turns(engine, folder, noise)]
    how = fit([turn for turn in found if turn.for_fitting])
    print(how)
    rest = [turn for turn in found if not turn.for_fitting]
    for folder in given.folders:
        for noise in given.noise:
            part = [turn for turn in rest if (turn.folder, turn.noise) == (folder.name, noise)]
            print(report(f"{folder.name}, {noise}", part, how))
            for voice in sorted({turn.voice for turn in part}):
                print(report(f"    {voice}", [turn for turn in part if turn.voice == voice], how))
    for turn in rest:
        if not turn.right and turn.seen is not None and chance(turn.seen, how) >= SURE_ENOUGH:
            print(f"wrong at once: {turn.voice}, {turn.noise}: {turn.said} > {turn.heard}")
    if given.keep:
        given.keep.write_text(json.dumps([asdict(turn) for turn in found]) + "\n")


if __name__ == "__main__":
    main()

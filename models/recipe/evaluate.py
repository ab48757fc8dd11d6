"""Measure recognisers on folders of NAME.wav with NAME.txt, clean and in workshop noise.

    python evaluate.py FOLDER... [--noise clean mixed:15 water:5 motor:5] [--model FOLDER] [--also pocketsphinx FOLDER]

A folder named commands is heard under the commands' grammar, digits under the ten digits, any other under that of a
weight. `exact` is the share of sentences whose meaning came out right; `speed` is processor time over length.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import jiwer
import numpy as np
import soundfile

from bench_sounds import BROKEN, KEPT, STEADY
from clips import RATE, at_16k
from commands import COMMANDS

sys.path.append(str(Path(__file__).parents[2]))
from benchvoice.ears.engines import BenchEngine, WholeEngine, readings
from benchvoice.ears.model_folder import check_model
from benchvoice.ears.workshop import Workshop
from benchvoice.meaning import phrases
from benchvoice.messages import Amount, Expectation, Meaning, WordNetwork, Words

DIGITS = ["zero", "oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
Hear = Callable[[np.ndarray], str]


class Sentence(NamedTuple):
    voice: str
    text: str
    sound: np.ndarray


class Heard(NamedTuple):
    voice: str
    text: str
    heard: str
    right: bool


# ---- what is played


def sentences(folder: Path, most: int) -> Iterator[Sentence]:
    """The pairs of a folder; `most` a voice, 0 for all."""
    count: dict[str, int] = {}
    for wav in sorted(folder.glob("*.wav")):
        voice = wav.stem.rpartition("-")[0] or folder.name
        count[voice] = count.get(voice, 0) + 1
        if not most or count[voice] <= most:
            samples, rate = soundfile.read(wav, dtype="float32")
            yield Sentence(voice, wav.with_suffix(".txt").read_text().strip(), at_16k(samples, rate))


def noise(kind: str, seed: int, length: int) -> np.ndarray:
    """Noise with seeds that training never used; `mixed` takes every kind in turn, two of them kept for tests."""
    makers = {**STEADY, **BROKEN, **KEPT}
    name = sorted(makers)[seed % len(makers)] if kind == "mixed" else kind
    return makers[name](np.random.default_rng(990000 + seed), length)


def in_a_room(sentence: Sentence, condition: str) -> np.ndarray:
    """Half a second of lead and more after, under noise at the given ratio to the speech; 16-bit samples."""
    speech = np.pad(sentence.sound, (RATE // 2, RATE))
    loud = float(np.sqrt(np.mean(sentence.sound**2)))
    seed = zlib.crc32(f"{sentence.voice}{sentence.text}".encode()) % 1000
    kind, _, ratio = condition.partition(":")
    if kind == "clean":
        under = np.random.default_rng(seed).standard_normal(len(speech)) * loud / 100
    else:
        under = noise(kind, seed, len(speech)) * loud * 10 ** (-float(ratio) / 20)
    mixed = speech + under
    return (mixed / np.abs(mixed).max() * 0.5 * 32767).astype(np.int16)


# ---- who listens


def expectation(folder: Path) -> Expectation:
    return Expectation(COMMANDS) if folder.name == "commands" else Expectation(("weight",))


def network_for(folder: Path) -> WordNetwork:
    if folder.name == "digits":
        return WordNetwork(tuple((0, word, 1) for word in DIGITS), frozenset({1}))
    return phrases.network(expectation(folder))


def vosk_hear(recogniser: Callable[[], Any]) -> Hear:
    def hear(samples: np.ndarray) -> str:
        listener = recogniser()
        blocks = (samples[start : start + 4000].tobytes() for start in range(0, len(samples), 4000))
        results = [listener.Result() for block in blocks if listener.AcceptWaveform(block)]
        texts = [next(readings(result))["text"] for result in (*results, listener.FinalResult())]
        return " ".join(text for text in texts if text)

    return hear


def ours(model: Path, network: WordNetwork) -> Hear:
    engine = BenchEngine(Workshop(check_model(model)))
    return vosk_hear(lambda: engine.recogniser(network, RATE))


def other_vosk(model: Path, network: WordNetwork) -> Hear:
    engine = WholeEngine(check_model(model))
    return vosk_hear(lambda: engine.recogniser(network, RATE))


def sphinx(lexicon: Path, network: WordNetwork) -> Hear:
    """PocketSphinx with its own English model and the same network as its grammar."""
    from pocketsphinx import Decoder

    decoder = Decoder(lm=None, loglevel="FATAL")
    for line in lexicon.read_text().splitlines():
        word, _, reading = line.partition(" ")
        if word in network.vocabulary() and decoder.lookup_word(word) is None:
            decoder.add_word(word, reading, False)
    last = 1 + max(max(a, b) for a, _, b in network.arcs)
    arcs: list[tuple[Any, ...]] = [(a, b, 1.0, word) for a, word, b in network.arcs]
    arcs += [(state, last, 1.0) for state in network.finals]
    decoder.add_fsg("bench", decoder.create_fsg("bench", 0, last, arcs))
    decoder.activate_search("bench")

    def hear(samples: np.ndarray) -> str:
        decoder.start_utt()
        decoder.process_raw(samples.tobytes(), no_search=False, full_utt=True)
        decoder.end_utt()
        best = decoder.hyp()
        return best.hypstr if best else ""

    return hear


def listener(name: str, model: Path, network: WordNetwork) -> Hear:
    if name == "pocketsphinx":
        return sphinx(model / "lexicon.txt", network)
    return ours(model, network) if name == "ours" else other_vosk(Path(name), network)


# ---- what came of it


def essence(meaning: Meaning) -> tuple[str, frozenset[tuple[str, str]]]:
    """Kind and slots without the wording; a weight without a unit is in grams."""
    slots = {
        name: f"{slot.value} {slot.unit or 'gram'}" if isinstance(slot, Amount) else repr(slot)
        for name, slot in meaning.slots.items()
    }
    return meaning.kind, frozenset(slots.items())


def means_the_same(folder: Path, text: str, heard: str) -> bool:
    if folder.name == "digits":
        return text == heard or {text, heard} == {"oh", "zero"}
    expected = expectation(folder)
    wanted, got = (phrases.understand(Words(said, confidence=1.0), expected) for said in (text, heard))
    return text == heard or (heard != "" and essence(wanted) == essence(got))


def listen(folder: Path, condition: str, hear: Hear, most: int) -> tuple[list[Heard], float]:
    """Everything heard, and processor time over length."""
    results, spent, length = [], 0.0, 0.0
    for sentence in sentences(folder, most):
        samples = in_a_room(sentence, condition)
        before = time.process_time()
        heard = hear(samples)
        spent, length = spent + time.process_time() - before, length + len(samples) / RATE
        results.append(Heard(sentence.voice, sentence.text, heard, means_the_same(folder, sentence.text, heard)))
    return results, spent / max(length, 1e-9)


def summary(results: list[Heard]) -> dict[str, Any]:
    by_voice: dict[str, list[bool]] = {}
    for one in results:
        by_voice.setdefault(one.voice, []).append(one.right)
    wrong = [one for one in results if not one.right]
    refused = sum("[unk]" in one.heard or not one.heard for one in wrong)
    return {
        "sentences": len(results),
        "exact": share(one.right for one in results),
        "word_error_rate": round(jiwer.wer([one.text for one in results], [one.heard or "-" for one in results]), 4),
        "refused": round(refused / len(results), 4),
        "misheard": round((len(wrong) - refused) / len(results), 4),
        "by_voice": {voice: share(marks) for voice, marks in sorted(by_voice.items())},
    }


def share(marks: Any) -> float:
    listed = list(marks)
    return round(sum(listed) / len(listed), 4)


def swaps(results: list[Heard]) -> dict[str, int]:
    """Words put in another's place, with how often; and how often each came out right."""
    counts: dict[str, int] = {}
    for one in results:
        aligned = jiwer.process_words(one.text, one.heard or "-")
        for chunk in aligned.alignments[0]:
            if chunk.type in ("substitute", "equal"):
                said = aligned.references[0][chunk.ref_start_idx : chunk.ref_end_idx]
                took = aligned.hypotheses[0][chunk.hyp_start_idx : chunk.hyp_end_idx]
                for pair in zip(said, took, strict=True):
                    counts[f"{pair[0]} > {pair[1]}"] = counts.get(f"{pair[0]} > {pair[1]}", 0) + 1
    return counts


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure recognisers on spoken sentences.")
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--noise", nargs="+", default=["clean"])
    parser.add_argument("--model", type=Path, default=Path(__file__).parents[1] / "bench")
    parser.add_argument("--also", nargs="*", default=[], help="pocketsphinx, or folders of vosk models")
    parser.add_argument("--most", type=int, default=0, help="sentences a voice; 0 for all")
    parser.add_argument("--show", action="store_true", help="print what was misheard")
    parser.add_argument("--out", type=Path)
    given = parser.parse_args()
    table = []
    for folder in given.folders:
        for name in ("ours", *given.also):
            hear = listener(name, given.model, network_for(folder))
            for condition in given.noise:
                results, speed = listen(folder, condition, hear, given.most)
                row = {
                    "set": folder.name,
                    "engine": name,
                    "noise": condition,
                    "speed": round(speed, 4),
                    **summary(results),
                }
                print(json.dumps(row), flush=True)
                if given.show:
                    print(
                        *(f"   {r.voice}: {r.text} > {r.heard}" for r in results if not r.right),
                        sep="\n",
                        flush=True,
                    )
                table.append({**row, "swaps": swaps(results)})
    if given.out:
        given.out.write_text(json.dumps(table, indent=1) + "\n")


if __name__ == "__main__":
    main()

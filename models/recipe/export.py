"""Write trained weights as the model folder that vosk reads: am/final.mdl, conf/, phones, transitions, lexicon.

    python export.py WEIGHTS.npz LEXICON.txt FOLDER [--version 1.0.0] [--training-summary "..."]

Everything is written from scratch; no other model is needed. A graph is not part of the folder: it is compiled from
the phrases at run time.
"""

from __future__ import annotations

import argparse
import datetime
import hashlib
import json
import math
import shutil
from pathlib import Path

import numpy as np

from kaldi_format import boolean, double, integer, integers, matrix, real, token, vector
from phones import NOISE, UNIT_INDEX, graph_phones, outputs, transition_ids, unit_of

RESIDUAL = 0.66
EPSILON = 1e-3
MFCC = (
    "--use-energy=false\n--num-mel-bins=40\n--num-ceps=40\n--low-freq=20\n--high-freq=7600\n"
    "--allow-upsample=true\n--allow-downsample=true\n"
)
DECODING = (
    "--min-active=200\n--max-active=5000\n--beam=13.0\n--lattice-beam=6.0\n--acoustic-scale=1.0\n"
    "--frame-subsampling-factor=3\n--endpoint.silence-phones={silence}\n"
    "--endpoint.rule2.min-trailing-silence=0.5\n--endpoint.rule3.min-trailing-silence=1.0\n"
    "--endpoint.rule4.min-trailing-silence=2.0\n"
)

Weights = dict[str, np.ndarray]


# ---- transition model


def topology(count: int) -> bytes:
    """One topology for every phone: a single state that may repeat, with its own output for each of the two moves."""
    phones = range(1, count + 1)
    first = integer(0) + integer(1) + integer(2)  # entering class 0, staying class 1, two transitions
    moves = integer(0) + real(0.5) + integer(1) + real(0.5)
    last = integer(-1) + integer(-1) + integer(0)
    table = integers(phones) + integers([-1] + [0] * count)
    return (
        token("<Topology>")
        + table
        + integer(-1)
        + integer(1)
        + integer(2)
        + first
        + moves
        + last
        + token("</Topology>")
    )


def transition_model(names: list[str]) -> bytes:
    tuples = b"".join(
        integer(number) + integer(0) + b"".join(integer(o) for o in outputs(unit_of(name)))
        for number, name in enumerate(names, start=1)
    )
    scores = vector([0.0] + [math.log(0.5)] * (2 * len(names)))
    return (
        token("<TransitionModel>")
        + topology(len(names))
        + token("<Tuples>")
        + integer(len(names))
        + tuples
        + token("</Tuples>")
        + token("<LogProbs>")
        + scores
        + token("</LogProbs>")
        + token("</TransitionModel>")
    )


# ---- network components


def wrap(kind: str, body: bytes) -> bytes:
    return token(f"<{kind}>") + body + token(f"</{kind}>")


def update_settings() -> bytes:
    """Training settings that Kaldi stores with each layer; a recogniser ignores them."""
    return (
        token("<MaxChange>") + real(0.75) + token("<L2Regularize>") + real(0.0) + token("<LearningRate>") + real(1e-4)
    )


def affine(weights: np.ndarray, bias: np.ndarray) -> bytes:
    tail = (
        token("<RankIn>")
        + integer(20)
        + token("<RankOut>")
        + integer(80)
        + token("<UpdatePeriod>")
        + integer(4)
        + token("<NumSamplesHistory>")
        + real(2000)
        + token("<Alpha>")
        + real(4)
    )
    body = update_settings() + token("<LinearParams>") + matrix(weights) + token("<BiasParams>") + vector(bias) + tail
    return wrap("NaturalGradientAffineComponent", body)


def linear(weights: np.ndarray) -> bytes:
    tail = (
        token("<OrthonormalConstraint>")
        + real(-1)
        + token("<UseNaturalGradient>")
        + boolean(True)
        + token("<RankInOut>")
        + integer(20)
        + integer(80)
        + token("<Alpha>")
        + real(4)
        + token("<NumSamplesHistory>")
        + real(2000)
        + token("<UpdatePeriod>")
        + integer(4)
    )
    return wrap("LinearComponent", update_settings() + token("<Params>") + matrix(weights) + tail)


def time_delay(weights: np.ndarray, bias: np.ndarray, offsets: tuple[int, ...]) -> bytes:
    tail = (
        token("<OrthonormalConstraint>")
        + real(0)
        + token("<UseNaturalGradient>")
        + boolean(True)
        + token("<NumSamplesHistory>")
        + real(2000)
        + token("<AlphaInOut>")
        + real(4)
        + real(4)
        + token("<RankInOut>")
        + integer(20)
        + integer(80)
    )
    body = (
        update_settings()
        + token("<TimeOffsets>")
        + integers(offsets)
        + token("<LinearParams>")
        + matrix(weights)
        + token("<BiasParams>")
        + vector(bias)
        + tail
    )
    return wrap("TdnnComponent", body)


def rectifier(size: int) -> bytes:
    body = token("<Dim>") + integer(size) + token("<ValueAvg>") + vector([]) + token("<DerivAvg>") + vector([])
    return wrap("RectifiedLinearComponent", body + token("<Count>") + double(0))


def normaliser(mean: np.ndarray, variance: np.ndarray) -> bytes:
    size = len(mean)
    body = (
        token("<Dim>")
        + integer(size)
        + token("<BlockDim>")
        + integer(size)
        + token("<Epsilon>")
        + real(EPSILON)
        + token("<TargetRms>")
        + real(1)
        + token("<TestMode>")
        + boolean(False)
        + token("<Count>")
        + double(180000)
        + token("<StatsMean>")
        + vector(mean)
        + token("<StatsVar>")
        + vector(variance)
    )
    return wrap("BatchNormComponent", body)


def passing(size: int) -> bytes:
    return wrap("NoOpComponent", token("<Dim>") + integer(size) + token("<BackpropScale>") + real(1))


# ---- the network as a list of named components and their wiring


class Wiring:
    """Components in order, and the line of text that says what each one reads."""

    def __init__(self) -> None:
        self.lines = ["input-node name=input dim=40"]
        self.components: list[tuple[str, bytes]] = []

    def add(self, name: str, body: bytes, reads: str) -> str:
        self.lines.append(f"component-node name={name} component={name} input={reads}")
        self.components.append((name, body))
        return name

    def normalised(self, stem: str, weights: Weights, reads: str) -> str:
        """Rectifier and normaliser that follow every affine layer."""
        mean, variance = weights[stem + ".mean"], weights[stem + ".var"]
        relu = self.add(stem + ".relu", rectifier(len(mean)), reads)
        return self.add(stem + ".norm", normaliser(mean, variance), relu)

    def encode(self) -> bytes:
        text = "\n".join(["", *self.lines, "output-node name=output input=output.affine objective=linear", "", ""])
        named = b"".join(token("<ComponentName>") + token(name) + body for name, body in self.components)
        return (
            b"<Nnet3> "
            + text.encode()
            + token("<NumComponents>")
            + integer(len(self.components))
            + named
            + token("</Nnet3>")
        )


def first_layer(wiring: Wiring, weights: Weights) -> str:
    window = "Append(Offset(input, -1), input, Offset(input, 1))"
    name = wiring.add("first.affine", affine(weights["first.weight"], weights["first.bias"]), window)
    return wiring.normalised("first", weights, name)


def factored_layer(wiring: Wiring, weights: Weights, index: int, reads: str) -> str:
    """A bottleneck of two thin matrices looking `reach` frames back and forth, added to 0.66 of its input."""
    stem, reach = f"layer{index}", int(weights["reach"][index])
    back, forth = ((-reach, 0), (0, reach)) if reach else ((0,), (0,))
    small, large = weights[stem + ".linear"], weights[stem + ".weight"]
    thin = wiring.add(stem + ".linear", time_delay(small, np.zeros(0), back), reads)
    wide = wiring.add(stem + ".affine", time_delay(large, weights[stem + ".bias"], forth), thin)
    normal = wiring.normalised(stem, weights, wide)
    return wiring.add(stem + ".sum", passing(large.shape[0]), f"Sum(Scale({RESIDUAL}, {reads}), {normal})")


def last_layers(wiring: Wiring, weights: Weights, reads: str) -> None:
    small = wiring.add("last.small", linear(weights["last.small"]), reads)
    wide = wiring.add("last.affine", affine(weights["last.weight"], weights["last.bias"]), small)
    normal = wiring.normalised("last", weights, wide)
    thin = wiring.add("last.linear", linear(weights["last.linear"]), normal)
    even = wiring.add("last.even", normaliser(weights["last.even.mean"], weights["last.even.var"]), thin)
    wiring.add("output.affine", affine(weights["output.weight"], weights["output.bias"]), even)


def network(weights: Weights) -> bytes:
    wiring = Wiring()
    name = first_layer(wiring, weights)
    for index in range(len(weights["reach"])):
        name = factored_layer(wiring, weights, index, name)
    last_layers(wiring, weights, name)
    return wiring.encode()


def context(weights: Weights) -> int:
    """Frames the network sees on each side of the one it scores."""
    return 1 + int(weights["reach"].sum())


def acoustic_model(weights: Weights, names: list[str]) -> bytes:
    sides = token("<LeftContext>") + integer(context(weights)) + token("<RightContext>") + integer(context(weights))
    return b"\0B" + transition_model(names) + network(weights) + sides + token("<Priors>") + vector([])


# ---- the folder


def numbered(names: list[str]) -> str:
    return "".join(f"{name} {number}\n" for number, name in enumerate(names, start=1))


def transition_table(names: list[str]) -> str:
    rows = ((name, *transition_ids(number)) for number, name in enumerate(names, start=1))
    return "".join(f"{name} {staying} {forward}\n" for name, staying, forward in rows)


def write_folder(folder: Path, weights: Weights, lexicon: Path, about: dict[str, object]) -> None:
    noise = weights["output.weight"].shape[0] > 2 * UNIT_INDEX[NOISE]
    names = graph_phones(with_noise=noise)
    for part in ("am", "conf"):
        (folder / part).mkdir(parents=True, exist_ok=True)
    model = acoustic_model(weights, names)
    (folder / "am/final.mdl").write_bytes(model)
    (folder / "conf/mfcc.conf").write_text(MFCC)
    (folder / "conf/model.conf").write_text(DECODING.format(silence=f"1:{len(names)}" if noise else "1"))
    (folder / "phones.txt").write_text(numbered(names))
    (folder / "transitions.txt").write_text(transition_table(names))
    shutil.copyfile(lexicon, folder / "lexicon.txt")
    about |= {"phones": names, "sha256": hashlib.sha256(model).hexdigest()}
    (folder / "model.json").write_text(json.dumps(about, indent=1) + "\n")


def main() -> None:
    parser = argparse.ArgumentParser(description="Write trained weights as a vosk model folder.")
    parser.add_argument("weights", type=Path)
    parser.add_argument("lexicon", type=Path)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--version", default="0")
    parser.add_argument("--training-summary", default="")
    given = parser.parse_args()
    about: dict[str, object] = {
        "name": "benchvoice bench-language acoustic model",
        "version": given.version,
        "sample_rate": 16000,
        "date": datetime.date.today().isoformat(),
        "training": given.training_summary,
    }
    with np.load(given.weights) as stored:
        write_folder(given.folder, dict(stored), given.lexicon, about)


if __name__ == "__main__":
    main()

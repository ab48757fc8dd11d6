"""Start from the layers of another Kaldi chain model instead of random weights, to compare the two.

    python borrowed.py FINAL.MDL WEIGHTS.npz

Reads the layers of a model of the same shape (40 cepstra, i-vectors dropped, fourteen factored layers of 768).
"""

from __future__ import annotations

import struct
import sys
from pathlib import Path

import numpy as np
import torch

from network import Frames, Network


def values(model: bytes, component: str, key: str) -> np.ndarray:
    """The matrix or vector called KEY of one component."""
    part = model.index(f"<ComponentName> {component} ".encode())
    at = model.index(f"<{key}> ".encode(), part) + len(key) + 3
    kind = model[at : at + 3]
    if kind == b"FV ":
        (count,) = struct.unpack_from("<i", model, at + 4)
        return np.frombuffer(model, "<f4", count, at + 8)
    rows, columns = struct.unpack_from("<i", model, at + 4)[0], struct.unpack_from("<i", model, at + 9)[0]
    return np.frombuffer(model, "<f4", rows * columns, at + 13).reshape(rows, columns)


def read(path: Path) -> dict[str, np.ndarray]:
    model = path.read_bytes()
    mixed, weight = values(model, "lda", "LinearParams"), values(model, "tdnn1.affine", "LinearParams")
    found = {
        "first.weight": weight @ mixed[:, :120],
        "first.bias": weight @ values(model, "lda", "BiasParams") + values(model, "tdnn1.affine", "BiasParams"),
        "last.small": values(model, "prefinal-l", "Params"),
        "last.weight": values(model, "prefinal-chain.affine", "LinearParams"),
        "last.bias": values(model, "prefinal-chain.affine", "BiasParams"),
        "last.linear": values(model, "prefinal-chain.linear", "Params"),
    }
    for index in range(14):
        stem = f"tdnnf{index + 2}"
        found[f"layer{index}.linear"] = values(model, stem + ".linear", "LinearParams")
        found[f"layer{index}.weight"] = values(model, stem + ".affine", "LinearParams")
        found[f"layer{index}.bias"] = values(model, stem + ".affine", "BiasParams")
    return found


def fill(frames: Frames, weight: np.ndarray, bias: np.ndarray | None = None) -> None:
    frames.map.weight.data.copy_(torch.from_numpy(weight.copy()))
    if bias is not None:
        frames.map.bias.data.copy_(torch.from_numpy(bias.copy()))


def put_weights(network: Network, path: Path) -> None:
    with np.load(path) as found:
        fill(network.first, found["first.weight"], found["first.bias"])
        for index, layer in enumerate(network.layers):
            fill(layer.squeeze, found[f"layer{index}.linear"])
            fill(layer.expand, found[f"layer{index}.weight"], found[f"layer{index}.bias"])
        fill(network.last_small, found["last.small"])
        fill(network.last_affine, found["last.weight"], found["last.bias"])
        fill(network.last_linear, found["last.linear"])
        if "output.weight" in found:  # of our own: the same units
            fill(network.output, found["output.weight"], found["output.bias"])


if __name__ == "__main__":
    np.savez(sys.argv[2], **read(Path(sys.argv[1])))

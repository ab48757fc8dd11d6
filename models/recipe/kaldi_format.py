"""Write Kaldi's binary formats: the few tokens, vectors and matrices an nnet3 acoustic model is made of."""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence

import numpy as np


def token(name: str) -> bytes:
    """A token such as `<Dim>`, closed by the one space Kaldi's reader wants."""
    return f"{name} ".encode()


def integer(value: int) -> bytes:
    return b"\4" + struct.pack("<i", value)


def real(value: float) -> bytes:
    return b"\4" + struct.pack("<f", value)


def double(value: float) -> bytes:
    return b"\10" + struct.pack("<d", value)


def boolean(value: bool) -> bytes:
    return b"T" if value else b"F"


def integers(values: Iterable[int]) -> bytes:
    """A vector of integers: the size of one element in bytes, how many, then the elements."""
    array = np.asarray(list(values), "<i4")
    return integer(len(array)) + array.tobytes()


def vector(values: Sequence[float] | np.ndarray) -> bytes:
    array = np.ascontiguousarray(values, "<f4")
    return token("FV") + integer(len(array)) + array.tobytes()


def matrix(values: np.ndarray) -> bytes:
    array = np.ascontiguousarray(values, "<f4")
    rows, columns = array.shape
    return token("FM") + integer(rows) + integer(columns) + array.tobytes()

"""The phones: which exist, how they are numbered in the graph, and which network outputs belong to each.

Thirty-nine phones of the CMU dictionary, silence and a phone for noises that are not speech. In the graph a speech
phone is marked by its place in the word (begin, end, inside, single); the four share their two network outputs, one
for entering the phone and one for staying in it (the one-state topology of Kaldi's "chain" models).
"""

from __future__ import annotations

from collections.abc import Sequence

SPEECH = tuple(
    """
AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K
L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH
""".split()
)
SILENCE, NOISE = "SIL", "NSN"
UNITS = (SILENCE, *SPEECH, NOISE)
UNIT_INDEX = {name: index for index, name in enumerate(UNITS)}
PLACES = ("_B", "_E", "_I", "_S")


def graph_phones(with_noise: bool = True) -> list[str]:
    """Names in the order of their Kaldi ids, which start at 1."""
    placed = [phone + place for phone in SPEECH for place in PLACES]
    return [SILENCE, *placed, *([NOISE] if with_noise else [])]


def unit_of(graph_phone: str) -> int:
    return UNIT_INDEX[graph_phone.split("_")[0]]


def outputs(unit: int) -> tuple[int, int]:
    """Network outputs of a unit: (entering, staying)."""
    return 2 * unit, 2 * unit + 1


def transition_ids(kaldi_id: int) -> tuple[int, int]:
    """Transition ids of a graph phone: (self-loop, forward)."""
    return 2 * kaldi_id - 1, 2 * kaldi_id


def place_phones(phones: Sequence[str]) -> list[str]:
    """Mark each phone of one word with its place in it."""
    if len(phones) == 1:
        return [phones[0] + "_S"]
    inside = [phone + "_I" for phone in phones[1:-1]]
    return [phones[0] + "_B", *inside, phones[-1] + "_E"]

"""Small networks of words for tests, and the fixtures that belong to them."""

from __future__ import annotations

from pathlib import Path

from benchvoice.messages import WordNetwork

FIXTURES = Path(__file__).resolve().parents[2] / "audio_fixtures"


def network_of(*phrases: str) -> WordNetwork:
    """Return the network of some phrases: a tree, all ends final."""
    arcs: dict[tuple[int, str], int] = {}
    finals = set()
    for phrase in phrases:
        state = 0
        for word in phrase.split():
            state = arcs.setdefault((state, word), len(arcs) + 1)
        finals.add(state)
    return WordNetwork(tuple((start, word, end) for (start, word), end in arcs.items()), frozenset(finals))

"""A reply becomes a sentence: all wording is here and in ``wording/*.toml``, nowhere else.

Each key has a full and a terse wording, and each sentence two forms: for the ear, with numbers
and units spelled, and for the eye, with digits. Some have ``big`` too: the number for the large display.
Where one key needs several wordings, a chooser picks among ``key.variant`` by the facts.

    wordings   the wording files
    facts      facts in words, by the specs that the wordings name
    hearing    spelling for the ear what was written for the eye
    choosing   which variant of a key
"""

from __future__ import annotations

import string
from collections.abc import Mapping, Sequence
from typing import Any

from benchvoice.messages import Reply, Sentence
from benchvoice.replies.choosing import CHOOSERS
from benchvoice.replies.facts import KINDS, SPECS, rounded
from benchvoice.replies.hearing import for_the_ear, tidy
from benchvoice.replies.wordings import wordings

__all__ = ["CHOOSERS", "KINDS", "SPECS", "for_the_ear", "rounded", "sentence", "sentences", "wordings"]


def sentence(reply: Reply, wording: str = "full") -> Sentence:
    """Return the words for a reply; a key or fact that is missing is a defect."""
    spoken, printed = (tidy(_filled(reply, wording, ear=ear)) for ear in (True, False))
    big = _Form(wording, ear=False).vformat(_entry(reply).get("big", ""), (), reply.facts)
    return Sentence(spoken, printed, safety=reply.key.startswith("safety_"), big=big)


def _filled(reply: Reply, wording: str, *, ear: bool) -> str:
    entry = _entry(reply)
    return _Form(wording, ear=ear).vformat(entry.get(wording, entry["full"]), (), reply.facts)


def _entry(reply: Reply) -> Mapping[str, str]:
    chooser = CHOOSERS.get(reply.key)
    variant = chooser(reply.facts) if chooser else ""
    return wordings()[f"{reply.key}.{variant}" if variant else reply.key]


def sentences(replies: Sequence[Reply], wording: str = "full") -> tuple[Sentence, ...]:
    """Return the words for several replies, in their order."""
    return tuple(sentence(reply, wording) for reply in replies)


class _Form(string.Formatter):
    """Fills facts into a wording, for the ear or for the eye."""

    def __init__(self, wording: str, *, ear: bool) -> None:
        self.wording, self.ear = wording, ear

    def format_field(self, value: Any, format_spec: str) -> str:
        spec, _, word = format_spec.partition(":")
        if not spec:
            return for_the_ear(str(value)) if self.ear else str(value)
        if spec == "clauses":
            return ", ".join(_filled(clause, self.wording, ear=self.ear) for clause in value)
        return SPECS[spec](value, self.ear, word)

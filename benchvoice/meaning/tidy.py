"""Cuts a sentence into words: case, punctuation and missing apostrophes do not matter, figures stay whole."""

from __future__ import annotations

import re
from collections.abc import Mapping

from benchvoice.messages import UNKNOWN_WORD

_BETWEEN_LETTERS = re.compile(r"(?<=[^\W\d_])[-\u2010\u2011–](?=[^\W\d_])")
_PLUS = re.compile(r"^\+(?=[.\d])")
_AROUND = ",;:!?()\"'…"


def words_of(text: str, spelt: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """Return the words of a sentence; ``spelt`` holds what is also typed for a word.

    >>> words_of("No, it’s thirty-nine! +5 1,420 142.5g.")
    ('no', "it's", 'thirty', 'nine', '5', '1,420', '142.5g')
    """
    spaced = _BETWEEN_LETTERS.sub(" ", text.lower().replace("’", "'"))
    words = (_bare(part) for part in spaced.split())
    return tuple((spelt or {}).get(word, word) for word in words if word)


def _bare(part: str) -> str:
    """Return a word without the punctuation around it; a full stop before a figure is part of it."""
    if part == UNKNOWN_WORD:
        return part
    word = _PLUS.sub("", part.strip(_AROUND).rstrip("." + _AROUND))
    return word.lstrip(".") if not word[1:2].isdigit() else word

"""Where the voice draws breath.

The engine gets no mark-up: commas and full stops make the pauses. A text is cut at its full
stops, so that the second sentence is rendered while the first one plays.
"""

from __future__ import annotations

import re

_END_OF_SENTENCE = re.compile(r"(?<=[.?!;:])\s+")


def sentences(text: str) -> tuple[str, ...]:
    """Return the sentences of a text, each with its own full stop.

    >>> sentences("One four two grams. Is that right?")
    ('One four two grams.', 'Is that right?')
    >>> sentences("  ")
    ()
    """
    parts = _END_OF_SENTENCE.split(text.strip())
    return tuple(part for part in parts if any(sign.isalnum() for sign in part))

"""Whether somebody who has just stopped is likely to go on: then the bench waits a little longer."""

from __future__ import annotations

IN_A_NUMBER = ("and", "point", "hundred", "thousand", "minus", "oh", "nought", "double", "triple")
TENS = frozenset(("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"))
IN_A_SENTENCE = ("a", "an", "the", "of", "to", "is", "called", "added", "no", "not", "said", "mean")
GOING_ON = frozenset((*IN_A_NUMBER, *TENS, *IN_A_SENTENCE))
"""Words after which more is often to come: "one hundred … and forty two", "no … one thirty nine"."""


def unfinished(text: str) -> bool:
    """Tell whether the words so far sound as if more is to come.

    "To" after a ten is a "two" of which no more was heard yet.

    >>> unfinished("one hundred and"), unfinished("one forty two"), unfinished("one forty to")
    (True, False, False)
    """
    words = text.split()
    half_heard = words[-1:] == ["to"] and not TENS.isdisjoint(words[-2:])
    return bool(words) and words[-1] in GOING_ON and not half_heard

"""Replies as plain lines of text, for eyes, screen readers and tests.

One line per thing, appended and flushed at once; no colour, no cursor tricks, nothing that is
overwritten. A screen reader follows it, and so does a pipe.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Collection
from typing import TextIO

from benchvoice.messages import Sentence, SetVoice
from benchvoice.voice import tones

PRINTED_TONES = frozenset(tones.NAMES) - {tones.HEARD}
"""Every tone has its line, but "heard": what was heard is printed itself."""


class Printer:
    """A speaker that prints.

    >>> Printer(sys.stdout).say(Sentence("one four two grams", "142 g"))
    bench: 142 g
    """

    def __init__(self, stream: TextIO | None = None, printed_tones: Collection[str] = PRINTED_TONES) -> None:
        self._stream = sys.stdout if stream is None else stream
        self._printed_tones = printed_tones
        if isinstance(self._stream, io.TextIOWrapper):
            # a terminal that cannot show a sign gets a question mark, not the end of the session
            self._stream.reconfigure(errors="replace")

    def say(self, sentence: Sentence) -> None:
        """Print a reply."""
        self._lines("bench", sentence.printed)

    def heard(self, words: str) -> None:
        """Print what was heard."""
        self._lines("heard", words)

    def tone(self, name: str) -> None:
        """Print what a tone would tell; a name that is no tone is a defect (KeyError)."""
        assert tones.RHYTHMS[name]
        if name in self._printed_tones:
            self._lines("tone", name)

    def state(self, word: str) -> None:
        """Print what the bench is doing from now on."""
        self._lines("state", word)

    def change(self, change: SetVoice) -> None:
        """Do nothing: print has no rate and no volume."""

    def close(self) -> None:
        """Make sure that everything is out; the stream stays open."""
        self._stream.flush()

    def _lines(self, who: str, text: str) -> None:
        for line in text.split("\n"):
            if plain := _plain(line):
                self._stream.write(f"{who}: {plain}\n")
        self._stream.flush()


def _plain(line: str) -> str:
    r"""Return a line without signs that act on a terminal, and without blanks to spare.

    >>> _plain("tide\x1b[2J  green ")
    'tide [2J green'
    """
    return " ".join("".join(sign if sign.isprintable() else " " for sign in line).split())

"""Ears for a keyboard: each line typed is a turn. Also the stand-in for a voice in tests."""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from benchvoice.messages import Closed, WordNetwork, Words


class Keyboard:
    """Hears lines of text. It takes any words, whatever the network."""

    listens = False

    def __init__(self, lines: TextIO, prompt: TextIO | None = None) -> None:
        """Read from ``lines``; before each wait write ``> `` to ``prompt``, if given."""
        self._lines, self._prompt = lines, prompt
        self._typed: queue.Queue[str | None] = queue.Queue()
        self._reader: threading.Thread | None = None
        self._closed = False

    def hear(self, network: WordNetwork, seconds: float | None = None) -> Words | Closed | None:  # noqa: ARG002
        """Return the next line as words; None when none was finished within ``seconds``."""
        if self._closed:
            return Closed()
        line = self._next_line(seconds)
        if line is None:
            return None
        self._closed = not line
        return Words(normalised(line), typed=True) if line else Closed()

    def _next_line(self, seconds: float | None) -> str | None:
        """Return a line with its end, empty at the end of the text, None for none in time."""
        if seconds is None and self._reader is None:
            self._show_prompt()
            return self._read()
        return self._wait(seconds)

    def _wait(self, seconds: float | None) -> str | None:
        # A line cannot be waited for with a limit on every system, so a thread waits for it.
        if self._reader is None or (not self._reader.is_alive() and self._typed.empty()):
            self._show_prompt()
            self._reader = threading.Thread(target=lambda: self._typed.put(self._read()), daemon=True)
            self._reader.start()
        try:
            return self._typed.get(timeout=seconds)
        except queue.Empty:
            return None

    def _read(self) -> str:
        try:
            return self._lines.readline()
        except (UnicodeDecodeError, ValueError):  # not text, or closed while waiting
            return ""

    def _show_prompt(self) -> None:
        if self._prompt is not None:
            self._prompt.write("> ")
            self._prompt.flush()

    @contextmanager
    def deaf(self) -> Iterator[None]:
        """Do nothing: what is typed while the machine speaks counts."""
        yield

    def close(self) -> None:
        """Hear no more."""
        self._closed = True


def normalised(line: str) -> str:
    r"""Return a line in lower case, one space between words.

    >>> normalised("  One  Forty\ttwo\n")
    'one forty two'
    """
    return " ".join(line.lower().split())

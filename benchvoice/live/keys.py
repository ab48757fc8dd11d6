"""The keys of a terminal, each seen as it is struck: any can cut the voice short or open the microphone.

A terminal hands over whole lines by itself; here it is asked for single keys, and a line is put together
by us. What is not a terminal (a pipe, a file) gives lines as it always does. The Windows way follows the
documentation of ``msvcrt`` and has not been run.
"""

from __future__ import annotations

import codecs
import contextlib
import os
import queue
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import TracebackType
from typing import Any, TextIO

LOOK_EVERY = 0.1
"""How long the reader waits before it looks whether it should stop [s]."""
ERASE, END, CLEAR = "\b\x7f", "\x04\x1a", "\x15"
"""Keys that take back a letter, end the text, and take back the line."""


@dataclass(slots=True)
class Line:
    r"""A line that is being typed.

    >>> line = Line()
    >>> [line.take(key) for key in "one\x7f "]
    ['o', 'n', 'e', '\x08 \x08', ' ']
    >>> line.text
    'on '
    """

    text: str = ""

    def take(self, key: str) -> str:
        """Take one key that does not end the line, and return what the terminal should show for it."""
        if key in ERASE:
            shown = "\b \b" if self.text else ""
            self.text = self.text[:-1]
            return shown
        if key == CLEAR:
            return self.drop()
        if not key.isprintable():
            return ""
        self.text += key
        return key

    def drop(self) -> str:
        """Forget the line, and return what wipes it off the terminal."""
        shown, self.text = "\b \b" * len(self.text), ""
        return shown


def _nobody() -> None:
    pass


class Keys:
    """Lines that are typed, and a call for every key on the way."""

    def __init__(self, stream: TextIO, echo: TextIO | None = None) -> None:
        """Read from a stream; what is typed on a terminal is shown on ``echo``."""
        self.struck: Callable[[], None] = _nobody
        """Called at every key, from the reader's own thread."""
        self._stream, self._echo = stream, echo
        self._line = Line()
        self._lines: queue.Queue[str | None] = queue.Queue()
        self._pressed = threading.Event()
        self._stopping = False
        self.is_terminal = stream.isatty()
        self.over = False
        """True when no line will come any more."""
        self._reader = threading.Thread(target=self._run, name="keys", daemon=True)

    def __enter__(self) -> Keys:
        """Begin to read."""
        self._mode = _single_keys(self._stream) if self.is_terminal else None
        self._reader.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Stop reading, and leave the terminal as it was."""
        self._stopping = True
        if self._mode is not None:
            self._mode()
        if self.is_terminal:
            self._reader.join(5 * LOOK_EVERY)

    def line(self, seconds: float = 0.0) -> str | None:
        """Return the next line that was finished, None when there is none in time or ever again."""
        try:
            line = self._lines.get(timeout=seconds) if seconds > 0 else self._lines.get_nowait()
        except queue.Empty:
            return None
        self.over = line is None
        return line

    def pressed(self, seconds: float = 0.0) -> bool:
        """Return whether any key was struck since this was last asked, waiting for one if told to."""
        struck = self._pressed.wait(seconds) if seconds > 0 else self._pressed.is_set()
        self._pressed.clear()
        return struck

    def drop_half_line(self) -> None:
        """Forget what was typed of a line that is not finished: the key was struck to speak."""
        self._show(self._line.drop())

    # ---- reading --------------------------------------------------------------------

    def _run(self) -> None:
        try:
            for keys in self._bursts():
                self._pressed.set()
                self.struck()
                self._take(keys)
        except (OSError, ValueError):
            pass  # the terminal went away, or the stream was closed: there is nothing more to read
        if self._line.text and not self.is_terminal:
            self._lines.put(self._line.text)
        self._lines.put(None)

    def _bursts(self) -> Iterator[str]:
        if not self.is_terminal:
            yield from iter(self._next_line, "")
        elif sys.platform == "win32":
            yield from _windows_keys(lambda: self._stopping)
        else:
            yield from _terminal_keys(self._stream, lambda: self._stopping)

    def _next_line(self) -> str:
        try:
            return self._stream.readline()
        except UnicodeDecodeError:
            return ""

    def _take(self, keys: str) -> None:
        if keys.startswith("\x1b"):
            return  # an arrow, a function key, a pedal: struck, but no letter
        for key in keys.replace("\r\n", "\n"):
            if key in "\r\n":
                self._lines.put(self._line.text)
                self._line = Line()
                self._show("\n")
            elif key in END and self.is_terminal and not self._line.text:
                self._lines.put(None)
            else:
                self._show(self._line.take(key))

    def _show(self, text: str) -> None:
        if text and self._echo is not None and self.is_terminal:
            self._echo.write(text)
            self._echo.flush()


# ---- terminals ------------------------------------------------------------------


def _single_keys(stream: TextIO) -> Callable[[], None]:
    """Let a terminal hand over every key at once, unshown; return what puts it back."""
    if sys.platform == "win32":
        return _nobody
    import termios

    number = stream.fileno()
    before: list[Any] = termios.tcgetattr(number)
    now: list[Any] = [part[:] if isinstance(part, list) else part for part in before]
    now[3] &= ~(termios.ICANON | termios.ECHO)
    now[6][termios.VMIN], now[6][termios.VTIME] = 1, 0
    termios.tcsetattr(number, termios.TCSADRAIN, now)
    return lambda: termios.tcsetattr(number, termios.TCSADRAIN, before)


def _terminal_keys(stream: TextIO, stopping: Callable[[], bool]) -> Iterator[str]:
    import select

    decoder = codecs.getincrementaldecoder("utf-8")("replace")
    while not stopping():
        ready, _, _ = select.select([stream.fileno()], [], [], LOOK_EVERY)
        if ready:
            read = os.read(stream.fileno(), 1024)
            if not read:
                return
            if keys := decoder.decode(read):
                yield keys


def _windows_keys(stopping: Callable[[], bool]) -> Iterator[str]:
    import time

    msvcrt: Any = __import__("msvcrt")
    while not stopping():
        if not msvcrt.kbhit():
            time.sleep(LOOK_EVERY / 4)
            continue
        key = msvcrt.getwch()
        if key in "\x00\xe0":  # the first half of a key without a letter
            with contextlib.suppress(OSError):
                msvcrt.getwch()
            key = "\x1b"
        yield key

"""Lines of text as words."""

from __future__ import annotations

import io
import os
import time

import pytest

from benchvoice.ears.keyboard import Keyboard
from benchvoice.messages import Closed, WordNetwork, Words

ANY = WordNetwork((), frozenset())


@pytest.mark.parametrize(
    ("line", "text"),
    [
        ("one forty two\n", "one forty two"),
        ("  ONE   Forty\ttwo \r\n", "one forty two"),
        ("142.5 g\n", "142.5 g"),
        ("\n", ""),
        ("no newline at the end", "no newline at the end"),
        ("céladon\n", "céladon"),
    ],
)
def test_line(line: str, text: str) -> None:
    """A line is words in lower case, typed, with no doubt about them."""
    assert Keyboard(io.StringIO(line)).hear(ANY, None) == Words(text, typed=True)


def test_lines_then_closed() -> None:
    """Lines come one by one; then the keyboard is closed, and stays so."""
    keyboard = Keyboard(io.StringIO("yes\nno\n"))

    heard = [keyboard.hear(ANY, None) for _ in range(4)]

    assert heard == [Words("yes", typed=True), Words("no", typed=True), Closed(), Closed()]


def test_lines_with_a_time_limit() -> None:
    """A limit on the waiting changes nothing when there are lines."""
    keyboard = Keyboard(io.StringIO("yes\nno\n"))

    heard = [keyboard.hear(ANY, 5.0) for _ in range(3)]

    assert heard == [Words("yes", typed=True), Words("no", typed=True), Closed()]


def test_nothing_typed_in_time() -> None:
    """Nothing within the time is None; a line that comes later is not lost."""
    reading, writing = os.pipe()
    with os.fdopen(reading) as lines, os.fdopen(writing, "w") as fingers:
        keyboard = Keyboard(lines)
        start = time.monotonic()
        assert keyboard.hear(ANY, 0.1) is None
        assert time.monotonic() - start < 2.0
        fingers.write("one forty two\n")
        fingers.flush()

        assert keyboard.hear(ANY, 5.0) == Words("one forty two", typed=True)
        fingers.write("done\n")
        fingers.flush()
        assert keyboard.hear(ANY, None) == Words("done", typed=True)


def test_what_is_typed_while_the_machine_speaks_counts() -> None:
    """A keyboard is never deaf."""
    keyboard = Keyboard(io.StringIO("stop\n"))

    with keyboard.deaf():
        pass

    assert keyboard.hear(ANY, None) == Words("stop", typed=True)


def test_not_text() -> None:
    """Bytes that are no text close the keyboard; they do not end the program."""
    lines = io.TextIOWrapper(io.BytesIO(b"\xff\xfe\xff\n"), encoding="utf-8")

    assert Keyboard(lines).hear(ANY, None) == Closed()


def test_prompt() -> None:
    """The prompt is shown once for each wait."""
    shown = io.StringIO()
    keyboard = Keyboard(io.StringIO("yes\n"), prompt=shown)

    keyboard.hear(ANY, None)

    assert shown.getvalue() == "> "


def test_closed_by_hand() -> None:
    """After ``close`` nothing more is read."""
    keyboard = Keyboard(io.StringIO("yes\n"))

    keyboard.close()

    assert keyboard.hear(ANY, None) == Closed()

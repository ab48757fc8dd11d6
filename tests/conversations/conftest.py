"""Conversations as text files: what the potter types, what the bench prints, what the journal holds.

    # a remark
    clock: 2026-03-02 09:00          the time is now this (UTC)
    clock: +3 days                   the time moves on (minutes, hours, days, weeks)
    potter: one forty two            typed
    spoken: one forty two | 0.4      as if heard, with the recogniser's confidence
    bench: 142 g. The gravity ...    printed, word for word, in this order, nothing else
    journal: reading net_g 142       the newest standing entry of that kind has this fact
    journal: addition none           there is no standing entry of that kind

Keyboard, printer and journal are the product's own; only the clock is moved by hand.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import nullcontext
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from benchvoice.building import scene_from
from benchvoice.journal import Journal
from benchvoice.messages import Closed, WordNetwork, Words
from benchvoice.session import Session
from benchvoice.voice.printer import Printer

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


@dataclass
class HandClock:
    """A clock that only a hand moves."""

    time: datetime = START

    def __call__(self) -> datetime:
        """Return the time that the hand has set."""
        return self.time

    def move(self, text: str) -> None:
        """Set the time, or move it on."""
        if text.startswith(("+", "-")):
            number, unit = text[1:].split()
            step = timedelta(**{unit if unit.endswith("s") else unit + "s": float(number)})
            self.time += step if text[0] == "+" else -step
        else:
            self.time = datetime.strptime(text, "%Y-%m-%d %H:%M").replace(tzinfo=UTC)


@dataclass
class HandedEars:
    """Ears that hear what they are handed, one turn at a time."""

    said: list[Words] = field(default_factory=list)
    listens: bool = False

    def hear(self, network: WordNetwork, seconds: float | None) -> Words | Closed | None:  # noqa: ARG002
        """Return the next turn."""
        return self.said.pop(0) if self.said else Closed()

    def deaf(self) -> nullcontext[None]:
        """Do nothing."""
        return nullcontext()


class Bench:
    """A session that is driven line by line."""

    def __init__(self, folder: Path, clock: HandClock | None = None) -> None:
        self.clock = clock or HandClock()
        self.journal = Journal.open(folder / "journal.sqlite")
        self.ears = HandedEars()
        self._out = io.StringIO()
        self.session = self._begun()

    def _begun(self) -> Session:
        scene = scene_from(self.journal.recall(), self.journal.begin_session(self.clock()))
        printer = Printer(self._out, printed_tones=())
        session = Session(scene, ears=self.ears, voice=printer, journal=self.journal, now=self.clock)
        session.open()
        return session

    def reopen(self) -> list[str]:
        """Start a new session over the same journal, as the next morning does."""
        self.session = self._begun()
        return self.printed()

    def hear(self, words: Words) -> list[str]:
        """Hand words over and return the lines printed since."""
        self.ears.said.append(words)
        self.session.turn()
        return self.printed()

    def type(self, text: str) -> list[str]:
        """Type a line and return the lines printed since."""
        return self.hear(Words(text, typed=True))

    def due(self) -> list[str]:
        """Let the session see the clock, as it does when nothing is said for a while."""
        self.session.ring()
        return self.printed()

    def printed(self) -> list[str]:
        """Return the lines printed since the last time, without who said them."""
        text = self._out.getvalue()
        self._out.seek(0)
        self._out.truncate()
        return [line.removeprefix("bench: ") for line in text.splitlines() if line.startswith("bench: ")]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """Yield a session with an empty journal."""
    made = Bench(tmp_path)
    yield made
    made.journal.close()

"""Puts the parts together for each command. Heavy parts are imported only where they are needed."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TextIO

from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.scene import Scene
from benchvoice.dialogue.states import READY
from benchvoice.ears.keyboard import Keyboard
from benchvoice.journal import Journal, journal_path
from benchvoice.messages import Entry
from benchvoice.session import Session
from benchvoice.voice.printer import Printer

Clock = Callable[[], datetime]


def clock() -> datetime:
    """Return the time now, in UTC."""
    return datetime.now(UTC)


def open_journal(folder: Path | None) -> Journal:
    """Open the journal in a folder, or in its usual place."""
    return Journal.open(journal_path(folder))


def scene_from(entries: tuple[Entry, ...], session: str) -> Scene:
    """Return the scene in which a session begins."""
    return Scene(session, READY, Bench(entries))


def chat(journal: Journal, lines: TextIO, out: TextIO, *, now: Clock = clock, prompt: bool = False) -> Session:
    """Return a session that is typed and printed."""
    scene = scene_from(journal.recall(), journal.begin_session(now()))
    ears = Keyboard(lines, prompt=out if prompt else None)
    return Session(scene, ears=ears, voice=Printer(out, printed_tones=()), journal=journal, now=now)


def is_terminal(stream: TextIO) -> bool:
    """Tell whether somebody is typing."""
    return stream.isatty() and sys.stdout.isatty()

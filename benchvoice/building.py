"""Puts the parts together for each command. Heavy parts are imported only where they are needed."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from benchvoice import routine_files
from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.routine_text import Routine
from benchvoice.dialogue.scene import Scene
from benchvoice.dialogue.states import READY
from benchvoice.ears.keyboard import Keyboard
from benchvoice.journal import Journal, journal_path
from benchvoice.meaning.unfinished import unfinished
from benchvoice.messages import Entry
from benchvoice.session import Session
from benchvoice.voice.printer import Printer
from benchvoice.voice.together import Together

if TYPE_CHECKING:
    from benchvoice.ears.recogniser import SpeechEars
    from benchvoice.voice.wav_speaker import WavSpeaker

Clock = Callable[[], datetime]
PRINTED_TONES = ("not understood", "microphone lost")
"""Tones that a session with sound prints too; the others would only repeat what is printed anyway."""


def clock() -> datetime:
    """Return the time now, in UTC."""
    return datetime.now(UTC)


def open_journal(folder: Path | None) -> Journal:
    """Open the journal in a folder, or in its usual place."""
    return Journal.open(journal_path(folder))


def scene_from(
    entries: tuple[Entry, ...], session: str, routines: tuple[Routine, ...] | None = None
) -> Scene:
    """Return the scene in which a session begins; without routines handed over, it knows ours."""
    known = routine_files.known_routines() if routines is None else routines
    return Scene(session, READY, Bench(entries), routines=known)


def first_scene(journal: Journal, now: Clock) -> Scene:
    """Return the first scene of a new session over a journal."""
    routines = own_routines(journal)
    return scene_from(journal.recall(), journal.begin_session(now()), routines)


def own_routines(journal: Journal) -> tuple[Routine, ...]:
    """Return our routines and the potter's; what is wrong with one of them is told on standard error."""
    found, refused = routine_files.all_routines(routine_files.own_folder(journal.path))
    for error in refused:
        sys.stderr.write(f"{error}\n")
    return tuple(each.routine for each in found)


def chat(
    journal: Journal, lines: TextIO, out: TextIO, *, now: Clock = clock, prompt: bool = False
) -> Session:
    """Return a session that is typed and printed."""
    ears = Keyboard(lines, prompt=out if prompt else None)
    voice = Printer(out, printed_tones=())
    return Session(first_scene(journal, now), ears=ears, voice=voice, journal=journal, now=now)


@contextmanager
def listening(files: Sequence[Path], model: Path | None) -> Iterator[SpeechEars]:
    """Yield ears for recordings, one after the other."""
    from benchvoice.ears.engines import engine_for
    from benchvoice.ears.model_folder import find_model
    from benchvoice.ears.playlist import Playlist
    from benchvoice.ears.recogniser import SpeechEars

    ears = SpeechEars(engine_for(find_model(model)), Playlist(files), unfinished)
    try:
        yield ears
    finally:
        ears.close()


@contextmanager
def speaking_into(path: Path) -> Iterator[WavSpeaker]:
    """Yield a speaker that speaks into a WAV file."""
    from benchvoice.voice.engine import Engine
    from benchvoice.voice.wav_speaker import WavSpeaker

    engine = Engine()
    speaker = WavSpeaker(path, engine)
    try:
        yield speaker
    finally:
        speaker.close()
        engine.close()


def hear(
    journal: Journal,
    ears: SpeechEars,
    out: TextIO,
    speaker: WavSpeaker | None = None,
    *,
    begun: datetime | None = None,
) -> Session:
    """Return a session that is heard from recordings, printed, and spoken into a file if one is given.

    Its time goes on with the sound, from now or from when it ``begun``: a dip is counted as it was dipped.
    """
    start = begun or clock()

    def now() -> datetime:
        return start + timedelta(seconds=ears.position)

    printer = Printer(out, printed_tones=PRINTED_TONES)
    voice = printer if speaker is None else Together(printer, speaker)
    return Session(first_scene(journal, now), ears=ears, voice=voice, journal=journal, now=now)

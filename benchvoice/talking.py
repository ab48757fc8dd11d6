"""Puts the live loop together for ``benchvoice talk``: devices by name, settings as they were left."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from math import inf
from pathlib import Path
from typing import TextIO

from benchvoice.building import Clock, clock, first_scene
from benchvoice.dialogue.advance import expected
from benchvoice.dialogue.always import USUAL_RATE
from benchvoice.dialogue.said import SURE_ENOUGH
from benchvoice.dialogue.scene import Scene, Turn
from benchvoice.ears.engines import Engine as Recognisers
from benchvoice.ears.engines import engine_for
from benchvoice.ears.microphone import RATE, Microphone
from benchvoice.ears.model_folder import find_model
from benchvoice.ears.recogniser import SpeechEars
from benchvoice.journal import Journal
from benchvoice.live.devices import look_again
from benchvoice.live.ears import LEFT_ALONE, LiveEars, Manners
from benchvoice.live.keys import Keys
from benchvoice.live.page import Page
from benchvoice.live.record import Keeper, KeptEars, kept_journal, kept_sound, kept_turns
from benchvoice.live.voice import LateSpeaker, LiveVoice
from benchvoice.meaning import phrases
from benchvoice.meaning.unfinished import unfinished
from benchvoice.messages import Meaning, Record, SetVoice
from benchvoice.session import Session
from benchvoice.voice.engine import Engine
from benchvoice.voice.loudspeaker import Loudspeaker
from benchvoice.voice.manner import Manner
from benchvoice.voice.printer import Printer
from benchvoice.voice.speaker import Speaker

PRINTED_TONES = ("not understood", "microphone lost")
"""Tones that are printed too; the state that the others tell of is printed when it changes."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the command line asked for."""

    model: Path | None = None
    microphone: str | None = None
    """A device's number or a part of its name; None for the one of last time."""
    loudspeaker: str | None = None
    push: bool = False
    """Listen only after a key."""
    call: bool = False
    """Listen only after having been called."""
    record: Path | None = None
    big: bool = False


@contextmanager
def live(
    journal: Journal, wishes: Wishes, lines: TextIO, out: TextIO, *, now: Clock = clock
) -> Iterator[Session]:
    """Yield a session with a microphone, a loudspeaker, a keyboard and a printer."""
    with ExitStack() as stack:
        record = _record(wishes.record, journal, stack)
        now = record.clock(now) if record else now
        scene = first_scene(journal, now)
        setting = scene.bench.setting
        speaker = LateSpeaker(_opens_speaker(wishes.loudspeaker or setting("loudspeaker", None), stack))
        printer = Printer(out, PRINTED_TONES)
        pages = (_page(out),) if wishes.big else ()
        voice = LiveVoice(printer, speaker, *pages, push=wishes.push)
        voice.shows = (printer.state, *(page.state for page in pages))
        stack.callback(voice.close)
        voice.change(SetVoice(setting("rate", USUAL_RATE), setting("volume", 1.0), voice=setting("voice", 0)))
        keys = stack.enter_context(Keys(lines, out))
        keys.struck = voice.cut
        recognisers = _recognisers(wishes.model, scene, stack)
        listens = _listens(recognisers, wishes.microphone or setting("microphone", None), record)
        manners = Manners(
            wishes.push,
            LEFT_ALONE if wishes.call else inf,
            lambda: session.scene.bench.setting("patience", 1.0),
            look_again,
            SURE_ENOUGH,
        )
        ears = LiveEars(listens, keys, voice, manners)
        stack.callback(ears.close)
        if record is not None:
            record.failed = ears.tell
        heard = record.ears(ears) if record else ears
        session = Session(scene, ears=heard, voice=voice, journal=journal, now=now)
        yield session
        if ears.ever_open:
            _remember(journal, session, "microphone", wishes.microphone, now)
        if speaker.ever_open:
            _remember(journal, session, "loudspeaker", wishes.loudspeaker, now)


def _page(out: TextIO) -> Page:
    """Return the large display, and print where it is."""
    page = Page()
    out.write(f"display: {page.address}\n")
    return page


def _record(folder: Path | None, journal: Journal, stack: ExitStack) -> Keeper | None:
    """Return a record begun in a folder, if one was asked for."""
    if folder is None:
        return None
    record = Keeper(folder)
    stack.callback(record.close)
    record.journal(journal.export_json)
    return record


def _remember(journal: Journal, session: Session, name: str, wish: str | None, now: Clock) -> None:
    """Remember a device that was asked for and worked, for the next time."""
    if wish is None or wish == session.scene.bench.setting(name, None):
        return
    turn = Turn(session.scene, Meaning("start"), now())
    turn = turn.write("setting", {"name": name, "value": wish}, about_bucket=False)
    journal.write_all([effect.entry for effect in turn.effects if isinstance(effect, Record)])
    session.scene = turn.scene


def _opens_speaker(device: str | None, stack: ExitStack) -> Callable[[Manner], Speaker]:
    """Return what opens the loudspeaker; the engine is started at the first call and kept."""
    engines: list[Engine] = []

    def open_speaker(manner: Manner) -> Speaker:
        if not engines:
            engines.append(Engine())
            stack.callback(engines[0].close)
        return Speaker(engines[0], Loudspeaker(_number_or_name(device)), manner)

    return open_speaker


def _number_or_name(device: str | None) -> str | int | None:
    return int(device) if device is not None and device.isdecimal() else device


def _recognisers(model: Path | None, scene: Scene, stack: ExitStack) -> Callable[[], Recognisers]:
    """Return what gives the recognisers; they are made ready for the first question while that is spoken."""
    pool = stack.enter_context(ThreadPoolExecutor(1, "model"))

    def made() -> Recognisers:
        engine = engine_for(find_model(model))
        engine.recogniser(phrases.network(expected(scene)), RATE)
        return engine

    return pool.submit(made).result


def _listens(
    recognisers: Callable[[], Recognisers], device: str | None, record: Keeper | None
) -> Callable[[], SpeechEars]:
    """Return what opens the microphone."""

    def listen() -> SpeechEars:
        engine, microphone = recognisers(), Microphone(device)
        return SpeechEars(engine, record.sound(microphone) if record else microphone, unfinished)

    return listen


@contextmanager
def kept(folder: Path, model: Path | None, scratch: Path, out: TextIO) -> Iterator[tuple[Session, KeptEars]]:
    """Yield a session that hears a record again, over the journal as it was then, and its ears."""
    sound = kept_sound(folder)
    ears = KeptEars(kept_turns(folder), sound, SpeechEars(engine_for(find_model(model)), sound, unfinished))
    with Journal.open(scratch / "journal.sqlite") as journal:
        with kept_journal(folder) as stream:
            journal.read_json(stream)
        scene = first_scene(journal, ears.now)
        yield (
            Session(scene, ears=ears, voice=Printer(out, PRINTED_TONES), journal=journal, now=ears.now),
            ears,
        )


@contextmanager
def quiet_libraries() -> Iterator[None]:
    """Keep what C libraries print on standard error off the terminal, where a screen reader would read it.

    What Python itself prints there still arrives.
    """
    kept = os.dup(2)
    before = sys.stderr
    sys.stderr = os.fdopen(os.dup(kept), "w", encoding="utf-8", errors="replace", buffering=1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 2)
    os.close(nowhere)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        sys.stderr.close()
        sys.stderr = before

"""A session kept in a folder, so that it can be heard again exactly as it was.

``sound.wav`` holds all sound that was listened to, in order and nothing else. ``turns.jsonl`` holds one line
for each time that the session listened: what the clock showed whenever it was looked at, how much sound had
been heard, and the words. ``journal.json`` is the journal as it was at the beginning. It is kept only when
asked for, and only on this machine.
"""

from __future__ import annotations

import json
import wave
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol, TextIO

from benchvoice.ears.door import Sound
from benchvoice.ears.microphone import BLOCK_SECONDS
from benchvoice.errors import RecordingError
from benchvoice.messages import Block, Closed, WordNetwork, Words

SOUND, TURNS, JOURNAL = "sound.wav", "turns.jsonl", "journal.json"


class Ears(Protocol):
    """What is recorded."""

    listens: bool

    def hear(self, network: WordNetwork, seconds: float | None = None) -> Words | Closed | None:
        """Return the next words."""

    def deaf(self) -> AbstractContextManager[None]:
        """Hear nothing while this context lasts."""


def _to_nobody(text: str) -> None:
    pass


class Keeper:
    """A folder into which a session is written; when it can no longer be written, the session goes on."""

    def __init__(self, folder: Path) -> None:
        """Begin a record in a new folder."""
        self.failed: Callable[[str], None] = _to_nobody
        """Told once, in a sentence, when the record breaks off."""
        self._wave: wave.Wave_write | None = None
        self._broken = False
        self._clock: list[str] = []
        self._jumps: list[tuple[int, float]] = []
        self._frames = 0
        self._position = 0.0
        self.folder = folder
        try:
            folder.mkdir(parents=True)
            self._turns: TextIO = (folder / TURNS).open("x", encoding="utf-8", newline="\n")
        except FileExistsError:
            raise RecordingError(f"{folder} is there already.", "Name a new folder for the record.") from None
        except OSError as error:
            raise RecordingError(
                f"The folder {folder} cannot be made: {error.strerror}.", "Name another one."
            ) from error

    def clock(self, now: Callable[[], datetime]) -> Callable[[], datetime]:
        """Return the same clock, whose every answer is written down."""

        def noted() -> datetime:
            time = now()
            self._clock.append(time.isoformat())
            return time

        return noted

    def sound(self, sound: Sound) -> Sound:
        """Return the same sound, written down as it is heard."""
        return RecordedSound(sound, self)

    def ears(self, ears: Ears) -> RecordedEars:
        """Return the same ears, whose words are written down."""
        return RecordedEars(ears, self)

    def journal(self, export: Callable[[TextIO], object]) -> None:
        """Keep the journal as it is now."""

        def write() -> None:
            with (self.folder / JOURNAL).open("x", encoding="utf-8", newline="") as stream:
                export(stream)

        self._kept(write)

    def take(self, block: Block, position: float) -> None:
        """Write down a block of sound that ends at a position."""
        seconds = len(block.sound) / 2 / block.rate
        if abs(position - seconds - self._position) > 1e-6:
            self._jumps.append((self._frames, position - seconds))
        self._position = position
        self._frames += len(block.sound) // 2
        self._kept(lambda: self._into(block))

    def turn(self, heard: Words | Closed | None) -> None:
        """Write down what came of listening."""
        line = {"frames": self._frames, "jumps": self._jumps, "clock": self._clock, **_plain(heard)}
        self._jumps, self._clock = [], []
        self._kept(lambda: self._turns.write(json.dumps(line, ensure_ascii=False) + "\n"))
        self._kept(self._flush)

    def close(self) -> None:
        """Finish the files."""
        self.turn(Closed())
        self._kept(self._turns.close)
        if self._wave is not None:
            self._kept(self._wave.close)
            self._kept(self._file.close)

    def _flush(self) -> None:
        """Leave the files whole: after a crash they can be heard up to here."""
        self._turns.flush()
        if self._wave is not None:
            self._wave.writeframes(b"")  # this sets the length in the head of the file right
            self._file.flush()

    def _into(self, block: Block) -> None:
        if self._wave is None:
            self._file = (self.folder / SOUND).open("xb")
            self._wave = wave.open(self._file, "wb")  # noqa: SIM115 (open as long as the session)
            self._wave.setnchannels(1)
            self._wave.setsampwidth(2)
            self._wave.setframerate(block.rate)
        self._wave.writeframesraw(block.sound)

    def _kept(self, write: Callable[[], object]) -> None:
        if self._broken:
            return
        try:
            write()
        except OSError as error:
            self._broken = True
            self.failed(f"The record breaks off here: {error.strerror}. The session goes on.")


class RecordedSound:
    """A sound that is written down as it is heard."""

    def __init__(self, sound: Sound, record: Keeper) -> None:
        self._sound, self._record = sound, record

    @property
    def position(self) -> float:
        """Where the block that was read last ends [s]."""
        return self._sound.position

    @position.setter
    def position(self, seconds: float) -> None:
        self._sound.position = seconds

    @property
    def muted(self) -> bool:
        """Whether nothing but zeros has come for some seconds."""
        return bool(getattr(self._sound, "muted", False))

    def read(self) -> Block | None:
        """Return the next block."""
        block = self._sound.read()
        if block is not None:
            self._record.take(block, self._sound.position)
        return block

    def shut(self) -> None:
        """Drop what comes in from now on."""
        self._sound.shut()

    def open(self) -> None:
        """Let it in again."""
        self._sound.open()

    def close(self) -> None:
        """Let go of the device."""
        self._sound.close()


class RecordedEars:
    """Ears whose words are written down."""

    listens = True

    def __init__(self, ears: Ears, record: Keeper) -> None:
        self._ears, self._record = ears, record

    def hear(self, network: WordNetwork, seconds: float | None = None) -> Words | Closed | None:
        """Return the next words."""
        heard = self._ears.hear(network, seconds)
        self._record.turn(heard)
        return heard

    def deaf(self) -> AbstractContextManager[None]:
        """Hear nothing while this context lasts."""
        return self._ears.deaf()


def _plain(heard: Words | Closed | None) -> dict[str, Any]:
    if isinstance(heard, Words):
        return {"typed" if heard.typed else "heard": heard.text, "confidence": heard.confidence}
    return {"over": True} if isinstance(heard, Closed) else {}


# ---- hearing it again ------------------------------------------------------------------


@dataclass(slots=True)
class Kept:
    """One line of ``turns.jsonl``."""

    frames: int
    jumps: list[tuple[int, float]]
    clock: list[datetime]
    typed: str | None
    heard: str | None
    over: bool


def kept_turns(folder: Path) -> list[Kept]:
    """Return the turns of a record; what broke off in the middle of a line is left out."""
    try:
        lines = (folder / TURNS).read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise RecordingError(f"{folder} holds no record of a session.", "Name the folder of one.") from error
    return [turn for line in lines if (turn := _read(line)) is not None]


def _read(line: str) -> Kept | None:
    try:
        found = json.loads(line)
        clock = [datetime.fromisoformat(time) for time in found["clock"]]
        jumps = [(int(frames), float(position)) for frames, position in found["jumps"]]
    except (ValueError, KeyError):
        return None
    words = (found.get("typed"), found.get("heard"))
    return Kept(int(found["frames"]), jumps, clock, *words, bool(found.get("over")))


class _TurnEnds(Exception):
    """No more of the sound was heard in this turn."""


@dataclass(slots=True)
class KeptSound:
    """The sound of a record, block by block as it came in."""

    wave: wave.Wave_read | None
    block: int
    """Samples in a block."""
    jumps: dict[int, float] = field(default_factory=dict)
    frames: int = 0
    until: int = 0
    position: float = 0.0

    def read(self) -> Block | None:
        """Return the next block of this turn."""
        if self.wave is None or self.frames >= self.until:
            raise _TurnEnds
        self.position = self.jumps.get(self.frames, self.position)
        rate = self.wave.getframerate()
        sound = self.wave.readframes(min(self.block, self.until - self.frames))
        if not sound:
            raise _TurnEnds
        self.frames += len(sound) // 2
        self.position += len(sound) / 2 / rate
        return Block(sound, rate)

    def shut(self) -> None:
        """Do nothing: a record waits while the bench speaks."""

    def open(self) -> None:
        """Do nothing."""

    def close(self) -> None:
        """Close the file."""
        if self.wave is not None:
            self.wave.close()


class KeptEars:
    """Ears that hear a record again: its sound anew, its typed lines as they were typed."""

    listens = True

    def __init__(self, turns: list[Kept], sound: KeptSound, speech: Ears) -> None:
        """Take the turns, their sound, and ears for that sound."""
        self._turns: Iterator[Kept] = iter(turns)
        self._sound, self._speech = sound, speech
        self._clock: list[datetime] = []
        self._ahead: Kept | None = None
        self.differences: list[tuple[str | None, str | None]] = []
        """What was heard then and what is heard now, where that is not the same."""
        self._next()

    def now(self) -> datetime:
        """Return what the clock showed then."""
        time = self._clock.pop(0)
        self._clock = self._clock or [time]
        return time

    def hear(self, network: WordNetwork, seconds: float | None = None) -> Words | Closed | None:  # noqa: ARG002
        """Return the words of the next turn."""
        turn = self._ahead
        if turn is None or turn.over:
            return Closed()
        self._sound.until = turn.frames
        heard = self._heard(network)
        self._next()
        if turn.typed is not None:
            return Words(turn.typed, typed=True)
        text = heard.text if isinstance(heard, Words) else None
        if text != turn.heard:
            self.differences.append((turn.heard, text))
        return heard

    def deaf(self) -> AbstractContextManager[None]:
        """Hear nothing while this context lasts."""
        return self._speech.deaf()

    def _heard(self, network: WordNetwork) -> Words | Closed | None:
        try:
            return self._speech.hear(network, None)
        except _TurnEnds:
            return None

    def _next(self) -> None:
        self._ahead = next(self._turns, None)
        if self._ahead is not None:
            self._clock = self._ahead.clock or self._clock
            self._sound.jumps.update(self._ahead.jumps)


def kept_journal(folder: Path) -> TextIO:
    """Return the journal as it was when the record began."""
    try:
        return (folder / JOURNAL).open(encoding="utf-8", newline="")
    except OSError as error:
        raise RecordingError(f"{folder} holds no record of a session.", "Name the folder of one.") from error


def kept_sound(folder: Path) -> KeptSound:
    """Return the sound of a record; there is none where everything was typed."""
    path = folder / SOUND
    if not path.exists():
        return KeptSound(None, 0)
    try:
        sound = wave.open(str(path), "rb")  # noqa: SIM115 (KeptSound closes it)
    except (OSError, EOFError, wave.Error) as error:
        raise RecordingError(f"The sound {path} cannot be read.", "It may be damaged.") from error
    return KeptSound(sound, int(sound.getframerate() * BLOCK_SECONDS))

"""The voice of the live loop: printed at once, spoken where that is possible, cut short by a key."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

from benchvoice.ears.microphone import LETTING_GO
from benchvoice.errors import SetupError
from benchvoice.messages import Sentence, SetVoice
from benchvoice.replies import for_the_ear
from benchvoice.voice.manner import Manner
from benchvoice.voice.printer import Printer
from benchvoice.voice.speaker import Speaker
from benchvoice.voice.together import Speaker as Door
from benchvoice.voice.together import Together
from benchvoice.voice.tones import HEARD, LISTENING, NOT_UNDERSTOOD, SUSPENDED, TIMER_DUE

TAIL = 0.2
"""So long the room may ring after the last word, and a loudspeaker be late with it [s]."""
TONE_TAIL = 0.12
"""So long after a tone [s]: the microphone, too, is a little late with what it hears."""
TRY_AGAIN = 5.0
"""A loudspeaker that could not be opened is tried again this often [s]."""

STATES = {
    LISTENING: ("listening", "press a key to speak"),
    SUSPENDED: ("standing by", "standing by"),
}
"""What the tones of the states tell, as words: heard always, or only after a key."""
LEADING = frozenset({HEARD, NOT_UNDERSTOOD, TIMER_DUE})
"""Tones that something is said after."""
TYPING_ONLY = "typing only"


class LateSpeaker:
    """A speaker that is opened when it is first needed, and again after it has failed."""

    def __init__(self, open_speaker: Callable[[Manner], Speaker]) -> None:
        self._open_speaker = open_speaker
        self._speaker: Speaker | None = None
        self._manner = Manner()
        self._failed: SetupError | None = None
        self._next_try = 0.0
        self.ever_open = False
        """Whether it was ever opened."""
        self._lock = threading.Lock()
        self._talking = self._cut = False
        self.quiet_at = 0.0
        """When the room will be quiet again, by ``time.monotonic``."""

    def begin(self) -> None:
        """Let a key cut the reply short from now on; one struck before is of no account."""
        with self._lock:
            self._talking, self._cut = True, False

    def end(self) -> None:
        """Leave a key nothing to cut short."""
        self._talking = False

    def cut(self) -> None:
        """Cut the reply short; a caution is said to its end."""
        with self._lock:
            if self._talking:
                self._cut = True
                if self._speaker is not None:
                    self._speaker.stop()

    def say(self, sentence: Sentence) -> None:
        """Say a sentence, unless the reply was cut short."""
        if self._cut and not sentence.safety:
            if self._speaker is None and self._failed is not None:
                raise self._failed  # it still cannot speak, cut short or not
            return
        self._ready().say(sentence)
        self.quiet_at = time.monotonic() + TAIL

    def heard(self, words: str) -> None:
        """Do nothing: what was heard is shown by the printer."""

    def tone(self, name: str) -> None:
        """Sound a tone; one that leads an answer does not make that wait."""
        if name in LEADING:
            self._ready().lead(name)
        else:
            self._ready().tone(name)
        self.quiet_at = max(self.quiet_at, time.monotonic() + TONE_TAIL)

    def change(self, change: SetVoice) -> None:
        """Change how sentences are said from now on."""
        self._manner = self._manner.changed(change)
        if self._speaker is not None:
            self._speaker.change(change)

    def close(self) -> None:
        """Close it, if it was ever opened."""
        speaker, self._speaker = self._speaker, None
        if speaker is not None:
            speaker.close()

    def let_go(self) -> None:
        """Close it without waiting for a device that went away; the next sentence opens it again."""
        speaker, self._speaker = self._speaker, None
        if speaker is not None:
            closing = threading.Thread(target=speaker.close, name=LETTING_GO, daemon=True)
            closing.start()
            closing.join(1.0)

    def _ready(self) -> Speaker:
        if self._speaker is not None:
            return self._speaker
        if self._failed is not None and time.monotonic() < self._next_try:
            raise self._failed
        try:
            self._speaker = self._open_speaker(self._manner)
            self.ever_open = True
        except SetupError as error:
            self._failed, self._next_try = error, time.monotonic() + TRY_AGAIN
            raise
        return self._speaker


class LiveVoice:
    """Printed lines, a loudspeaker and perhaps a large display as one voice."""

    def __init__(self, printer: Printer, speaker: LateSpeaker, *others: Door, push: bool = False) -> None:
        self._printer, self._speaker, self._push = printer, speaker, push
        self._together = Together(printer, *others, speaker)
        self._typing_only = True
        self._mode = self._shown = ""
        self.shows: tuple[Callable[[str], None], ...] = (printer.state,)
        """Told in words what the bench is doing, when that changes."""

    def say(self, sentence: Sentence) -> None:
        """Print a sentence, then speak it."""
        self._together.say(sentence)

    def tone(self, name: str) -> None:
        """Sound a tone, and show the state of which it tells."""
        if name in STATES:
            self._mode = STATES[name][self._push]
            self._show()
        if not (name == LISTENING and (self._push or self._typing_only)):  # the ears are not open yet
            self.sound(name)

    def sound(self, tone: str) -> None:
        """Sound a tone at any rate."""
        self._together.tone(tone)

    def heard(self, words: str) -> None:
        """Print what was heard."""
        self._together.heard(words)

    def change(self, change: SetVoice) -> None:
        """Change how sentences are spoken."""
        self._together.change(change)

    def close(self) -> None:
        """Say no more."""
        self._together.close()

    # ---- for the ears and the keys ----------------------------------------------------------

    def begin(self) -> None:
        """Let a key cut the reply short from now on."""
        self._speaker.begin()

    def end(self) -> None:
        """Wait until the room has stopped ringing with the reply."""
        self._speaker.end()
        time.sleep(max(0.0, self._speaker.quiet_at - time.monotonic()))

    def cut(self) -> None:
        """Cut the reply short."""
        self._speaker.cut()

    def tell(self, text: str) -> None:
        """Print and say a sentence that is no reply."""
        self.say(Sentence(for_the_ear(text), text))

    @property
    def stands_by(self) -> bool:
        """Whether the bench waits to be called."""
        return self._mode == STATES[SUSPENDED][0]

    def let_go(self) -> None:
        """Close the loudspeaker until it is needed again."""
        self._speaker.let_go()

    def typing_only(self, only: bool) -> None:
        """Show whether nothing can be heard just now."""
        self._typing_only = only
        self._show()

    def _show(self) -> None:
        """Show the state when it has changed."""
        state = TYPING_ONLY if self._typing_only else self._mode
        if state and state != self._shown:
            self._shown = state
            for show in self.shows:
                show(state)

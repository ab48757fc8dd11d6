"""Ears for sound: block after block into vosk, until somebody has finished speaking.

Each turn has a recogniser of its own. What was said between two calls, or at the very end of
a turn that brought nothing, is not lost: it is given to the next turn from the start.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from benchvoice.ears.confidence import Reading, confidence
from benchvoice.ears.door import Sound
from benchvoice.ears.engines import Engine, readings
from benchvoice.ears.turns import PATIENCE, Level, Patience, Unfinished, is_over
from benchvoice.messages import UNKNOWN_WORD, Block, Closed, WordNetwork, Words

CARRIED = 0.8
"""How much of a turn without words is given to the next one [s]: more than the look-ahead."""
LEAD = 0.5
"""How much of the quiet before the first loud moment is heard, too [s]: words may begin softly."""
SHORTEST_NOISE = 0.2
"""Filler that is shorter than this is a knock, not somebody speaking [s]."""
VOICED = 0.3
"""How much of the time of its words a voice is loud, at the least."""
LEFT_OUT = 0.5
"""Words that are left out may have been said, but softly: of the rest one is no surer than this."""


def _never(text: str) -> bool:  # noqa: ARG001
    return False


def _to_nobody(text: str) -> None:
    pass


Judge = Callable[[Sequence[Reading], float | None], float]
"""Tells how sure a turn is, from its readings and the score of mere phones."""


class SpeechEars:
    """Hears a stream of sound through vosk."""

    listens = True

    def __init__(
        self,
        engine: Engine,
        sound: Sound,
        unfinished: Unfinished = _never,
        partly: Callable[[str], None] = _to_nobody,
        patience: Patience = PATIENCE,
        judge: Judge = confidence,
    ) -> None:
        """Take an engine and a sound; ``partly`` is told the words so far while they are spoken."""
        self._engine, self._sound = engine, sound
        self._unfinished, self._partly, self._judge = unfinished, partly, judge
        self.patience = patience
        """How long a turn waits for more; may be changed at any time."""
        self._turn: _Turn | None = None
        self._level = Level()

    @property
    def position(self) -> float:
        """Seconds of sound heard so far."""
        return self._sound.position

    def hear(self, network: WordNetwork, seconds: float | None = None) -> Words | Closed | None:
        """Return the next words; None when there were none within ``seconds`` of sound."""
        start = self._sound.position
        while True:
            block = self._sound.read()
            if block is None:
                return self._last()
            turn = self._take(network, block)
            if (words := self._finished(turn)) is not None:
                return words
            if seconds is not None and self._sound.position - start >= seconds and not turn.text:
                return None

    def above_room(self, words: Words) -> float:
        """Return how far some words, heard just now, stood above the noise of the room [dB]."""
        return self._level.above_room(words.started or 0.0, words.ended or 0.0)

    @property
    def muted(self) -> bool:
        """Whether nothing but zeros has come for some seconds; only a microphone can tell."""
        return bool(getattr(self._sound, "muted", False))

    @contextmanager
    def deaf(self) -> Iterator[None]:
        """Hear nothing while this context lasts."""
        self._sound.shut()
        try:
            yield
        finally:
            self._turn = None
            self._sound.open()

    def close(self) -> None:
        """Let go of the sound."""
        self._sound.close()

    # ---- one block -----------------------------------------------------------------

    def _take(self, network: WordNetwork, block: Block) -> _Turn:
        turn = self._turn
        if turn is None or not turn.suits(network, block.rate):
            turn = self._turn = self._begin(network, block.rate, turn)
        self._level.take(block.sound, self._sound.position)
        if turn.take(block, self._level):
            self._partly(turn.text)
        return turn

    def _begin(self, network: WordNetwork, rate: int, before: _Turn | None = None) -> _Turn:
        """Begin a turn with the end of one that brought nothing."""
        carried = before.tail(CARRIED) if before is not None and before.rate == rate else b""
        start = self._sound.position - len(carried) / 2 / rate
        return _Turn(self._engine, network, rate, start, carried, self._judge)

    def _finished(self, turn: _Turn) -> Words | None:
        """Return the words of a turn that is over; begin again after one without any."""
        if not (turn.ended_by_vosk or (turn.text and self._is_over(turn))):
            return None
        words = turn.words(self._level) if self._is_speech(turn) else None
        self._turn = None if words is not None else self._begin(turn.network, turn.rate, turn)
        return words

    def _is_speech(self, turn: _Turn) -> bool:
        # Steady noise is never well above itself: whatever words it makes are none.
        return self._level.last_loud >= turn.start

    def _is_over(self, turn: _Turn) -> bool:
        finished = not self._unfinished(turn.text)
        now = self._sound.position
        return is_over(now, turn.changed, self._level.last_loud, finished, self.patience)

    def _last(self) -> Words | Closed:
        turn, self._turn = self._turn, None
        spoke = turn is not None and self._is_speech(turn)
        return (turn.words(self._level) if turn is not None and spoke else None) or Closed()


class _Turn:
    """One recogniser at work, from the first block to the words; it sleeps until it is loud."""

    def __init__(
        self, engine: Engine, network: WordNetwork, rate: int, at: float, carried: bytes, judge: Judge
    ) -> None:
        self._judge = judge
        self.network, self.rate, self.start = network, rate, at
        self._recogniser = engine.recogniser(network, rate)
        self._sound, self._heard = carried, 0
        self._rival, self._rival_heard = engine.rival(rate), 0
        self.text = ""
        self.changed = at
        self.ended_by_vosk = False

    def suits(self, network: WordNetwork, rate: int) -> bool:
        """Return whether this turn hears that network at that rate."""
        same = self.network is network or self.network == network
        return same and self.rate == rate

    def take(self, block: Block, level: Level) -> bool:
        """Take in a block and return whether the words so far have changed."""
        self._sound += block.sound
        if level.last_loud < self.start:
            self._forget()
            return False
        self._hear()
        if not level.is_loud:  # this may be the pause that ends the turn: be ready when it does
            self._let_rival_hear()
        return not self.ended_by_vosk and self._partial()

    def _hear(self) -> None:
        self.ended_by_vosk = bool(self._recogniser.AcceptWaveform(self._sound[self._heard :]))
        self._heard = len(self._sound)

    def _hear_rest(self) -> None:
        if self._heard < len(self._sound):
            self._hear()

    def _forget(self) -> None:
        """Keep the last of the quiet before the words only."""
        before = len(self._sound)
        self._sound = self.tail(LEAD)
        self.start += (before - len(self._sound)) / 2 / self.rate

    def _partial(self) -> bool:
        # There is no "partial" in the answer before the first sound.
        text = _joined(json.loads(self._recogniser.PartialResult()).get("partial", ""))
        if text == self.text:
            return False
        self.text = text
        self.changed = self.start + len(self._sound) / 2 / self.rate
        return True

    def tail(self, seconds: float) -> bytes:
        """Return the end of the sound."""
        return self._sound[-2 * int(seconds * self.rate) :]

    def words(self, level: Level) -> Words | None:
        """End the turn and return its words; None for silence and for a mere knock."""
        recogniser = self._recogniser
        self._hear_rest()
        result = recogniser.Result() if self.ended_by_vosk else recogniser.FinalResult()
        whole = list(readings(result))
        found = [self._reading(one, level) for one in whole]
        if not found or not found[0].text or _is_knock(found[0], level):
            return None
        left_out = len(_said(whole[0].get("text", ""))) > len(_said(found[0].text))
        return self._words(found, LEFT_OUT if left_out else 1.0)

    def _words(self, found: list[Reading], most: float) -> Words:
        best = found[0]
        others = dict.fromkeys(one.text for one in found if one.text not in ("", best.text))
        sure = 0.0 if UNKNOWN_WORD in best.text.split() else self._judge(found, self._rival_score())
        sure = min(sure, most)
        return Words(
            best.text, confidence=sure, alternatives=(*others,), started=best.started, ended=best.ended
        )

    def _reading(self, found: dict[str, Any], level: Level) -> Reading:
        """Return a reading without words, at either end, in which it was never loud."""
        words = [
            (one["word"], self.start + one["start"], self.start + one["end"])
            for one in found.get("result", [])
        ]
        loud = [
            place for place, (_, start, end) in enumerate(words) if level.loud_share(start - 0.05, end + 0.05)
        ]
        words = words[loud[0] : loud[-1] + 1] if loud else []
        text = _joined(" ".join(word for word, _, _ in words))
        start, end = (words[0][1], words[-1][2]) if words else (self.start, self.start)
        return Reading(text, found.get("confidence", 0.0), start, end)

    def _let_rival_hear(self) -> None:
        """Let filler hear what it has not heard; in pauses only: the fewer pieces, the quicker."""
        if self._rival is not None and self._rival_heard < len(self._sound):
            self._rival.AcceptWaveform(self._sound[self._rival_heard :])
            self._rival_heard = len(self._sound)

    def _rival_score(self) -> float | None:
        """Return how well any phones at all fit; None where there is nothing to compare with."""
        if self._rival is None:
            return None
        self._let_rival_hear()
        first: dict[str, Any] = next(readings(self._rival.FinalResult()), {})
        return first.get("confidence")


def _joined(text: str) -> str:
    """Make one filler out of several in a row."""
    words = text.split()
    return " ".join(w for i, w in enumerate(words) if w != UNKNOWN_WORD or words[i - 1 : i] != [UNKNOWN_WORD])


def _said(text: str) -> list[str]:
    return [word for word in text.split() if word != UNKNOWN_WORD]


def _is_knock(reading: Reading, level: Level) -> bool:
    """Return whether these words are too short, or too little of them loud, to be a voice."""
    short = reading.text == UNKNOWN_WORD and reading.ended - reading.started < SHORTEST_NOISE
    return short or level.loud_share(reading.started, reading.ended + 0.05) < VOICED

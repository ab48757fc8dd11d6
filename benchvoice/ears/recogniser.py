"""Ears for sound: block after block into vosk, until somebody has finished speaking.

Each turn has a recogniser of its own. What was said between two calls, or at the very end of
a turn that brought nothing, is not lost: it is given to the next turn from the start.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from benchvoice.ears.confidence import Reading, confidence
from benchvoice.ears.door import Sound
from benchvoice.ears.engines import Engine, readings
from benchvoice.ears.turns import PATIENCE, Level, Patience, Unfinished, is_over
from benchvoice.messages import UNKNOWN_WORD, Block, Closed, WordNetwork, Words

CARRIED = 0.8
"""How much of a turn without words is given to the next one [s]: more than the look-ahead."""
SHORTEST_NOISE = 0.35
"""Filler that is shorter than this is a knock, not somebody speaking [s]."""


def _never(text: str) -> bool:  # noqa: ARG001
    return False


def _to_nobody(text: str) -> None:
    pass


class SpeechEars:
    """Hears a stream of sound through vosk."""

    def __init__(
        self,
        engine: Engine,
        sound: Sound,
        unfinished: Unfinished = _never,
        partly: Callable[[str], None] = _to_nobody,
        patience: Patience = PATIENCE,
    ) -> None:
        """Take an engine and a sound; ``partly`` is told the words so far while they are spoken."""
        self._engine, self._sound = engine, sound
        self._unfinished, self._partly, self._patience = unfinished, partly, patience
        self._turn: _Turn | None = None
        self._level = Level()

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
        if turn is None or turn.network != network or turn.rate != block.rate:
            turn = self._turn = self._begin(network, block.rate, turn)
        self._level.take(block.sound, self._sound.position)
        if turn.take(block):
            self._partly(turn.text)
        return turn

    def _begin(self, network: WordNetwork, rate: int, before: _Turn | None) -> _Turn:
        carried = before.tail(CARRIED) if before is not None and before.rate == rate else b""
        at = self._sound.position - len(carried) / 2 / rate
        turn = _Turn(self._engine, network, rate, at)
        if carried:
            turn.take(Block(carried, rate))
        return turn

    def _finished(self, turn: _Turn) -> Words | None:
        if not (turn.ended_by_vosk or (turn.text and self._is_over(turn))):
            return None
        words = turn.words()
        self._turn = None if words is not None or not turn.ended_by_vosk else turn.again()
        return words

    def _is_over(self, turn: _Turn) -> bool:
        patience = self._patience
        wait = patience.unfinished if self._unfinished(turn.text) else patience.finished
        now = self._sound.position
        return is_over(now, turn.last_word, self._level.last_loud, wait, patience.look_ahead)

    def _last(self) -> Words | Closed:
        turn, self._turn = self._turn, None
        return (turn.words() if turn is not None else None) or Closed()


class _Turn:
    """One recogniser at work, from the first block to the words."""

    def __init__(self, engine: Engine, network: WordNetwork, rate: int, at: float) -> None:
        self.network, self.rate, self._at = network, rate, at
        self._engine = engine
        self._recogniser = engine.recogniser(network, rate)
        self._rival = engine.rival(rate)
        self._sound = b""
        self.text = ""
        self.last_word = at
        self.ended_by_vosk = False

    def take(self, block: Block) -> bool:
        """Take in a block and return whether the words so far have changed."""
        self._sound += block.sound
        self.ended_by_vosk = bool(self._recogniser.AcceptWaveform(block.sound))
        if self._rival is not None:
            self._rival.AcceptWaveform(block.sound)
        return not self.ended_by_vosk and self._partial()

    def _partial(self) -> bool:
        part = json.loads(self._recogniser.PartialResult())
        if words := part.get("partial_result"):
            self.last_word = self._at + words[-1]["end"]
        text, before = part.get("partial", ""), self.text
        self.text = text
        return bool(text != before)

    def tail(self, seconds: float) -> bytes:
        """Return the end of the sound."""
        return self._sound[-2 * int(seconds * self.rate) :]

    def again(self) -> _Turn:
        """Return a turn for the same network that goes on where this one stopped."""
        tail = self.tail(CARRIED)
        at = self._at + (len(self._sound) - len(tail)) / 2 / self.rate
        turn = _Turn(self._engine, self.network, self.rate, at)
        turn.take(Block(tail, self.rate))
        return turn

    def words(self) -> Words | None:
        """End the turn and return its words; None for silence and for a mere knock."""
        recogniser = self._recogniser
        result = recogniser.Result() if self.ended_by_vosk else recogniser.FinalResult()
        found = [_reading(one) for one in readings(result)]
        if not found or not found[0].text or _is_knock(found[0]):
            return None
        return self._words(found)

    def _words(self, found: list[Reading]) -> Words:
        best, *others = found
        return Words(
            best.text,
            confidence=confidence(found, self._rival_score()),
            alternatives=tuple(
                dict.fromkeys(one.text for one in others if one.text and one.text != best.text)
            ),
            started=self._at + best.started,
            ended=self._at + best.ended,
        )

    def _rival_score(self) -> float | None:
        if self._rival is None:
            return None
        first: dict[str, Any] = next(readings(self._rival.FinalResult()), {})
        return first.get("confidence")


def _reading(found: dict[str, Any]) -> Reading:
    words = found.get("result") or [{"start": 0.0, "end": 0.0}]
    text = _joined(found.get("text", ""))
    return Reading(text, found.get("confidence", 0.0), words[0]["start"], words[-1]["end"])


def _joined(text: str) -> str:
    """Make one filler out of several in a row."""
    words = text.split()
    return " ".join(w for i, w in enumerate(words) if w != UNKNOWN_WORD or words[i - 1 : i] != [UNKNOWN_WORD])


def _is_knock(reading: Reading) -> bool:
    return reading.text == UNKNOWN_WORD and reading.ended - reading.started < SHORTEST_NOISE

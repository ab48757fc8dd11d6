"""Every error that benchvoice raises on purpose, split by who can mend it.

BenchvoiceError
├── PotterError            the potter can mend it at the bench
│   ├── CalculatorError    an amount that cannot be, a target that cannot be reached
│   │   └── Refusal        one child for each; the tree is at the top of calculator/limits.py
│   └── RoutineError       a routine or recipe with a mistake in it
│       └── BadRoutine     a routine's file: which, on which line, what is wrong
├── SetupError             the machine needs something
│   ├── ModelError         the speech model is missing or not one
│   ├── MicrophoneError    no microphone, or it went away
│   ├── LoudspeakerError   no loudspeaker, or it went away
│   ├── VoiceError         no text-to-speech engine
│   ├── RecordingError     a sound file that cannot be read
│   └── JournalError       the journal cannot be opened or written
└── (a defect of ours is an ordinary Python exception, never one of these)

Words heard but not understood are no error: they are a meaning of kind ``unclear``.
Each error carries its facts as fields; ``str()`` makes one sentence of what was wanted,
what was got and what to do next; ``replies`` has a shorter one for the ear.
"""

from __future__ import annotations


class BenchvoiceError(Exception):
    """Anything benchvoice refuses or cannot do, told in one sentence with a next step."""

    def __init__(self, what: str, next_step: str = "") -> None:
        super().__init__(what, next_step)
        self.what = what
        self.next_step = next_step

    def __str__(self) -> str:
        return f"{self.what} {self.next_step}".strip()


class PotterError(BenchvoiceError):
    """The potter can mend it at the bench."""


class CalculatorError(PotterError, ValueError):
    """An amount that cannot be, or a target that cannot be reached with it."""


class RoutineError(PotterError):
    """A routine or recipe with a mistake in it: where, and what."""


class BadRoutine(RoutineError):
    """A routine's file with a mistake in it."""

    def __init__(self, file: str, line: int, reason: str, next_step: str) -> None:
        super().__init__(f"{file}, line {line}: {reason}.", next_step)
        self.file, self.line, self.reason = file, line, reason


class SetupError(BenchvoiceError):
    """The machine needs something before this can work."""


class ModelError(SetupError):
    """The speech model is missing, broken or not one."""


class MicrophoneError(SetupError):
    """There is no microphone, it refused, or it went away."""


class LoudspeakerError(SetupError):
    """There is no loudspeaker, it refused, or it went away."""


class VoiceError(SetupError):
    """There is no working text-to-speech engine."""


class RecordingError(SetupError):
    """A sound file that cannot be read."""


class JournalError(SetupError):
    """The journal cannot be opened, read or written."""

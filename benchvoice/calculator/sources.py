"""Where a figure comes from, and how far it may be trusted: every fact of the trade carries both."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Known(StrEnum):
    """How a figure is known. The potter is told; a remembered figure is never passed off as a read one."""

    SEEN = "seen at source"
    SECOND_HAND = "second-hand"
    MEMORY = "from memory"
    COMPUTED = "computed from the formula"
    PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Source:
    """A published source, or the plain statement that there is none."""

    text: str
    """Author, title, edition, section; what was read of it."""
    known: Known
    """How the figure is known."""

    def __str__(self) -> str:
        return self.text if self.text == self.known else f"{self.text} ({self.known})"


PRACTICE = Source("common practice, no source", Known.PRACTICE)
"""What potters do and nobody has published, as far as is known here."""

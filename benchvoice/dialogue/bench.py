"""What is remembered of the bench: the standing entries of the journal, asked in the trade's words.

Nothing is kept besides the entries. Every answer is worked out from them when it is asked for,
so an entry that is taken back takes its consequences with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TypeVar, cast

from benchvoice.calculator.materials import catalogue
from benchvoice.messages import Entry

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Bench:
    """The standing entries, oldest first."""

    entries: tuple[Entry, ...] = ()

    def with_entry(self, entry: Entry) -> Bench:
        """Return the bench after one more entry; an undo leaves out what it takes back."""
        if entry.undoes is None:
            return replace(self, entries=(*self.entries, entry))
        return replace(self, entries=tuple(e for e in self.entries if e.key != entry.undoes))

    def newest_first(self, kind: str, bucket: str | None = None) -> Iterator[Entry]:
        """Yield the entries of a kind about a bucket (about any, when none is named)."""
        for entry in reversed(self.entries):
            if entry.kind == kind and bucket in (None, entry.bucket):
                yield entry

    def last(self, kind: str, bucket: str | None = None) -> Entry | None:
        """Return the newest entry of a kind, or None."""
        return next(self.newest_first(kind, bucket), None)

    def since(self, kind: str, bucket: str | None = None) -> tuple[Entry, ...]:
        """Return what was written about the bucket after the newest entry of a kind.

        Everything about the bucket, when there is no such entry.
        """
        later: list[Entry] = []
        for entry in reversed(self.entries):
            if bucket is None or entry.bucket == bucket:
                if entry.kind == kind:
                    break
                later.append(entry)
        return tuple(reversed(later))

    def names(self, kind: str = "bucket") -> tuple[str, ...]:
        """Return the names of all buckets (or whatever the kind names), in the order they were begun."""
        found = (
            e.bucket if kind == "bucket" else str(e.facts["name"]) for e in self.entries if e.kind == kind
        )
        known = tuple(catalogue()) if kind == "material" else ()
        return tuple(dict.fromkeys(name for name in (*known, *found) if name))

    def setting(self, name: str, otherwise: T) -> T:
        """Return the newest value of a setting."""
        for entry in self.newest_first("setting"):
            if entry.facts.get("name") == name:
                return cast(T, entry.facts["value"])
        return otherwise


def of_kind(entries: Iterable[Entry], *kinds: str) -> tuple[Entry, ...]:
    """Return the entries of these kinds."""
    return tuple(entry for entry in entries if entry.kind in kinds)


def number(entry: Entry | None, name: str, otherwise: float = 0.0) -> float:
    """Return a numeric fact of an entry as a float."""
    value = None if entry is None else entry.facts.get(name)
    return otherwise if value is None else float(cast(float, value))

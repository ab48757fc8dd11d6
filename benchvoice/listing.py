"""The journal as lines to read: when, which bucket, what."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from benchvoice.messages import Entry


def lines(entries: Iterable[Entry]) -> Iterator[str]:
    """Yield one line for each entry, local time, oldest first."""
    for entry in entries:
        when = entry.at.astimezone().strftime("%Y-%m-%d %H:%M")
        about = f" {entry.bucket}:" if entry.bucket else ""
        yield f"{when}{about} {entry.kind}{_facts(entry)}"


def _facts(entry: Entry) -> str:
    told = (f"{name} {_value(value)}" for name, value in entry.facts.items() if value is not None)
    text = ", ".join(told)
    return f" ({text})" if text else ""


def _value(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)

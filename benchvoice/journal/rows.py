"""An entry as a row of the journal, and back.

Times are UTC in ISO 8601, always with microseconds, so that they sort as text.
Facts are JSON. Whole numbers and decimal fractions (``int``, ``float``) come back as the same value:
JSON carries the shortest digits that give the same ``float`` again. A ``Decimal`` is refused rather
than quietly turned into something else: whoever needs its exact digits writes them as text.
A tuple comes back as a list.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from benchvoice.errors import JournalError
from benchvoice.messages import Entry

COLUMNS = "key, kind, at, bucket, facts, undoes"
Row = tuple[str, str, str, str | None, str, str | None]

_DEFECT = "This is a fault in benchvoice: please report it."


def to_row(entry: Entry) -> Row:
    """Return the entry as a row, or refuse what would not come back as it went in."""
    row = (entry.key, entry.kind, utc_text(entry.at), entry.bucket, facts_text(entry), entry.undoes)
    try:
        "".join(text or "" for text in row).encode()
    except UnicodeEncodeError as error:
        raise JournalError(f"Entry {entry.key!r} holds text that is half a character.", _DEFECT) from error
    return row


def from_row(row: Sequence[Any]) -> Entry:
    """Return the entry that a row holds."""
    key, kind, at, bucket, facts, undoes = row
    try:
        return Entry(key, kind, read_time(at), bucket, read_facts(facts), undoes)
    except (ValueError, TypeError) as error:
        raise JournalError(
            f"Entry {key!r} of the journal cannot be read: {error}.", "Open a copy from before."
        ) from error


def utc_text(at: datetime) -> str:
    """Return a time as UTC text; refuse one that does not say its time zone."""
    if at.utcoffset() is None:
        raise JournalError(f"A time for the journal needs a time zone, but {at} has none.", _DEFECT)
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def read_time(text: str) -> datetime:
    """Return the time that is kept as text; a ``ValueError`` says that it is none."""
    at = datetime.fromisoformat(text)
    if at.utcoffset() is None:
        raise ValueError(f"its time {text} has no time zone")
    return at


def facts_text(entry: Entry) -> str:
    """Return the facts of an entry as JSON."""
    try:
        plain = _plain(entry.facts)
        return json.dumps(plain, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    except (TypeError, ValueError, RecursionError) as error:
        raise JournalError(
            f"Entry {entry.key!r} has a fact that cannot be kept: {error}.", _DEFECT
        ) from error


def read_facts(text: str) -> dict[str, Any]:
    """Return the facts that are kept as JSON; a ``ValueError`` says that they are none."""
    facts = json.loads(text)
    if not isinstance(facts, dict):
        raise ValueError(f"its facts are not a map but {text[:40]!r}")
    return facts


def _plain(value: object) -> object:
    match value:
        case None | bool() | int() | float() | str():
            return value
        case Mapping():
            return {_name(name): _plain(part) for name, part in value.items()}
        case list() | tuple():
            return [_plain(part) for part in value]
    raise TypeError(f"{value!r} is neither text, a number, true, false, nothing, a list nor a map")


def _name(name: object) -> str:
    if not isinstance(name, str):
        raise TypeError(f"the name {name!r} is not text")
    return name

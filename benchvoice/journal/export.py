"""The journal as tables for people and for other programs: one row an entry, oldest first.

CSV    ``number,key,at,bucket,kind,undoes,standing`` and then a column for each fact,
       ``facts.net_g``; a fact inside a fact has one more dot (``facts.cup.volume_ml``), a part of a list
       its place from 1 (``facts.drops.1``).
JSON   ``{"journal": "benchvoice", "layout": 1, "entries": [...]}`` with the same names, and the facts
       of each entry as they are under ``facts``. ``read_json`` gives the same entries again.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any, TextIO

from benchvoice.errors import JournalError
from benchvoice.journal.rows import facts_text, read_time, utc_text
from benchvoice.messages import Entry

LAYOUT = 1
FIXED = ("number", "key", "at", "bucket", "kind", "undoes", "standing")


def write_csv(stream: TextIO, entries: Sequence[Entry], gone: Collection[str]) -> None:
    """Write one row an entry; ``stream`` is best opened with ``newline=""``."""
    flat = [dict(_flat("facts", entry.facts)) for entry in entries]
    names = list(dict.fromkeys(name for facts in flat for name in facts))
    table = csv.writer(stream)
    table.writerow((*FIXED, *names))
    for number, (entry, facts) in enumerate(zip(entries, flat, strict=True), 1):
        fixed = _fixed(number, entry, gone).values()
        table.writerow([_cell(value) for value in (*fixed, *map(facts.get, names))])


def write_json(stream: TextIO, entries: Sequence[Entry], gone: Collection[str]) -> None:
    """Write all entries as one JSON document, one line an entry."""
    stream.write(f'{{"journal": "benchvoice", "layout": {LAYOUT}, "entries": [')
    for number, entry in enumerate(entries, 1):
        fixed = json.dumps(_fixed(number, entry, gone), ensure_ascii=False)
        stream.write(f'{"," if number > 1 else ""}\n{fixed[:-1]}, "facts": {facts_text(entry)}}}')
    stream.write("\n]}\n")


def read_json(stream: TextIO) -> tuple[Entry, ...]:
    """Return the entries of a JSON export, in their order."""
    try:
        document = json.load(stream)
        if document["journal"] != "benchvoice" or document["layout"] != LAYOUT:
            raise ValueError(f"it is not of layout {LAYOUT}")
        return tuple(_entry(row) for row in document["entries"])
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise JournalError(
            f"This is not a journal that was exported as JSON: {error}.",
            "Choose a file that benchvoice exported.",
        ) from error


def _fixed(number: int, entry: Entry, gone: Collection[str]) -> dict[str, object]:
    standing = entry.key not in gone
    values = (number, entry.key, utc_text(entry.at), entry.bucket, entry.kind, entry.undoes, standing)
    return dict(zip(FIXED, values, strict=True))


def _entry(row: Mapping[str, Any]) -> Entry:
    for name in ("key", "kind", "bucket", "undoes"):
        if not isinstance(row[name], str) and (row[name] is not None or name in ("key", "kind")):
            raise ValueError(f"the {name} {row[name]!r} is not text")
    if not isinstance(row["facts"], dict):
        raise ValueError(f"the facts of {row['key']} are not a map")
    at, facts = read_time(row["at"]), row["facts"]
    return Entry(row["key"], row["kind"], at, row["bucket"], facts, row["undoes"])


def _flat(name: str, value: object) -> Iterator[tuple[str, object]]:
    """Yield every plain value inside a fact with its dotted name."""
    parts: Mapping[str, object] | None = None
    if isinstance(value, Mapping):
        parts = value
    elif isinstance(value, list | tuple):
        parts = {str(place): part for place, part in enumerate(value, 1)}
    if parts is None:
        yield name, value
        return
    for inner, part in parts.items():
        yield from _flat(f"{name}.{inner}", part)


def _cell(value: object) -> object:
    """Return text that a spreadsheet shows and does not take for a formula."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")):
        return f"'{value}"
    return value

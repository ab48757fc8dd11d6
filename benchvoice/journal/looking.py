"""Looking back: which rows are asked for, and which of them stand."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Generator
from contextlib import closing
from datetime import datetime

from benchvoice.journal.rows import COLUMNS, from_row, utc_text
from benchvoice.messages import Entry

Found = tuple[int, Entry]
"""An entry with its number in the order of writing."""
Where = tuple[str, tuple[str | None, ...]]
"""A condition in SQL, and the values for its question marks."""

# One look into the index for each name, where DISTINCT would read all of it. Ends with NULL, which
# for a bucket also stands for what is about none.
_BUCKETS = """
WITH RECURSIVE names (name) AS (
    SELECT min(bucket) FROM entries
    UNION ALL
    SELECT (SELECT min(bucket) FROM entries WHERE bucket > name) FROM names WHERE name IS NOT NULL)
SELECT name FROM names"""
_KINDS = """
WITH RECURSIVE names (name) AS (
    SELECT min(kind) FROM entries WHERE bucket IS :bucket
    UNION ALL
    SELECT (SELECT min(kind) FROM entries WHERE bucket IS :bucket AND kind > name)
    FROM names WHERE name IS NOT NULL)
SELECT name FROM names WHERE name IS NOT NULL"""
# The first look takes all undos from their own index; a later one only the rows that are new.
_UNDOS = "SELECT number, key, undoes FROM entries WHERE undoes IS NOT NULL"
_NEW_UNDOS = f"{_UNDOS} AND number > ?"


class Standing:
    """Which entries have been taken back by an entry that stands itself.

    Entries are only ever added, so what was learned once stays true and each look reads new rows only.
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._seen = 0
        self._undos: list[tuple[str, str]] = []
        self._gone: frozenset[str] = frozenset()

    def gone(self) -> frozenset[str]:
        """Return the keys of all entries that do not stand."""
        # A bare max() is one look into the table's end; with anything around it SQLite reads every row.
        newest = self._connection.execute("SELECT max(number) FROM entries").fetchone()[0] or 0
        if newest > self._seen:
            self._learn(newest)
        return self._gone

    def _learn(self, newest: int) -> None:
        query, values = (_NEW_UNDOS, (self._seen,)) if self._seen else (_UNDOS, ())
        new = sorted(self._connection.execute(query, values))
        self._undos += [(key, undoes) for _, key, undoes in new]
        self._gone = taken_back(self._undos) if new else self._gone
        self._seen = newest


def taken_back(undos: list[tuple[str, str]]) -> frozenset[str]:
    """Return which keys do not stand, from (key, key that it takes back), oldest first.

    Whatever takes an entry back is younger than it, so from the youngest down it is known of
    each one whether it stands itself before it is asked.

    >>> sorted(taken_back([("b", "a"), ("c", "b")]))
    ['b']
    """
    gone: set[str] = set()
    for key, undoes in reversed(undos):
        if key not in gone:
            gone.add(undoes)
    return frozenset(gone)


def newest(
    connection: sqlite3.Connection, where: Where, gone: Collection[str]
) -> Generator[Found, None, None]:
    """Yield the standing entries that are asked for, newest first."""
    condition, values = where
    query = f"SELECT number, {COLUMNS} FROM entries WHERE {condition} ORDER BY number DESC"
    with closing(connection.execute(query, values)) as rows:
        for number, *row in rows:
            if row[0] not in gone:
                yield number, from_row(row)


def buckets(connection: sqlite3.Connection) -> list[str | None]:
    """Return the names of all buckets, and None for what is about none."""
    return [name for (name,) in connection.execute(_BUCKETS).fetchall()]


def kinds(connection: sqlite3.Connection, bucket: str | None) -> list[str]:
    """Return the kinds of entry that there are about a bucket, or about none."""
    return [kind for (kind,) in connection.execute(_KINDS, {"bucket": bucket}).fetchall()]


def asked(bucket: str | None, kinds: Collection[str] | None, since: datetime | None) -> Where:
    """Return the condition for entries of a bucket, of some kinds, since a time; None asks for all."""
    parts: list[Where] = [("1", ())]
    if bucket is not None:
        parts.append(about(bucket))
    if kinds is not None:
        parts.append(of_kinds(kinds))
    if since is not None:
        parts.append(("at >= ?", (utc_text(since),)))
    return both(*parts)


def about(bucket: str | None) -> Where:
    """Return the condition for what is about a bucket, or with None about no bucket."""
    return "bucket IS ?", (bucket,)


def of_kinds(kinds: Collection[str], but: bool = False) -> Where:
    """Return the condition for entries of these kinds, or of all but these."""
    return f"kind {'NOT ' if but else ''}IN ({', '.join('?' * len(kinds))})", tuple(kinds)


def both(*parts: Where) -> Where:
    """Return the condition that all of these hold."""
    return " AND ".join(text for text, _ in parts), tuple(value for _, values in parts for value in values)

"""``Journal``: write an entry, look back, check.

An entry *stands* unless an entry that stands takes it back; so an undo of an undo restores.
Entries come in the order they were written, whatever the clock did meanwhile.
One journal belongs to one thread; several programs may each have it open.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from types import TracebackType
from typing import Self, TextIO

from benchvoice.journal import checking, export
from benchvoice.journal.looking import (
    Found,
    Standing,
    Where,
    about,
    asked,
    both,
    buckets,
    kinds,
    newest,
    of_kinds,
)
from benchvoice.journal.opening import PATIENCE_S, connect, reading, writing
from benchvoice.journal.place import journal_path
from benchvoice.journal.rows import COLUMNS, Row, to_row
from benchvoice.journal.troubles import refused, told
from benchvoice.messages import Entry

ALWAYS = (
    "bucket", "target", "cup", "setting", "timer", "recipe", "material",
    "batch", "weighed", "batch_change", "batch_water", "batch_closed", "bottle", "dose", "good",
)  # fmt: skip
"""Kinds of which ``recall`` gives every standing entry, however old."""
NEVER = ("undo", "session")
"""Kinds that ``recall`` leaves out: they say nothing about a bucket by themselves."""

_INSERT = f"INSERT INTO entries ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)"
_OF_KEY = f"SELECT {COLUMNS} FROM entries WHERE key = ?"
# A key is its session's name, a sign, and a running number.
_SESSIONS = """
SELECT rtrim(rtrim(key, '0123456789'), '-'), min(number), at, count(*)
FROM entries GROUP BY 1 ORDER BY 2"""


@dataclass(frozen=True, slots=True)
class Session:
    """One sitting at the bench."""

    name: str
    """What its keys begin with."""
    started: datetime
    """Time of its first entry (UTC)."""
    entries: int
    """How many entries it wrote, undone ones too."""


class Journal:
    """The open journal."""

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self.path = path
        self._connection = connection
        self._standing = Standing(connection)

    @classmethod
    def open(cls, path: str | Path | None = None, patience: float = PATIENCE_S) -> Self:
        """Open the journal, made or brought up to date as needed; ``patience`` [s] is for other writers."""
        place = (Path(path).expanduser() if path else journal_path()).absolute()
        with told(place):
            return cls(connect(place, patience), place)

    def close(self) -> None:
        """Close it; every entry is on the disk already."""
        self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # ---- writing ----------------------------------------------------------------

    def write(self, entry: Entry) -> None:
        """Write one entry; it is on the disk when this returns."""
        self.write_all((entry,))

    def write_all(self, entries: Iterable[Entry]) -> None:
        """Write these entries in their order: all, or when one is refused none."""
        rows = [to_row(entry) for entry in entries]
        if not rows:
            return
        with told(self.path), writing(self._connection):
            for row in rows:
                self._insert(row)

    def begin_session(self, at: datetime) -> str:
        """Write down that a session begins, and return its name, which no other session has.

        Its entries take the keys ``name-1``, ``name-2``, … .
        """
        name = stamp = at.astimezone(UTC).strftime("%Y%m%d-%H%M%S")
        again = 2
        with told(self.path), writing(self._connection):
            while self._has_session(name):
                name, again = f"{stamp}.{again}", again + 1
            self._insert(to_row(Entry(f"{name}-0", "session", at)))
        return name

    def read_json(self, stream: TextIO) -> int:
        """Write the entries of a JSON export that are not here yet; return how many: all or none."""
        entries = export.read_json(stream)
        rows = [to_row(entry) for entry in entries]
        with told(self.path), writing(self._connection):
            new = [row for row in rows if self._row(row[0]) != row]
            for row in new:
                self._insert(row)
        return len(new)

    def _insert(self, row: Row) -> None:
        try:
            self._connection.execute(_INSERT, row)
        except sqlite3.IntegrityError as error:
            raise refused(row, str(error)) from error

    def _row(self, key: str) -> Row | None:
        row: Row | None = self._connection.execute(_OF_KEY, (key,)).fetchone()
        return row

    def _has_session(self, name: str) -> bool:
        inside = "SELECT 1 FROM entries WHERE key >= ? AND key < ?"
        return self._connection.execute(inside, (f"{name}-", f"{name}.")).fetchone() is not None

    # ---- looking back -----------------------------------------------------------

    def last(self, bucket: str | None, kind: str) -> Entry | None:
        """Return the newest standing entry of a kind about a bucket (None: about no bucket)."""
        with self._looking():
            found = self._newest(both(about(bucket), of_kinds((kind,))), 1)
        return found[0][1] if found else None

    def entries(
        self,
        bucket: str | None = None,
        kinds: Collection[str] | None = None,
        since: datetime | None = None,
        standing: bool = True,
        limit: int | None = None,
    ) -> tuple[Entry, ...]:
        """Return entries, oldest first: of any bucket and kind unless told; at most the newest ``limit``."""
        with self._looking():
            return _in_order(self._newest(asked(bucket, kinds, since), limit, standing))

    def recall(self, per_bucket: int = 60, always: Collection[str] = ALWAYS) -> tuple[Entry, ...]:
        """Return what a session needs to start, oldest first.

        Every standing entry of the kinds in ``always``; and of each bucket, as of what is about no
        bucket, the newest ``per_bucket`` standing others, and the newest of each kind however old.
        """
        with self._looking():
            found = self._newest(of_kinds(always), None)
            for bucket in buckets(self._connection):
                found += self._recent(bucket, per_bucket, (*always, *NEVER))
        return _in_order(sorted(found, key=_number, reverse=True))

    def _recent(self, bucket: str | None, limit: int, without: tuple[str, ...]) -> list[Found]:
        found = self._newest(both(about(bucket), of_kinds(without, but=True)), limit)
        missing = set(kinds(self._connection, bucket)).difference(without, (e.kind for _, e in found))
        for kind in missing:
            found += self._newest(both(about(bucket), of_kinds((kind,))), 1)
        return found

    def sessions(self) -> tuple[Session, ...]:
        """Return every session that wrote something, in the order they began."""
        with self._looking():
            rows = self._connection.execute(_SESSIONS).fetchall()
        return tuple(Session(name, datetime.fromisoformat(at), count) for name, _, at, count in rows)

    def count(self) -> int:
        """Return how many entries there are, undone ones too."""
        with self._looking():
            return int(self._connection.execute("SELECT count(*) FROM entries").fetchone()[0])

    def _newest(self, where: Where, limit: int | None, standing: bool = True) -> list[Found]:
        gone = self._standing.gone() if standing else frozenset()
        with closing(newest(self._connection, where, gone)) as found:
            return list(islice(found, limit))

    @contextmanager
    def _looking(self) -> Iterator[None]:
        with told(self.path), reading(self._connection):
            yield

    # ---- the whole --------------------------------------------------------------

    def verify(self) -> str:
        """Return one sentence that the journal is sound; a ``JournalError`` says what is not."""
        with self._looking():
            return checking.verify(self._connection, self.path)

    def export_csv(self, stream: TextIO) -> None:
        """Write every entry as a table for a spreadsheet, undone ones too."""
        export.write_csv(stream, *self._all())

    def export_json(self, stream: TextIO) -> None:
        """Write every entry as JSON, undone ones too."""
        export.write_json(stream, *self._all())

    def _all(self) -> tuple[tuple[Entry, ...], frozenset[str]]:
        with self._looking():
            return _in_order(
                self._newest(asked(None, None, None), None, standing=False)
            ), self._standing.gone()


def _in_order(found: list[Found]) -> tuple[Entry, ...]:
    """Turn newest first into oldest first."""
    return tuple(entry for _, entry in reversed(found))


def _number(found: Found) -> int:
    return found[0]

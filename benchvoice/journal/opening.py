"""A connection to the journal that is safe to write to.

Durability. The journal uses SQLite's rollback journal in its ``DELETE`` mode with ``synchronous=EXTRA``
(``FULL``, and after it the folder is synced too: with ``FULL`` alone a power cut just after a commit may
bring the deleted rollback journal back, and take the acknowledged entry away with it).
The write-ahead log would need fewer syncs for each entry, but keeps the newest entries in a second file
beside the first: whoever copies ``journal.sqlite`` to a stick would leave them behind. One entry every
few seconds at most has time for the extra syncs. https://sqlite.org/pragma.html#pragma_synchronous
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from benchvoice.errors import JournalError
from benchvoice.journal import schema
from benchvoice.journal.place import make_room, settle

PATIENCE_S = 10.0
"""How long to wait for another program that is writing [s]."""

_SETTINGS = (
    "PRAGMA journal_mode = DELETE",
    "PRAGMA synchronous = EXTRA",
    "PRAGMA fullfsync = ON",  # macOS: past the drive's own cache too; nothing elsewhere
)


def connect(path: Path, patience: float = PATIENCE_S) -> sqlite3.Connection:
    """Open or make the journal at ``path``; bring an older one up to date."""
    make_room(path)
    connection = sqlite3.connect(path, timeout=patience, isolation_level=None)
    try:
        _refuse_strangers(connection, path)
        for setting in _SETTINGS:
            connection.execute(setting)
        _make_current(connection, path)
        _refuse_truncated(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


@contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """Do all that follows, on the disk when this ends, or nothing of it."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        _give_up(connection)
        raise


@contextmanager
def reading(connection: sqlite3.Connection) -> Iterator[None]:
    """Let all reading that follows see the journal as of one moment."""
    connection.execute("BEGIN")
    try:
        yield
    finally:
        _give_up(connection)


def _give_up(connection: sqlite3.Connection) -> None:
    # A full disk makes SQLite roll back by itself; a second ROLLBACK would be an error.
    if connection.in_transaction:
        connection.execute("ROLLBACK")


def _refuse_strangers(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse what we must not write to, before anything is written."""
    with reading(connection):  # as of one moment: another program may be laying out the journal just now
        version, application = number(connection, "user_version"), number(connection, "application_id")
        empty = not connection.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone()
    if application != schema.APPLICATION and not empty:
        raise JournalError(
            f"The file {path} is a database of another program.",
            "Keep it, and name another file for the journal.",
        )
    if version > schema.VERSION:
        raise JournalError(
            f"The journal {path} is of version {version}, and this benchvoice knows only up to version "
            f"{schema.VERSION}.",
            "Install a newer benchvoice; nothing in the journal was changed.",
        )


def _make_current(connection: sqlite3.Connection, path: Path) -> None:
    if number(connection, "user_version") == schema.VERSION:
        return _probe(connection)
    with writing(connection):
        version = number(connection, "user_version")  # again: now nobody else can change it
        if version == 0:
            schema.create(connection)
        elif version < schema.VERSION:
            _copy_aside(path, version)
            schema.upgrade(connection, version)
    settle(path.parent)


def _probe(connection: sqlite3.Connection) -> None:
    """Find out now, not at the first reading, that the file or its folder cannot be written."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        connection.execute(f"PRAGMA user_version = {schema.VERSION}")
    finally:
        _give_up(connection)


def _copy_aside(path: Path, version: int) -> None:
    """Keep a copy of an older journal before it is changed; never over an earlier copy.

    SQLite copies, not we: closing a file of our own would drop SQLite's locks on it (POSIX).
    """
    part = path.with_name(f"{path.name}.part")
    part.unlink(missing_ok=True)
    try:
        with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(part)) as target:
            source.backup(target)
        part.rename(_free_name(path, version))
    finally:
        part.unlink(missing_ok=True)
    settle(path.parent)


def _free_name(path: Path, version: int) -> Path:
    copy = path.with_name(f"{path.name}.version-{version}")
    again = 2
    while copy.exists():
        copy = path.with_name(f"{path.name}.version-{version}.{again}")
        again += 1
    return copy


def _refuse_truncated(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse a file that is shorter than it says, even by less than a page (SQLite reads zeros there)."""
    with reading(connection):
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()  # takes the lock
        wanted = number(connection, "page_count") * number(connection, "page_size")
        found = path.stat().st_size
    if found < wanted:
        raise JournalError(
            f"The journal {path} is cut short: {found:,} bytes of {wanted:,}.",
            "Keep that file as it is, and open a copy of it from before.",
        )


def number(connection: sqlite3.Connection, pragma: str) -> int:
    """Return a number that SQLite keeps about the file."""
    return int(connection.execute(f"PRAGMA {pragma}").fetchone()[0])

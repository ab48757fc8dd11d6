"""The tables of the journal, and how an older journal is brought up to date.

The version stands in SQLite's ``user_version``; ``application_id`` marks the file as ours.

version 1   without ``undoes``: an undo named what it takes back among its facts
version 2   ``undoes`` is a column, and must name an earlier entry
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from typing import Any

from benchvoice.errors import JournalError
from benchvoice.journal.rows import read_facts

VERSION = 2
APPLICATION = 0x6276_6A6C
"""The letters ``bvjl``."""

_TABLE = """
CREATE TABLE entries (
    number INTEGER PRIMARY KEY AUTOINCREMENT,  -- order of writing, whatever the clock did
    key    TEXT NOT NULL UNIQUE CHECK (key <> ''),
    kind   TEXT NOT NULL CHECK (kind <> ''),
    at     TEXT NOT NULL,
    bucket TEXT,
    facts  TEXT NOT NULL,
    undoes TEXT
)"""

# An index ends with the row's number by itself, so each of these also gives the order.
_INDEXES = (
    "CREATE INDEX entries_of_bucket ON entries (bucket)",
    "CREATE INDEX entries_of_bucket_and_kind ON entries (bucket, kind)",
    "CREATE INDEX entries_of_kind ON entries (kind)",
    "CREATE INDEX entries_that_undo ON entries (undoes, key) WHERE undoes IS NOT NULL",
)

KEPT = "an entry is never changed"
NOTHING_TO_UNDO = "there is no such entry to take back"

_GUARDS = (
    f"""CREATE TRIGGER entries_stay_as_written BEFORE UPDATE ON entries
        BEGIN SELECT RAISE(ABORT, '{KEPT}'); END""",
    f"""CREATE TRIGGER entries_stay BEFORE DELETE ON entries
        BEGIN SELECT RAISE(ABORT, '{KEPT}'); END""",
    # INSERT OR REPLACE deletes without firing the trigger above, so it is stopped here.
    f"""CREATE TRIGGER keys_stay BEFORE INSERT ON entries
        WHEN EXISTS (SELECT 1 FROM entries WHERE key = NEW.key OR number = NEW.number)
        BEGIN SELECT RAISE(ABORT, '{KEPT}'); END""",
    f"""CREATE TRIGGER undo_names_an_entry BEFORE INSERT ON entries
        WHEN NEW.undoes IS NOT NULL AND NOT EXISTS (SELECT 1 FROM entries WHERE key = NEW.undoes)
        BEGIN SELECT RAISE(ABORT, '{NOTHING_TO_UNDO}'); END""",
)


def create(connection: sqlite3.Connection) -> None:
    """Lay out an empty journal, inside the caller's transaction."""
    _run(connection, (_TABLE, *_INDEXES, *_GUARDS, f"PRAGMA application_id = {APPLICATION}"))
    _stamp(connection)


def upgrade(connection: sqlite3.Connection, version: int) -> None:
    """Bring a journal of an older version up to date, inside the caller's transaction."""
    for step in range(version, VERSION):
        _STEPS[step](connection)
    _stamp(connection)


def _from_1_to_2(connection: sqlite3.Connection) -> None:
    """Move the key that an undo takes back out of its facts into a column of its own."""
    _drop(connection, "trigger", "index")
    connection.execute("ALTER TABLE entries ADD COLUMN undoes TEXT")
    undos = connection.execute("SELECT number, facts FROM entries WHERE kind = 'undo'").fetchall()
    for number, text in undos:
        facts = _facts(number, text)
        row = (facts.pop("undoes", None), json.dumps(facts, ensure_ascii=False), number)
        connection.execute("UPDATE entries SET undoes = ?, facts = ? WHERE number = ?", row)
    _run(connection, (*_INDEXES, *_GUARDS))


def _facts(number: int, text: str) -> dict[str, Any]:
    try:
        return read_facts(text)
    except ValueError as error:
        raise JournalError(
            f"Entry number {number} of the older journal cannot be read: {error}.",
            "Nothing was changed; open a copy of it from before.",
        ) from error


_STEPS: dict[int, Callable[[sqlite3.Connection], None]] = {1: _from_1_to_2}


def _drop(connection: sqlite3.Connection, *types: str) -> None:
    wanted = "SELECT type, name FROM sqlite_master WHERE sql IS NOT NULL"
    for type_, name in connection.execute(wanted).fetchall():
        if type_ in types:
            connection.execute(f'DROP {type_} "{name}"')


def _stamp(connection: sqlite3.Connection) -> None:
    connection.execute(f"PRAGMA user_version = {VERSION}")


def _run(connection: sqlite3.Connection, statements: tuple[str, ...]) -> None:
    for statement in statements:
        connection.execute(statement)

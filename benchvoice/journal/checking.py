"""Whether the journal is sound."""

from __future__ import annotations

import sqlite3
from datetime import datetime
from pathlib import Path

from benchvoice.journal.rows import COLUMNS, from_row
from benchvoice.journal.troubles import damaged

_LOST = """
SELECT key, undoes FROM entries AS undo WHERE undoes IS NOT NULL AND NOT EXISTS
(SELECT 1 FROM entries WHERE key = undo.undoes AND number < undo.number)"""


def verify(connection: sqlite3.Connection, path: Path) -> str:
    """Check the file's structure, that each entry can be read, and that each undo has its entry."""
    for (finding,) in connection.execute("PRAGMA integrity_check(1)"):
        if finding != "ok":
            raise damaged(path, finding)
    for key, undoes in connection.execute(_LOST):
        raise damaged(path, f"entry {key} takes back {undoes}, which is not there before it")
    return _told(path, [from_row(row).at for row in connection.execute(f"SELECT {COLUMNS} FROM entries")])


def _told(path: Path, times: list[datetime]) -> str:
    if not times:
        return f"The journal {path} is sound and empty."
    first, last = min(times), max(times)
    return f"The journal {path} is sound: {len(times):,} entries from {first:%Y-%m-%d} to {last:%Y-%m-%d}."

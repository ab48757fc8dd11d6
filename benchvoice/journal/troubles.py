"""What went wrong with the journal, in one sentence with a next step."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from benchvoice.errors import JournalError
from benchvoice.journal.rows import Row
from benchvoice.journal.schema import KEPT, NOTHING_TO_UNDO

_SAFE = "what was written before is safe."
_COPY = "Keep that file as it is, and open a copy of it from before, or start a new journal elsewhere."
_RIGHTS = "Give yourself the right to write there, or name another folder in BENCHVOICE_DATA."
_MAKE_SPACE = f"Free some space and then repeat it; {_SAFE}"

# By result code of SQLite (https://sqlite.org/rescode.html); the low byte is the family.
_SENTENCES = {
    sqlite3.SQLITE_BUSY: (
        "Another program has held the journal {path} for too long.",
        f"Close the other benchvoice and repeat it; {_SAFE}",
    ),
    sqlite3.SQLITE_FULL: ("The disk that holds the journal {path} is full.", _MAKE_SPACE),
    sqlite3.SQLITE_READONLY: ("The journal {path} can be read but not written.", _RIGHTS),
    sqlite3.SQLITE_READONLY_DBMOVED: (
        "The journal {path} was moved or deleted while it was open.",
        "Put it back where it was, and start benchvoice again.",
    ),
    sqlite3.SQLITE_CANTOPEN: ("The journal {path} cannot be opened or made.", _RIGHTS),
    sqlite3.SQLITE_PERM: ("The journal {path} may not be opened.", _RIGHTS),
    sqlite3.SQLITE_NOTADB: (
        "The file {path} is not a journal.",
        "Keep it, and name another file for the journal.",
    ),
    sqlite3.SQLITE_CORRUPT: ("The journal {path} is damaged.", _COPY),
    sqlite3.SQLITE_IOERR: (
        "The disk failed while the journal {path} was in use.",
        f"Check the disk and its free space, then repeat it; {_SAFE}",
    ),
}
_NO_SPACE = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_NO_RIGHTS = {errno.EACCES, errno.EPERM, errno.EROFS}


_REFUSED = {
    KEPT: ("The journal already has an entry {key}.", "Give the new entry a key of its own."),
    NOTHING_TO_UNDO: (
        "Entry {key} takes back {undoes}, which is not in the journal.",
        "Take back an entry that was written before.",
    ),
}


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn whatever SQLite or the system raises inside into a ``JournalError``."""
    try:
        yield
    except sqlite3.Error as error:
        raise _from_sqlite(error, path) from error
    except OSError as error:
        raise _from_system(error, path) from error


def _from_sqlite(error: sqlite3.Error, path: Path) -> JournalError:
    code = getattr(error, "sqlite_errorcode", None)
    if code is None:  # raised by Python's own module, not by SQLite
        if isinstance(error, sqlite3.ProgrammingError):  # closed, or used from another thread
            return JournalError(f"The journal {path} is not open here: {error}", "Open it again.")
        return damaged(path, str(error))
    sentence = _SENTENCES.get(code) or _SENTENCES.get(code & 0xFF)
    if sentence is None:
        return JournalError(f"The journal {path} failed: {error}.", f"Start benchvoice again; {_SAFE}")
    what, next_step = sentence
    return JournalError(what.format(path=path), next_step)


def _from_system(error: OSError, path: Path) -> JournalError:
    if error.errno in _NO_SPACE:
        return JournalError(f"The disk that holds the journal {path} is full.", _MAKE_SPACE)
    if error.errno in _NO_RIGHTS:
        return JournalError(f"The journal {path} may not be written: {error.strerror}.", _RIGHTS)
    return JournalError(
        f"The journal {path} cannot be reached: {error.strerror or error}.",
        "Check the path, or name another folder in BENCHVOICE_DATA.",
    )


def refused(row: Row, reason: str) -> JournalError:
    """Return what is wrong with a row that the tables refuse."""
    key, kind, *_, undoes = row
    what, next_step = _REFUSED.get(
        reason, ("An entry needs a key and a kind, but got {key!r} and {kind!r}.", "Name both.")
    )
    return JournalError(what.format(key=key, kind=kind, undoes=undoes), next_step)


def damaged(path: Path, finding: str) -> JournalError:
    """Return that the journal was found damaged, and how."""
    return JournalError(f"The journal {path} is damaged: {finding}.", _COPY)

"""The journal: one SQLite file that keeps every bucket's history, and is only ever added to.

``Journal.open(path)`` opens it; ``journal_path()`` says where it lies unless told otherwise.

    place     where the file lies, and making its folder
    schema    the tables, and how an older journal is brought up to date
    opening   a connection that is safe to write to
    rows      an entry as a row, and back
    store     ``Journal``: write, look back, check
    export    tables for people and other programs
    troubles  what went wrong, in one sentence with a next step
"""

from benchvoice.journal.export import read_json
from benchvoice.journal.place import journal_path
from benchvoice.journal.store import Journal, Session

__all__ = ["Journal", "Session", "journal_path", "read_json"]

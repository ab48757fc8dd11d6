"""Where the journal lies, and making its folder."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_data_dir

from benchvoice.errors import JournalError

FOLDER_VARIABLE = "BENCHVOICE_DATA"
FILE_NAME = "journal.sqlite"


def journal_path(folder: str | Path | None = None) -> Path:
    """Return the journal's file: in ``folder``, else in $BENCHVOICE_DATA, else in the user's data folder."""
    chosen = folder or os.environ.get(FOLDER_VARIABLE) or user_data_dir("benchvoice", appauthor=False)
    return Path(chosen).expanduser() / FILE_NAME


def make_room(path: Path) -> None:
    """Make the folder that ``path`` is to lie in, and refuse a path that is itself a folder."""
    if path.is_dir():
        raise JournalError(
            f"The journal must be a file, but {path} is a folder.",
            f"Name a file in it, such as {path / FILE_NAME}.",
        )
    missing = [folder for folder in path.parents if not folder.exists()]
    path.parent.mkdir(parents=True, exist_ok=True)
    for folder in missing:
        settle(folder.parent)


def settle(folder: Path) -> None:
    """Wait until the names in this folder are on the disk.

    A new file survives a power cut only when its folder does too (POSIX leaves the two apart).
    Windows writes names in order by itself and refuses to open a folder.
    """
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)

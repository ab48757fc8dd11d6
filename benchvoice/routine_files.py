"""Where routines lie: those that come with the bench, and the potter's own beside the journal."""

from __future__ import annotations

import os
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from benchvoice.dialogue.routine_tasks import NAMES
from benchvoice.dialogue.routine_text import Routine, routine_of
from benchvoice.errors import BadRoutine, RoutineError

FOLDER = "routines"


@dataclass(frozen=True, slots=True)
class Found:
    """A routine that can be used, and where it lies."""

    routine: Routine
    where: str
    text: str
    own: bool
    """True for the potter's."""


def own_folder(journal: Path) -> Path:
    """Return where the potter's routines lie: beside the journal."""
    return journal.parent / FOLDER


def all_routines(folder: Path | None = None) -> tuple[tuple[Found, ...], tuple[RoutineError, ...]]:
    """Return every routine that can be used, and why the others cannot.

    A potter's routine stands in the place of ours of the same name.
    """
    found, refused = _from(_ours(), own=False)
    own, own_refused = _from(_files_in(folder), own=True)
    named = {each.routine.name: each for each in (*found, *own)}
    return tuple(named.values()), (*refused, *own_refused)


def known_routines(folder: Path | None = None) -> tuple[Routine, ...]:
    """Return every routine that can be used."""
    return tuple(each.routine for each in all_routines(folder)[0])


def check(path: Path) -> Routine:
    """Return the routine in a file, or refuse it."""
    return routine_of(_text_of(path), path.name, NAMES)


def copy(name: str, folder: Path) -> Path:
    """Copy a routine into the potter's folder, to be edited; nothing is overwritten."""
    found, _ = all_routines(folder)
    source = next((each for each in found if each.routine.name == name.lower()), None)
    if source is None:
        known = ", ".join(each.routine.name for each in found)
        raise RoutineError(f"There is no routine {name!r}.", f"There are: {known}.")
    path = folder / f"{source.routine.name.replace(' ', '_')}.toml"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8") as file:
            file.write(source.text)
    except FileExistsError:
        raise RoutineError(f"{path} is there already.", "Edit that one; nothing was overwritten.") from None
    except OSError as error:
        raise RoutineError(f"{path} cannot be written: {error.strerror}.", "Choose another folder.") from None
    return path


def _ours() -> list[tuple[str, Path]]:
    folder = Path(str(files("benchvoice"))) / FOLDER
    return [(file.name, file) for file in sorted(folder.glob("*.toml"))]


def _files_in(folder: Path | None) -> list[tuple[str, Path]]:
    if folder is None or not folder.is_dir():
        return []
    return [(str(file), file) for file in sorted(folder.glob("*.toml"))]


def _from(places: list[tuple[str, Path]], *, own: bool) -> tuple[list[Found], list[RoutineError]]:
    found: list[Found] = []
    refused: list[RoutineError] = []
    for where, path in places:
        try:
            text = _text_of(path)
            found.append(Found(routine_of(text, path.name, NAMES), where, text, own))
        except RoutineError as error:
            refused.append(error)
    return found, refused


def _text_of(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise BadRoutine(path.name, line, "this is no UTF-8 text", "Save it as UTF-8.") from None
    except OSError as error:
        raise RoutineError(
            f"{path} cannot be read: {os.strerror(error.errno or 0)}.", "See that it is a file."
        ) from None

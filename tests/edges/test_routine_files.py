"""The files of routines: ours and the potter's, a broken one beside good ones, copying, the command."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchvoice import routine_files
from benchvoice.building import own_routines
from benchvoice.cli import main
from benchvoice.errors import BadRoutine, RoutineError
from benchvoice.journal import Journal

STEPS = '[[steps]]\ndo = "open a bucket"\n[[steps]]\ndo = "weigh once"\n'
LOOK = 'name = "quick look"\nabout = "Weigh one bucket."\n' + STEPS


def written(folder: Path, name: str, text: str) -> Path:
    """Write a routine into a data folder."""
    path = folder / "routines" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    return path


def names(folder: Path) -> list[str]:
    """Return the names of all routines that can be used with this data folder."""
    return [each.routine.name for each in routine_files.all_routines(folder / "routines")[0]]


def test_our_routines_are_all_in_order(tmp_path: Path) -> None:
    """Without files of one's own there are ours, and nothing is refused."""
    found, refused = routine_files.all_routines(tmp_path / "routines")
    assert refused == ()
    assert {"first cup", "morning check", "stored glaze", "new batch", "casting slip"} < {
        f.routine.name for f in found
    }


def test_a_broken_one_leaves_the_others(tmp_path: Path) -> None:
    """It is refused by file and line; the potter's other one and all of ours still work."""
    ours = names(tmp_path)
    written(tmp_path, "a.toml", LOOK.replace("weigh once", "weigh twice"))
    written(tmp_path, "b.toml", LOOK)
    written(tmp_path, "notes.txt", "not a routine")
    _, refused = routine_files.all_routines(tmp_path / "routines")
    assert names(tmp_path) == [*ours, "quick look"]
    assert [(error.file, error.line) for error in refused if isinstance(error, BadRoutine)] == [("a.toml", 6)]


def test_the_potters_own_stands_in_the_place_of_ours(tmp_path: Path) -> None:
    """One of the same name is used instead, and is the only one of it."""
    written(tmp_path, "mine.toml", LOOK.replace("quick look", "First Cup"))
    found, _ = routine_files.all_routines(tmp_path / "routines")
    first = [each for each in found if each.routine.name == "first cup"]
    assert [(each.own, each.routine.about.full) for each in first] == [(True, "Weigh one bucket.")]


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_files_from_other_editors_are_read(tmp_path: Path, ending: str) -> None:
    """A byte order mark and other line ends do not matter; the line of a mistake is the same."""
    path = written(tmp_path, "look.toml", "")
    path.write_bytes(b"\xef\xbb\xbf" + LOOK.replace("\n", ending).encode())
    assert routine_files.check(path).name == "quick look"
    path.write_bytes(LOOK.replace("weigh once", "no such").replace("\n", ending).encode())
    with pytest.raises(BadRoutine) as refusal:
        routine_files.check(path)
    assert refusal.value.line == 6


def test_what_is_no_text_is_refused_by_line(tmp_path: Path) -> None:
    """A file in another encoding is refused where it stops being UTF-8."""
    path = written(tmp_path, "look.toml", "")
    path.write_bytes(LOOK.replace("Weigh", "Wäge").encode("latin-1"))
    with pytest.raises(BadRoutine, match=r"look\.toml, line 2: .* Save it as UTF-8"):
        routine_files.check(path)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """So is a folder."""
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(RoutineError, match="cannot be read"):
            routine_files.check(path)


def test_a_copy_is_the_same_routine_and_never_overwrites(tmp_path: Path) -> None:
    """What is copied can be edited at once; a second copy is refused, an unknown name too."""
    path = routine_files.copy("Morning Check", tmp_path / "routines")
    assert path.name == "morning_check.toml"
    assert routine_files.check(path).name == "morning check"
    path.write_text(LOOK, "utf-8")
    with pytest.raises(RoutineError, match="nothing was overwritten"):
        routine_files.copy("morning check", tmp_path / "routines")
    assert path.read_text("utf-8") == LOOK
    with pytest.raises(RoutineError, match="There are: "):
        routine_files.copy("evening check", tmp_path / "routines")


def test_a_session_knows_the_potters_routines_and_tells_of_broken_ones(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They lie beside the journal."""
    written(tmp_path, "look.toml", LOOK)
    written(tmp_path, "broken.toml", "name = 3")
    with Journal.open(tmp_path / "journal.sqlite") as journal:
        known = own_routines(journal)
    assert "quick look" in [routine.name for routine in known]
    assert capsys.readouterr().err.startswith("broken.toml, line 1: ")


def test_the_command_lists_copies_and_checks(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each is told in a line; a refusal is one sentence on standard error and a status of one."""
    data = ["--data", str(tmp_path)]
    assert main([*data, "routines"]) == 0
    assert "morning check: Every bucket" in capsys.readouterr().out
    assert main([*data, "routines", "--copy", "morning check"]) == 0
    copied = tmp_path / "routines" / "morning_check.toml"
    assert str(copied) in capsys.readouterr().out
    assert main([*data, "routines", "--check", str(copied)]) == 0
    assert "morning check" in capsys.readouterr().out
    copied.write_text(LOOK.replace("weigh once", "no such"), "utf-8")
    assert main([*data, "routines", "--check", str(copied)]) == 1
    assert capsys.readouterr().err.startswith("morning_check.toml, line 6: there is no task 'no such'.")
    assert main([*data, "routines"]) == 1
    listed = capsys.readouterr()
    assert "morning check: Every bucket" in listed.out
    assert "morning_check.toml, line 6" in listed.err

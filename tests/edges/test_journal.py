"""The journal in ordinary use: what is written comes back, in order, and never changes."""

import csv
import io
import json
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from benchvoice.errors import JournalError
from benchvoice.journal import Journal, journal_path, read_json
from benchvoice.journal.looking import taken_back
from benchvoice.messages import Entry

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)
MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None
"""Where many small journals are made and dropped; what they hold is tested there, not the disk."""


def an_entry(key: str, kind: str = "reading", bucket: str | None = "tide green", **more: object) -> Entry:
    """Return an entry with little in it."""
    return replace(Entry(key, kind, NOON, bucket, {"net_g": 142.5}), **more)  # type: ignore[arg-type]


def undo(key: str, undoes: str) -> Entry:
    """Return an entry that takes another back."""
    return Entry(key, "undo", NOON, "tide green", {}, undoes)


def keys(entries: tuple[Entry, ...]) -> list[str]:
    """Return the keys of entries, in their order."""
    return [entry.key for entry in entries]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return where a journal may be made."""
    return tmp_path / "journal.sqlite"


@pytest.fixture
def journal(path: Path) -> Iterator[Journal]:
    """Open a new journal."""
    with Journal.open(path) as journal:
        yield journal


# ---- where it lies --------------------------------------------------------------


def test_argument_comes_before_variable_before_user_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder is the one named, else the one in the environment, else the user's own."""
    monkeypatch.setenv("BENCHVOICE_DATA", "/elsewhere")
    assert journal_path("/here") == Path("/here/journal.sqlite")
    assert journal_path() == Path("/elsewhere/journal.sqlite")

    monkeypatch.setenv("BENCHVOICE_DATA", "")
    monkeypatch.setenv("XDG_DATA_HOME", "/home/potter/data")
    assert "benchvoice" in journal_path().parts


def test_missing_folders_are_made(tmp_path: Path) -> None:
    """A journal can be begun in a folder that is not there yet."""
    path = tmp_path / "new" / "bench" / "journal.sqlite"
    with Journal.open(path) as journal:
        journal.write(an_entry("s-1"))
    assert [file.name for file in path.parent.iterdir()] == ["journal.sqlite"]


def test_the_variable_is_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Opening without a path opens the journal that the environment names."""
    monkeypatch.setenv("BENCHVOICE_DATA", str(tmp_path))
    with Journal.open() as journal:
        assert journal.path == tmp_path / "journal.sqlite"


# ---- what goes in comes out -----------------------------------------------------

texts = some.text(some.characters(exclude_categories=["Cs"]), max_size=20)
plain = some.recursive(
    some.none()
    | some.booleans()
    | some.integers()
    | some.floats(allow_nan=False, allow_infinity=False)
    | texts,
    lambda inner: some.lists(inner, max_size=4) | some.dictionaries(texts, inner, max_size=4),
    max_leaves=12,
)
moments = some.datetimes(
    min_value=datetime(1970, 1, 2), max_value=datetime(2200, 1, 1), timezones=some.timezones()
)
entries_ = some.builds(
    Entry,
    key=texts.filter(bool),
    kind=texts.filter(bool),
    at=moments,
    bucket=some.none() | texts,
    facts=some.dictionaries(texts, plain, max_size=5),
)


@settings(deadline=None, max_examples=40)
@given(some.lists(entries_, max_size=6, unique_by=lambda entry: entry.key))
def test_everything_plain_comes_back_the_same(written: list[Entry]) -> None:
    """Any text, number and nesting survives the file, and the JSON export and its reading back."""
    exported = io.StringIO()
    in_utc = [replace(entry, at=entry.at.astimezone(UTC)) for entry in written]
    with (
        tempfile.TemporaryDirectory(dir=MEMORY) as folder,
        Journal.open(Path(folder) / "j.sqlite") as journal,
    ):
        journal.write_all(written)
        assert list(journal.entries()) == in_utc
        journal.export_json(exported)

    exported.seek(0)
    assert list(read_json(exported)) == in_utc


def test_entries_are_there_after_closing(path: Path) -> None:
    """What was written is there when the journal is opened again."""
    with Journal.open(path) as journal:
        journal.write(an_entry("s-1"))
    with Journal.open(path) as journal:
        assert journal.entries() == (an_entry("s-1"),)


def test_times_are_kept_as_utc_text(journal: Journal, path: Path) -> None:
    """A time is stored in UTC, in the form of ISO 8601, whatever zone it came in."""
    summer = timezone(timedelta(hours=1))
    journal.write(an_entry("s-1", at=datetime(2026, 6, 1, 0, 30, tzinfo=summer)))

    with closing(sqlite3.connect(path)) as raw:
        stored = raw.execute("SELECT at FROM entries").fetchone()[0]
    assert stored == "2026-05-31T23:30:00.000000+00:00"


def test_maps_and_tuples_are_taken(journal: Journal) -> None:
    """A read-only map and a tuple go in; they come back as a map and a list."""
    journal.write(an_entry("s-1", facts=MappingProxyType({"fills_g": (99.5, 99.6)})))
    assert journal.entries()[0].facts == {"fills_g": [99.5, 99.6]}


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"facts": {"net_g": Decimal("142.50")}}, "Decimal('142.50')"),
        ({"facts": {"gravity": float("nan")}}, "Out of range"),
        ({"facts": {"gravity": float("inf")}}, "Out of range"),
        ({"facts": {"when": NOON}}, "datetime"),
        ({"facts": {1: 2}}, "the name 1 is not text"),
        ({"facts": {"note": "\ud800"}}, "half a character"),
        ({"bucket": "\udfff"}, "half a character"),
        ({"at": NOON.replace(tzinfo=None)}, "time zone"),
        ({"key": ""}, "a key and a kind"),
        ({"kind": ""}, "a key and a kind"),
        ({"undoes": "s-9"}, "takes back s-9, which is not in the journal"),
        ({"undoes": "s-1"}, "takes back s-1, which is not in the journal"),
    ],
)
def test_what_would_not_come_back_is_refused(journal: Journal, change: dict[str, Any], told: str) -> None:
    """What cannot be kept as it is is refused with a sentence and a next step, and leaves nothing."""
    with pytest.raises(JournalError) as caught:
        journal.write(replace(an_entry("s-1"), **change))

    assert told in caught.value.what
    assert caught.value.next_step.endswith(".")
    assert journal.count() == 0


def test_endless_facts_are_refused(journal: Journal) -> None:
    """Facts that contain themselves are refused, not followed for ever."""
    facts: dict[str, object] = {}
    facts["again"] = facts
    with pytest.raises(JournalError, match="cannot be kept"):
        journal.write(an_entry("s-1", facts=facts))


def test_a_key_is_used_once(journal: Journal) -> None:
    """A second entry with the same key is refused; the first stays as it was."""
    journal.write(an_entry("s-1"))
    with pytest.raises(JournalError, match="already has an entry s-1"):
        journal.write(an_entry("s-1", kind="dose"))
    assert journal.entries() == (an_entry("s-1"),)


def test_many_are_written_all_or_none(journal: Journal) -> None:
    """When one entry of many is refused, none of them is written."""
    with pytest.raises(JournalError):
        journal.write_all([an_entry("s-1"), an_entry("s-2"), an_entry("s-1")])
    assert journal.count() == 0


# ---- nothing is overwritten -----------------------------------------------------


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE entries SET facts = '{}'",
        "DELETE FROM entries",
        "REPLACE INTO entries (key, kind, at, facts) VALUES ('s-1', 'x', 'y', '{}')",
        "REPLACE INTO entries (number, key, kind, at, facts) VALUES (1, 'z', 'x', 'y', '{}')",
        "INSERT INTO entries (key, kind, at, facts) VALUES ('s-1', 'x', 'y', '{}')"
        " ON CONFLICT (key) DO UPDATE SET facts = '{}'",
    ],
)
def test_the_file_refuses_change(journal: Journal, path: Path, change: str) -> None:
    """Any other program that opens the file cannot change or remove an entry either."""
    journal.write(an_entry("s-1"))
    with (
        closing(sqlite3.connect(path, isolation_level=None)) as other,
        pytest.raises(sqlite3.Error) as caught,
    ):
        other.execute(change)
    assert str(caught.value) == "an entry is never changed"
    assert journal.entries() == (an_entry("s-1"),)


def test_an_undo_of_an_undo_restores(journal: Journal) -> None:
    """What is taken back is gone, and comes again when the taking back is taken back."""
    journal.write_all([an_entry("s-1"), an_entry("s-2")])
    assert journal.last("tide green", "reading") == an_entry("s-2")

    journal.write(undo("s-3", "s-2"))
    assert journal.last("tide green", "reading") == an_entry("s-1")
    assert keys(journal.entries()) == ["s-1", "s-3"]

    journal.write(undo("s-4", "s-3"))
    assert journal.last("tide green", "reading") == an_entry("s-2")
    assert keys(journal.entries()) == ["s-1", "s-2", "s-4"]
    assert keys(journal.entries(standing=False)) == ["s-1", "s-2", "s-3", "s-4"]


def test_taken_back_twice_needs_both_undone(journal: Journal) -> None:
    """An entry that two undos take back stands again only when neither of them stands."""
    journal.write_all([an_entry("s-1"), undo("s-2", "s-1"), undo("s-3", "s-1"), undo("s-4", "s-2")])
    assert journal.last("tide green", "reading") is None
    journal.write(undo("s-5", "s-3"))
    assert journal.last("tide green", "reading") == an_entry("s-1")


def test_a_correction_may_take_back_too(journal: Journal) -> None:
    """An entry of any kind can take another's place."""
    better = an_entry("s-2", facts={"net_g": 143.0}, undoes="s-1")
    journal.write_all([an_entry("s-1"), better])
    assert journal.entries() == (better,)


@given(some.lists(some.integers(0, 30), max_size=30))
def test_standing_is_what_the_definition_says(picks: list[int]) -> None:
    """Computed straight from the definition: it stands unless something that stands takes it back."""
    undos = [(str(place + 1), str(pick % (place + 1))) for place, pick in enumerate(picks)]

    def stands(key: str) -> bool:
        return not any(stands(by) for by, undone in undos if undone == key)

    assert taken_back(undos) == {str(n) for n in range(len(picks) + 1) if not stands(str(n))}


def test_the_undo_of_another_program_is_seen(journal: Journal, path: Path) -> None:
    """What another program takes back while this journal is open is gone here too."""
    journal.write(an_entry("s-1"))
    assert journal.last("tide green", "reading") is not None
    with Journal.open(path) as other:
        other.write(undo("t-1", "s-1"))
    assert journal.last("tide green", "reading") is None


# ---- looking back ---------------------------------------------------------------


def test_entries_can_be_chosen(journal: Journal) -> None:
    """Entries are chosen by bucket, kind, time and number, and come oldest first."""
    hour = timedelta(hours=1)
    journal.write_all(
        [
            an_entry("s-1"),
            an_entry("s-2", kind="dose", at=NOON + hour),
            an_entry("s-3", bucket="chalk white", at=NOON + 2 * hour),
            an_entry("s-4", bucket=None, at=NOON + 3 * hour),
        ]
    )

    assert keys(journal.entries("tide green")) == ["s-1", "s-2"]
    assert keys(journal.entries(kinds=["dose", "note"])) == ["s-2"]
    assert keys(journal.entries(kinds=[])) == []
    assert keys(journal.entries(since=NOON + hour)) == ["s-2", "s-3", "s-4"]
    assert keys(journal.entries(since=(NOON + hour).astimezone(timezone(-5 * hour)))) == ["s-2", "s-3", "s-4"]
    assert keys(journal.entries(limit=2)) == ["s-3", "s-4"]
    assert keys(journal.entries("tide green", ["reading"], NOON, limit=9)) == ["s-1"]
    assert journal.last(None, "reading") == an_entry("s-4", bucket=None, at=NOON + 3 * hour)
    assert journal.last("copper red", "reading") is None


def test_order_is_that_of_writing(journal: Journal) -> None:
    """When the clock is set back, entries stay in the order in which they were written."""
    journal.write_all([an_entry("s-1"), an_entry("s-2", at=NOON - timedelta(days=400)), an_entry("s-3")])
    assert keys(journal.entries()) == ["s-1", "s-2", "s-3"]
    assert keys(journal.recall()) == ["s-1", "s-2", "s-3"]


def test_recall_gives_what_a_session_needs(journal: Journal) -> None:
    """Every bucket, target, cup, dose and setting, and of each bucket only the newest of the rest."""
    journal.write_all([an_entry("s-0", "session", None), an_entry("s-1", "cup", None)])
    journal.write_all([an_entry("s-2", "bucket"), an_entry("s-3", "bucket", "chalk white")])
    journal.write_all(an_entry(f"s-{n}") for n in range(4, 12))
    journal.write_all([an_entry("s-12", "dose"), undo("s-13", "s-11"), an_entry("s-14", "setting", None)])
    journal.write_all([an_entry("s-15", bucket="chalk white"), an_entry("s-16", "note", None)])

    wanted = ["s-1", "s-2", "s-3", "s-8", "s-9", "s-10", "s-12", "s-14", "s-15", "s-16"]
    assert keys(journal.recall(per_bucket=3)) == wanted


def test_recall_has_the_newest_of_each_kind(journal: Journal) -> None:
    """However long ago it was written, the newest standing entry of each kind about a bucket is recalled."""
    journal.write_all([an_entry("s-1", "contents"), an_entry("s-2", "contents"), an_entry("s-3", "contents")])
    journal.write(undo("s-4", "s-3"))
    journal.write_all(an_entry(f"s-{n}") for n in range(5, 10))
    assert keys(journal.recall(per_bucket=2)) == ["s-2", "s-8", "s-9"]


def test_recall_of_an_empty_journal(journal: Journal) -> None:
    """A new journal has nothing to recall."""
    assert journal.recall() == ()
    assert journal.entries() == ()
    assert journal.sessions() == ()
    assert journal.last(None, "setting") is None


def test_sessions_have_names_of_their_own(journal: Journal) -> None:
    """Two sessions in one second get two names; each is listed with its entries."""
    first, second = journal.begin_session(NOON), journal.begin_session(NOON)
    journal.write_all([an_entry(f"{first}-1"), an_entry(f"{second}-1"), an_entry(f"{first}-2")])

    assert (first, second) == ("20260301-120000", "20260301-120000.2")
    listed = [(session.name, session.started, session.entries) for session in journal.sessions()]
    assert listed == [(first, NOON, 3), (second, NOON, 2)]


# ---- exports --------------------------------------------------------------------


def test_csv_has_one_row_an_entry(journal: Journal) -> None:
    """The table has a row for each entry, a column for each fact, and tells what stands."""
    facts = {"net_g": 142.5, "cup": {"name": "steel", "fills_g": [99.5, 99.6]}, "sure": True, "kind": None}
    journal.write_all([an_entry("s-1", facts=facts), undo("s-2", "s-1")])
    journal.write(an_entry("s-3", facts={"note": 'Thin, "runny"\nat the rim'}))
    stream = io.StringIO(newline="")
    journal.export_csv(stream)

    stream.seek(0)
    rows = list(csv.DictReader(stream))
    assert [row["key"] for row in rows] == ["s-1", "s-2", "s-3"]
    assert [row["standing"] for row in rows] == ["no", "yes", "yes"]
    assert rows[0]["at"] == "2026-03-01T12:00:00.000000+00:00"
    assert rows[0]["facts.net_g"] == "142.5"
    assert rows[0]["facts.cup.name"] == "steel"
    assert rows[0]["facts.cup.fills_g.2"] == "99.6"
    assert rows[0]["facts.sure"] == "yes"
    assert rows[0]["kind"] == "reading"
    assert rows[1]["undoes"] == "s-1"
    assert rows[2]["facts.note"] == 'Thin, "runny"\nat the rim'


@pytest.mark.parametrize("note", ["=1+1", "+1", "-1", "@sum", "\t=1", "\r=1"])
def test_csv_holds_no_formula(journal: Journal, note: str) -> None:
    """Text that a spreadsheet would run is marked as text; a negative number stays a number.

    The characters are those of OWASP's page on CSV injection (from memory).
    """
    journal.write(an_entry("s-1", facts={"note": note, "mass_g": -5.5}))
    stream = io.StringIO(newline="")
    journal.export_csv(stream)

    stream.seek(0)
    row = next(csv.DictReader(stream))
    assert row["facts.note"] == f"'{note}"
    assert row["facts.mass_g"] == "-5.5"


def test_json_can_be_read_by_anyone(journal: Journal) -> None:
    """The export is one JSON document whose rows carry number, time, facts and whether they stand."""
    journal.write_all([an_entry("s-1"), undo("s-2", "s-1")])
    stream = io.StringIO()
    journal.export_json(stream)

    document = json.loads(stream.getvalue())
    assert (document["journal"], document["layout"]) == ("benchvoice", 1)
    assert document["entries"][0] == {
        "number": 1,
        "key": "s-1",
        "at": "2026-03-01T12:00:00.000000+00:00",
        "bucket": "tide green",
        "kind": "reading",
        "undoes": None,
        "standing": False,
        "facts": {"net_g": 142.5},
    }


def test_json_goes_into_another_journal_once(journal: Journal, tmp_path: Path) -> None:
    """Reading an export in twice adds nothing the second time; undos keep their force."""
    journal.write_all([an_entry("s-1"), an_entry("s-2"), undo("s-3", "s-2")])
    stream = io.StringIO()
    journal.export_json(stream)

    with Journal.open(tmp_path / "other.sqlite") as other:
        for expected in (3, 0):
            stream.seek(0)
            assert other.read_json(stream) == expected
        assert other.entries(standing=False) == journal.entries(standing=False)
        assert other.entries() == journal.entries()


def test_json_that_contradicts_is_refused(journal: Journal, tmp_path: Path) -> None:
    """An export with another entry under a key that is taken here is refused as a whole."""
    with Journal.open(tmp_path / "other.sqlite") as other:
        other.write_all([an_entry("s-0"), an_entry("s-1", kind="dose")])
        stream = io.StringIO()
        other.export_json(stream)
    journal.write(an_entry("s-1"))

    stream.seek(0)
    with pytest.raises(JournalError, match="already has an entry s-1"):
        journal.read_json(stream)
    assert keys(journal.entries()) == ["s-1"]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        "number,key",
        '{"journal": "other", "layout": 1, "entries": []}',
        '{"journal": "benchvoice", "layout": 2, "entries": []}',
        '{"journal": "benchvoice", "layout": 1, "entries": 3}',
        '{"journal": "benchvoice", "layout": 1, "entries": [{"key": "s-1"}]}',
        '{"journal": "benchvoice", "layout": 1, "entries": [{"key": "s-1", "kind": "x", "at": "noon",'
        ' "bucket": null, "facts": {}, "undoes": null}]}',
        '{"journal": "benchvoice", "layout": 1, "entries": [{"key": "s-1", "kind": "x",'
        ' "at": "2026-03-01T12:00:00", "bucket": null, "facts": {}, "undoes": null}]}',
        '{"journal": "benchvoice", "layout": 1, "entries": [{"key": 1, "kind": "x",'
        ' "at": "2026-03-01T12:00:00+00:00", "bucket": null, "facts": {}, "undoes": null}]}',
        '{"journal": "benchvoice", "layout": 1, "entries": [{"key": "s-1", "kind": "x",'
        ' "at": "2026-03-01T12:00:00+00:00", "bucket": null, "facts": [], "undoes": null}]}',
        "[" * 100_000,
    ],
)
def test_what_is_no_export_is_refused(journal: Journal, text: str) -> None:
    """A file that is not our export is refused with a sentence, and nothing is written."""
    with pytest.raises(JournalError, match="not a journal that was exported") as caught:
        journal.read_json(io.StringIO(text))
    assert caught.value.next_step
    assert journal.count() == 0


# ---- the whole ------------------------------------------------------------------


def test_verify_tells_in_a_sentence(journal: Journal) -> None:
    """A sound journal is told so, with how much it holds."""
    assert journal.verify() == f"The journal {journal.path} is sound and empty."
    journal.write_all([an_entry("s-1"), an_entry("s-2", at=NOON + timedelta(days=31))])
    told = f"The journal {journal.path} is sound: 2 entries from 2026-03-01 to 2026-04-01."
    assert journal.verify() == told


def test_a_closed_journal_says_so(path: Path) -> None:
    """Use after closing is told in a sentence; closing twice is no mistake."""
    journal = Journal.open(path)
    journal.close()
    journal.close()
    for use in (journal.count, journal.recall, lambda: journal.write(an_entry("s-1"))):
        with pytest.raises(JournalError, match="is not open here"):
            use()

"""How fast the journal is: ``python tests/benchmarks/bench_journal.py [folder]``.

Prints, for 100,000 entries over 40 buckets, the time to open, to find the last reading, to recall what a
session needs and to look at more, each as the median and the worst of 15 (``busy`` leaves out what other
programs took); and how long one durable write takes, for the setting in use and for two others that
SQLite offers.
The folder decides which disk is measured; without one it is the system's temporary folder.
"""

from __future__ import annotations

import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from benchvoice.journal import Journal
from benchvoice.messages import Entry

ENTRIES = 100_000
BUCKETS = 40
WRITES = 300
START = datetime(2024, 1, 1, tzinfo=UTC)
KINDS = ("reading", "addition", "reading", "dose", "timer", "reading", "note", "reading", "tile", "coat")


def history(entries: int = ENTRIES) -> Iterator[Entry]:
    """Yield an invented history in which one entry in 21 takes back the one before it."""
    for number in range(entries):
        yield invented(number)


def invented(number: int) -> Entry:
    """Return one invented entry."""
    bucket, at = f"bucket {number % BUCKETS}", START + timedelta(minutes=number)
    if number < BUCKETS * 2:
        kind = "bucket" if number < BUCKETS else "target"
        return Entry(f"s-{number}", kind, at, bucket, {"low": 1.42, "high": 1.45})
    if number % 21 == 20:
        return Entry(f"s-{number}", "undo", at, f"bucket {(number - 1) % BUCKETS}", {}, f"s-{number - 1}")
    facts = {"net_g": 142.5 + number % 90 / 10, "cup": "the steel one", "volume_ml": 100, "gravity": 1.425}
    return Entry(f"s-{number}", KINDS[number // BUCKETS % len(KINDS)], at, bucket, facts)


def timed(what: Callable[[], object]) -> float:
    """Return how long it takes by the clock [ms]."""
    return measured(what)[0]


def measured(what: Callable[[], object]) -> tuple[float, float]:
    """Return how long it takes by the clock, and how long it keeps the processor busy [ms]."""
    start, busy = time.perf_counter(), time.process_time()
    what()
    return (time.perf_counter() - start) * 1000, (time.process_time() - busy) * 1000


def show(name: str, times: Iterable[tuple[float, float]]) -> None:
    """Print the median and the worst by the clock, and the median of the processor's time."""
    clock, busy = (sorted(part) for part in zip(*times, strict=True))
    middle = statistics.median
    print(
        f"{name:<44} median {middle(clock):7.2f} ms   worst {clock[-1]:7.2f} ms   busy {middle(busy):7.2f} ms"
    )


def opened(path: Path) -> None:
    """Open and close."""
    Journal.open(path).close()


def reading(path: Path, times: int = 15) -> None:
    """Measure what a start of the program waits for."""
    show("open and close", (measured(lambda: opened(path)) for _ in range(times)))
    for name, ask in QUESTIONS.items():
        cold, warm = [], []
        for _ in range(times):
            with Journal.open(path) as journal:
                cold.append(measured(lambda: ask(journal)))  # noqa: B023 - called at once
                warm.append(measured(lambda: ask(journal)))  # noqa: B023 - called at once
        show(f"{name}, just opened", cold)
        show(f"{name}, again", warm)


QUESTIONS: dict[str, Callable[[Journal], object]] = {
    "last reading": lambda journal: journal.last("bucket 7", "reading"),
    "recall": lambda journal: journal.recall(),
    "newest 20 of one bucket": lambda journal: journal.entries("bucket 7", limit=20),
    "sessions": lambda journal: journal.sessions(),
}


def writing(path: Path) -> None:
    """Measure single durable writes into the full journal."""
    with Journal.open(path) as journal:
        times = [timed(lambda n=n: journal.write(invented(n))) for n in range(ENTRIES, ENTRIES + WRITES)]
    percentiles("write (rollback journal, extra)", times)


def others(folder: Path) -> None:
    """Measure the same row under the other two settings, for the choice explained in ``opening``."""
    for mode, sync in (("DELETE", "EXTRA"), ("TRUNCATE", "FULL"), ("WAL", "FULL")):
        connection = sqlite3.connect(folder / f"{mode}.sqlite", isolation_level=None)
        connection.execute(f"PRAGMA journal_mode = {mode}")
        connection.execute(f"PRAGMA synchronous = {sync}")
        connection.execute("CREATE TABLE entries (number INTEGER PRIMARY KEY, key TEXT UNIQUE, facts TEXT)")
        insert = "INSERT INTO entries (key, facts) VALUES (?, ?)"
        times = [
            timed(lambda n=n: connection.execute(insert, (f"s-{n}", "x" * 90)))  # noqa: B023
            for n in range(WRITES)
        ]
        connection.close()
        percentiles(f"bare SQLite, {mode} and {sync}", times)


def percentiles(name: str, times: list[float]) -> None:
    """Print the middle and the far end of many times."""
    cuts = statistics.quantiles(times, n=100)
    print(f"{name:<44} p50 {cuts[49]:7.2f} ms   p99 {cuts[98]:7.2f} ms   worst {max(times):7.2f} ms")


def main() -> None:
    """Run everything in a folder of its own."""
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if len(sys.argv) > 1 else None) as name:
        path = Path(name) / "journal.sqlite"
        with Journal.open(path) as journal:
            print(
                f"{ENTRIES:,} entries written at once: {timed(lambda: journal.write_all(history())):,.0f} ms"
            )
            print(f"all of them read back: {timed(journal.entries):,.0f} ms")
            print(f"verified: {timed(journal.verify):,.0f} ms")
        print(f"{path.stat().st_size / 1e6:.1f} MB")
        reading(path)
        writing(path)
        others(Path(name))


if __name__ == "__main__":
    main()

"""A working day of eight hours, by a clock moved by hand, and what goes wrong in one.

The turns go through the real session, dialogue and journal; only the clock is the test's.
"""

from __future__ import annotations

import gc
import os
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from datetime import timedelta
from itertools import cycle
from pathlib import Path

import pytest

from benchvoice.journal import Journal, journal_path
from benchvoice.messages import Words
from tests.conversations.conftest import Bench

ROOT = Path(__file__).resolve().parents[2]
BEGUN = ("new bucket called tide green", "usual", "tared", "one hundred grams", "done")
ROUND = (
    "one fifty two",  # too thick
    "ten litres",
    "done",
    "one fifty",
    "added four hundred grams",
    "no three hundred grams",
    "what is the weather like",
    "one forty eight",
    "five minute timer",
    "done",
    "repeat",
    "one forty three",  # in range
    "finish",
    "standby",
    "carry on",
    "tide green",
)
"""One bucket brought back to its gravity, again and again."""


def at_the_scale(folder: Path) -> Bench:
    """Return a session with a new bucket, where a weight is asked for."""
    bench = Bench(folder)
    for line in BEGUN:
        bench.type(line)
    return bench


def _spoken(text: str) -> Words:
    return Words(text, confidence=0.95)


def _megabytes() -> float:
    """Return the memory in use by this process [MB]; 0 where Linux does not tell."""
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[1])
    except OSError:
        return 0.0
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def test_eight_hours(tmp_path: Path) -> None:
    """Eight hours of turns: nothing piles up, no turn gets slow, every entry is on the disk."""
    bench = at_the_scale(tmp_path)
    try:
        threads, sizes, times = threading.active_count(), [], []
        end = bench.clock.time + timedelta(hours=8)
        turns = cycle(ROUND)
        while bench.clock.time < end:
            bench.clock.move("+20 seconds")
            began = time.perf_counter()
            said = bench.hear(_spoken(next(turns)))
            times.append(time.perf_counter() - began)
            assert said or bench.session.scene.state.alone or bench.session.scene.state.name == "END"
            bench.due()
            if len(times) % 360 == 0:
                gc.collect()
                sizes.append(_megabytes())
        kept = len(bench.journal.entries())
    finally:
        bench.journal.close()
    print(
        f"{len(times)} turns, {kept} entries, megabytes every two hours: {sizes}, "
        f"slowest turn {1000 * max(times):.0f} ms"
    )
    assert len(times) == 8 * 180
    assert not bench.session.left
    assert threading.active_count() == threads
    assert sizes[-1] - sizes[0] < 20
    assert sum(times[-100:]) < 5 * sum(times[:100]) + 1


def test_the_lid_is_closed_over_lunch(tmp_path: Path) -> None:
    """The clock jumps: a timer that fell due meanwhile is told of at once, with how late it is."""
    bench = Bench(tmp_path)
    bench.type("five minute timer")
    bench.clock.move("+95 minutes")
    said = " ".join(bench.due())
    bench.journal.close()
    assert "1 h 30 min ago" in said


def test_a_clock_that_goes_back(tmp_path: Path) -> None:
    """The clock is set back an hour: the timer still runs for what was left of it."""
    bench = Bench(tmp_path)
    bench.type("five minute timer")
    bench.clock.move("+2 minutes")
    bench.due()
    bench.clock.move("-60 minutes")
    bench.due()
    bench.clock.move("+200 seconds")
    said = " ".join(bench.due())
    bench.journal.close()
    assert "time is up" in said.lower() or "due" in said.lower()


def test_a_slow_disk(tmp_path: Path) -> None:
    """Another program holds the journal for a second: the turn waits, and is then written."""
    bench = at_the_scale(tmp_path)
    other = sqlite3.connect(bench.journal.path, check_same_thread=False, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    freed = threading.Timer(1.0, lambda: other.execute("ROLLBACK"))
    freed.start()
    began = time.monotonic()
    said = bench.type("one forty three")
    waited = time.monotonic() - began
    freed.join()
    other.close()
    readings = [entry for entry in bench.journal.entries() if entry.kind == "reading"]
    bench.journal.close()
    assert waited > 0.8
    assert said[0] == "143. The gravity is 1.43."
    assert len(readings) == 1


_FULL = """
import io, resource, sys
from pathlib import Path
from benchvoice.building import chat
from benchvoice.journal import Journal
from benchvoice.session import Session
import signal
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
folder = Path(sys.argv[1])
out = io.StringIO()
lines = io.StringIO("new bucket called tide green\\nusual\\ntared\\none hundred grams\\ndone\\n"
                    + "one forty three\\n" * 400 + "goodbye\\n")
with Journal.open(folder / "journal.sqlite") as journal:
    size = sum(file.stat().st_size for file in folder.iterdir())
    resource.setrlimit(resource.RLIMIT_FSIZE, (size + 60_000, resource.RLIM_INFINITY))
    chat(journal, lines, out).run()
print(out.getvalue())
"""


@pytest.mark.skipif(sys.platform == "win32", reason="limits the size of files as POSIX does")
def test_a_full_disk(tmp_path: Path) -> None:
    """When no more can be written that is said, and nothing is said to be done that is not on the disk."""
    run = subprocess.run(
        [sys.executable, "-c", _FULL, str(tmp_path)],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=240,
        check=True,
    )
    told = run.stdout.splitlines()
    readings = [line for line in told if "The gravity is" in line]
    refused = [line for line in told if "could not write that down" in line]
    with Journal.open(tmp_path / "journal.sqlite") as journal:
        kept = [entry for entry in journal.entries() if entry.kind == "reading"]
    assert refused, told[-5:]
    assert len(kept) == len(readings)


def test_killed_in_the_middle(tmp_path: Path) -> None:
    """The program is killed at a random moment: everything that it acknowledged is in the journal."""
    for turns in (3, 11, 26):
        folder = tmp_path / str(turns)
        acknowledged = _killed_after(folder, turns)
        with Journal.open(journal_path(folder)) as journal:
            kept = [entry for entry in journal.entries() if entry.kind == "reading"]
            assert journal.verify()
        assert acknowledged <= len(kept) <= acknowledged + 1


def _killed_after(folder: Path, turns: int) -> int:
    """Type readings as fast as they are taken, kill after so many, and return how many were acknowledged."""
    process = subprocess.Popen(
        [sys.executable, "-m", "benchvoice", "--data", str(folder), "chat"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        text=True,
        bufsize=1,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("\n".join((*BEGUN, *["one forty three"] * 500)) + "\n")
    acknowledged = 0
    for line in process.stdout:
        acknowledged += "The gravity is" in line
        if acknowledged == turns:
            process.send_signal(signal.SIGKILL if sys.platform != "win32" else signal.SIGTERM)
            break
    acknowledged += sum("The gravity is" in line for line in process.stdout)
    process.wait(20)
    process.stdin.close()
    process.stdout.close()
    return acknowledged


def test_a_journal_that_refuses_changes_nothing(tmp_path: Path) -> None:
    """A turn that cannot be written leaves the conversation where it was; said again, it is taken."""
    bench = at_the_scale(tmp_path)
    other = sqlite3.connect(bench.journal.path, isolation_level=None)
    bench.journal._connection.execute("PRAGMA busy_timeout = 50")
    other.execute("BEGIN IMMEDIATE")
    before = bench.session.scene
    refused = bench.type("one forty three")
    after = bench.session.scene
    other.execute("ROLLBACK")
    other.close()
    said = bench.type("one forty three")
    bench.journal.close()
    assert "gravity" not in refused[0]
    assert after is before
    assert said[0] == "143. The gravity is 1.43."

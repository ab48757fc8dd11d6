"""The figures of the README: ``python tests/benchmarks/figures.py``.

One processor is used where the system allows it. Nothing is asserted here; the figures are printed
with what is wanted of them.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from benchvoice import building
from benchvoice.dialogue.advance import advance, begin, expected
from benchvoice.meaning import phrases
from benchvoice.messages import Closed, Expectation, Heard, Words

ROOT = Path(__file__).parents[2]
FIXTURES = ROOT / "audio_fixtures"
CONVERSATIONS = ROOT / "tests" / "conversations"
START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def show(name: str, figure: str, wanted: str) -> None:
    """Print one figure."""
    print(f"{name:<58} {figure:>12}   wanted: {wanted}")


def recognition() -> None:
    """Print processor time over sound time, for a number expected, after the graph is made."""
    files = sorted(FIXTURES.glob("*/*.wav"))
    network = phrases.network(Expectation(("weight", "gravity")))
    with building.listening(files[:1], None) as ears:
        ears.hear(network, None)
    with building.listening(files, None) as ears:
        began = time.process_time()
        while not isinstance(ears.hear(network, None), Closed):
            pass
        used, sound = time.process_time() - began, ears.position
    name = f"real-time factor of recognition, {sound / 60:.0f} minutes of sound"
    show(name, f"{used / sound:.3f}", "0.05 or less")


def turns() -> None:
    """Print the processor time of one turn, from words to replies, over every typed conversation.

    The phrase files are read before: that is part of starting.
    """
    phrases.understand(Words("help", typed=True), Expectation(()))
    times = sorted(took for file in sorted(CONVERSATIONS.glob("*.txt")) for took in _turns(file))
    ninety_nine = times[int(0.99 * len(times))]
    show(f"a turn, median of {len(times)}", f"{1000 * statistics.median(times):.1f} ms", "-")
    show("a turn, 99th percentile", f"{1000 * ninety_nine:.1f} ms", "5 ms or less")


def _turns(file: Path) -> Iterator[float]:
    now = START
    scene, _, _ = begin(building.scene_from((), "bench"), now)
    for line in file.read_text("utf-8").splitlines():
        if line.startswith("potter: "):
            now += timedelta(seconds=20)
            words = Words(line.removeprefix("potter: "), typed=True)
            began = time.process_time()
            scene, _, _ = advance(scene, Heard(phrases.understand(words, expected(scene))), now)
            yield time.process_time() - began


def chat() -> None:
    """Print the time from starting ``chat`` to its first question."""
    with tempfile.TemporaryDirectory() as folder:
        times = [_until_asked(folder) for _ in range(7)]
    show("chat, from its start to its first question, best of 7", f"{min(times):.2f} s", "0.5 s or less")


def _until_asked(folder: str) -> float:
    began = time.perf_counter()
    command = [sys.executable, "-m", "benchvoice", "--data", folder, "chat"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        while "Which bucket" not in process.stdout.readline():
            pass
        took = time.perf_counter() - began
        process.communicate("goodbye\n")
    return took


def demo() -> None:
    """Print the greatest memory of the demo: its own process, the engine of the voice apart."""
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "benchvoice", "demo", "--replies", f"{folder}/replies.wav"]
        began = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        took = time.perf_counter() - began
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    show("demo, greatest memory of a process", f"{peak:.0f} MB", "300 MB or less")
    show("demo, from start to end", f"{took:.0f} s", "-")


def main() -> None:
    """Print all figures."""
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
    turns()
    chat()
    recognition()
    demo()


if __name__ == "__main__":
    main()

"""``benchvoice talk`` as a program of its own, at a terminal or at a pipe, and what it printed when."""

from __future__ import annotations

import contextlib
import os
import re
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from tests.edges.soundcard import RATE, SINK, SoundCard


@contextlib.contextmanager
def room(card: SoundCard, sound: np.ndarray) -> Iterator[None]:
    """Play a sound over and over, beside whatever else is played: no real room is ever without any."""
    command = ["pacat", "--playback", "-d", SINK, "--raw", "--format=s16le", f"--rate={RATE}", "--channels=1"]
    player = subprocess.Popen([*command, "--latency-msec=200"], stdin=subprocess.PIPE)
    samples = sound.clip(-32768, 32767).astype("<i2").tobytes()

    def play() -> None:
        assert player.stdin is not None
        with contextlib.suppress(BrokenPipeError):
            while True:
                player.stdin.write(samples)

    assert card
    thread = threading.Thread(target=play)
    thread.start()
    try:
        yield
    finally:
        player.kill()
        player.wait()
        thread.join()
        assert player.stdin is not None
        with contextlib.suppress(BrokenPipeError):
            player.stdin.close()


def hush(level: float = 12.0) -> np.ndarray:
    """Return what a quiet room sounds like: a little noise [root mean square of 16-bit samples]."""
    return np.random.default_rng(1).normal(0, level, 10 * RATE)


ROOT = Path(__file__).resolve().parents[2]
ENVIRONMENT = {"PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}


class Talk:
    """A running talk."""

    def __init__(self, folder: Path, *options: str, terminal: bool = False) -> None:
        command = [sys.executable, "-m", "benchvoice", "--data", str(folder), "talk", *options]
        self._ours, theirs = os.openpty() if terminal else (-1, subprocess.PIPE)
        self.process = subprocess.Popen(
            command,
            stdin=theirs,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            env=os.environ | ENVIRONMENT,
        )
        if terminal:
            os.close(theirs)
        self.lines: list[tuple[float, str]] = []
        """(when it came, by ``time.monotonic``; the line)."""
        self._came = threading.Condition()
        self._reader = threading.Thread(target=self._read)
        self._reader.start()

    def __enter__(self) -> Talk:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        self._reader.join()
        for stream in (self.process.stdin, self.process.stdout):
            if stream is not None:
                with contextlib.suppress(BrokenPipeError):
                    stream.close()
        if self._ours >= 0:
            os.close(self._ours)

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            with self._came:
                self.lines.append((time.monotonic(), line.decode().rstrip()))
                self._came.notify_all()

    def type(self, keys: str) -> None:
        """Strike keys; a line needs its own end."""
        if self._ours >= 0:
            os.write(self._ours, keys.encode())
            return
        assert self.process.stdin is not None
        self.process.stdin.write(keys.encode())
        self.process.stdin.flush()

    def turn(self, line: str, answer: str, seconds: float = 20.0) -> str:
        """Type a line and return the answer that matches."""
        before = len(self.lines)
        self.type(line + "\n")
        return self.wait_for(answer, seconds, since=before)

    def wait_for(self, pattern: str, seconds: float = 20.0, since: int = 0) -> str:
        """Return the first line that matches, once it has come."""
        end = time.monotonic() + seconds
        with self._came:
            while True:
                for _, line in self.lines[since:]:
                    if re.search(pattern, line):
                        return line
                left = end - time.monotonic()
                assert left > 0, f"no {pattern!r} in {self.text(since)}"
                self._came.wait(left)

    def when(self, pattern: str) -> float:
        """Return when the last line that matches came."""
        return max(at for at, line in self.lines if re.search(pattern, line))

    def text(self, since: int = 0) -> Sequence[str]:
        """Return the lines."""
        return [line for _, line in self.lines[since:]]

    def heard(self) -> list[str]:
        """Return what was heard."""
        return [line.removeprefix("heard: ") for line in self.text() if line.startswith("heard: ")]

    def close(self) -> int:
        """Say goodbye and return how it ended."""
        self.type("goodbye\n")
        return self.process.wait(20)

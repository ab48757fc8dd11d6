"""Text to sound: sentences in, ``Sound`` out, from pyttsx3 running in a process of its own.

The engine only renders; playing is ``speaker``'s business. Its process is started once and
serves every sentence. When it hangs or dies, it is started anew and asked once more, so one
crash costs a moment and no words; a second one in a row is a ``VoiceError``.

Tried on Linux with espeak-ng. For macOS (pyttsx3's nsss driver, which writes AIFF whatever the
file is called) and Windows (sapi5) the code follows the drivers' source but has not been run.
"""

from __future__ import annotations

import contextlib
import json
import queue
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import IO

from benchvoice.errors import VoiceError
from benchvoice.voice.pacing import sentences
from benchvoice.voice.sound import Sound, decode, join

LEAD, TAIL = 0.05, 0.1
"""Silence kept before the first and after the last sound [s]. espeak-ng begins at its very first
sample, which a loudspeaker that wakes up slowly would swallow."""
PAUSE_WORDS = 0.9
"""Silence between sentences, in words at the rate of speech; espeak-ng's own at 160 a minute."""
RATE = 22050
"""Samples per second of what ``render`` returns [Hz]: espeak-ng's own."""
START_WAIT = 15.0
"""Longest wait for the start of the engine [s]; from a cold disk it may take some."""
WAIT = 3.0
"""Longest wait for one sentence [s]; a good one takes hundredths."""
FRESH_EACH_TIME = sys.platform == "win32"
"""pyttsx3 2.99 on Windows is reported to speak only the first utterance of a process."""

_INSTALL = (
    "Install one: on Linux 'pip install espeakng-loader' or the system package espeak-ng; "
    "until then benchvoice can print its replies."
)
_TRY_AGAIN = "Start benchvoice again, or let it print its replies."


class _Gone(Exception):
    """The process hangs or has died."""


class _Refused(VoiceError):
    """The engine works but does not do this."""


class Engine:
    """The text-to-speech engine.

    Starts it at once, so that a missing one is told (``VoiceError``) before work begins.
    """

    def __init__(self, voice: str = "", driver: str = "", wait: float = WAIT) -> None:
        self._voice = self._usual = voice
        self._driver, self._wait = driver, wait
        self._lock = threading.Lock()
        self._folder = tempfile.TemporaryDirectory(prefix="benchvoice-")
        self._process: _Process | None = None
        try:
            self._started()
        except VoiceError:
            self._folder.cleanup()
            raise

    @property
    def process_id(self) -> int | None:
        """Id of the process at work, None when there is none."""
        return self._process.id if self._process else None

    def use(self, number: int) -> None:
        """Speak with another of the machine's voices from now on; 0 is the usual one."""
        voice = f"#{number}" if number else self._usual
        with self._lock:
            if voice != self._voice:
                self._voice = voice
                self._stop()

    def render(self, text: str, rate: int) -> Sound:
        """Return a text as sound, ``rate`` words a minute. A text without words is no sound."""
        return join(self.rendered(text, rate), RATE)

    def rendered(self, text: str, rate: int) -> Iterator[Sound]:
        """Return a text as sound, sentence by sentence: the first can play before the last is made."""
        parts = sentences(text)
        for place, part in enumerate(parts):
            lead = 0.0 if place else LEAD
            tail = TAIL if place == len(parts) - 1 else PAUSE_WORDS * 60 / rate
            yield self._sentence(part, rate).trimmed(lead, tail)

    def _sentence(self, sentence: str, rate: int) -> Sound:
        request = json.dumps({"text": sentence, "rate": rate})
        with self._lock:
            content = self._asked(request)
        return self._decoded(content).at_rate(RATE)

    def close(self) -> None:
        """End the engine's process."""
        with self._lock:
            self._stop()
            self._folder.cleanup()

    def _asked(self, request: str) -> bytes:
        """Ask; if the process is gone, ask a new one, once."""
        if FRESH_EACH_TIME:
            self._stop()
        try:
            return self._started().ask(request, self._wait)
        except _Gone:
            self._stop()
        try:
            return self._started().ask(request, self._wait)
        except _Gone as error:
            self._stop()
            raise VoiceError(f"The speech engine {error} twice in a row.", _TRY_AGAIN) from error

    def _started(self) -> _Process:
        """Return the process, after starting one if there is none."""
        if self._process is None:
            self._process = _Process(self._command())
            import numpy  # noqa: F401 (needed for the first sentence; loads while the engine starts)

            try:
                self._process.answer(START_WAIT)
            except (_Gone, VoiceError) as error:
                self._stop()
                raise _start_error(error) from error
        return self._process

    def _stop(self) -> None:
        if self._process is not None:
            self._process.end()
            self._process = None

    def _command(self) -> list[str]:
        script = Path(__file__).with_name("engine_process.py")
        # -P: our modules beside the script must not be found under short names like "sound"
        # 0.8: the process gives up first, so that it can still tell what was wrong
        own_wait = str(0.8 * self._wait)
        return [sys.executable, "-P", str(script), self._folder.name, self._driver, self._voice, own_wait]

    def _decoded(self, content: bytes) -> Sound:
        try:
            return decode(content)
        except ValueError as error:
            raise VoiceError(f"The speech engine gave something that is {error}.", _TRY_AGAIN) from error


def _start_error(error: Exception) -> VoiceError:
    """Return what to say when the engine did not start."""
    if isinstance(error, _Gone):
        return VoiceError(f"The speech engine {error} while starting.", _INSTALL)
    if isinstance(error, _Refused):
        return error
    assert isinstance(error, VoiceError)
    return VoiceError(f"No speech engine: {error.what}.", _INSTALL)


class _Process:
    """The engine's process, seen from outside: ask, with a time-out."""

    def __init__(self, command: list[str]) -> None:
        try:
            self._popen = subprocess.Popen(
                command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
            )
        except OSError as error:
            raise VoiceError(f"The speech engine could not be started: {error}.", _TRY_AGAIN) from error
        self._answers: queue.Queue[bytes | VoiceError | None] = queue.Queue()
        # A thread, because waiting for a pipe with a time-out is not to be had on Windows.
        self._listener = threading.Thread(target=self._listen, name="voice engine", daemon=True)
        self._listener.start()

    @property
    def id(self) -> int:
        return self._popen.pid

    def ask(self, request: str, wait: float) -> bytes:
        """Return the sound file for a request."""
        assert self._popen.stdin is not None
        try:
            self._popen.stdin.write(request.encode() + b"\n")
            self._popen.stdin.flush()
        except OSError as error:
            raise _Gone("died") from error
        return self.answer(wait)

    def answer(self, wait: float) -> bytes:
        """Wait for the next answer; ``_Gone`` when there will be none."""
        try:
            answer = self._answers.get(timeout=wait)
        except queue.Empty:
            raise _Gone("hung") from None
        if answer is None:
            raise _Gone("died")
        if isinstance(answer, VoiceError):
            raise answer
        return answer

    def end(self) -> None:
        """End the process without asking; it has nothing to lose."""
        self._popen.kill()
        self._popen.wait()
        self._listener.join()
        for pipe in (self._popen.stdin, self._popen.stdout):
            assert pipe is not None
            with contextlib.suppress(OSError):  # what was not yet written to it is lost with it
                pipe.close()

    def _listen(self) -> None:
        assert self._popen.stdout is not None
        with contextlib.suppress(ValueError):  # it died in the middle of an answer
            while head := self._popen.stdout.readline():
                self._answers.put(_read(json.loads(head), self._popen.stdout))
        self._answers.put(None)


def _read(head: dict[str, str | int], pipe: IO[bytes]) -> bytes | VoiceError:
    """Return one answer; ``ValueError`` when it breaks off."""
    if "error" in head:
        what = str(head["error"])
        if head["refused"]:
            return _Refused(f"The speech engine refused: {what}.")
        return VoiceError(f"The speech engine failed: {what}.", _TRY_AGAIN)
    length = int(head["bytes"])
    content = pipe.read(length)
    if len(content) < length:
        raise ValueError("broken off")
    return content

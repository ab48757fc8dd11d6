"""The text-to-speech engine, in a process of its own. Run as a script by ``engine.py``.

Why a process: the engine is C code that has been seen to hang and to take the whole program
down; it prints on standard output; on macOS it wants the main thread; and espeak-ng is
GPL-3.0, so it stays a separate program that is only talked to. Nothing of benchvoice is
imported here.

Requests come as lines of JSON on standard input: ``{"text", "rate"}``. Each is answered by a
line of JSON, ``{"bytes": n}`` followed by n bytes of a sound file, or ``{"error": "...",
"refused": true}``. The first answer is for the start. The process ends with its input, and
after an error that is no refusal: pyttsx3 does not recover from one.
"""

from __future__ import annotations

import ctypes
import json
import os
import signal
import sys
import threading
import time
from pathlib import Path
from typing import Any, BinaryIO

TRIES = 5
"""How often a sentence is asked for that comes back cut or empty."""
BARE_HEADER = 44
"""Bytes in a WAV file without any sound."""


class Refused(Exception):
    """The engine does not do this; the message says why."""


def main(folder: Path, driver: str, voice: str, wait: float) -> None:
    """Answer requests until the input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the parent, who closes us
    requests, answers = sys.stdin.buffer, _private_output()
    try:
        engine = Renderer(driver, voice, folder / "sentence.wav", wait)
    except Exception as error:
        return _answer_error(answers, error)
    _answer(answers, {"bytes": 0})
    for line in requests:
        if not _serve(engine, json.loads(line), answers):
            return None
    return None


def _private_output() -> BinaryIO:
    """Return standard output for our answers alone: what the engine prints goes nowhere."""
    sys.stdout.flush()
    ours = os.fdopen(os.dup(1), "wb")
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    return ours


def _serve(engine: Renderer, request: dict[str, Any], answers: BinaryIO) -> bool:
    """Answer one request; return whether the engine can be asked again."""
    try:
        content = engine.render(**request)
    except Exception as error:
        _answer_error(answers, error)
        return isinstance(error, Refused)
    _answer(answers, {"bytes": len(content)}, content)
    return True


def _answer_error(answers: BinaryIO, error: Exception) -> None:
    said = " ".join(str(error).split()) or type(error).__name__
    _answer(answers, {"error": said.rstrip("."), "refused": isinstance(error, Refused)})


def _answer(answers: BinaryIO, head: dict[str, Any], content: bytes = b"") -> None:
    answers.write(json.dumps(head).encode() + b"\n" + content)
    answers.flush()


class Renderer:
    """One pyttsx3 engine for the life of the process, used only to write files."""

    def __init__(self, driver: str, voice: str, target: Path, wait: float) -> None:
        _use_packaged_espeak(target.parent)
        import pyttsx3

        self._target, self._wait = target, wait
        self._finished = threading.Event()
        self._errors: list[Exception] = []
        self._engine = pyttsx3.init(driver or None)
        self._is_espeak = str(self._engine) == "espeak"
        self._completed: list[bool] = []  # one for each end: whether it came by itself
        self._engine.connect("finished-utterance", self._note_end)
        self._engine.connect("error", lambda exception, **_: self._errors.append(exception))
        self._engine.runAndWait()  # until it has run once, pyttsx3 puts off all that it is told
        if voice:
            self._take_voice(voice)

    def render(self, text: str, rate: int) -> bytes:
        """Return a sound file with the text spoken in it.

        Before each sentence pyttsx3's driver stops espeak if that is busy; a stop that comes too
        late empties the new sentence, or drops the new rate (measured: one call in eight). So
        espeak is let come to rest first, and a sentence that still comes back empty is asked for
        again.
        """
        for _ in range(TRIES):
            self._set_rate(rate)
            content = self._once(text)
            if len(content) > BARE_HEADER and all(self._completed):
                break
        return content

    def _set_rate(self, rate: int) -> None:
        """Set the rate where it differs: each setting is one more occasion for a late stop."""
        for _ in range(TRIES):
            if self._engine.getProperty("rate") == rate:
                return
            self._engine.setProperty("rate", rate)
            self._let_espeak_come_to_rest()

    def _once(self, text: str) -> bytes:
        self._finished.clear()
        self._completed.clear()
        self._errors.clear()
        self._target.unlink(missing_ok=True)
        self._engine.save_to_file(text, str(self._target))
        self._engine.runAndWait()
        self._wait_for_the_end()
        return self._target.read_bytes() if self._target.exists() else b""

    def _take_voice(self, voice: str) -> None:
        """Speak with a voice; pyttsx3 itself would accept any name and go on with the old one.

        ``#3`` is the third of the English ones; beyond the last it begins again with the usual one.
        """
        known = self._engine.getProperty("voices")
        english = [each.id for each in known if "en" in "".join(map(str, each.languages))[:3]]
        if voice.startswith("#"):
            usual = self._engine.getProperty("voice")
            # "shaw" reads another alphabet
            others = [each for each in english if "shaw" not in each and each.lower() != str(usual).lower()]
            place = int(voice[1:]) % (len(others) + 1)
            if not place:
                return
            voice = others[place - 1]
        if voice not in [each.id for each in known]:
            raise Refused(f"there is no voice '{voice}'; try one of {', '.join(english or ['the system'])}")
        self._engine.setProperty("voice", voice)

    def _note_end(self, completed: bool, **_: Any) -> None:
        self._completed.append(completed)
        self._finished.set()

    def _wait_for_the_end(self) -> None:
        """On espeak ``runAndWait`` may come back early; on the others it is all there is."""
        if self._is_espeak and not self._finished.wait(self._wait):
            raise TimeoutError("the engine did not come to an end")
        self._let_espeak_come_to_rest()
        if self._errors:
            raise self._errors[0]

    def _let_espeak_come_to_rest(self) -> None:
        """Wait until espeak's own thread is idle."""
        if not self._is_espeak:
            return
        from pyttsx3.drivers import _espeak

        end = time.monotonic() + self._wait
        while _espeak.IsPlaying():
            if time.monotonic() > end:
                raise TimeoutError("the engine did not come to rest")
            time.sleep(0.0005)


def _use_packaged_espeak(folder: Path) -> None:
    """On Linux, load the espeak-ng of the espeakng-loader package, so that none need be installed.

    pyttsx3 asks the system for ``libespeak-ng.so.1``; a library of that name that is already
    loaded is taken first. Without the package the system's own espeak-ng is used. macOS and
    Windows have speech of their own, which pyttsx3 takes.
    """
    if sys.platform != "linux":
        return
    try:
        import espeakng_loader
    except ImportError:
        return
    # espeak-ng dies of a data path longer than 160 signs; by this way round, it is always short
    data = folder / "espeak-ng-data"
    data.unlink(missing_ok=True)  # left by a process before this one
    data.symlink_to(espeakng_loader.get_data_path())
    os.environ.setdefault("ESPEAK_DATA_PATH", str(data))
    ctypes.CDLL(espeakng_loader.get_library_path())


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], sys.argv[3], float(sys.argv[4]))
    os._exit(0)  # the engine is known to fail while being taken down; there is nothing to save

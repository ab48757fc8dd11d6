"""A sound card made of software: PulseAudio with one sink whose sound can be listened to.

Starts a PulseAudio of its own in a folder of its own, touches no other, and stops what it
started. What is played to the sink comes out of the sink's monitor, which is also the default
microphone: so one card serves loudspeaker tests, microphone tests, and both at once.

Needs: pulseaudio, pulseaudio-utils, libportaudio2, libasound2-plugins (Debian names).
"""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy
import pytest

RATE = 22050
SINK = "bench"
MISSING = "no PulseAudio here (packages pulseaudio, pulseaudio-utils, libportaudio2, libasound2-plugins)"
_SERVER = ("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no")
_LISTEN = ("parec", "-d", f"{SINK}.monitor", "--raw", "--format=s16le", f"--rate={RATE}", "--channels=1")
_LISTEN += ("--latency-msec=10",)
_PROGRAMS = ("pulseaudio", "pactl", "parec", "pacat")


def present() -> bool:
    """Return whether this machine can have such a card."""
    try:
        import sounddevice  # noqa: F401
    except OSError:
        return False
    plugin = any(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so"))
    return plugin and all(shutil.which(program) for program in _PROGRAMS)


needs_soundcard = pytest.mark.skipif(not present(), reason=MISSING)


@dataclass
class Recording:
    """What came out of the sink, growing while it is recorded."""

    pieces: list[tuple[float, bytes]] = field(default_factory=list)
    """(arrival, samples); arrival by ``time.monotonic``."""

    @property
    def samples(self) -> numpy.ndarray:
        """All samples so far, as floats."""
        whole = b"".join(piece for _, piece in self.pieces)
        return numpy.frombuffer(whole[: len(whole) // 2 * 2], dtype="<i2").astype("f8")

    def last_loud(self, threshold: float = 100) -> float:
        """Return when the last piece with sound in it came in."""
        return max(arrived for arrived, piece in self.pieces if _peak(piece) > threshold)

    def first_loud(self, threshold: float = 100) -> float:
        """Return when the first piece with sound in it came in."""
        return min(arrived for arrived, piece in self.pieces if _peak(piece) > threshold)


def _peak(piece: bytes) -> int:
    samples = numpy.frombuffer(piece[: len(piece) // 2 * 2], dtype="<i2").astype("i4")
    return int(abs(samples).max()) if len(samples) else 0


class SoundCard:
    """A running PulseAudio with a sink named ``bench``."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.environment = {"HOME": str(folder), "XDG_RUNTIME_DIR": str(folder / "run")}
        for variable in ("PULSE_SERVER", "PULSE_RUNTIME_PATH", "DBUS_SESSION_BUS_ADDRESS"):
            self.environment[variable] = ""
        (folder / "run").mkdir(mode=0o700)
        (folder / ".asoundrc").write_text("pcm.!default { type pulse }\nctl.!default { type pulse }\n")
        self._server: subprocess.Popen[bytes] | None = None
        # An unwatched null sink works in steps of two seconds, as no real card does.
        self._waker: subprocess.Popen[bytes] | None = None

    @property
    def _all_environment(self) -> dict[str, str]:
        merged = os.environ | self.environment
        return {name: value for name, value in merged.items() if value}

    def start(self) -> None:
        """Start the server and wait until it answers."""
        sink = f"module-null-sink sink_name={SINK} rate={RATE} channels=1"
        self._server = subprocess.Popen(
            [*_SERVER, "-L", sink, "-L", "module-native-protocol-unix"],
            env=self._all_environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for _ in range(100):
            if self._control("set-default-source", f"{SINK}.monitor").returncode == 0:
                self._waker = subprocess.Popen(
                    _LISTEN, env=self._all_environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
                )
                return
            time.sleep(0.05)
        raise RuntimeError("PulseAudio did not start")

    def stop(self) -> None:
        """Stop the server: as when the card is pulled out."""
        for process in (self._server, self._waker):
            if process is not None:
                process.kill()
                process.wait()
        self._server = self._waker = None

    def _control(self, *words: str) -> subprocess.CompletedProcess[bytes]:
        return subprocess.run(
            ["pactl", *words], env=self._all_environment, capture_output=True, timeout=10, check=False
        )

    @contextlib.contextmanager
    def recording(self) -> Iterator[Recording]:
        """Record what comes out of the sink while inside."""
        process = subprocess.Popen(_LISTEN, env=self._all_environment, stdout=subprocess.PIPE)
        recording = Recording()
        listener = threading.Thread(target=_listen, args=(process, recording))
        listener.start()
        try:
            while not recording.pieces:
                time.sleep(0.005)
            yield recording
            time.sleep(0.3)  # what is on its way shall come in
        finally:
            process.terminate()
            process.wait()
            listener.join()
            assert process.stdout is not None
            process.stdout.close()

    def play(self, samples: numpy.ndarray, rate: int = RATE) -> None:
        """Play samples to the sink, where the microphone hears them; come back at their end."""
        command = ["pacat", "--playback", "-d", SINK, "--raw", "--format=s16le", f"--rate={rate}"]
        subprocess.run(
            [*command, "--channels=1", "--latency-msec=50"],
            env=self._all_environment,
            input=samples.astype("<i2").tobytes(),
            timeout=60 + len(samples) / rate,
            check=True,
        )


def _listen(process: subprocess.Popen[bytes], recording: Recording) -> None:
    assert process.stdout is not None
    while piece := os.read(process.stdout.fileno(), 65536):
        recording.pieces.append((time.monotonic(), piece))


@contextlib.contextmanager
def running() -> Iterator[SoundCard]:
    """Run a card that is the default of this process's PortAudio while inside."""
    import sounddevice

    with TemporaryDirectory(prefix="soundcard-") as folder:
        card = SoundCard(Path(folder))
        before = {name: os.environ.get(name) for name in card.environment}
        card.start()
        try:
            _set(card.environment)
            _look_again(sounddevice)
            yield card
        finally:
            _set(before)
            _look_again(sounddevice)
            card.stop()


def _set(environment: dict[str, str] | dict[str, str | None]) -> None:
    for name, value in environment.items():
        os.environ.pop(name, None)
        if value:
            os.environ[name] = value


def _look_again(sounddevice: object) -> None:
    """Let PortAudio look for devices again; it looks only once by itself."""
    sounddevice._terminate()  # type: ignore[attr-defined]
    sounddevice._initialize()  # type: ignore[attr-defined]

"""A sound card that refuses: JACK's dummy driver runs at one rate and takes no other.

Real refusals, through ALSA's plug-in for JACK and PortAudio, in processes of their own. A card that another
program holds ("device in use") is not to be had without a kernel's sound driver, and is not tested.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.edges.soundcard import present
from tests.edges.talks import ENVIRONMENT, Talk

PLUGIN = any(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_jack.so"))
pytestmark = [
    pytest.mark.sound,
    pytest.mark.skipif(
        not (present() and PLUGIN and shutil.which("jackd")),
        reason="no JACK here (packages jackd2, libasound2-plugins, libportaudio2)",
    ),
]


@dataclass
class Jack:
    """A JACK server without a sound card."""

    name: str
    process: subprocess.Popen[bytes] | None = None

    def start(self, rate: int) -> None:
        """Run at a rate, and wait until it answers."""
        command = ["jackd", "--no-realtime", "-n", self.name, "-d", "dummy", "-r", str(rate), "-p", "1024"]
        self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        for _ in range(50):
            check = subprocess.run(["jack_wait", "-s", self.name, "-c"], capture_output=True, check=False)
            if check.stdout.strip() == b"running":
                return
            time.sleep(0.1)
        pytest.skip("a JACK server does not start on this machine")

    def stop(self) -> None:
        """Stop it."""
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process = None


@pytest.fixture
def jack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Jack]:
    """Run a server of one's own, which is the only sound card of what is started meanwhile."""
    server = Jack(f"bench-{os.getpid()}")
    settings = {"HOME": str(tmp_path), "JACK_DEFAULT_SERVER": server.name, "PULSE_SERVER": "none"}
    for name, value in (settings | {"JACK_NO_AUDIO_RESERVATION": "1", "JACK_NO_START_SERVER": "1"}).items():
        monkeypatch.setenv(name, value)
    server.start(44100)
    yield server
    server.stop()


def test_a_card_with_a_rate_of_its_own(jack: Jack, tmp_path: Path) -> None:
    """16 and 22.05 kHz are refused: the bench listens and speaks at the card's own 44.1 kHz."""
    assert jack.process is not None
    with Talk(tmp_path / "data") as talk:
        talk.wait_for("state: listening", 40)
        talk.turn("new bucket called tide green", "New bucket, tide green")
        assert [
            line for line in talk.text() if "microphone" in line.lower() or "loudspeaker" in line.lower()
        ] == []
        assert talk.close() == 0


OPEN = """
import sys
from benchvoice.ears.microphone import Microphone, input_devices
from benchvoice.errors import SetupError
from benchvoice.voice.loudspeaker import Loudspeaker

def tried(open_device):
    try:
        open_device("jack").close()
        return "opened"
    except SetupError as error:
        return str(error)

print([one.name for one in input_devices()], flush=True)
for line in sys.stdin:
    print(tried({"microphone": Microphone, "loudspeaker": Loudspeaker}[line.strip()]), flush=True)
"""


def test_a_rate_that_is_refused(jack: Jack) -> None:
    """PortAudio knows the card as one of 44.1 kHz, and it has come back at 48: that is one clear sentence."""
    with subprocess.Popen(
        [sys.executable, "-c", OPEN],
        env=os.environ | ENVIRONMENT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as opener:
        assert opener.stdin is not None
        assert opener.stdout is not None

        def answer(device: str) -> str:
            print(device, file=opener.stdin, flush=True)
            return opener.stdout.readline().strip()  # type: ignore[union-attr]

        assert "jack" in opener.stdout.readline()
        assert answer("microphone") == "opened"
        jack.stop()
        assert answer("microphone").startswith(
            "The microphone cannot be opened: it may have been unplugged. "
        )
        jack.start(48000)
        assert answer("microphone").startswith(
            "The microphone does not give sound in a form that can be used. "
        )
        assert answer("loudspeaker").startswith("The loudspeaker refused every setting: ")
        opener.stdin.close()
        opener.wait(10)

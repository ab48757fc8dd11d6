"""The microphone: a real PortAudio stream from a software sound card, and what goes wrong."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchvoice.ears.engines import BenchEngine
from benchvoice.ears.microphone import Microphone, input_devices
from benchvoice.ears.model_folder import CHECKOUT, OURS, check_model
from benchvoice.ears.recogniser import SpeechEars
from benchvoice.ears.workshop import Workshop
from benchvoice.errors import MicrophoneError
from benchvoice.messages import Words
from tests.edges.nets import FIXTURES, network_of
from tests.edges.soundcard import SoundCard, needs_soundcard, running

pytestmark = [pytest.mark.sound, needs_soundcard]
LITRES = network_of("ten litres", "two litres", "one hundred grams")


@pytest.fixture(scope="module")
def card() -> Iterator[SoundCard]:
    """One sound card for most tests."""
    with running() as card:
        yield card


@pytest.fixture
def microphone(card: SoundCard) -> Iterator[Microphone]:
    """Open the default microphone: the card's own monitor."""
    assert card
    with contextlib.closing(Microphone()) as microphone:
        yield microphone


def _clip(name: str) -> np.ndarray:
    samples, _ = soundfile.read(FIXTURES / f"{name}.wav", dtype="int16")
    room = np.random.default_rng(1).normal(0, 12, len(samples) + 3 * 16000)
    room[16000 : 16000 + len(samples)] += samples
    return room


def _playing(card: SoundCard, name: str) -> threading.Thread:
    player = threading.Thread(target=card.play, args=(_clip(name), 16000))
    player.start()
    return player


def _ears(microphone: Microphone, folder: Path) -> SpeechEars:
    return SpeechEars(BenchEngine(Workshop(check_model(CHECKOUT / OURS), folder)), microphone)


def test_hears_what_is_played(card: SoundCard, microphone: Microphone, tmp_path: Path) -> None:
    """What is played in the room comes out as words; little is lost even on a busy machine."""
    ears = _ears(microphone, tmp_path)
    ears.hear(LITRES, 0.2)
    player = _playing(card, "demo/07")

    heard = ears.hear(LITRES, 8.0)
    player.join()

    assert isinstance(heard, Words)
    assert heard.text == "ten litres"
    assert microphone.lost < 5


def test_deaf_while_the_machine_speaks(card: SoundCard, microphone: Microphone, tmp_path: Path) -> None:
    """What is played while the ears are deaf is not heard afterwards; time has gone on."""
    ears = _ears(microphone, tmp_path)
    ears.hear(LITRES, 0.2)
    before = microphone.position

    with ears.deaf():
        _playing(card, "demo/07").join()

    assert ears.hear(LITRES, 1.0) is None
    assert microphone.position - before > 3.0


def test_nobody_reads(card: SoundCard) -> None:
    """Sound that nobody reads in time is dropped and counted; memory does not grow."""
    assert card
    with contextlib.closing(Microphone(kept=0.3)) as microphone:
        time.sleep(1.5)

        assert microphone.lost > 5


def test_muted(microphone: Microphone) -> None:
    """Nothing but zeros for five seconds means muted."""
    while microphone.position < 6.0 and not microphone.muted:
        microphone.read()

    assert microphone.muted
    assert 4.9 < microphone.position < 6.0


def test_named_device(card: SoundCard) -> None:
    """A device can be chosen by its number or a part of its name."""
    assert card
    one = next(device for device in input_devices() if "pulse" in device.name)

    for name in (str(one.number), "pulse"):
        with contextlib.closing(Microphone(name)) as microphone:
            assert microphone.read() is not None


def test_no_such_device(card: SoundCard) -> None:
    """A name that fits none is refused with those that there are."""
    assert card
    with pytest.raises(MicrophoneError, match="no single microphone") as caught:
        Microphone("the one in the attic")

    assert "pulse" in caught.value.next_step


_UNPLUG = """
import os, sys, time
sys.path.insert(0, sys.argv[1])
from benchvoice.ears.microphone import Microphone
from benchvoice.errors import MicrophoneError
from tests.edges.soundcard import running
with running() as own:
    microphone = Microphone()
    microphone.read()
    own.stop()
    start = time.monotonic()
    try:
        while time.monotonic() - start < 20:
            microphone.read()
    except MicrophoneError as error:
        print(error)
    told = time.monotonic()
    microphone.close()
    print(told - start < 5, time.monotonic() - told < 3, flush=True)
    os._exit(0)  # PortAudio itself may never come back from a card that has gone
"""


def test_unplugged() -> None:
    """A microphone that goes away in the middle is told within a few seconds, and can be closed."""
    root = str(Path(__file__).resolve().parents[2])
    run = subprocess.run(
        [sys.executable, "-c", _UNPLUG, root], capture_output=True, text=True, timeout=60, check=True
    )

    told, times = run.stdout.splitlines()
    assert "may be unplugged" in told
    assert times == "True True"


_OPEN = """
from benchvoice.ears.microphone import Microphone
from benchvoice.errors import MicrophoneError
try: Microphone()
except MicrophoneError as error: print(error)
"""


def _apart(code: str, **environment: str) -> str:
    run = subprocess.run(
        [sys.executable, "-c", code],
        env=os.environ | environment,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    return run.stdout


def test_no_sound_library(tmp_path: Path) -> None:
    """Without PortAudio there is one clear sentence: its Python module fails as it does then."""
    (tmp_path / "sounddevice.py").write_text('raise OSError("PortAudio library not found")\n')

    said = _apart(f"import sys; sys.path.insert(0, {str(tmp_path)!r})\n{_OPEN}")

    assert said == "The sound library PortAudio is missing. Install libportaudio2, or carry on typing.\n"


@pytest.mark.skipif(Path("/dev/snd").exists(), reason="this machine has a sound card of its own")
def test_no_microphone_at_all(tmp_path: Path) -> None:
    """Without any sound device there is one clear sentence."""
    said = _apart(_OPEN, HOME=str(tmp_path), PULSE_SERVER="none")

    assert said == "No microphone was found. Plug one in, or carry on typing.\n"

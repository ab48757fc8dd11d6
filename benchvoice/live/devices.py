"""Looking for devices again: PortAudio looks once, at its start, and never sees what is plugged in later."""

from __future__ import annotations

import threading
from typing import Any

from benchvoice.ears.microphone import LETTING_GO


def look_again() -> bool:
    """Let PortAudio look again; every stream must have been closed before. Return whether it did.

    It does not while a stream of a device that went away hangs in being closed: that would take us with it.
    sounddevice has no public way to do this (seen in its source, 0.5).
    """
    if any(thread.name == LETTING_GO for thread in threading.enumerate()):
        return False
    try:
        import sounddevice
    except OSError:  # there is no PortAudio at all
        return False
    portaudio: Any = sounddevice
    portaudio._terminate()
    portaudio._initialize()
    return True

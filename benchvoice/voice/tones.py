"""Short tones: one fixed pitch, told apart by rhythm alone.

ISO 24500:2010 (auditory signals for consumer products; abstract seen, the text with its
patterns not) deals with beeps of fixed frequency only and leaves out melodies, sweeps and
alarms; the level belongs to ISO 24501:2010 (abstract seen). So there is one pitch for all, in
the middle of the range that ageing ears keep longest (from memory: stay well below 2.5 kHz),
and the rhythm says which tone it is. The rhythms are our own choice.

A tone is never the only sign: whatever it tells is also printed or said.
"""

from __future__ import annotations

from functools import cache

from benchvoice.voice.sound import Sound, join

PITCH = 1000
"""Pitch of every tone [Hz]."""
LOUDNESS = 0.3
"""Peak, as a part of full scale: about as strong as the vowels of the speech beside it."""
EDGE = 0.005
"""Length of the raised-cosine edge at each end of a beep [s]; without it a beep clicks."""

LISTENING = "listening"
HEARD = "heard"
NOT_UNDERSTOOD = "not understood"
TIMER_DUE = "timer due"
MICROPHONE_LOST = "microphone lost"
SUSPENDED = "suspended"

RHYTHMS: dict[str, tuple[float, ...]] = {
    LISTENING: (0.06,),
    HEARD: (0.035, 0.04, 0.035),
    NOT_UNDERSTOOD: (0.2,),
    TIMER_DUE: (0.035, 0.04, 0.035, 0.04, 0.035),
    MICROPHONE_LOST: (0.035, 0.04, 0.12),
    SUSPENDED: (0.12, 0.04, 0.035),
}
"""Seconds of beep, gap, beep, gap, …"""
NAMES = tuple(RHYTHMS)


@cache
def tone(name: str, rate: int) -> Sound:
    """Return a tone by name; a name that is not in ``NAMES`` is a defect (KeyError).

    >>> tone(HEARD, 22050).seconds < 0.2
    True
    """
    parts = (
        Sound.silence(seconds, rate) if place % 2 else beep(seconds, rate)
        for place, seconds in enumerate(RHYTHMS[name])
    )
    return join(parts, rate)


def beep(seconds: float, rate: int) -> Sound:
    """Return one beep with soft edges.

    >>> beep(0.06, 8000).count
    480
    """
    import numpy

    place = numpy.arange(round(seconds * rate))
    from_edge = numpy.minimum(place, place[::-1]) / (EDGE * rate)
    envelope = 0.5 - 0.5 * numpy.cos(numpy.pi * numpy.minimum(from_edge, 1.0))
    wave = numpy.sin(2 * numpy.pi * PITCH * place / rate)
    return Sound.of((LOUDNESS * 32767 * envelope * wave).astype("<i2"), rate)

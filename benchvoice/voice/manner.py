"""How sentences are spoken: how fast, how loud, or not at all."""

from __future__ import annotations

from dataclasses import dataclass, replace

from benchvoice.messages import Sentence, SetVoice

SLOWEST, FASTEST = 120, 400
"""Words per minute that a speaker takes; anything beyond is brought back to the nearer end."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How sentences are spoken.

    >>> Manner().changed(SetVoice(rate=1000, volume=0.5))
    Manner(rate=400, volume=0.5, muted=False, voice=0)
    """

    rate: int = 155
    """Words per minute. Listeners with low vision are not all fast listeners: begin slow."""
    volume: float = 1.0
    """0 is silent, 1 is as loud as the engine; the samples are multiplied by it."""
    muted: bool = False
    """True: no speech but cautions. Tones still sound: they tell what the voice no longer does."""

    voice: int = 0
    """0 is the usual voice, 1 the first of the machine's others, and so on round."""

    def changed(self, change: SetVoice) -> Manner:
        """Return the manner after a change; what the change leaves open stays."""
        wanted = replace(
            self,
            rate=self.rate if change.rate is None else change.rate,
            volume=self.volume if change.volume is None else change.volume,
            muted=self.muted if change.muted is None else change.muted,
            voice=self.voice if change.voice is None else change.voice,
        )
        return replace(
            wanted,
            rate=min(FASTEST, max(SLOWEST, wanted.rate)),
            volume=min(1.0, max(0.0, wanted.volume)),
        )

    def speaks(self, sentence: Sentence) -> bool:
        """Whether a sentence is to be heard: a caution always is."""
        return sentence.safety or not self.muted

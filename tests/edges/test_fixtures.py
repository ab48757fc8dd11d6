"""The recordings in ``audio_fixtures``: what of them is heard, and that no wrong number passes in silence."""

from __future__ import annotations

import functools
from pathlib import Path

import jiwer
import pytest

from benchvoice import building
from benchvoice.dialogue.said import SURE_ENOUGH
from benchvoice.meaning import phrases
from benchvoice.messages import Amount, Closed, Expectation, Meaning, Words

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
VOICES = sorted(
    folder.name
    for folder in FIXTURES.iterdir()
    if folder.is_dir() and folder.name not in ("demo", "sessions")
)
EXPECTED = Expectation(("weight", "gravity", "volume", "yes", "unknown"))
WORST_WORD_ERROR_RATE = 0.04
"""Over all voices together; 0.013 was measured."""


@functools.cache
def heard(voice: str) -> tuple[tuple[str, Words], ...]:
    """Return what was said and what was heard of it, through the real recogniser."""
    found = []
    for file in sorted((FIXTURES / voice).glob("*.wav")):
        with building.listening([file], None) as ears:
            words = ears.hear(phrases.network(EXPECTED), None)
        found.append((file.with_suffix(".txt").read_text("utf-8").strip(), _words(words)))
    return tuple(found)


def _words(words: Words | Closed | None) -> Words:
    return words if isinstance(words, Words) else Words("")


def meant(words: Words) -> Meaning:
    """Return what the bench would take it for."""
    return phrases.understand(words, EXPECTED)


@pytest.mark.parametrize("voice", VOICES)
def test_no_wrong_number_passes_in_silence(voice: str) -> None:
    """What is heard is what was said, or it is asked again: not understood, or not sure."""
    for said, words in heard(voice):
        truth, got = meant(Words(said, typed=True)), meant(words)
        asked_again = got.kind in ("unclear", "silence", "ambiguous") or (words.confidence or 0) < SURE_ENOUGH
        assert asked_again or (got.kind, _value(got)) == (truth.kind, _value(truth)), f"{said!r} as {words}"


def _value(meaning: Meaning) -> object:
    amount: Amount | None = meaning.amount() if meaning.has_amount() else None
    return None if amount is None else (amount.value, amount.unit)


def test_most_is_heard_right() -> None:
    """The word error rate over all voices stays below the bound."""
    pairs = [
        (said, words.text.replace("[unk]", "").strip()) for voice in VOICES for said, words in heard(voice)
    ]
    rate = jiwer.wer([said for said, _ in pairs], [text for _, text in pairs])
    print(f"word error rate over {len(pairs)} recordings in {len(VOICES)} voices: {rate:.3f}")
    assert rate <= WORST_WORD_ERROR_RATE


def test_the_voices_trained_nothing() -> None:
    """At least four voices, each kept apart from training (models/recipe/voices.py)."""
    assert len(VOICES) >= 4
    kept = (FIXTURES.parent / "models" / "recipe" / "voices.py").read_text("utf-8")
    for name in ("pico:en-GB", "pico:en-US", "flite:awb", "festival:ked", "Annie"):
        assert name in kept.split("KEPT")[1] + kept

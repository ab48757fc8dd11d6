"""espeak-ng says what we send: whole words, never the name of a letter.

Asked of espeak-ng's own text-to-phoneme function, in a process of its own. Expected
pronunciations are the International Phonetic Alphabet of general dictionaries (from memory),
loosely compared: no stress, no length, vowels that British and American speech share.
"""

# ruff: noqa: RUF001 (phonetic signs look like others)
import json
import subprocess
import sys

import pytest

ASK = """
import ctypes, json, os, sys
import espeakng_loader
library = ctypes.CDLL(espeakng_loader.get_library_path())
library.espeak_TextToPhonemes.restype = ctypes.c_char_p
library.espeak_Initialize(1, 0, espeakng_loader.get_data_path().encode(), 0)
library.espeak_SetVoiceByName(b"gmw/en")
said = {}
for text in json.load(sys.stdin):
    rest, parts = ctypes.c_char_p(text.encode()), []
    while rest.value is not None:
        parts.append(library.espeak_TextToPhonemes(ctypes.byref(rest), 1, 2).decode())
    said[text] = " ".join(parts)
sys.stdout.write(json.dumps(said))
sys.stdout.flush()
os._exit(0)
"""


def phonemes(*texts: str) -> list[str]:
    """Return how each text is said, without marks of stress and length."""
    done = subprocess.run(
        [sys.executable, "-c", ASK],
        input=json.dumps(texts),
        capture_output=True,
        text=True,
        timeout=30,
        check=True,
    )
    said = json.loads(done.stdout)
    return ["".join(sign for sign in said[text] if sign not in "ˈˌː") for text in texts]


UNITS = {
    "grams": "ɡɹamz",
    "kilograms": "kɪləɡɹamz",
    "litres": "litəz",
    "millilitres": "mɪlɪlitəz",
    "seconds": "sɛkəndz",
    "minutes": "mɪnɪts",
    "drops": "dɹɒps",
    "per cent": "pə sɛnt",
    "millimetres": "mɪlɪmitəz",
}


def test_units_are_said_as_words() -> None:
    """A number of a unit ends in the unit's word."""
    said = phonemes(*(f"one hundred and forty two {unit}" for unit in UNITS))
    for each, expected in zip(said, UNITS.values(), strict=True):
        assert each.replace(" ", "").endswith(expected.replace(" ", "")), each


@pytest.mark.parametrize(("short", "letter"), [("g", "dʒi"), ("s", "ɛs"), ("l", "ɛl")])
def test_why_units_are_sent_as_words(short: str, letter: str) -> None:
    """An abbreviated unit is spelled out by its letter: that is why none is ever sent."""
    assert phonemes(f"142 {short}")[0].endswith(letter)


def test_digits_apart_and_together() -> None:
    """Commas change the pauses and not the words."""
    flat, paced = phonemes("one four two point five grams", "one, four, two, point, five, grams")
    assert paced.split() == flat.split()


def test_spelled_numbers_are_said_as_espeak_reads_figures() -> None:
    """Words for a number sound as espeak-ng itself reads the figures: an independent reading."""
    pairs = {
        "one hundred and forty two": "142",
        "three hundred and twenty": "320",
        "one point four five": "1.45",
        "zero point seven five": "0.75",
        "fifteen": "15",
        "ninety": "90",
    }
    said = phonemes(*pairs, *pairs.values())
    for words, figures in zip(said[: len(pairs)], said[len(pairs) :], strict=True):
        # "and" is spoken in full where it is a word of the text
        assert words.replace("and", "ən").replace(" ", "") == figures.replace(" ", "")

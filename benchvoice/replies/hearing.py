"""What was written for the eye, spelled for the ear."""

from __future__ import annotations

import re
from decimal import Decimal

from benchvoice.meaning.spelling import say

_FIGURES = re.compile(r"\d[\d,]*(?:\.\d+)?")
_SIGNS = {
    r"\bg\b": "grams", r"\bkg\b": "kilograms", r"\bmL\b": "millilitres", r"\bL\b": "litres",
    r"\bcm\b": "centimetres", r"(?<!')\bs\b": "seconds", "%": " percent", "°C": " degrees", "_": " ",
}  # fmt: skip


def for_the_ear(text: str) -> str:
    """Spell the numbers and units of a text that was written for the eye."""
    text = _FIGURES.sub(lambda match: f" {_figures(match[0])} ", text)
    for sign, word in _SIGNS.items():
        text = re.sub(sign, word, text)
    return tidy(text)


def _figures(figures: str) -> str:
    """Say a number; one that is too long for words, as in the name of a file, stays as it is."""
    try:
        return say(Decimal(figures.replace(",", "").rstrip(".")))
    except ValueError:
        return figures


def tidy(text: str) -> str:
    """Close up blanks and begin with a capital letter."""
    text = re.sub(r"\s+([,.;:?])", r"\1", re.sub(r"\s+", " ", text)).strip()
    return text[:1].upper() + text[1:]

"""Sentences: every key has its words, numbers are spelled for the ear, cautions are marked."""

from __future__ import annotations

import ast
import dataclasses
import importlib
import pkgutil
import re
from decimal import Decimal
from pathlib import Path

import pytest

import benchvoice
from benchvoice import calculator, replies
from benchvoice.calculator.limits import Refusal
from benchvoice.messages import Amount, Reply

DIALOGUE = Path(benchvoice.__file__).parent / "dialogue"


def keys_said() -> set[str]:
    """Return every key that the dialogue's source says by name."""
    found = set()
    for file in DIALOGUE.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            called = node.func if isinstance(node, ast.Call) else None
            said = isinstance(called, ast.Attribute) and called.attr == "say"
            if said and isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                found.add(node.args[0].value)
    return found


@pytest.mark.parametrize("key", sorted(keys_said()))
def test_every_key_has_words(key: str) -> None:
    """What the dialogue says by name has a full and a terse wording, or variants with a chooser."""
    words = replies.wordings()
    variants = [name for name in words if name == key or name.startswith(f"{key}.")]
    assert variants
    assert key in words or key in replies.CHOOSERS
    for name in variants:
        assert set(words[name]) <= {"full", "terse", "big"}
        assert "full" in words[name]


@pytest.mark.parametrize(
    ("reply", "spoken", "printed"),
    [
        (Reply("water_added", {"mass_g": 460.0}), "Four hundred and sixty grams of water", "460 g of water"),
        (Reply("water_added", {"mass_g": 12.5}), "Twelve point five grams of water", "12.5 g of water"),
        (
            Reply("water_added", {"mass_g": 12340}),
            "Twelve point three kilograms of water",
            "12.3 kg of water",
        ),
        (Reply("reading", {"amount": Amount(Decimal(142)), "shown": 1.42}), "One, four, two.", "142."),
        (
            Reply("in_range", {"low": 1.4, "high": 1.45}),
            "That is in range, one point four zero",
            "That is in range, 1.40",
        ),
        (
            Reply("in_range", {"low": 1.425, "high": 1.45}),
            "That is in range, one point four two five",
            "That is in range, 1.425",
        ),
    ],
)
def test_numbers_for_the_ear_and_the_eye(reply: Reply, spoken: str, printed: str) -> None:
    """The ear gets words and pauses, the eye digits and unit signs."""
    sentence = replies.sentence(reply)
    assert sentence.spoken.startswith(spoken)
    assert sentence.printed.startswith(printed)


@pytest.mark.parametrize("name", sorted(replies.wordings()))
def test_no_digit_and_no_unit_sign_is_ever_spoken_raw(name: str) -> None:
    """The wordings themselves hold no digits, so nothing is left to the voice engine to read."""
    for text in replies.wordings()[name].values():
        assert not any(sign.isdigit() for sign in text)


NUMBERS = "gravity|number|digits|amount|weight|change|count|fine|share|whole|seconds|age|volume|length|span"


@pytest.mark.parametrize("name", sorted(replies.wordings()))
def test_no_number_follows_another_without_a_pause(name: str) -> None:
    """To the ear "1.42 three weeks ago" is 1.423: between two numbers stands a word or a comma."""
    for text in replies.wordings()[name].values():
        assert not re.search(rf":({NUMBERS})\}}\s*\{{\w+:({NUMBERS})\b", text)


def test_cautions_are_marked() -> None:
    """A caution is marked, so that nothing cuts it short, and sends to the safety data sheet."""
    for name in replies.wordings():
        if name.startswith("safety_"):
            assert replies.sentence(Reply(name, {"material": "quartz"})).safety
            assert all("safety data sheet" in text for text in replies.wordings()[name].values())


@pytest.mark.parametrize(
    ("text", "spoken"),
    [
        ("Say 5 g or 1,200 g.", "Say five grams or one thousand two hundred grams."),
        ("between 1 and 2.6", "Between one and two point six"),
        ("10 L at 20 °C", "Ten litres at twenty degrees"),
    ],
)
def test_what_was_written_for_the_eye_can_be_spoken(text: str, spoken: str) -> None:
    """The calculator's own sentences are spelled when they are spoken."""
    assert replies.for_the_ear(text) == spoken


def refusals(kind: type[Refusal] = Refusal) -> list[type[Refusal]]:
    """Return every refusal that the calculator knows, found by walking the tree."""
    for module in pkgutil.iter_modules(calculator.__path__, "benchvoice.calculator."):
        importlib.import_module(module.name)
    return [child for each in kind.__subclasses__() for child in (each, *refusals(each))]


def made(kind: type[Refusal]) -> Refusal:
    """Return a refusal with facts of the right types."""
    samples = {"str": "a thing", "int": 3, "float": 1.5, "float | None": None, "tuple[str, ...]": ("a", "b")}
    return kind(*(samples[str(field.type)] for field in dataclasses.fields(kind)))


@pytest.mark.parametrize("kind", refusals(), ids=lambda kind: kind.__name__)
def test_every_refusal_can_be_said(kind: type[Refusal]) -> None:
    """Each refusal makes one sentence for the ear, without digits, and one for the eye."""
    error = made(kind)
    sentence = replies.sentence(Reply("refused", {"error": error, **error.facts}))
    assert sentence.spoken.endswith((".", "?"))
    assert not any(sign.isdigit() for sign in sentence.spoken)
    assert sentence.printed


def test_no_reply_is_too_long_to_be_held_in_mind() -> None:
    """But for cautions, and what is printed only, no wording has more than 26 words (our choice)."""
    for name, texts in replies.wordings().items():
        if not name.startswith(("safety_", "picture_")):
            words = re.sub(r"\{[^}]*\}", "fact", texts["full"]).split()
            assert len(words) <= 26, name

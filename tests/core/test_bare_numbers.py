"""What a number without a unit means at each step: the whole list, so that no step takes one by surprise."""

from __future__ import annotations

import pytest

from benchvoice.dialogue.advance import TABLE
from benchvoice.dialogue.scene import State
from benchvoice.meaning import phrases
from benchvoice.messages import Expectation, Words

GRAMS, ASKED = ("weight", "grams"), "asked: of what?"
MEANT = {
    # the scale is what is asked about
    **dict.fromkeys(("CUP_EMPTY", "CUP_FILL", "CUP_AGAIN", "WEIGH", "RIGHT", "BATCH_WEIGH"), GRAMS),
    **dict.fromkeys(("BATCH_ODD", "BATCH_OVER", "ASK_DRY_WEIGHT", "DOSE_DROPS", "SOLUTION_SIZE"), GRAMS),
    # what went in or came off is advised in grams; far less than that may be litres, and is asked: of what?
    **dict.fromkeys(("ADD_WATER", "TAKE_OFF", "ADD_DRY", "BATCH_WATER"), GRAMS),
    # grams of a tile and seconds of its dip are told apart by what is known, or asked
    "ASK_DIP": ("weight", ASKED), "DRYING": ("weight", "seconds it was in, or grams once it was weighed"),
    # litres and kilos are a world apart
    "ASK_CONTENTS": ("volume", ASKED), "DOSE_CONTENTS": ("volume", ASKED), "BATCH_SIZE": ("weight", ASKED),
    # the question names one unit
    "ASK_WIDTH": ("length", "centimetres"), "TILE_DEEP": ("length", "centimetres"),
    "TILE_WIDE": ("length", "centimetres"), "TILE_THICK": ("length", "millimetres"),
    "ASK_COAT": ("length", "millimetres"), "ASK_WANTED": ("length", "millimetres"),
    "FLOW_READY": ("duration", "seconds"), "FLOW_STOOD": ("duration", ASKED),
    "FLOW_WARMTH": ("temperature", "degrees"), "DOSE_FLOW": ("duration", "seconds"),
    "DOSE_GIVE": ("count", "drops"), "DOSE_BOTTLE": ("percent", "percent"),
    "RECIPE_AMOUNT": ("percent", "parts of a hundred"),
    # no unit at all
    "ASK_TARGET": ("gravity", "gravity"), "BATCH_TARGET": ("gravity", "gravity"),
    "RECIPE_DENSITY": ("gravity", "gravity"), "ASK_MODULUS": ("modulus", "modulus"),
    # in the place of the number that is asked about, in its unit
    "CONFIRM": ("weight", "as the number before"),
}  # fmt: skip
"""By state: the kind that a bare number is taken for, and what it measures. Elsewhere none is taken."""


@pytest.mark.parametrize("state", TABLE.states(), ids=str)
def test_a_bare_number_means_what_the_question_asks(state: State) -> None:
    """Each step takes a bare number for what its question is about, or for nothing."""
    takes = TABLE.kinds_taken(state)
    for said in ("forty two", "it is forty two", "one point four two"):
        kind = phrases.understand(Words(said, typed=True), Expectation(takes)).kind
        wanted = MEANT.get(state.name, ("", ""))[0]
        if (state.name, said) == ("CONFIRM", "it is forty two"):
            wanted = "correction"
        assert (kind if kind in takes else "") == wanted, said


@pytest.mark.parametrize("state", TABLE.states(), ids=str)
def test_there_are_so_many_says_nothing_without_a_unit(state: State) -> None:
    """Nowhere is "there are forty two" an amount, as "there are ten litres" is."""
    takes = TABLE.kinds_taken(state)
    meant = phrases.understand(Words("there are forty two", typed=True), Expectation(takes)).kind
    assert meant in ("unclear", "ambiguous", "name_given")
    assert phrases.understand(Words("there are ten litres in it"), Expectation(("volume",))).kind == "volume"

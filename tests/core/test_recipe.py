"""Recipes: what is refused, what is said of a base that is not 100, and reading them from text."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.limits import Refusal
from benchvoice.calculator.recipe import (
    BadRecipe,
    Line,
    Recipe,
    normalised,
    recipe_from_csv,
    recipe_from_json,
    sum_of_base,
)
from benchvoice.errors import RoutineError

NAMES = st.text("abcdefghij ", min_size=1, max_size=9).map(str.strip).filter(bool)
AMOUNTS = st.floats(0.01, 1000)
LINES = st.dictionaries(NAMES, AMOUNTS, min_size=1, max_size=8).map(
    lambda found: tuple(Line(name, amount) for name, amount in found.items())
)


def recipe(*base, additions=()):
    """Return a recipe from plain amounts."""
    return Recipe("test", tuple(Line(f"m{i}", a) for i, a in enumerate(base)), tuple(additions))


def test_normalising_a_base_of_105():
    """48, 26, 21, 10 make 105: 45.71, 24.76, 20.00, 9.52 (definition, computed)."""
    found = [line.amount for line in normalised(recipe(48, 26, 21, 10)).base]
    assert found == pytest.approx([45.71, 24.76, 20.00, 9.52], abs=0.005)


@pytest.mark.parametrize(
    ("base", "total", "is_hundred"),
    [
        ([50, 47], 97, False),
        ([50, 50], 100, True),
        ([33.3, 33.3, 33.3], 99.9, True),
        ([60, 41], 101, False),
        ([50, 50.5], 100.5, True),
        ([50, 49.4], 99.4, False),
    ],
)
def test_a_base_that_is_not_a_hundred_is_said_so(base, total, is_hundred):
    """97 is not 100, 99.9 was rounded (common practice, no source)."""
    found = sum_of_base(recipe(*base))
    assert found.total == pytest.approx(total)
    assert found.is_hundred is is_hundred
    assert found.off == pytest.approx(total - 100)


@given(LINES, LINES)
def test_normalising_makes_a_hundred_and_keeps_proportions(base, additions):
    """The base makes 100, in the same proportions; additions are left alone; twice is the same as once."""
    before = Recipe("r", base, additions)
    after = normalised(before)
    assert sum_of_base(after).total == pytest.approx(100)
    assert after.additions == before.additions
    ratios = {
        round(n.amount / o.amount * sum_of_base(before).total, 6)
        for n, o in zip(after.base, base, strict=True)
    }
    assert ratios == {100.0}
    assert [n.amount for n in normalised(after).base] == pytest.approx([n.amount for n in after.base])


@pytest.mark.parametrize(
    ("base", "additions", "reason"),
    [
        ((), (), "at least one material"),
        ((Line("quartz", -5),), (), "above nothing is wanted; got -5"),
        ((Line("quartz", 0),), (), "above nothing"),
        ((Line("quartz", 5),), (Line("tin", -1),), "additions, tin"),
        ((Line("quartz", 5), Line("quartz", 6)), (), "one line is wanted; got two"),
        ((Line(" ", 5),), (), "a name is wanted"),
        ((Line("quartz", float("nan")),), (), "the amount of quartz"),
    ],
)
def test_a_recipe_that_cannot_be_is_refused(base, additions, reason):
    """Nothing, less than nothing, no name, or a line twice is refused when the recipe is made."""
    with pytest.raises(Refusal, match=reason):
        Recipe("test", base, additions)


def test_a_material_may_stand_in_the_base_and_over_it():
    """Some recipes have zircon in the base and more of it over it."""
    assert Recipe("test", (Line("zircon", 100),), (Line("zircon", 5),)).additions


CSV = "material,amount,kind\nFeldspar,40,base\nquartz, 30 ,base\n\nkaolin,30\ntin oxide,8,addition\n"


def test_reading_comma_separated_text():
    """Case and spaces do not matter, an empty line is passed over, a line without a kind is base."""
    found = recipe_from_csv("tide", CSV)
    assert found == Recipe(
        "tide",
        (Line("feldspar", 40), Line("quartz", 30), Line("kaolin", 30)),
        (Line("tin oxide", 8),),
    )


@pytest.mark.parametrize(
    ("text", "place", "reason"),
    [
        ("", "line 1", "heading"),
        ("name,grams\nquartz,4", "line 1", "heading material,amount,kind"),
        ("material,amount,kind\nquartz,lots,base", "line 2", "a number is wanted; got 'lots'"),
        ("material,amount,kind\nquartz,1,base\nkaolin,-3,base", "line 3", "above nothing is wanted; got -3"),
        ("material,amount,kind\nquartz,1,topping", "line 2", "base or addition"),
        ("material,amount,kind\nquartz,1,base\n\nquartz,2,base", "line 4", "stands there already"),
        ("material,amount,kind\nquartz", "line 2", "got 1 cells"),
        ("material,amount,kind\n,4,base", "line 2", "a name is wanted"),
        ("material,amount,kind\nquartz,inf,base", "line 2", "a number is wanted"),
        ("material,amount,kind\ntin,4,addition", "base", "at least one material"),
    ],
)
def test_bad_comma_separated_text_is_refused_with_line_and_reason(text, place, reason):
    """The line and the reason are facts of the refusal."""
    with pytest.raises(BadRecipe, match=reason) as refusal:
        recipe_from_csv("tide", text)
    assert refusal.value.place == place
    assert isinstance(refusal.value, RoutineError)


def test_the_kind_may_be_left_out_altogether():
    """A heading of material and amount makes a base."""
    assert recipe_from_csv("x", "material,amount\nquartz,40\nkaolin,60").base == (
        Line("quartz", 40),
        Line("kaolin", 60),
    )


def test_a_byte_order_mark_is_passed_over():
    """Spreadsheets put one at the start."""
    assert recipe_from_csv("tide", "\ufeff" + CSV).base


JSON = """{
  "name": "tide",
  "base": {"feldspar": 40, "quartz": 30, "kaolin": 30},
  "additions": {
    "tin oxide": 8
  }
}"""


def test_reading_json():
    """The same recipe as from comma-separated text."""
    assert recipe_from_json(JSON) == recipe_from_csv("tide", CSV)


@pytest.mark.parametrize(
    ("old", "new", "place", "reason"),
    [
        ('"tin oxide": 8', '"tin oxide": 8,', "line 6", "JSON is wanted"),
        ('"tin oxide": 8', '"tin oxide": "lots"', "line 5, additions, tin oxide", "a number is wanted"),
        ('"tin oxide": 8', '"tin oxide": true', "line 5, additions, tin oxide", "a number is wanted"),
        ('"tin oxide": 8', '"tin oxide": -8', "line 5, additions, tin oxide", "above nothing"),
        ('"tin oxide": 8', '"tin oxide": NaN', "line 5, additions, tin oxide", "a number is wanted"),
        ('"quartz": 30', '"feldspar": 30', "line 3, feldspar", "got two"),
        ('"quartz": 30', '"Feldspar ": 30', "line 3, base, feldspar", "got two"),
        ('"name": "tide"', '"name": 4', "line 2, name", "a name is wanted"),
        ('"name": "tide"', '"title": "tide"', "line 2, title", "only name, base and additions"),
        (
            '"base": {"feldspar": 40, "quartz": 30, "kaolin": 30}',
            '"base": [1]',
            "line 3, base",
            "materials with",
        ),
        ('"base": {"feldspar": 40, "quartz": 30, "kaolin": 30},', "", "base", "materials with"),
    ],
)
def test_bad_json_is_refused_with_line_and_reason(old, new, place, reason):
    """The line, the way to the entry and the reason are facts of the refusal."""
    with pytest.raises(BadRecipe, match=reason) as refusal:
        recipe_from_json(JSON.replace(old, new))
    assert refusal.value.place == place


def test_json_that_is_no_recipe_is_refused():
    """A list is JSON, but no recipe."""
    with pytest.raises(BadRecipe, match="an object"):
        recipe_from_json("[]")


@given(LINES, LINES)
def test_text_and_recipe_turn_round(base, additions):
    """A recipe written as JSON or as comma-separated text is read back the same."""
    wanted = Recipe("round", base, additions)
    as_json = {"name": "round", "base": {n.material: n.amount for n in base}}
    as_json["additions"] = {n.material: n.amount for n in additions}
    assert recipe_from_json(json.dumps(as_json)) == wanted
    rows = [f"{n.material},{n.amount!r},base" for n in base] + [
        f"{n.material},{n.amount!r},addition" for n in additions
    ]
    assert recipe_from_csv("round", "\n".join(["material,amount,kind", *rows])) == wanted

"""The plan of a batch: additions on top or within, steps of the scale, whether the bucket holds it."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.recipe import Line, Recipe
from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.planning import BatchWork, fits, plan, scale_step
from benchvoice.dialogue.recipe_book import recipe_facts
from benchvoice.messages import Entry

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
TIN = Recipe("tin", (Line("feldspar", 100),), (Line("tin oxide", 8), Line("cobalt carbonate", 1)))


def bench(recipe=TIN, step=None):
    """Return a bench that knows a recipe, and what the scale shows if that was said."""
    entries = [Entry("1", "recipe", NOW, None, recipe_facts(recipe))]
    if step:
        entries.append(Entry("2", "setting", NOW, None, {"name": "scale_step_g", "value": step}))
    return Bench(tuple(entries))


def test_additions_come_on_top():
    """2000 g dry with 8 and 1 per cent over: 160 and 20 g on top (convention of the trade; computed)."""
    found = plan(BatchWork("tin", dry_g=2000, gravity=1.45), bench())
    assert dict(found.wanted) == {"feldspar": 2000, "tin oxide": 160, "cobalt carbonate": 20}
    assert found.total_g == 2180


def test_additions_are_within_what_is_wanted_in_all():
    """2000 g in all: the base is 2000 / 1.09 = 1834.86 g, the additions 146.79 and 18.35 g (computed)."""
    found = plan(BatchWork("tin", dry_g=2000, in_all=True, gravity=1.45), bench(step=0.01))
    assert dict(found.wanted) == {"feldspar": 1834.86, "tin oxide": 146.79, "cobalt carbonate": 18.35}


def test_a_material_in_the_base_and_on_top_is_weighed_once():
    """What stands in both parts of a recipe is one line on the scale."""
    twice = Recipe("twice", (Line("quartz", 50), Line("rutile", 50)), (Line("rutile", 4),))
    assert dict(plan(BatchWork("twice", dry_g=1000, gravity=1.4), bench(twice)).wanted) == {
        "quartz": 500,
        "rutile": 540,
    }


def test_whether_the_bucket_holds_it():
    """1000 g of feldspar (2.6) at 1.45: 982.9 g of water, 384.6 + 982.9 mL (volumes add, computed)."""
    plain = bench(Recipe("plain", (Line("feldspar", 100),)))
    work = BatchWork("plain", dry_g=1000, gravity=1.45)
    assert plan(work, plain).water_g == 983
    assert plan(work, plain).volume_l == pytest.approx(1.3676, abs=0.0005)
    assert fits(work, plain)
    assert fits(BatchWork("plain", dry_g=1000, gravity=1.45, holds_l=1.4), plain)
    assert not fits(BatchWork("plain", dry_g=1000, gravity=1.45, holds_l=1.3), plain)


def test_the_scale_is_known_from_the_potter_or_the_cup():
    """What the potter says of the scale comes before what the cup's weights showed; whole grams else."""
    assert scale_step(Bench()) == 1.0
    cup = Entry("1", "cup", NOW, None, {"step_g": 0.1})
    assert scale_step(Bench((cup,))) == 0.1
    said = Entry("2", "setting", NOW, None, {"name": "scale_step_g", "value": 0.01})
    assert scale_step(Bench((cup, said))) == 0.01


@given(st.floats(1.2, 1.7), st.floats(1, 100))
def test_a_filled_bucket_is_full_and_at_its_gravity(gravity, volume):
    """What is weighed out and its water fill the volume, within what rounding to whole grams does."""
    found = plan(BatchWork("tin", volume_l=volume, gravity=gravity), bench())
    assert found.volume_l == pytest.approx(volume, abs=0.01)
    mass_kg = (found.total_g + found.water_g) / 1000
    assert mass_kg / found.volume_l == pytest.approx(gravity, abs=0.002)

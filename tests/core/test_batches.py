"""A batch under way, as its entries tell it: masses balance, and every wrong weight can be put right."""

from __future__ import annotations

from datetime import UTC, datetime
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.materials import find_material
from benchvoice.dialogue.batches import Stage, open_batch, the_batch, volume_l, weighings
from benchvoice.dialogue.bench import Bench
from benchvoice.messages import Entry

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
NAMES = ("feldspar", "quartz", "kaolin", "whiting", "rutile")
WANTED = {"feldspar": 800.0, "quartz": 600.0, "kaolin": 200.0, "whiting": 400.0}
MASSES = st.floats(5, 5000).map(lambda mass: round(mass, 1))
BATCHES = st.lists(MASSES, min_size=1, max_size=5).map(lambda found: dict(zip(NAMES, found, strict=False)))
PUT_IN = st.lists(st.tuples(st.sampled_from(NAMES), MASSES), max_size=8)


def bench(wanted, *weighed, mode="tared", step=1.0, more=()):
    """Return a bench on which a batch was begun and so much weighed."""
    facts = {"recipe": "r", "wanted": wanted, "mode": mode, "step_g": step}
    aim = {"gravity": 1.45, "target_low": 1.44, "target_high": 1.46}
    found = [Entry("1", "batch", NOW, None, {**facts, **aim})]
    for number, (name, mass) in enumerate(weighed, 2):
        facts = {"material": name, "mass_g": mass, "corrects": None, "again": False}
        found.append(Entry(str(number), "weighed", NOW, None, facts))
    return Bench((*found, *more))


def test_nothing_is_under_way_at_first():
    """Without a batch there is none, and a closed one is not under way."""
    assert open_batch(Bench()) is None
    assert open_batch(bench(WANTED, more=(Entry("9", "batch_closed", NOW),))) is None


# (weighed, stage, next material, how much): sums of the plan by hand.
STAGES = [
    ((), Stage.WEIGH, "feldspar", 800),
    ((("feldspar", 795),), Stage.WEIGH, "quartz", 600),
    ((("feldspar", 790),), Stage.WEIGH, "feldspar", 10),
    ((("quartz", 600),), Stage.WEIGH, "feldspar", 800),
    ((("feldspar", 800), ("quartz", 600), ("kaolin", 200), ("whiting", 250)), Stage.WEIGH, "whiting", 150),
]


@pytest.mark.parametrize(("weighed", "stage", "material", "mass"), STAGES)
def test_the_next_line_is_what_is_missing(weighed, stage, material, mass):
    """A line within one in a hundred is in; what is missing of another is asked for, in order."""
    batch = the_batch(bench(WANTED, *weighed))
    assert batch.stage() is stage
    assert batch.next_line() == (material, mass)


def test_a_line_can_be_taken_first():
    """The potter may take another line first; one that is in already is not asked for again."""
    batch = the_batch(bench(WANTED, ("quartz", 600)))
    assert batch.next_line("whiting") == ("whiting", 400)
    assert batch.next_line("quartz") == ("feldspar", 800)


def test_too_much_comes_before_anything_else():
    """Over by more than one in a hundred is to be taken out first; 805 g of 800 is right."""
    assert the_batch(bench(WANTED, ("feldspar", 805))).too_much() is None
    over = the_batch(bench(WANTED, ("feldspar", 840)))
    assert (over.stage(), over.too_much()) == (Stage.OVER, ("feldspar", 40))


def test_a_coarse_scale_is_near_enough_within_its_step():
    """On a scale of whole grams 21 g of 20 g are right; on one of tenths they are too much."""
    assert the_batch(bench({"rutile": 20.0}, ("rutile", 21))).too_much() is None
    assert the_batch(bench({"rutile": 20.0}, ("rutile", 21), step=0.1)).too_much() == ("rutile", 1)


def test_what_was_corrected_does_not_count():
    """A weighing that was corrected is neither in nor what was weighed last."""
    facts = {"material": "quartz", "mass_g": 600.0, "corrects": None, "again": False}
    wrong = Entry("8", "weighed", NOW, None, facts)
    mended = Entry("9", "weighed", NOW, None, {**facts, "mass_g": -600.0, "corrects": "8"})
    made = bench(WANTED, ("feldspar", 800), more=(wrong, mended))
    assert the_batch(made).got() == {"feldspar": 800, "quartz": 0, "kaolin": 0, "whiting": 0}
    assert [entry.facts["material"] for entry in weighings(made)] == ["feldspar"]


@given(BATCHES, PUT_IN)
def test_masses_balance(wanted, put_in):
    """What is in plus what is missing less what is too much is what is wanted, but for the tolerance."""
    put_in = [line for line in put_in if line[0] in wanted]
    batch = the_batch(bench(wanted, *put_in))
    assert batch.total_in == pytest.approx(sum(mass for _, mass in put_in))
    for name, mass in wanted.items():
        missing = dict(batch.missing()).get(name, 0.0)
        over = batch.too_much()
        if missing or (over and over[0] == name):
            extra = over[1] if over and over[0] == name else 0.0
            assert batch.is_in(name) + missing - extra == pytest.approx(mass, abs=1e-3)


@given(BATCHES, PUT_IN)
def test_a_bigger_batch_takes_everything_that_is_in(wanted, put_in):
    """Made bigger, nothing is too much, and the proportions stay within a step of the scale."""
    put_in = [line for line in put_in if line[0] in wanted]
    made = bench(wanted, *put_in)
    if not put_in:
        return
    bigger, factor = the_batch(made).bigger()
    change = Entry("99", "batch_change", NOW, None, {"wanted": bigger, "how": "bigger"})
    assert the_batch(bench(wanted, *put_in, more=(change,))).too_much() is None
    assert factor >= 1
    for name, mass in wanted.items():
        assert abs(bigger[name] - factor * mass) <= 0.5 + 1e-6


@given(BATCHES)
def test_the_gravity_of_the_solids_is_the_harmonic_mean(wanted):
    """Volumes add: S = sum m / sum (m / S_i), in exact fractions (balance of mass and volume, computed)."""
    batch = the_batch(bench(wanted, *wanted.items()))
    masses = {name: Fraction(str(mass)) for name, mass in wanted.items()}
    volumes = [mass / Fraction(str(find_material(name).gravity)) for name, mass in masses.items()]
    assert batch.solids().gravity == pytest.approx(float(sum(masses.values()) / sum(volumes)))


@given(BATCHES)
def test_the_first_water_makes_the_gravity(wanted):
    """Mass over volume of dry and water together is the gravity aimed at (balance of mass and volume)."""
    batch = the_batch(bench(wanted, *wanted.items()))
    dry, water = batch.total_in, batch.water_wanted()
    volume = volume_l(dry, water, batch.solids().gravity)
    half_a_gram = 0.5 / volume / 1000
    assert (dry + water) / volume / 1000 == pytest.approx(1.45, abs=half_a_gram + 1e-9)


def test_a_material_is_found_by_any_of_its_names():
    """Silica is quartz; what is not in the batch is not found."""
    batch = the_batch(bench(WANTED))
    assert batch.named("silica") == "quartz"
    assert batch.named("china clay") == "kaolin"
    assert batch.named("cobalt oxide") is None
    assert batch.named("moon dust") is None


@given(BATCHES, PUT_IN, st.sampled_from(("", *NAMES)))
def test_there_is_a_next_line_whatever_is_in(wanted, weighed, first):
    """It is one that is missing, the one named first if it can be; with none missing, nothing of the last."""
    batch = the_batch(bench(wanted, *weighed))
    missing = batch.missing()
    line = batch.next_line(first)
    assert line in missing if missing else line == (list(wanted)[-1], 0.0)
    assert line[0] == first or first not in dict(missing)

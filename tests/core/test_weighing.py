"""Weighing out: right, short or over, what a wrong figure looks like, and both ways to save a batch."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.batch import Batch, Portion
from benchvoice.calculator.limits import BelowZero, OutOfRange, TooFew
from benchvoice.calculator.quantities import grams
from benchvoice.calculator.weighing import (
    Mode,
    Slip,
    Weight,
    check_weighing,
    expected_reading,
    find_swap,
    rescale,
    scoop_out,
)

MASSES = st.lists(st.floats(5, 5000), min_size=1, max_size=8)


def batch(*masses):
    """Return a batch of plain grams; materials are a, b, c, …."""
    return Batch(tuple(Portion("abcdefgh"[i], grams(m)) for i, m in enumerate(masses)))


def plain(changes):
    """Return changes as material to rounded grams."""
    return {change.material: round(change.mass.m_as("gram"), 6) for change in changes}


PLAN = batch(400, 300, 200, 87)


# (line, reading, mode, weight, slip): common practice, no source.
READINGS = [
    (0, 400, Mode.TARED, Weight.RIGHT, None),
    (0, 404, Mode.TARED, Weight.RIGHT, None),
    (0, 404.1, Mode.TARED, Weight.OVER, None),
    (0, 390, Mode.TARED, Weight.SHORT, None),
    (1, 700, Mode.CUMULATIVE, Weight.RIGHT, None),
    (1, 690, Mode.CUMULATIVE, Weight.SHORT, None),
    (1, 720, Mode.CUMULATIVE, Weight.OVER, None),
    (3, 987, Mode.CUMULATIVE, Weight.RIGHT, None),
    (1, 700, Mode.TARED, Weight.OVER, Slip.NOT_TARED),
    (1, 300, Mode.CUMULATIVE, Weight.SHORT, Slip.WAS_TARED),
    (1, 400, Mode.TARED, Weight.OVER, Slip.OTHER_LINE),
    (2, 87, Mode.TARED, Weight.SHORT, Slip.OTHER_LINE),
    (2, 2000, Mode.TARED, Weight.OVER, Slip.TENFOLD),
    (2, 20, Mode.TARED, Weight.SHORT, Slip.TENFOLD),
]


@pytest.mark.parametrize(("line", "reading", "mode", "weight", "slip"), READINGS)
def test_a_line_on_the_scale(line, reading, mode, weight, slip):
    """Right within one in a hundred; a wrong figure is recognised for what it looks like."""
    found = check_weighing(PLAN, line, grams(reading), mode)
    assert (found.weight, found.slip) == (weight, slip)


def test_the_other_material_is_named():
    """A figure that is another line's amount names that line."""
    assert check_weighing(PLAN, 1, grams(400), Mode.TARED).other == "a"


def test_the_difference_is_what_to_scoop_out_or_add():
    """Got less wanted, in grams."""
    assert check_weighing(PLAN, 1, grams(720), Mode.CUMULATIVE).difference.m_as("gram") == pytest.approx(20)


def test_a_growing_scale_counts_from_what_it_showed():
    """When the line before came out 4 g over, this line is counted from there."""
    found = check_weighing(PLAN, 1, grams(704), Mode.CUMULATIVE, before=grams(404))
    assert found.weight is Weight.RIGHT
    assert found.difference.m_as("gram") == pytest.approx(0)


def test_nobody_is_asked_to_be_closer_than_the_scale():
    """0.5 g on a scale of 0.1 g: 0.6 is right."""
    small = batch(0.5)
    assert check_weighing(small, 0, grams(0.6), Mode.TARED, step=grams(0.1)).weight is Weight.RIGHT
    assert check_weighing(small, 0, grams(0.6), Mode.TARED).weight is Weight.OVER


@given(MASSES)
def test_a_batch_weighed_as_expected_is_right_all_through(masses):
    """Every line read as expected is right, tared or not, and nothing needs saving."""
    plan = batch(*masses)
    for mode in Mode:
        for i in range(len(masses)):
            assert check_weighing(plan, i, expected_reading(plan, i, mode), mode).weight is Weight.RIGHT
    got = [portion.mass for portion in plan.portions]
    assert rescale(plan, got).changes == scoop_out(plan, got).changes == ()


def test_over_weight_makes_the_whole_batch_bigger():
    """110 for 100 makes everything a tenth more; 50 becomes 55 (proportions, computed)."""
    found = rescale(batch(100, 50), [grams(110)])
    assert found.factor == pytest.approx(1.1)
    assert plain(found.changes) == {"b": 55.0}
    assert found.batch.masses() == pytest.approx((110, 55))


def test_short_weight_only_adds():
    """What is short is made up; nothing else changes."""
    found = rescale(batch(100, 50), [grams(90), grams(50)])
    assert found.factor == 1
    assert plain(found.changes) == {"a": 10.0}


def test_two_materials_swapped_are_found_and_both_ways_out_told():
    """300 and 100 swapped: scoop 200 out and add 200, or three times the batch (proportions, computed)."""
    plan, got = batch(300, 100, 50), [grams(100), grams(300)]
    assert find_swap(plan, got) == (0, 1)
    assert plain(scoop_out(plan, got).changes) == {"a": 200.0, "b": -200.0, "c": 50.0}
    found = rescale(plan, got)
    assert found.factor == pytest.approx(3)
    assert plain(found.changes) == {"a": 800.0, "c": 150.0}


@pytest.mark.parametrize("got", [[300, 100], [300, 90], [100, 100], [300]])
def test_no_swap_where_there_is_none(got):
    """One wrong line is not a swap."""
    assert find_swap(batch(300, 100, 50), [grams(x) for x in got]) is None


@given(MASSES, st.data())
def test_a_rescue_makes_every_line_right(masses, data):
    """What is in plus the changes is the batch told, in the plan's shares; rescaling never takes out."""
    plan = batch(*masses)
    size = data.draw(st.integers(1, len(masses)))
    got = data.draw(st.lists(st.floats(0, 8000), min_size=size, max_size=size))
    for way in (rescale, scoop_out):
        found = way(plan, [grams(x) for x in got])
        done = dict(zip("abcdefgh", got, strict=False))
        changes = {change.material: change.mass.m_as("gram") for change in found.changes}
        after = [done.get(n, 0) + changes.get(n, 0) for n in "abcdefgh"[: len(masses)]]
        assert after == pytest.approx(list(found.batch.masses()), abs=1e-6)
        assert list(found.batch.masses()) == pytest.approx([m * found.factor for m in masses])
    bigger = rescale(plan, [grams(x) for x in got])
    assert bigger.factor >= 1
    assert all(change.mass.m > 0 for change in bigger.changes)


def test_wrong_values_are_refused():
    """A line that is not there, a negative weight, no weights, more weights than lines."""
    with pytest.raises(OutOfRange):
        expected_reading(PLAN, 4, Mode.TARED)
    with pytest.raises(BelowZero):
        check_weighing(PLAN, 0, grams(-1), Mode.TARED)
    with pytest.raises(TooFew):
        rescale(PLAN, [])
    with pytest.raises(OutOfRange):
        rescale(batch(10), [grams(1), grams(2)])

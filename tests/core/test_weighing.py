"""Weighing out: right, short or over, what a wrong figure looks like, and both ways to save a batch."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.batch import Batch, Portion
from benchvoice.calculator.limits import BelowZero, NotAboveZero
from benchvoice.calculator.quantities import grams
from benchvoice.calculator.weighing import (
    AllWeighed,
    Mode,
    NothingWeighed,
    Sheet,
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


def sheet(plan, *got, mode=Mode.TARED, step=0.01):
    """Return a sheet on which so many grams are written."""
    return Sheet(plan, mode, grams(step), tuple(grams(g) for g in got))


PLAN = batch(400, 300, 200, 87)

# (weighed so far, reading, mode, weight, slip): common practice, no source.
READINGS = [
    ([], 400, Mode.TARED, Weight.RIGHT, None),
    ([], 404, Mode.TARED, Weight.RIGHT, None),
    ([], 404.1, Mode.TARED, Weight.OVER, None),
    ([], 390, Mode.TARED, Weight.SHORT, None),
    ([400], 297, Mode.TARED, Weight.RIGHT, None),
    ([400], 303.1, Mode.TARED, Weight.OVER, None),
    ([400], 397, Mode.TARED, Weight.OVER, Slip.OTHER_LINE),
    ([400], 395, Mode.TARED, Weight.OVER, None),
    ([400], 700, Mode.CUMULATIVE, Weight.RIGHT, None),
    ([400], 690, Mode.CUMULATIVE, Weight.SHORT, None),
    ([400], 720, Mode.CUMULATIVE, Weight.OVER, None),
    ([404], 704, Mode.CUMULATIVE, Weight.RIGHT, None),
    ([404], 700, Mode.CUMULATIVE, Weight.SHORT, None),
    ([400, 300, 200], 987, Mode.CUMULATIVE, Weight.RIGHT, None),
    ([400], 700, Mode.TARED, Weight.OVER, Slip.NOT_TARED),
    ([400], 300, Mode.CUMULATIVE, Weight.SHORT, Slip.WAS_TARED),
    ([400], 400, Mode.TARED, Weight.OVER, Slip.OTHER_LINE),
    ([400, 300], 87, Mode.TARED, Weight.SHORT, Slip.OTHER_LINE),
    ([400, 300], 2000, Mode.TARED, Weight.OVER, Slip.TENFOLD),
    ([400, 300], 20, Mode.TARED, Weight.SHORT, Slip.TENFOLD),
]


@pytest.mark.parametrize(("got", "reading", "mode", "weight", "slip"), READINGS)
def test_a_line_on_the_scale(got, reading, mode, weight, slip):
    """Right within one in a hundred; a wrong figure is recognised for what it looks like."""
    found = check_weighing(sheet(PLAN, *got, mode=mode), grams(reading))
    assert (found.weight, found.slip) == (weight, slip)


def test_the_other_material_is_named():
    """A figure that is another line's amount names that line."""
    assert check_weighing(sheet(PLAN, 400), grams(400)).other == "a"


def test_the_difference_is_what_to_scoop_out_or_add():
    """Got less wanted, in grams."""
    found = check_weighing(sheet(PLAN, 400, mode=Mode.CUMULATIVE), grams(720))
    assert found.difference.m_as("gram") == pytest.approx(20)


def test_nobody_is_asked_to_be_closer_than_the_scale():
    """0.5 g on a scale of 0.1 g: 0.6 is right; on a scale of 0.01 g it is over."""
    assert check_weighing(sheet(batch(0.5), step=0.1), grams(0.6)).weight is Weight.RIGHT
    assert check_weighing(sheet(batch(0.5), step=0.01), grams(0.6)).weight is Weight.OVER


@given(MASSES, st.sampled_from(Mode))
def test_a_batch_weighed_as_expected_is_right_all_through(masses, mode):
    """Every line read as expected is right, tared or not, and nothing needs saving."""
    written = sheet(batch(*masses), mode=mode)
    for mass in masses:
        assert check_weighing(written, expected_reading(written)).weight is Weight.RIGHT
        written = written.with_line(grams(mass))
    assert rescale(written).changes == scoop_out(written).changes == ()
    with pytest.raises(AllWeighed):
        expected_reading(written)


def test_over_weight_makes_the_whole_batch_bigger():
    """110 for 100 makes everything a tenth more; 50 becomes 55 (proportions, computed)."""
    found = rescale(sheet(batch(100, 50), 110))
    assert found.factor == pytest.approx(1.1)
    assert plain(found.changes) == {"b": 55.0}
    assert found.batch.masses() == pytest.approx((110, 55))


def test_short_weight_only_adds():
    """What is short is made up; nothing else changes."""
    found = rescale(sheet(batch(100, 50), 90, 50))
    assert found.factor == 1
    assert plain(found.changes) == {"a": 10.0}


def test_two_materials_swapped_are_found_and_both_ways_out_told():
    """300 and 100 swapped: scoop 200 out and add 200, or three times the batch (proportions, computed)."""
    swapped = sheet(batch(300, 100, 50), 100, 300)
    assert find_swap(swapped) == (0, 1)
    assert plain(scoop_out(swapped).changes) == {"a": 200.0, "b": -200.0, "c": 50.0}
    found = rescale(swapped)
    assert found.factor == pytest.approx(3)
    assert plain(found.changes) == {"a": 800.0, "c": 150.0}


@pytest.mark.parametrize("got", [[300, 100], [300, 90], [100, 100], [300], [50, 300], [100, 50]])
def test_no_swap_where_there_is_none(got):
    """One wrong line is not a swap, nor are two that are not each other's."""
    assert find_swap(sheet(batch(300, 100, 50), *got)) is None


@given(MASSES, st.data())
def test_a_rescue_makes_every_line_right(masses, data):
    """What is in plus the changes is the batch told, in the plan's shares; rescaling never takes out."""
    size = data.draw(st.integers(1, len(masses)))
    got = data.draw(st.lists(st.floats(0, 8000), min_size=size, max_size=size))
    written = sheet(batch(*masses), *got)
    for way in (rescale, scoop_out):
        found = way(written)
        done = dict(zip("abcdefgh", got, strict=False))
        changes = {change.material: change.mass.m_as("gram") for change in found.changes}
        after = [done.get(n, 0) + changes.get(n, 0) for n in "abcdefgh"[: len(masses)]]
        assert after == pytest.approx(list(found.batch.masses()), abs=1e-6)
        assert list(found.batch.masses()) == pytest.approx([m * found.factor for m in masses])
    assert rescale(written).factor >= 1
    assert all(change.mass.m > 0 for change in rescale(written).changes)


def test_additions_stay_additions_when_the_batch_grows():
    """A rescaled batch keeps its base and additions apart."""
    plan = Batch((Portion("a", grams(100)), Portion("b", grams(8), True)))
    assert rescale(sheet(plan, 200)).batch.base.m_as("gram") == pytest.approx(200)


def test_wrong_values_are_refused():
    """A line too many, a negative weight, nothing weighed, a scale without a step."""
    with pytest.raises(AllWeighed):
        sheet(batch(10), 10).with_line(grams(1))
    with pytest.raises(BelowZero):
        sheet(batch(10)).with_line(grams(-1))
    with pytest.raises(BelowZero):
        check_weighing(sheet(PLAN), grams(-1))
    for way in (rescale, scoop_out, find_swap):
        with pytest.raises(NothingWeighed):
            way(sheet(PLAN))
    with pytest.raises(NotAboveZero):
        check_weighing(sheet(PLAN, step=0), grams(400))

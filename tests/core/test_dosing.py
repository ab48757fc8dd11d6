"""Dosing: sums that add up, a ceiling that holds, density before drops, and the turn of the curve."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.additives import additives, find_additive
from benchvoice.calculator.dosing import (
    AboveCeiling,
    Bottle,
    Dose,
    DoseCaution,
    GravityFirst,
    NotInOrder,
    ceiling_of,
    checked_dose,
    gravity_allows,
    next_step,
    running_sum,
    share_of_dry,
    turn_of_curve,
    used_up,
)
from benchvoice.calculator.drops import nominal_drop, weighed_drop
from benchvoice.calculator.flow import FlowWord
from benchvoice.calculator.limits import NotAboveZero, OutOfRange, TooFew
from benchvoice.calculator.quantities import grams, litres


def bottle(name):
    """Return a bottle of an additive as supplied, with nominal drops."""
    additive = find_additive(name)
    return Bottle(additive, nominal_drop(additive.density))


def thinned(strong, share):
    """Return the same bottle thinned with water."""
    return replace(strong, share=share)


def doses(stock, *masses):
    """Return doses of so many grams out of one bottle."""
    return [Dose(stock, grams(mass)) for mass in masses]


SILICATE = bottle("sodium silicate")
EVERY = sorted({additive.name for additive in additives().values()})


def g(quantity):
    """Return the grams in a quantity."""
    return quantity.m_as("gram")


def test_share_of_dry():
    """0.2 % of 3000 g is 6 g (definition, computed)."""
    assert g(share_of_dry(grams(3000), 0.2)) == pytest.approx(6.0, abs=1e-9)


def test_colour_over_the_dry_of_thirty_litres():
    """5 % of 35 kg dry is 1.75 kg (Forming Techniques for the Self-Reliant Potter, 1991, seen at source)."""
    assert g(share_of_dry(grams(35000), 5)) == pytest.approx(1750)


def test_the_sum_is_told_all_ways():
    """6 g of silicate in 3 kg dry: 86.9 drops, 0.2 % as supplied, 36.3 % of that as solids (computed)."""
    done = running_sum(SILICATE.additive, grams(3000), doses(SILICATE, 2, 4))
    assert g(done.stock) == pytest.approx(6)
    assert g(done.active) == pytest.approx(6 * 0.363)
    assert done.drops == pytest.approx(86.9, abs=0.1)
    assert done.percent == pytest.approx(0.2)
    assert done.percent_active == pytest.approx(0.0726)


def test_a_thinned_bottle_counts_for_its_share():
    """2 g out of the bottle as supplied and 2 g out of one half as strong put in 3 g as supplied."""
    done = running_sum(
        SILICATE.additive, grams(3000), [*doses(SILICATE, 2), *doses(thinned(SILICATE, 0.5), 2)]
    )
    assert g(done.stock) == pytest.approx(4)
    assert g(done.supplied) == pytest.approx(3)
    assert done.percent == pytest.approx(0.1)


def test_other_additives_are_not_summed_in():
    """Magnesium sulfate in the history does not count as silicate."""
    done = running_sum(SILICATE.additive, grams(3000), [*doses(SILICATE, 2), *doses(bottle("epsom"), 50)])
    assert g(done.supplied) == pytest.approx(2)


@given(st.lists(st.floats(0, 50), max_size=12), st.floats(100, 50_000), st.floats(0.01, 1))
def test_doses_sum(masses, dry, share):
    """However it is cut into doses, the same goes in; and percentages and grams tell the same."""
    weak = thinned(SILICATE, share)
    cut = running_sum(SILICATE.additive, grams(dry), doses(weak, *masses))
    whole = running_sum(SILICATE.additive, grams(dry), doses(weak, sum(masses)))
    assert g(cut.supplied) == pytest.approx(g(whole.supplied))
    assert cut.percent * dry / 100 == pytest.approx(g(cut.supplied))
    assert cut.percent_active == pytest.approx(cut.percent * 0.363)


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize("share", [1.0, 0.1])
def test_steps_never_pass_the_ceiling_and_end_in_a_refusal(name, share):
    """Taking every step that is offered ends at the ceiling exactly, with a warning before it."""
    stock, dry, given_so_far = thinned(bottle(name), share), grams(4000), []
    ceiling, warned = stock.additive.ceiling, False
    while running_sum(stock.additive, dry, given_so_far).percent < ceiling * (1 - 1e-6):
        step = next_step(stock, dry, given_so_far)
        assert step.after.percent <= ceiling * (1 + 1e-6)
        warned = warned or DoseCaution.NEAR_CEILING in step.cautions
        given_so_far.append(step.dose)
    assert warned
    assert len(given_so_far) > 2
    with pytest.raises(AboveCeiling, match=name) as refusal:
        next_step(stock, dry, given_so_far)
    assert refusal.value.percent == pytest.approx(ceiling)


def test_the_first_step_is_the_usual_start_and_later_ones_half_of_it():
    """5 kg dry: 0.02 % is 1 g, then 0.5 g (common practice, no source)."""
    assert g(next_step(SILICATE, grams(5000), []).dose.mass) == pytest.approx(1.0)
    assert g(next_step(SILICATE, grams(5000), doses(SILICATE, 1)).dose.mass) == pytest.approx(0.5)


def test_a_step_of_less_than_two_drops_asks_for_a_thinner_bottle():
    """500 g dry takes 0.1 g: between one and two drops; a tenth as strong it is 14 drops."""
    assert DoseCaution.DILUTE in next_step(SILICATE, grams(500), []).cautions
    assert DoseCaution.DILUTE not in next_step(thinned(SILICATE, 0.1), grams(500), []).cautions


def test_a_step_of_very_many_drops_asks_for_the_scale():
    """50 kg dry takes 10 g, more than a hundred drops."""
    assert DoseCaution.WEIGH in next_step(SILICATE, grams(50_000), []).cautions


def test_a_drop_that_was_never_weighed_is_said_to_be_nominal():
    """The caution goes when the potter has weighed drops."""
    own = replace(SILICATE, drop=weighed_drop(40, grams(3), grams(0.1)))
    assert DoseCaution.NOMINAL_DROP in next_step(SILICATE, grams(5000), []).cautions
    assert DoseCaution.NOMINAL_DROP not in next_step(own, grams(5000), []).cautions


def test_own_doses_are_warned_above_usual_and_refused_above_the_ceiling():
    """On 1 kg dry: 0.9 g passes, 2 g is warned, 2.5 g is the last that passes, 2.6 g is refused."""
    dry = grams(1000)
    assert DoseCaution.NEAR_CEILING not in checked_dose(SILICATE, dry, [], grams(0.9)).cautions
    assert DoseCaution.NEAR_CEILING in checked_dose(SILICATE, dry, [], grams(2)).cautions
    assert checked_dose(SILICATE, dry, [], ceiling_of(SILICATE.additive, dry))
    with pytest.raises(AboveCeiling, match=r"At most 0\.25 % .* makes 0\.26 %"):
        checked_dose(SILICATE, dry, doses(SILICATE, 2), grams(0.6))


def test_two_deflocculants_share_one_ceiling():
    """A quarter per cent is for soda ash and silicate together (Pitelka's glossary, second-hand)."""
    ash, dry = bottle("soda ash"), grams(1000)
    given_so_far = [*doses(SILICATE, 1.5), *doses(ash, 0.5)]
    assert used_up(ash.additive, dry, given_so_far) == pytest.approx(0.8)
    assert checked_dose(ash, dry, given_so_far, grams(0.5))
    with pytest.raises(AboveCeiling, match="soda ash"):
        checked_dose(ash, dry, given_so_far, grams(0.51))


def test_an_additive_after_its_opposite_is_said():
    """Magnesium sulfate after silicate: they fight each other, and their ceilings are apart."""
    step = next_step(bottle("epsom"), grams(1000), doses(SILICATE, 2.5))
    assert DoseCaution.OTHER_KIND in step.cautions
    assert (
        DoseCaution.OTHER_KIND
        not in next_step(bottle("vinegar"), grams(1000), doses(bottle("epsom"), 1)).cautions
    )


@pytest.mark.parametrize("now", [1.39, 1.51, 1.2])
def test_no_drops_before_the_density_is_right(now):
    """A flocculant does not undo too much water: outside the target any dose is refused."""
    with pytest.raises(GravityFirst, match="Bring the gravity into the target first"):
        gravity_allows(now, 1.40, 1.50)


@pytest.mark.parametrize("now", [1.40, 1.45, 1.50])
def test_drops_are_allowed_inside_the_target(now):
    """The ends of the target belong to it."""
    gravity_allows(now, 1.40, 1.50)


# (flow after 0, 1, 2, … grams; turned; dose at the thinnest)
CURVES = [
    ([60, 50, 42, 40], False, 3),
    ([60, 50, 42, 40, 47], True, 3),
    ([60, 50, 42, 40, 41], False, 3),  # within five in a hundred: the bottom of the curve
    ([60], False, 0),
    ([60, 66], True, 0),
    ([60, 40, 40, 44], True, 1),
    ([60, 40, 42.1], True, 1),
    ([FlowWord.YOGURT, FlowWord.CREAM, FlowWord.MILK], False, 2),
    ([FlowWord.YOGURT, FlowWord.MILK, FlowWord.CREAM], True, 1),
]


@pytest.mark.parametrize(("flows", "turned", "best"), CURVES)
def test_the_turn_of_the_curve(flows, turned, best):
    """Past the thinnest point more deflocculant thickens: the turn is seen and the best dose known."""
    found = turn_of_curve([(grams(i), float(flow)) for i, flow in enumerate(flows)])
    assert found.turned is turned
    assert g(found.best_dose) == best


@given(st.floats(0.5, 5), st.floats(0.5, 30), st.integers(1, 8))
def test_a_parabola_turns_after_its_foot_and_not_before(foot, depth, steps):
    """On a smooth curve with one foot, no point up to the foot is called a turn."""
    points = [
        (grams(foot * i / steps), 50 + depth * (foot * i / steps - foot) ** 2) for i in range(steps + 1)
    ]
    for end in range(1, len(points) + 1):
        assert not turn_of_curve(points[:end]).turned


def test_doses_must_grow_and_there_must_be_one():
    """Sums out of order, or none, are refused."""
    assert not turn_of_curve([(grams(1), 40.0), (grams(1), 50.0)]).turned
    with pytest.raises(NotInOrder):
        turn_of_curve([(grams(2), 40.0), (grams(1), 50.0)])
    with pytest.raises(TooFew):
        turn_of_curve([])


def test_wrong_values_are_refused():
    """No dry content, a bottle of no strength, a volume for a dose."""
    with pytest.raises(NotAboveZero):
        share_of_dry(grams(0), 0.2)
    with pytest.raises(OutOfRange):
        running_sum(SILICATE.additive, grams(10), doses(thinned(SILICATE, 0), 1))
    with pytest.raises(OutOfRange):
        running_sum(SILICATE.additive, grams(10), doses(thinned(SILICATE, 1.01), 1))
    with pytest.raises(ValueError, match="gram"):
        checked_dose(SILICATE, grams(100), [], litres(1))

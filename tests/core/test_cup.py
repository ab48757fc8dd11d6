"""The weighed cup: calibrated with water, and what it may and may not say of a slurry."""

from __future__ import annotations

import math
import random
from dataclasses import FrozenInstanceError
from statistics import fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.cup import (
    FILLS_TOO_MANY,
    LEAST_SPREAD,
    Cup,
    agreement_of,
    calibrate,
    cup_of_volume,
    cup_uncertainty,
    cup_volume,
    fills_of,
    gravity_of,
    gravity_step,
)
from benchvoice.calculator.limits import (
    BelowWater,
    EmptyCupUnknown,
    NotAboveZero,
    NotThatKind,
    OutOfRange,
    TooFew,
    TooHeavy,
)
from benchvoice.calculator.quantities import Quantity, celsius, grams, litres, magnitude, millilitres, ounces

GRAM = grams(1)
TENTH = grams(0.1)


def _tared(water: float = 100, step: Quantity = GRAM, *, wet: bool = False) -> Cup:
    """Return a tared cup that held the same water twice."""
    return calibrate("blue", [grams(water), grams(water)], step, tared=True, wet=wet)


def _g(mass: Quantity) -> float:
    """Return a mass in grams."""
    return magnitude(mass, "gram")


# ---- calibrating -------------------------------------------------------------------

# fills, scale step, agree, another: the limit is 1 % of the mean or one step of the scale (our choice)
FILLS = [
    ([100], 1, False, True),
    ([100, 100], 1, True, False),
    ([100, 101], 1, True, False),
    ([100, 102], 1, False, True),
    ([60, 61], 1, True, False),
    ([60, 61], 0.1, False, True),
    ([400, 404], 1, True, False),
    ([400, 405], 1, False, True),
    ([100.2, 100.9], 0.1, True, False),
    ([100, 107, 100], 1, False, True),
    ([100, 107, 100, 101], 1, False, True),
    ([100, 107, 100, 101, 100], 1, False, False),
]


@pytest.mark.parametrize(("fills", "step", "agree", "another"), FILLS)
def test_when_fills_are_good_enough(fills: list[float], step: float, agree: bool, another: bool) -> None:
    """Two that agree are enough; after five that do not, asking for more is no use."""
    found = fills_of([grams(fill) for fill in fills], grams(step))

    assert (found.agree, found.another) == (agree, another)
    assert found.count == len(fills)
    assert _g(found.mean) == pytest.approx(fmean(fills))


@pytest.mark.parametrize(
    ("fills", "odd"),
    [([100, 107, 100], 1), ([170, 100, 101], 0), ([100, 100, 101, 90], 3), ([100, 110], None), ([100], None)],
)
def test_the_odd_fill_is_pointed_out(fills: list[float], odd: int | None) -> None:
    """One of three that stands apart may have been misheard; of two nobody can say which."""
    assert fills_of([grams(fill) for fill in fills], GRAM).odd == odd


def test_fills_that_agree_have_no_odd_one() -> None:
    """Nothing is pointed out when nothing is wrong."""
    assert fills_of([grams(100), grams(100), grams(101)], GRAM).odd is None


@given(st.lists(st.floats(99, 101), min_size=2, max_size=FILLS_TOO_MANY))
def test_the_spread_is_the_standard_deviation_but_never_too_good(fills: list[float]) -> None:
    """The reference is the standard library's; two lucky fills do not make a perfect hand."""
    found = fills_of([grams(fill) for fill in fills], TENTH)

    assert _g(found.spread) == pytest.approx(max(stdev(fills), LEAST_SPREAD * fmean(fills)))


def test_a_cup_that_is_not_tared() -> None:
    """The empty cup is taken off each fill."""
    cup = calibrate("blue", [grams(182), grams(183)], GRAM, tared=False, empty=grams(82))

    assert _g(cup.water) == pytest.approx(100.5)
    assert (cup.name, cup.fills, cup.tared, cup.wet) == ("blue", 2, False, False)


def test_a_cup_is_a_value() -> None:
    """Nothing changes a cup once it is calibrated."""
    with pytest.raises(FrozenInstanceError):
        _tared().name = "red"  # type: ignore[misc]


# Water in 100 mL at each temperature: Tanaka et al., Metrologia 38 (2001) 301 (computed from the formula).
@pytest.mark.parametrize(("degrees", "water"), [(5, 99.997), (15, 99.910), (20, 99.821), (30, 99.565)])
def test_the_volume_of_a_cup_is_its_water_over_the_density(degrees: float, water: float) -> None:
    """Water of any temperature gives the same volume."""
    cup = calibrate("blue", [grams(water)], grams(0.001), tared=True)

    assert magnitude(cup_volume(cup, celsius(degrees)), "millilitre") == pytest.approx(100, abs=0.001)


@given(st.floats(20, 1000), st.floats(1, 39))
def test_volume_and_water_are_inverses(volume: float, degrees: float) -> None:
    """A cup made from a printed volume has that volume."""
    cup = cup_of_volume("jug", millilitres(volume), GRAM, temperature=celsius(degrees))

    assert magnitude(cup_volume(cup, celsius(degrees)), "millilitre") == pytest.approx(volume)


def test_a_printed_volume_is_trusted_less_than_two_fills() -> None:
    """A mark that was never checked with water leaves more doubt."""
    assert cup_uncertainty(cup_of_volume("jug", millilitres(100), GRAM)) > cup_uncertainty(_tared())


@pytest.mark.parametrize("fill", [grams(0), grams(9.9), grams(5001), grams(-100)])
def test_cups_that_nobody_has_are_refused(fill: Quantity) -> None:
    """Less than ten grams of water, or more than five thousand, was misheard."""
    with pytest.raises(OutOfRange, match="from 10 to 5000 grams"):
        calibrate("blue", [fill], GRAM, tared=True)


@pytest.mark.parametrize(
    ("fills", "step", "refusal"),
    [
        ([], GRAM, TooFew),
        ([litres(0.1)], GRAM, NotThatKind),
        ([100], GRAM, NotThatKind),
        ([grams(100)], grams(0), NotAboveZero),
        ([grams(100)], litres(1), NotThatKind),
    ],
)
def test_calibrations_that_cannot_be(fills, step: Quantity, refusal: type[Exception]) -> None:  # type: ignore[no-untyped-def]
    """No fills, volumes for weights, a scale without a step."""
    with pytest.raises(refusal):
        calibrate("blue", fills, step, tared=True)


def test_a_cup_neither_tared_nor_weighed_is_refused() -> None:
    """Without the empty cup's weight the water cannot be known."""
    with pytest.raises(EmptyCupUnknown, match="blue"):
        calibrate("blue", [grams(182)], GRAM, tared=False)


# ---- weighing a slurry -------------------------------------------------------------

# water, shown, gravity: ratio of two weighings in one cup, ASTM D1475-13 (2020) 3.1.2 (computed).
WEIGHED = [(100, 145, 1.45), (100, 142, 1.42), (99.82, 144.74, 1.45), (250, 380, 1.52), (50, 72.5, 1.45)]


@pytest.mark.parametrize(("water", "shown", "gravity"), WEIGHED)
def test_gravity_is_the_ratio_of_two_weighings(water: float, shown: float, gravity: float) -> None:
    """Slurry over water, in the same cup."""
    reading = gravity_of(_tared(water, grams(0.01)), grams(shown))

    assert reading.gravity == pytest.approx(gravity, abs=0.0001)
    assert _g(reading.net) == shown


def test_the_empty_cup_is_taken_off() -> None:
    """With a cup of 82 g, 227 g on the scale are 145 g of slurry."""
    cup = calibrate("blue", [grams(182), grams(182)], GRAM, tared=False, empty=grams(82))

    assert gravity_of(cup, grams(227)).gravity == pytest.approx(1.45)


def test_ounces_will_do() -> None:
    """A scale in ounces gives the same gravity."""
    cup = calibrate("blue", [ounces(10), ounces(10)], ounces(0.05), tared=True)

    assert gravity_of(cup, ounces(14.5)).gravity == pytest.approx(1.45)


@given(st.floats(20, 1000), st.floats(1.01, 2.0), st.floats(0.5, 2))
def test_the_size_of_the_cup_and_the_scale_do_not_matter(water: float, gravity: float, wrong: float) -> None:
    """A scale that shows everything in proportion too high still gives the right gravity."""
    cup = calibrate("blue", [grams(water * wrong), grams(water * wrong)], grams(0.01), tared=True)

    assert gravity_of(cup, grams(water * gravity * wrong)).gravity == pytest.approx(gravity, rel=1e-9)


# scale step, water: what half a step either way does to 1.45, by hand: 0.29·step/water, twice in quadrature
# for slurry and (times 1.45) for water, and 0.2 % for each fill, the water's over √2.
@pytest.mark.parametrize(("step", "water"), [(1, 100), (0.1, 100), (1, 250), (5, 500)])
def test_the_uncertainty_is_that_of_scale_and_fill(step: float, water: float) -> None:
    """The parts add in quadrature (JCGM 100:2008, 5.1.2, from memory)."""
    scale = step / math.sqrt(12) / water
    repeat = math.hypot(scale, 1.45 * LEAST_SPREAD)
    shared = 1.45 * math.hypot(scale, LEAST_SPREAD / math.sqrt(2))

    reading = gravity_of(_tared(water, grams(step)), grams(1.45 * water))

    assert reading.repeat == pytest.approx(repeat)
    assert reading.uncertainty == pytest.approx(math.hypot(repeat, shared))


def test_a_finer_scale_and_a_bigger_cup_help() -> None:
    """A tenth of a gram in 100, or a gram in 250, beat a gram in 100."""
    coarse = gravity_of(_tared(100), grams(145)).uncertainty

    assert gravity_of(_tared(100, TENTH), grams(145)).uncertainty < coarse
    assert gravity_of(_tared(250), grams(362)).uncertainty < coarse


def test_an_untared_cup_is_a_little_less_certain() -> None:
    """Two figures are read for each weight, not one."""
    untared = calibrate("blue", [grams(182), grams(182)], GRAM, tared=False, empty=grams(82))

    assert _g(cup_uncertainty(untared)) == pytest.approx(math.hypot(0.2 / math.sqrt(2), math.sqrt(2 / 12)))
    assert gravity_of(untared, grams(227)).uncertainty > gravity_of(_tared(), grams(145)).uncertainty


def test_one_step_of_the_scale() -> None:
    """A gram in a cup of 100 is 0.01 of gravity; a tenth is 0.001 (computed)."""
    assert gravity_step(_tared(100)) == pytest.approx(0.01)
    assert gravity_step(_tared(100, TENTH)) == pytest.approx(0.001)


@pytest.mark.parametrize("step", [1.0, 0.1])
def test_the_stated_uncertainty_is_what_weighings_scatter(step: float) -> None:
    """Simulated fills, weighed on a simulated scale, scatter as the uncertainty says, within a tenth."""
    dice, errors, stated = random.Random(7), [], []
    for _ in range(1500):
        cup = calibrate("blue", [_shown(dice, 173.4, step) for _ in range(2)], grams(step), tared=True)
        reading = gravity_of(cup, _shown(dice, 173.4 * 1.45, step))
        errors.append(reading.gravity - 1.45)
        stated.append(reading.uncertainty)

    assert math.sqrt(fmean(e * e for e in errors)) == pytest.approx(
        math.sqrt(fmean(s * s for s in stated)), rel=0.1
    )


def _shown(dice: random.Random, mass: float, step: float) -> Quantity:
    """Return what a scale shows for a cup filled by a hand that is good to half a per cent."""
    return grams(round(dice.gauss(mass, 0.005 * mass) / step) * step)


@pytest.mark.parametrize(("calibrated_wet", "wet"), [(True, False), (False, True)])
def test_a_film_of_water_adds_doubt(calibrated_wet: bool, wet: bool) -> None:
    """A cup calibrated dry and used wet, or the other way, is less certain; used alike, it is not."""
    cup = _tared(wet=calibrated_wet)

    alike = gravity_of(cup, grams(145), wet=calibrated_wet)
    unlike = gravity_of(cup, grams(145), wet=wet)

    assert alike.uncertainty == gravity_of(cup, grams(145)).uncertainty
    assert unlike.uncertainty > alike.uncertainty
    assert unlike.repeat == alike.repeat


@pytest.mark.parametrize(("tared", "shown"), [(True, 1.45 * 99.5), (False, 82 + 0.5 + 1.45 * 99.5)])
def test_the_film_is_what_half_a_gram_of_water_does(tared: bool, shown: float) -> None:
    """Half a gram that clings to a cup of a hundred: the doubt added is the error it makes, by hand."""
    tare = 0 if tared else 82
    cup = calibrate("blue", [grams(tare + 100)] * 2, TENTH, tared=tared, empty=grams(82))

    dry, wet = gravity_of(cup, grams(shown), wet=False), gravity_of(cup, grams(shown), wet=True)

    added = math.sqrt(wet.uncertainty**2 - dry.uncertainty**2)
    assert added == pytest.approx(1.45 - wet.gravity, rel=0.01)


def test_one_fill_is_worth_a_hundredth() -> None:
    """A cup filled once is granted a spread of 1 % (our choice)."""
    assert _g(fills_of([grams(250)], GRAM).spread) == pytest.approx(2.5)


# ---- weights that no slurry has ----------------------------------------------------


def test_water_itself_is_read_as_water() -> None:
    """Checking the cup with water again must not be refused: one gram short is within the fill."""
    assert gravity_of(_tared(), grams(99)).gravity == pytest.approx(0.99)


@pytest.mark.parametrize("shown", [95, 45, 0, -12])
def test_lighter_than_water_is_refused(shown: float) -> None:
    """The facts are both weights."""
    with pytest.raises(BelowWater) as refused:
        gravity_of(_tared(), grams(shown))

    assert (refused.value.net, refused.value.water) == (shown, 100)


def test_a_cup_taken_for_untared_is_pointed_out() -> None:
    """145 g shown, less a cup of 82, would be lighter than water: perhaps the scale was set to nothing."""
    cup = calibrate("blue", [grams(182), grams(182)], GRAM, tared=False, empty=grams(82))

    with pytest.raises(BelowWater) as refused:
        gravity_of(cup, grams(145))

    assert refused.value.otherwise == pytest.approx(1.45)


def test_a_cup_taken_for_tared_is_pointed_out() -> None:
    """A heavy jar left in the figure looks like lead: perhaps the scale was not set to nothing."""
    cup = calibrate("jar", [grams(100), grams(100)], GRAM, tared=True, empty=grams(200))

    with pytest.raises(TooHeavy) as refused:
        gravity_of(cup, grams(345))

    assert refused.value.otherwise == pytest.approx(1.45)
    assert refused.value.limit == pytest.approx(300)


@pytest.mark.parametrize(("shown", "a_tenth"), [(1450, 1.45), (1425, 1.425), (300, None), (14500, None)])
def test_thousands_in_the_cup_are_refused(shown: float, a_tenth: float | None) -> None:
    """A lost decimal point is pointed out when a tenth would do."""
    with pytest.raises(TooHeavy) as refused:
        gravity_of(_tared(), grams(shown))

    assert refused.value.a_tenth == (None if a_tenth is None else pytest.approx(a_tenth))


@pytest.mark.parametrize("shown", [litres(0.145), 145])
def test_only_a_weight_will_do(shown: object) -> None:
    """A volume, or a number without its unit, is refused."""
    with pytest.raises(NotThatKind, match="slurry in the cup"):
        gravity_of(_tared(), shown)  # type: ignore[arg-type]


@given(st.floats(20, 500), st.floats(0.5, 2500))
def test_any_weight_is_a_gravity_or_a_refusal(water: float, shown: float) -> None:
    """No weight gives a gravity below water's by more than its doubt, or of 3 and more."""
    cup = _tared(water)
    try:
        reading = gravity_of(cup, grams(shown))
    except BelowWater:
        assert shown < water
    except TooHeavy:
        assert shown >= 3 * water * (1 - 1e-12)
    else:
        assert reading.gravity > 1 - 3 * reading.uncertainty
        assert reading.gravity < 3


# ---- more than one reading ---------------------------------------------------------


@pytest.mark.parametrize(("weights", "agree"), [((145, 146), True), ((145, 147), False), ((145,), True)])
def test_readings_agree_within_a_hundredth(weights: tuple[float, ...], agree: bool) -> None:
    """Two readings within 0.01 agree (common practice, no source)."""
    assert agreement_of([gravity_of(_tared(), grams(w)) for w in weights]).agree is agree


@pytest.mark.parametrize(("second", "agree"), [(1459.9, True), (1460.2, False)])
def test_a_hundredth_is_the_limit(second: float, agree: bool) -> None:
    """A big cup and a fine scale tell 0.0099 from 0.0102."""
    cup = _tared(1000, TENTH)

    assert agreement_of([gravity_of(cup, grams(1450)), gravity_of(cup, grams(second))]).agree is agree


@given(st.integers(1, 30))
def test_the_cups_own_error_does_not_average_away(count: int) -> None:
    """Reading often shrinks what differs between readings, and only that."""
    reading = gravity_of(_tared(), grams(145))

    together = agreement_of([reading] * count)

    own = math.sqrt(reading.uncertainty**2 - reading.repeat**2)
    assert together.gravity == pytest.approx(1.45)
    assert together.repeat == pytest.approx(reading.repeat / math.sqrt(count))
    assert together.uncertainty == pytest.approx(math.hypot(own, together.repeat))


def test_no_readings_are_refused() -> None:
    """There must be something to take the mean of."""
    with pytest.raises(TooFew):
        agreement_of([])

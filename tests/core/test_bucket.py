"""The bucket: from litres, weight and size, and found out from its own readings."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from benchvoice.calculator.bucket import (
    GUESSED,
    contents,
    contents_of_volume,
    contents_of_weight,
    cylinder,
    frustum,
    surface_diameter,
)
from benchvoice.calculator.inferred import (
    BucketReading,
    Guess,
    InferredBucket,
    infer_bucket,
    trial_addition,
    usual_misfit,
)
from benchvoice.calculator.limits import (
    BelowZero,
    LiesAbove,
    NoSlurry,
    NotAboveZero,
    NotThatKind,
    OneWater,
    OutOfRange,
    Refusal,
    TooFew,
    TooUnsure,
)
from benchvoice.calculator.quantities import (
    Quantity,
    centimetres,
    grams,
    kilograms,
    litres,
    magnitude,
    quantity,
)
from benchvoice.calculator.slurry import gravity_with_water

CM = centimetres


def _g(mass: Quantity) -> float:
    """Return a mass in grams."""
    return magnitude(mass, "gram")


def _l(volume: Quantity) -> float:
    """Return a volume in litres."""
    return magnitude(volume, "litre")


# ---- litres and weight -------------------------------------------------------------


def test_ten_litres_at_1_45_weigh_14_and_a_half_kilograms() -> None:
    """Litres times gravity (definition)."""
    assert _g(contents_of_volume(litres(10), 1.45, GUESSED).mass) == pytest.approx(14500)


def test_an_imperial_gallon_of_water_weight() -> None:
    """Ten pounds of water to the gallon: a gallon at 1.5 weighs fifteen pounds, within 0.3 % (NIST HB 44)."""
    bucket = contents_of_volume(quantity(1, "imperial_gallon"), 1.5, 0.05)

    assert magnitude(bucket.mass, "pound") == pytest.approx(15, rel=0.003)


def test_a_weighed_bucket() -> None:
    """Full less empty, each good to half the scale's step: ten grams leave 4.1 (computed: 10/√6)."""
    bucket = contents_of_weight(kilograms(9.12), grams(620), grams(10))

    assert _g(bucket.mass) == pytest.approx(8500)
    assert _g(bucket.uncertainty) == pytest.approx(10 / math.sqrt(6), rel=0.001)


def test_a_bucket_on_a_tared_scale() -> None:
    """With nothing to take off, one figure is read."""
    bucket = contents_of_weight(grams(8500), grams(0), grams(10))

    assert _g(bucket.uncertainty) == pytest.approx(10 / math.sqrt(12), rel=0.001)


@given(st.floats(100, 50_000), st.floats(0, 1))
def test_the_bounds_enclose_the_mass(mass: float, spread: float) -> None:
    """Even of a poor guess the lower bound is more than nothing, and twice is as far as half."""
    bucket = contents(grams(mass), spread)

    assert 0 < _g(bucket.low) <= _g(bucket.mass) <= _g(bucket.high)
    assert _g(bucket.low) * _g(bucket.high) == pytest.approx(mass**2)


@given(st.floats(1000, 50_000), st.floats(1e-6, 0.1))
def test_a_small_spread_is_the_standard_uncertainty(mass: float, spread: float) -> None:
    """A quarter of the way between the bounds is the spread of the mass, to a hundredth of it."""
    assert _g(contents(grams(mass), spread).uncertainty) == pytest.approx(mass * spread, rel=0.01)


# ---- size --------------------------------------------------------------------------

# bottom, surface, depth [cm]
SIZES = [(28, 28, 20), (24, 28, 20), (28, 24, 20), (1, 40, 50), (30, 30.001, 0.5)]


@pytest.mark.parametrize(("bottom", "surface", "depth"), SIZES)
def test_a_tapered_bucket_is_the_sum_of_its_slices(bottom: float, surface: float, depth: float) -> None:
    """Ten thousand thin discs have the volume that the formula gives."""
    got = _l(frustum(CM(bottom), CM(surface), CM(depth)))

    assert got == pytest.approx(_sliced(bottom, surface, depth), rel=1e-6)


def _sliced(bottom: float, surface: float, depth: float, slices: int = 10_000) -> float:
    """Return litres as the sum of thin discs."""
    middle = ((k + 0.5) / slices for k in range(slices))
    return sum(math.pi / 4 * (bottom + (surface - bottom) * m) ** 2 for m in middle) * depth / slices / 1000


def test_a_known_cylinder() -> None:
    """A litre measure of 10 cm across is 12.732 cm deep (computed: 4000/(100·π))."""
    assert _l(cylinder(CM(10), CM(12.732395))) == pytest.approx(1, rel=1e-7)


def test_a_cone_is_a_third_of_its_cylinder() -> None:
    """Euclid, Elements XII, 10 (from memory): with almost no bottom the frustum is a cone."""
    assert _l(frustum(CM(1e-9), CM(30), CM(40))) == pytest.approx(_l(cylinder(CM(30), CM(40))) / 3, rel=1e-9)


@given(st.floats(5, 60), st.floats(5, 60), st.floats(1, 60))
def test_a_frustum_lies_between_its_cylinders(a: float, b: float, depth: float) -> None:
    """And turning it over changes nothing."""
    volume = _l(frustum(CM(a), CM(b), CM(depth)))

    assert volume == pytest.approx(_l(frustum(CM(b), CM(a), CM(depth))))
    assert _l(cylinder(CM(min(a, b)), CM(depth))) <= volume * (1 + 1e-12)
    assert volume <= _l(cylinder(CM(max(a, b)), CM(depth))) * (1 + 1e-12)


@given(st.floats(10, 40), st.floats(10, 40), st.floats(20, 60), st.floats(0.1, 0.9))
def test_two_layers_make_the_bucket(bottom: float, rim: float, height: float, part: float) -> None:
    """The slurry below a depth and the bucket above it together are the whole bucket."""
    depth = part * height
    surface = surface_diameter(CM(bottom), CM(rim), CM(height), CM(depth))

    below = _l(frustum(CM(bottom), surface, CM(depth)))
    above = _l(frustum(surface, CM(rim), CM(height - depth)))

    assert below + above == pytest.approx(_l(frustum(CM(bottom), CM(rim), CM(height))))


def test_inches_will_do() -> None:
    """Eleven inches across and eight deep (computed: π/4·11²·8·2.54³)."""
    got = _l(cylinder(quantity(11, "inch"), quantity(8, "inch")))

    assert got == pytest.approx(math.pi / 4 * 121 * 8 * 2.54**3 / 1000)


REFUSED = [
    (cylinder, (CM(0), CM(10)), NotAboveZero),
    (cylinder, (CM(28), grams(20)), NotThatKind),
    (cylinder, (28, 20), NotThatKind),
    (frustum, (CM(28), CM(-3), CM(10)), NotAboveZero),
    (surface_diameter, (CM(24), CM(30), CM(30), CM(31)), LiesAbove),
    (contents, (grams(0), 0.1), NotAboveZero),
    (contents, (litres(10), 0.1), NotThatKind),
    (contents, (grams(100), 1.5), OutOfRange),
    (contents, (grams(100), -0.1), OutOfRange),
    (contents_of_volume, (litres(10), 1.0, 0.1), NoSlurry),
    (contents_of_volume, (grams(10), 1.5, 0.1), NotThatKind),
    (contents_of_weight, (grams(600), grams(600), grams(1)), LiesAbove),
    (contents_of_weight, (grams(600), grams(-6), grams(1)), BelowZero),
    (contents_of_weight, (grams(600), grams(60), grams(0)), NotAboveZero),
]


@pytest.mark.parametrize(("call", "arguments", "refusal"), REFUSED)
def test_buckets_that_cannot_be(call, arguments, refusal: type[Refusal]) -> None:  # type: ignore[no-untyped-def]
    """No size, no weight, the wrong kind of either, or slurry standing above the rim."""
    with pytest.raises(refusal):
        call(*arguments)


# ---- found out from readings -------------------------------------------------------


def _readings(
    volume: float, gravity: float, waters: list[float], noise: float, dice: random.Random | None = None
) -> list[BucketReading]:
    """Return what a bucket of so many millilitres gives, exactly or with noise."""
    true = [1 + (gravity - 1) / (1 + water / volume) for water in waters]
    read = [t + dice.gauss(0, noise) if dice else t for t in true]
    return [BucketReading(grams(w), g, noise) for w, g in zip(waters, read, strict=True)]


# volume, gravity, waters: mass by hand is volume × gravity + the last water
EXACT = [
    (10_000, 1.50, [0, 1111.11]),
    (10_000, 1.50, [0, 500, 1000]),
    (3_000, 1.60, [0, 100, 250, 400]),
    (25_000, 1.48, [0, 2000, 1500]),
    (800, 1.55, [0, 60]),
    (10_000, 1.45, [0, -600]),
    (10_000, 1.45, [0, -600, 0, 900]),
]


@pytest.mark.parametrize(("volume", "gravity", "waters"), EXACT)
def test_exact_readings_give_the_bucket(volume: float, gravity: float, waters: list[float]) -> None:
    """Readings without error recover mass and gravity, whether water went in or was taken off."""
    found = infer_bucket(_readings(volume, gravity, waters, 0.0005))

    assert _g(found.contents.mass) == pytest.approx(volume * gravity + waters[-1], rel=1e-5)
    assert found.gravity == pytest.approx(1 + (gravity - 1) / (1 + waters[-1] / volume), abs=1e-6)
    assert found.told
    assert found.fits


@given(st.floats(500, 40_000), st.floats(1.3, 1.8), st.floats(0.05, 0.3))
def test_exact_readings_by_the_balance_itself(volume: float, gravity: float, part: float) -> None:
    """Two readings and the water between them give the mass by plain algebra: V = W·(D2 − 1)/(D1 − D2)."""
    after = gravity_with_water(grams(volume * gravity), gravity, grams(part * volume))

    found = infer_bucket(
        [BucketReading(grams(0), gravity, 0.001), BucketReading(grams(part * volume), after, 0.001)]
    )

    assert _g(found.contents.mass) == pytest.approx(volume * gravity + part * volume, rel=1e-4)
    assert volume == pytest.approx(part * volume * (after - 1) / (gravity - after))


@pytest.mark.parametrize(
    ("volume", "gravity", "waters", "noise", "spread"),
    [
        (10_000, 1.50, [0, 1000], 0.004, None),
        (10_000, 1.50, [0, 500, 1000], 0.004, None),
        (10_000, 1.50, [0, 400, 900, 1400], 0.006, None),
        (3_000, 1.55, [0, 300, 500], 0.004, None),
        (10_000, 1.50, [0, 300], 0.004, None),
        (10_000, 1.50, [0, 500], 0.004, 0.15),
        (10_000, 1.50, [0, 300, 800], 0.004, 0.3),
    ],
)
def test_the_bounds_hold_what_they_promise(
    volume: float, gravity: float, waters: list[float], noise: float, spread: float | None
) -> None:
    """In 200 noisy sets of readings the true mass is within 95 % bounds in 90 to 99.5 of 100."""
    dice, held, true = random.Random(11), 0, volume * gravity + waters[-1]
    for _ in range(200):
        guess = spread and Guess(litres(volume / 1000 * math.exp(dice.gauss(0, spread))), spread)
        found = infer_bucket(_readings(volume, gravity, waters, noise, dice), guess or None)
        held += _g(found.contents.low) <= true <= _g(found.contents.high)

    assert 0.90 <= held / 200 <= 0.995


# Chi squared at 99 %: figures of any table of it (from memory).
@pytest.mark.parametrize(
    ("freedom", "table"), [(1, 6.635), (2, 9.210), (3, 11.345), (5, 15.086), (10, 23.209)]
)
def test_the_usual_misfit_is_chi_squared(freedom: int, table: float) -> None:
    """The approximation is within a hundredth of the tables."""
    assert usual_misfit(freedom) == pytest.approx(table, rel=0.01)


def test_honest_readings_are_hardly_ever_called_a_misfit() -> None:
    """Of 400 noisy sets of four readings about one in a hundred is (expected: 4; three sigma: 10)."""
    dice = random.Random(5)
    sets = [_readings(10_000, 1.5, [0, 500, 1000, 1500], 0.003, dice) for _ in range(400)]

    misfits = sum(not infer_bucket(readings).fits for readings in sets)

    assert 1 <= misfits <= 10


def test_the_stated_uncertainty_is_the_scatter() -> None:
    """Over 300 sets of good readings the masses scatter as much as each set says, within a sixth."""
    dice, off, stated = random.Random(3), [], []
    for _ in range(300):
        found = infer_bucket(_readings(10_000, 1.5, [0, 700, 1400], 0.002, dice))
        off.append(_g(found.contents.mass) - 16_400)
        stated.append(_g(found.contents.uncertainty))

    scatter = math.sqrt(sum(o * o for o in off) / len(off))
    assert scatter == pytest.approx(math.sqrt(sum(s * s for s in stated) / len(stated)), rel=1 / 6)


def test_each_round_makes_it_better() -> None:
    """With every reading the bounds draw closer."""
    readings = _readings(10_000, 1.5, [0, 300, 700, 1100, 1400], 0.003)

    widths = [_width(infer_bucket(readings[:count])) for count in range(2, 6)]

    assert all(later < earlier for earlier, later in pairwise(widths))


def test_a_guess_makes_it_better_and_gives_way() -> None:
    """A guess narrows the bounds; a wrong one is overruled by good readings."""
    few, good = _readings(10_000, 1.5, [0, 400], 0.004), _readings(10_000, 1.5, [0, 800, 1500], 0.0005)
    guess = Guess(litres(14), 0.3)

    assert _width(infer_bucket(few, guess)) < _width(infer_bucket(few))
    assert _g(infer_bucket(good, guess).contents.mass) == pytest.approx(16_500, rel=0.01)


def test_one_reading_and_a_guess() -> None:
    """Before any water the bucket is what was guessed."""
    found = infer_bucket([BucketReading(grams(0), 1.5, 0.004)], Guess(litres(10), 0.15))

    assert _g(found.contents.mass) == pytest.approx(15_000)
    assert _g(found.contents.low) == pytest.approx(15_000 * math.exp(-1.96 * 0.15), rel=0.01)


def test_readings_that_differ_too_little_are_said_to() -> None:
    """A fall no greater than its noise tells no bucket; only that it is not a small one."""
    found = infer_bucket([BucketReading(grams(0), 1.50, 0.004), BucketReading(grams(100), 1.497, 0.004)])

    assert not found.told
    assert found.fits
    assert found.fall == pytest.approx(0.003)
    assert found.noise == pytest.approx(0.004 * math.sqrt(2))
    assert 1000 < _g(found.contents.low) < 20_000


def test_a_gravity_that_rises_with_water_fits_no_bucket() -> None:
    """Something was misheard, or not stirred."""
    found = infer_bucket([BucketReading(grams(0), 1.50, 0.004), BucketReading(grams(1000), 1.55, 0.004)])

    assert not found.fits
    assert not found.told


def test_a_slip_among_good_readings_is_seen() -> None:
    """Three readings that agree and one that does not fit no bucket."""
    readings = _readings(10_000, 1.5, [0, 500, 1000, 1500], 0.002)
    wrong = BucketReading(readings[2].water, readings[2].gravity + 0.02, 0.002)

    assert not infer_bucket([*readings[:2], wrong, readings[3]]).fits


@given(
    st.lists(
        st.tuples(st.floats(-400, 5000), st.floats(1.01, 2.5), st.floats(1e-5, 0.05)), min_size=2, max_size=6
    )
)
def test_any_readings_give_bounds_in_order(rows: list[tuple[float, float, float]]) -> None:
    """However absurd the readings, the answer is a bucket with bounds, or says that it is none."""
    assume(len({water for water, _, _ in rows}) > 1)

    found = infer_bucket([BucketReading(grams(w), d, u) for w, d, u in rows])

    assert 0 < _g(found.contents.low) <= _g(found.contents.mass) * (1 + 1e-6)
    assert _g(found.contents.mass) <= _g(found.contents.high) * (1 + 1e-6)
    assert found.gravity > 1


def _width(found: InferredBucket) -> float:
    """Return how far apart the bounds are, as a factor."""
    return _g(found.contents.high) / _g(found.contents.low)


BEFORE = BucketReading(grams(0), 1.5, 0.004)

UNTOLD = [
    ([], None, TooFew),
    ([BEFORE], None, TooFew),
    ([], Guess(litres(10), 0.2), TooFew),
    ([BEFORE, BEFORE], None, OneWater),
    ([BEFORE, BucketReading(grams(500), 1.0, 0.004)], None, NoSlurry),
    ([BEFORE, BucketReading(grams(500), 1.45, 0)], None, NotAboveZero),
    ([BEFORE, BucketReading(litres(0.5), 1.45, 0.004)], None, NotThatKind),
    ([BEFORE], Guess(grams(10), 0.2), NotThatKind),
    ([BEFORE], Guess(litres(10), 0), NotAboveZero),
    ([BEFORE], Guess(litres(1000), 0.2), OutOfRange),
]


@pytest.mark.parametrize(("readings", "guess", "refusal"), UNTOLD)
def test_readings_that_tell_nothing(
    readings: list[BucketReading], guess: Guess | None, refusal: type[Refusal]
) -> None:
    """One reading alone, the same water twice, no slurry, no uncertainty, or the wrong kind."""
    with pytest.raises(refusal):
        infer_bucket(readings, guess)


# ---- the first water ---------------------------------------------------------------


@given(
    smallest=st.floats(0.5, 5),
    times=st.floats(1, 20),
    now=st.floats(1.3, 1.7),
    u=st.floats(0.001, 0.01),
    fall=st.floats(0.03, 0.15),
    slip=st.floats(-2, 2),
)
def test_the_first_water_is_safe(
    smallest: float, times: float, now: float, u: float, fall: float, slip: float
) -> None:
    """In the smallest bucket, with the gravity read too high, it stays on the thick side of the target."""
    high, true = now - fall, now + slip * u
    assume(now - 2 * u > high)
    assume(high - 0.02 > 1.02)

    trial = trial_addition(litres(smallest), now, u, high - 0.02, high)

    after = gravity_with_water(grams(1000 * smallest * times * true), true, trial.water)
    assert after >= high - 1e-9


def test_the_first_water_says_which_buckets_it_tells() -> None:
    """In a bucket of just that size the fall is five times its uncertainty; then the bucket is told."""
    trial = trial_addition(litres(2), 1.52, 0.002, 1.42, 1.44)
    size = magnitude(trial.tells_up_to, "millilitre")
    after = gravity_with_water(grams(1.52 * size), 1.52, trial.water)

    found = infer_bucket([BucketReading(grams(0), 1.52, 0.002), BucketReading(trial.water, after, 0.002)])

    assert 1.52 - after == pytest.approx(5 * math.sqrt(2) * 0.002)
    assert _g(found.contents.mass) == pytest.approx(1.52 * size + _g(trial.water), rel=0.01)
    assert found.told


@pytest.mark.parametrize(
    ("smallest", "now", "u", "refusal"),
    [
        (litres(2), 1.43, 0.01, TooUnsure),
        (litres(2), 1.40, 0.001, TooUnsure),
        (litres(0), 1.52, 0.004, NotAboveZero),
        (grams(2000), 1.52, 0.004, NotThatKind),
        (litres(2), 1.52, 0.0, NotAboveZero),
        (litres(2), 1.0, 0.004, NoSlurry),
    ],
)
def test_no_first_water(smallest: Quantity, now: float, u: float, refusal: type[Refusal]) -> None:
    """None when the gravity may be low enough already, or when nothing was rightly given."""
    with pytest.raises(refusal):
        trial_addition(smallest, now, u, 1.42, 1.44)

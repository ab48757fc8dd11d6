"""Solutions by weight: thinning an additive, dissolving a salt, what water takes of magnesium sulfate."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from benchvoice.calculator.limits import Refusal
from benchvoice.calculator.quantities import Quantity, above_zero, grams, magnitude, millilitres, within
from benchvoice.calculator.sources import Known, Source

HEPTAHYDRATE, ANHYDROUS = 246.47, 120.37
"""Molar masses of MgSO4·7H2O and MgSO4 [g/mol], from the atomic weights."""

SOLUBILITY_BAND = 0.10
"""How far the table may be off, as a share [-]: published values differ by so much, and more at 0 °C."""
SOLUBILITY_SOURCE = Source(
    "Mass per cent as in the CRC Handbook, Aqueous solubility of inorganic compounds at various temperatures "
    "(the row not read; ±10 %)",
    Known.MEMORY,
)
# (°C, mass per cent of MgSO4, anhydrous, in the saturated solution)
_SOLUBILITY = ((0, 18.2), (10, 21.7), (20, 25.1), (25, 26.3), (30, 28.2), (40, 30.9))

STRONGEST_SHARE = 0.9
"""A stock stays below this share of saturation, or a cold night drops crystals (common practice)."""


@dataclass(eq=False)
class WillNotDissolve(Refusal):
    """More salt than the water takes at that temperature."""

    wanted_got = "At {celsius:g} °C at most {most:.3g} % of magnesium sulfate is wanted; got {got:g} %."
    mend = "Make it 20 %, which dissolves in any room."

    got: float
    """Heptahydrate in the solution by weight [%]."""
    most: float
    """What dissolves with something to spare [%]."""
    celsius: float
    """Temperature of the water [°C]."""


@dataclass(frozen=True, slots=True)
class Solution:
    """What to weigh together."""

    solute: Quantity
    """Additive as supplied, or salt [g]."""
    water: Quantity
    """Water to it [g]."""


@dataclass(frozen=True, slots=True)
class Solubility:
    """How much magnesium sulfate water takes; every figure within ±10 %, and from memory."""

    anhydrous_percent: float
    """MgSO4 without its water, by weight of the saturated solution [%]."""
    heptahydrate_percent: float
    """Crystals (MgSO4·7H2O), by weight of the saturated solution [%]."""
    heptahydrate_per_100: float
    """Crystals to 100 g of added water [g]."""
    band: float
    """How far each may be off, as a share [-]."""
    source: Source


def solution(total: Quantity, percent: float) -> Solution:
    """Return what to weigh for a solution of so many per cent by weight.

    ::

        solute = total · percent/100,   water = total - solute

    total    [gram]  of solution wanted, more than 0
    percent  [%]     by weight of the additive as supplied, or of the crystals; above 0, below 100
    returns  [gram]  solute and water
    source   definition (computed from the formula)

    >>> solution(grams(250), 20)
    Solution(solute=<Quantity(50.0, 'gram')>, water=<Quantity(200.0, 'gram')>)
    """
    whole = above_zero(total, "gram", of="the solution")
    solute = whole * within(percent, 0.01, 99.99, of="the strength", unit="per cent") / 100
    return Solution(grams(solute), grams(whole - solute))


def water_to_dilute(supplied: Quantity, percent: float) -> Quantity:
    """Return the water that makes a weight of additive as supplied into a solution of so many per cent.

    ::

        water = supplied · (100/percent - 1)

    supplied  [gram]  more than 0
    percent   [%]     by weight of the additive as supplied; above 0, at most 100
    returns   [gram]
    source    definition (computed from the formula)

    >>> water_to_dilute(grams(50), 10)
    <Quantity(450.0, 'gram')>
    """
    amount = above_zero(supplied, "gram", of="the additive")
    return grams(amount * (100 / within(percent, 0.01, 100, of="the strength", unit="per cent") - 1))


def stock_volume(dry: Quantity, percent: float, grams_per_100_ml: float) -> Quantity:
    """Return the volume of a stock made by volume that carries so many per cent of the dry content.

    ::

        volume = dry · percent / grams per 100 mL

    dry               [gram]  content of the bucket, more than 0
    percent           [%]     of the dry content, 0 to 100
    grams_per_100_ml  [g]     of salt in 100 mL of the stock, above 0 to 200
    returns           [millilitre]
    source            definition (computed from the formula)

    >>> stock_volume(grams(2521.6), 0.1, 20)
    <Quantity(12.608, 'millilitre')>
    """
    mass = above_zero(dry, "gram", of="the dry content") * within(
        percent, 0, 100, of="a dose", unit="per cent"
    )
    return millilitres(mass / within(grams_per_100_ml, 0.01, 200, of="the stock", unit="grams per 100 mL"))


def heptahydrate_per_100(anhydrous_percent: float) -> float:
    """Return the crystals to 100 g of added water that make a solution of so many mass per cent MgSO4.

    ::

        H = w · M(MgSO4·7H2O)/M(MgSO4),   crystals per 100 g water = 100·H / (100 - H)

    anhydrous_percent  [%]  w, of MgSO4 in the solution by weight, 0 to 45
    returns            [g]  to 100 g of water added; the crystals bring water of their own
    source             molar masses (computed from the formula)

    >>> heptahydrate_per_100(25.1)
    105.7
    """
    share = _as_crystals(within(anhydrous_percent, 0, 45, of="the solution", unit="per cent"))
    return 100 * share / (100 - share)


def _as_crystals(anhydrous_percent: float) -> float:
    return anhydrous_percent * HEPTAHYDRATE / ANHYDROUS


def magnesium_sulfate_solubility(temperature: Quantity) -> Solubility:
    """Return how much magnesium sulfate water takes at a temperature: from memory, within ±10 %.

    Values in print are of two kinds, without the crystals' own water or with it, and differ by a factor of
    three; here both stand side by side.

    temperature  [°C]  0 to 40
    returns      mass per cent both ways, crystals to 100 g of water, straight between the table's points
    raises       OutOfRange
    source       CRC Handbook, the row not read (from memory); the conversion from molar masses

    >>> from benchvoice.calculator.quantities import celsius
    >>> magnesium_sulfate_solubility(celsius(20)).heptahydrate_per_100
    105.7
    """
    t = within(magnitude(temperature, "degC"), 0, 40, of="the water's temperature", unit="degrees Celsius")
    w = _between(t)
    return Solubility(w, _as_crystals(w), heptahydrate_per_100(w), SOLUBILITY_BAND, SOLUBILITY_SOURCE)


def _between(t: float) -> float:
    low, high = next((a, b) for a, b in pairwise(_SOLUBILITY) if t <= b[0])
    return low[1] + (high[1] - low[1]) * (t - low[0]) / (high[0] - low[0])


def salt_solution(total: Quantity, percent: float, temperature: Quantity) -> Solution:
    """Return what to weigh for a stock of magnesium sulfate crystals; refuses one that would not dissolve.

    total        [gram]  of solution
    percent      [%]     crystals by weight of the solution
    temperature  [°C]    of the coldest place the bottle will stand, 0 to 40
    returns      [gram]  crystals and water
    raises       WillNotDissolve above nine tenths of the least the table allows

    >>> from benchvoice.calculator.quantities import celsius
    >>> salt_solution(grams(500), 20, celsius(10)).solute
    <Quantity(100.0, 'gram')>
    """
    limit = magnesium_sulfate_solubility(temperature)
    most = limit.heptahydrate_percent * (1 - limit.band) * STRONGEST_SHARE
    if percent > most:
        raise WillNotDissolve(percent, most, magnitude(temperature, "degC"))
    return solution(total, percent)

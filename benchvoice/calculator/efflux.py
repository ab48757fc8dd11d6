"""Published efflux cups: seconds to kinematic viscosity, for thin Newtonian liquids only, never for a glaze.

A glaze is shear-thinning and builds up while it stands; ASTM D1200 leaves such liquids out of its scope.
These formulas are here to check a cup against an oil of known viscosity, and for nothing else. What a glaze
does is told in seconds of the potter's own cup (see ``flow``).

Each cup's time range is the published one and is kept: outside it the formula is not asked.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from benchvoice.calculator.limits import Refusal
from benchvoice.calculator.quantities import Quantity, above_zero, magnitude, quantity, seconds, within
from benchvoice.calculator.sources import Known, Source

NEWTONIAN_ONLY = "newtonian-only"
"""The caution that every result carries: thin, evenly flowing liquids only; not a glaze."""

_FORD = Source(
    "ASTM D1200-94(2005), time ranges of section 11.2; formulas as printed by an instrument maker and a "
    "testing page, at 25 °C",
    Known.SEEN,
)
_ZAHN = Source("Instrument maker's table of cup formulas, which names ASTM D4212", Known.SEEN)
_ISO = Source(
    "ISO 2431 (the standard itself not read; formula and range from memory, and the same tabled in a "
    "code file at github.com/mendip-defender/conversion_calculators, 2024, which misprints the number: 2341)",
    Known.SECOND_HAND,
)
_DIN = Source(
    "DIN 53211, withdrawn (not read; formula and range from memory, and the same tabled in a code "
    "file at github.com/mendip-defender/conversion_calculators, 2024)",
    Known.SECOND_HAND,
)
_MARSH = Source(
    "M. J. Pitt, SPE Drilling & Completion 15(1), 2000, pages 3-6: effective viscosity; water's 26 seconds a "
    "US quart as told in drilling articles that cite API RP 13B-1",
    Known.SEEN,
)


@dataclass(eq=False)
class UnknownCup(Refusal):
    """A published cup that is not in the table."""

    wanted_got = "A published cup is wanted: {choices}; got {got}."
    mend = "Name one of these, or time your own cup against its own good value."

    got: str
    """The name as it came."""
    choices: str
    """The names that are known."""


@dataclass(frozen=True, slots=True)
class EffluxCup:
    """A published cup: ν = slope·(t - dead time) - correction/t, with t in seconds and ν in mm²/s."""

    name: str
    slope: float
    """Viscosity per second of draining [mm²/s²]."""
    dead_time: float
    """Seconds that the formula takes off first [s]."""
    correction: float
    """What the liquid's own speed costs at short times [mm²]."""
    shortest: float
    """The least time for which the formula is published [s]."""
    longest: float
    """The greatest time for which the formula is published [s]."""
    source: Source

    def equation(self, t: float) -> float:
        """Return ν in mm²/s for t seconds by the bare equation, without asking whether t is in range."""
        return self.slope * (t - self.dead_time) - self.correction / t


@dataclass(frozen=True, slots=True)
class Efflux:
    """What a published cup says of a thin Newtonian liquid."""

    viscosity: Quantity
    """Kinematic [mm²/s], or for the Marsh funnel dynamic [mPa·s]."""
    cup: str
    source: Source
    caution: str = NEWTONIAN_ONLY


CUPS = {
    cup.name: cup
    for cup in (
        EffluxCup("ford 1", 0.49, 35.0, 0, 55, 100, _FORD),
        EffluxCup("ford 2", 1.44, 18.0, 0, 40, 100, _FORD),
        EffluxCup("ford 3", 2.31, 6.58, 0, 20, 100, _FORD),
        EffluxCup("ford 4", 3.85, 4.49, 0, 20, 100, _FORD),
        EffluxCup("ford 5", 12.1, 2.00, 0, 20, 100, _FORD),
        EffluxCup("zahn 1", 1.1, 29, 0, 35, 80, _ZAHN),
        EffluxCup("zahn 2", 3.5, 14, 0, 20, 80, _ZAHN),
        EffluxCup("zahn 3", 11.7, 7.5, 0, 20, 80, _ZAHN),
        EffluxCup("zahn 4", 14.8, 5, 0, 20, 80, _ZAHN),
        EffluxCup("zahn 5", 23, 0, 0, 20, 80, _ZAHN),
        EffluxCup("iso 3 mm", 0.443, 0, 200, 30, 100, _ISO),
        EffluxCup("iso 4 mm", 1.37, 0, 200, 30, 100, _ISO),
        EffluxCup("iso 5 mm", 3.28, 0, 220, 30, 100, _ISO),
        EffluxCup("iso 6 mm", 6.90, 0, 570, 30, 100, _ISO),
        EffluxCup("din 4 mm", 4.57, 0, 452, 25, 150, _DIN),
    )
}


def efflux_cup(name: str) -> EffluxCup:
    """Return a published cup by name; refuses one that is not in the table, with the choices."""
    try:
        return CUPS[name]
    except KeyError:
        raise UnknownCup(name, ", ".join(CUPS)) from None


def kinematic_viscosity(cup: EffluxCup, time: Quantity) -> Efflux:
    """Return the kinematic viscosity of a thin Newtonian liquid from its time in a published cup.

    ν = slope·(t - dead time) - correction/t

    cup      one of CUPS
    time     [second]  to the first break of the stream, within the cup's published range
    returns  [mm²/s]   with its source and the caution that no glaze may be read so
    raises   OutOfRange outside the cup's published range
    source   the cup's own: see the table

    >>> kinematic_viscosity(efflux_cup("ford 4"), seconds(46)).viscosity
    <Quantity(159.8135, 'millimetre ** 2 / second')>
    """
    t = above_zero(time, "second", of="the draining time")
    within(t, cup.shortest, cup.longest, of=f"the time of the {cup.name} cup", unit="seconds")
    return Efflux(quantity(cup.equation(t), "mm ** 2 / s"), cup.name, cup.source)


def ford(number: int, time: Quantity) -> Efflux:
    """Return the viscosity of a thin Newtonian liquid by a Ford cup, number 1 to 5; see kinematic_viscosity.

    >>> ford(2, seconds(46)).viscosity
    <Quantity(40.32, 'millimetre ** 2 / second')>
    """
    return kinematic_viscosity(efflux_cup(f"ford {number}"), time)


def zahn(number: int, time: Quantity) -> Efflux:
    """Return the viscosity of a thin Newtonian liquid by a Zahn cup, number 1 to 5; see kinematic_viscosity.

    Other makers' cups of this name follow other equations.
    """
    return kinematic_viscosity(efflux_cup(f"zahn {number}"), time)


def iso2431(bore: int, time: Quantity) -> Efflux:
    """Return the viscosity of a thin Newtonian liquid by an ISO 2431 cup, bore 3 to 6 mm."""
    return kinematic_viscosity(efflux_cup(f"iso {bore} mm"), time)


def din4(time: Quantity) -> Efflux:
    """Return the viscosity of a thin Newtonian liquid by the 4 mm cup of DIN 53211 (withdrawn)."""
    return kinematic_viscosity(efflux_cup("din 4 mm"), time)


def time_expected(cup: EffluxCup, viscosity: Quantity) -> Quantity:
    """Return the seconds that a liquid of known viscosity should take: the way to check a cup with an oil.

    t = ((slope·dead + ν) + √((slope·dead + ν)² + 4·slope·correction)) / (2·slope)

    cup        one of CUPS
    viscosity  [mm²/s]   of the oil at the temperature of the test, more than 0
    returns    [second]
    raises     OutOfRange when the time is outside the cup's published range: use another cup
    source     the equation of kinematic_viscosity solved for t

    >>> time_expected(efflux_cup("ford 4"), quantity(159.8135, "mm ** 2 / s"))
    <Quantity(46.0, 'second')>
    """
    known = cup.slope * cup.dead_time + above_zero(viscosity, "mm ** 2 / s", of="the oil's viscosity")
    t = (known + math.sqrt(known**2 + 4 * cup.slope * cup.correction)) / (2 * cup.slope)
    return seconds(within(t, cup.shortest, cup.longest, of=f"the time of the {cup.name} cup", unit="seconds"))


def marsh(gravity: float, time: Quantity) -> Efflux:
    """Return the effective viscosity of a drilling mud by the Marsh funnel: one number for many properties.

    μ = ρ·(t - 25)

    gravity  [-]       of the mud, 1 to 3
    time     [second]  for one US quart (946 mL), never less than water's 26
    returns  [mPa·s]   effective, at the funnel's own changing rate of shear
    raises   OutOfRange for a time below water's; no upper limit is stated in what was read
    source   M. J. Pitt, SPE Drilling & Completion 15(1), 2000, pages 3-6 (seen at source)

    >>> marsh(1.1, seconds(40)).viscosity
    <Quantity(16.5, 'millipascal * second')>
    """
    t = above_zero(time, "second", of="the draining time")
    within(t, 26, math.inf, of="a Marsh time", unit="seconds")
    density = within(gravity, 1, 3, of="the mud's gravity")
    return Efflux(quantity(density * (t - 25), "mPa * s"), "marsh", _MARSH)


def marsh_water_agrees(time: Quantity, temperature: Quantity) -> bool:
    """Tell whether a Marsh funnel is sound: water at 21 ± 3 °C takes 26 ± 0.5 seconds a US quart.

    source   drilling articles citing API RP 13B-1 (second-hand)

    >>> marsh_water_agrees(seconds(26.3), quantity(20, "degC"))
    True
    """
    within(magnitude(temperature, "degC"), 18, 24, of="the water's temperature", unit="degrees Celsius")
    return abs(above_zero(time, "second", of="water's time") - 26) <= 0.5

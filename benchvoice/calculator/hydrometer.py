"""Degrees Baumé and Twaddell, to gravity and back.

A degree Baumé means nothing without its modulus, so none is assumed. A hydrometer in a slurry that has
settled, or that sets when still, sticks where it is: its readings carry a caution, and the weighed cup is
to be preferred (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

from benchvoice.calculator.limits import UnknownModulus
from benchvoice.calculator.quantities import within

MODULI = {
    145.0: "American: 145",
    144.3: "rational: 144.3",
    144.32: "rational, other rounding: 144.32",
    146.78: "Gerlach: 146.78",
    144.0: "old Dutch: 144",
    152.04: "nineteenth century: 152",
}
"""The Baumé scales for liquids heavier than water, by modulus.

145 and 144.3 seen at source (see below); 144 and 146.78 second-hand, from a quotation of the CRC Handbook,
51st edition; 144.32 from memory; 152.04 computed from a table of 1864 (J. Towler, The Silver Sunbeam, ch. 47,
seen at source).
"""

HEAVIEST = 3.0
"""The highest gravity at which a scale is read; hydrometers end well below it."""


@dataclass(frozen=True, slots=True)
class HydrometerReading:
    """What a hydrometer says."""

    gravity: float
    """Specific gravity [-]."""
    caution: bool
    """True when it floated in a slurry, in which it may stick; False in a clear liquid."""


def baume_to_gravity(degrees: float, modulus: float) -> float:
    """Return the gravity for a reading in degrees Baumé, heavier than water.

    With B the reading and M the modulus::

        D = M / (M − B)

    degrees  [°Bé]  0 up to the reading whose gravity is 3
    modulus  [-]    one of MODULI; there is no usual one
    returns  [-]    gravity
    raises   UnknownModulus; OutOfRange
    limits   holds at the temperature for which the hydrometer was made, mostly 60 °F
    source   145: cool.conservation-us.org/don/dt/dt0255.html (seen at source);
             144.3: A Textbook of Assaying, p. 145 (seen at source)

    >>> baume_to_gravity(45, 145)
    1.45
    """
    within(degrees, 0.0, modulus_known(modulus) * (1 - 1 / HEAVIEST), of="the Baumé reading", unit="degrees")
    return modulus / (modulus - degrees)


def gravity_to_baume(gravity: float, modulus: float) -> float:
    """Return the reading in degrees Baumé at a gravity.

    With D the gravity and M the modulus::

        B = M − M / D

    gravity  [-]    1 to 3
    modulus  [-]    one of MODULI
    returns  [°Bé]
    raises   UnknownModulus; OutOfRange
    source   as for baume_to_gravity

    >>> gravity_to_baume(1.45, 145)
    45.0
    """
    return modulus_known(modulus) * (1 - 1 / within(gravity, 1.0, HEAVIEST, of="the gravity"))


def twaddell_to_gravity(degrees: float) -> float:
    """Return the gravity for a reading in degrees Twaddell.

    With T the reading::

        D = 1 + T / 200

    degrees  [°Tw]  0 to 400
    returns  [-]    gravity
    raises   OutOfRange
    source   A Textbook of Assaying, where 25 degrees are 1.125 (seen at source)

    >>> twaddell_to_gravity(90)
    1.45
    """
    return 1 + within(degrees, 0.0, 200 * (HEAVIEST - 1), of="the Twaddell reading", unit="degrees") / 200


def gravity_to_twaddell(gravity: float) -> float:
    """Return the reading in degrees Twaddell at a gravity: T = 200·(D − 1).

    gravity  [-]    1 to 3
    returns  [°Tw]
    raises   OutOfRange
    source   as for twaddell_to_gravity

    >>> gravity_to_twaddell(1.45)
    90.0
    """
    return 200 * (within(gravity, 1.0, HEAVIEST, of="the gravity") - 1)


def hydrometer_reading(gravity: float, *, in_slurry: bool) -> HydrometerReading:
    """Return the gravity that a hydrometer gave, with a caution when it floated in a slurry.

    >>> hydrometer_reading(baume_to_gravity(40, 145), in_slurry=False)
    HydrometerReading(gravity=1.380952, caution=False)
    """
    return HydrometerReading(within(gravity, 1.0, HEAVIEST, of="the gravity"), in_slurry)


def modulus_known(modulus: float) -> float:
    """Return the modulus itself when it is one of MODULI."""
    if modulus not in MODULI:
        raise UnknownModulus(modulus, ", ".join(f"{known:g}" for known in MODULI))
    return modulus

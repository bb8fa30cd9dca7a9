"""Conversion of units: the exact definitions, multiplied out here in fractions, and printed equivalents."""

import itertools
from collections.abc import Iterator
from fractions import Fraction
from functools import partial

from labrecords.stats import units
from tests.reference.case import Case

SP811 = "NIST SP 811 (2008), Appendix B.8, from memory"
EXACT = "exact fractions of the definitions (NIST SP 811)"
MULTIPLIED = "multiplied out from the definitions"

POUND = Fraction("0.45359237")  # kilogram
GRAVITY = Fraction("9.80665")  # m/s2
INCH = Fraction(254, 10)  # mm
FORCES = {"N": 1, "cN": Fraction(1, 100), "kgf": GRAVITY, "gf": GRAVITY / 1000}
FORCES |= {"lbf": POUND * GRAVITY, "ozf": POUND * GRAVITY / 16}
LENGTHS = {"mm": 1, "cm": 10, "m": 1000, "in": INCH}
WIDTHS = LENGTHS | {"15mm": 15, "25mm": 25, "25.4mm": INCH}
FAMILIES = [
    {f"{force}/{width}": Fraction(FORCES[force]) / WIDTHS[width] for force in FORCES for width in WIDTHS},
    FORCES | {"mN": Fraction(1, 1000), "kN": 1000},
    LENGTHS | {"µm": Fraction(1, 1000)},
    {"mm/min": 1, "mm/s": 60, "cm/min": 10, "in/min": INCH},
]
PRINTED = [
    ("lbf", "N", "4.448222"),
    ("ozf", "N", "2.780139e-1"),
    ("kgf", "N", "9.80665"),
    ("gf", "N", "9.80665e-3"),
    ("in", "mm", "25.4"),
    ("lbf/in", "N/m", "1.751268e+2"),
]
WORKED = [  # value, from, expected, to
    (1, "lbf/in", "0.17512684", "N/mm"),
    (1, "lbf/in", "2.62690253", "N/15mm"),
    (1, "lbf/in", "4.37817088", "N/25mm"),
    (1, "lbf/in", "4.44822162", "N/25.4mm"),
    (1, "lbf/in", "175.12684", "N/m"),
    (1, "N/15mm", "0.38067648", "lbf/in"),
    (1.5, "N/15mm", "0.57101472", "lbf/in"),
    (1.2, "N/15mm", "0.45681177", "lbf/in"),
    (1, "lbf", "453.59237", "gf"),
    (12, "in/min", "304.8", "mm/min"),
    (5, "mm/s", "300", "mm/min"),
    (23, "C", "73.4", "F"),
    (-40, "F", "-40", "C"),
    (212, "F", "100", "C"),
]


def every_case() -> Iterator[Case]:
    """Every pair of units of one kind against exact fractions; then what is printed."""
    for family in FAMILIES:
        for source, target in itertools.product(family, repeat=2):
            exact = float(Fraction(family[source]) / family[target])
            yield Case("units.convert", EXACT, exact, partial(units.convert, 1, source, target), 15)
            yield Case("units.factor", EXACT, exact, partial(units.factor, source, target), 15)
    for source, target, printed in PRINTED:
        yield Case("units.convert", SP811, printed, partial(units.convert, 1, source, target))
    for value, source, printed, target in WORKED:
        yield Case("units.convert", MULTIPLIED, printed, partial(units.convert, value, source, target))
    for fahrenheit in (-459.67, -40, 0, 0.1, 73.4, 98.6, 1000):
        exact = float((Fraction(fahrenheit) - 32) * 5 / 9)
        yield Case("units.convert", EXACT, exact, partial(units.convert, fahrenheit, "F", "C"), 15)
    for force, width in itertools.product((0.1, 4.5, 17.3), (15, 25.4, 14.97)):
        exact = float(Fraction(force) / Fraction(width) / (POUND * GRAVITY) * INCH)
        yield Case("units.strength", EXACT, exact, partial(units.strength, force, width, "lbf/in"), 15)
    yield Case(
        "units.strength", "constructed trace, closed form", "0.177165", partial(units.strength, 4.5, 25.4, "N/mm")
    )
    yield Case(
        "units.strength", "constructed trace, closed form", "1.01164", partial(units.strength, 4.5, 25.4, "lbf/in")
    )

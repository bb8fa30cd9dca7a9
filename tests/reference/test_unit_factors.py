"""Conversion against published equivalents."""

import pytest

from labrecords.stats import units


@pytest.mark.parametrize(
    ("value", "from_unit", "to_unit", "expected"),
    [
        # exact definitions: 1 in = 25.4 mm, 1 lbf = 4.4482216152605 N (NIST SP 811, Appendix B.8)
        (1, "in", "mm", 25.4),
        (1, "lbf", "N", 4.4482216152605),
        (1, "kgf", "N", 9.80665),
        (1, "lbf", "gf", 453.59237),
        (1, "ozf", "N", 0.27801385095378125),  # SP 811 prints 2.780139 E-01
        (1, "lbf/in", "N/m", 175.12683525),  # SP 811 prints 1.751268 E+02
        # multiplied out from the two definitions
        (1, "lbf/in", "N/mm", 0.17512684),
        (1, "lbf/in", "N/15mm", 2.62690253),
        (1, "lbf/in", "N/25mm", 4.37817088),
        (1, "lbf/in", "N/25.4mm", 4.44822162),
        (1, "N/15mm", "lbf/in", 0.38067648),
        (1.5, "N/15mm", "lbf/in", 0.57101472),
        (1.2, "N/15mm", "lbf/in", 0.45681177),
        (12, "in/min", "mm/min", 304.8),
        (5, "mm/s", "mm/min", 300),
        (23, "C", "F", 73.4),
        (-40, "F", "C", -40),
    ],
)
def test_published_equivalents(value, from_unit, to_unit, expected):
    assert units.convert(value, from_unit, to_unit) == pytest.approx(expected, abs=5.1e-9)

"""Curves of load cells and the uncertainty of forces: the handbook's load cell, and the GUM's rules by hand."""

from collections.abc import Iterator
from functools import cache

from labrecords.stats.calibration_curve import CalibrationCurve, calibration_curve
from labrecords.stats.force_uncertainty import relative_uncertainty
from tests.reference import tables
from tests.reference.case import Case

HANDBOOK = "NIST e-Handbook 2.3.6.5 data"
NAME = "calibration_curve.calibration_curve"


@cache
def _cell(degree: int) -> CalibrationCurve:
    _, *rows = tables.rows("loadcell.csv")
    return calibration_curve([float(row[0]) for row in rows], [float(row[1]) for row in rows], degree=degree)


def every_case() -> Iterator[Case]:
    """Numbers fitted elsewhere to the handbook's data; the handbook prints fewer digits."""
    for place, text in enumerate(("-1.83980467e-5", "0.100102485", "7.03186511e-6")):
        yield Case(NAME, HANDBOOK, text, lambda place=place: _cell(2).coefficients[place])
    for place, text in enumerate(("2.4507e-5", "4.8387e-6", "2.0136e-7")):
        yield Case(NAME, HANDBOOK, text, lambda place=place: _cell(2).standard_errors[place])
    yield Case(NAME, HANDBOOK, "3.7640e-5", lambda: _cell(2).residual_sd)
    yield Case(NAME, HANDBOOK, "30", lambda: _cell(2).df)
    yield Case(NAME, HANDBOOK, "2.3897e-4", lambda: _cell(1).residual_sd)
    yield Case(NAME, HANDBOOK, "13.41378", lambda: _cell(2).force(1.344))
    # GUM 5.1.2 by hand, from memory: 0.1 % and 0.1 % in quadrature, twice
    yield Case(
        "force_uncertainty.relative_uncertainty",
        "GUM 5.1.2, from memory",
        0.002 * 2**0.5,
        lambda: relative_uncertainty(10.0, expanded_percent=0.2, noise_n=0.01, resolution_n=None),
        4.0,
    )

"""Curves and process windows against NIST's certified fits, the handbook's load cell, R, and published factors."""

from collections.abc import Iterator
from functools import lru_cache, partial

from labrecords.stats import window
from tests.reference import tables
from tests.reference.case import Case

CLAIM = {"coverage": 0.95, "confidence": 0.9}

# R solves by orthogonal triangles in doubles and so loses digits that whole numbers keep: the load cell's line and
# parabola leave residuals of 1e-4 and 1e-5 of the readings. R's qt of the non-central t is good to about 1e-10.
R_DIGITS = {"f_statistic": 9.0, "p_value": 9.0, "tolerance_factor": 9.0}

CERTIFIED = {  # coefficients, standard errors, residual sd, R squared
    ("norris", 1): (
        (-0.262323073774029, 1.00211681802045),
        (0.232818234301152, 0.429796848199937e-3),
        0.884796396144373,
        0.999993745883712,
    ),
    ("pontius", 2): (
        (0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14),
        (0.107938612033077e-3, 0.157817399981659e-9, 0.486652849992036e-16),
        0.205177424076185e-3,
        0.999999900178537,
    ),
}
LOAD_CELL = {  # NIST e-Handbook 2.3.6.5: its data, fitted elsewhere; the handbook prints fewer digits
    2: (("-1.83980467e-5", "0.100102485", "7.03186511e-6"), ("2.4507e-5", "4.8387e-6", "2.0136e-7"), "3.7640e-5"),
    1: (("-0.00071556", "0.10026736"), (), "2.3897e-4"),
}
# One-sided 95/95 tolerance factors, by n: what a setting's own bound must use.
FACTORS = {5: "4.203", 10: "2.911", 30: "2.220"}


def every_case() -> Iterator[Case]:
    """Numbers that outside sources know."""
    for (name, degree), (coefficients, errors, sd, r_squared) in CERTIFIED.items():
        source, curve = f"NIST StRD {name.capitalize()}", partial(_curve, name, degree)
        for place, (part, error) in enumerate(zip(coefficients, errors, strict=True)):
            yield _case(source, part, curve, "coefficients", place, digits=12.0)
            yield _case(source, error, curve, "standard_errors", place, digits=12.0)
        yield _case(source, sd, curve, "residual_sd", digits=12.0)
        yield _case(source, r_squared, curve, "r_squared", digits=14.0)
    for degree, (coefficients, errors, sd) in LOAD_CELL.items():
        source, curve = "computed from the printed data", partial(_curve, "loadcell", degree)
        for place, part in enumerate(coefficients):
            yield _case(source, part, curve, "coefficients", place)
        for place, error in enumerate(errors):
            yield _case(source, error, curve, "standard_errors", place)
        yield _case(source, sd, curve, "residual_sd")
    yield from _r()
    for n, text in FACTORS.items():
        yield Case("window.process_window", "NIST e-Handbook 7.2.6.3, from memory", text, partial(_own_factor, n))


def _case(source, expected, curve, field, place=None, digits=9.0):
    return Case("window.strength_against_setting", source, expected, partial(_part, curve, field, place), digits)


def _r() -> Iterator[Case]:
    for name, text in tables.rows("r_window.csv")[1:]:
        set_name, degree, field, where = name.split(":")
        file = {"cell": "loadcell", "bar": "r_window_bar"}[set_name]
        place = (int if field in ("coefficients", "standard_errors") else float)(where) if where else None
        curve = partial(_curve, file, int(degree), place if isinstance(place, float) else None)
        yield _case("R 4.2.2", float(text), curve, field, place, digits=R_DIGITS.get(field, 10.0))


def _part(curve, field, place):
    found = curve()
    if isinstance(place, int):
        return getattr(found, field)[place]
    if field == "tolerance_factor":
        return (found.band[0].fitted - found.band[0].tolerance_low) / found.residual_sd
    if isinstance(place, float):
        return getattr(found.band[0], field)
    return getattr(found.lack_of_fit if field in ("f_statistic", "p_value") else found, field)


@lru_cache
def _curve(name, degree, at=None):
    x, y = zip(*((float(x), float(y)) for x, y in tables.rows(f"{name}.csv")[1:]), strict=True)
    return window.strength_against_setting(x, y, degree=degree, at=[min(x) if at is None else at], **CLAIM)


def _own_factor(n):
    settings = {"low": range(n), "nominal": range(n + 3)}
    found = window.process_window(settings, reference="nominal", coverage=0.95, confidence=0.95)
    return found.settings[0].own_factor

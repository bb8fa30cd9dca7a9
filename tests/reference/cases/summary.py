"""Summaries: NIST's certified sets, R, and exact fractions."""

import functools
from collections.abc import Iterator
from fractions import Fraction
from functools import partial

from labrecords.stats import summary
from tests.reference import tables, univariate
from tests.reference.case import Case

STRD = "NIST StRD, from memory"
HANDBOOK = "NIST e-Handbook 1.4.2.8 and 1.3.5.2 (ZARR13), from memory"
COMPUTED = "computed from the printed data (NIST ZARR13)"
EXACT = "exact fractions"
R_VERSION = "R 4.2.2"

ACCURACY = {
    "NumAcc1": [10000001.0, 10000003.0, 10000002.0],
    "NumAcc2": [1.2] + [1.1, 1.3] * 500,
    "NumAcc3": [1000000.2] + [1000000.1, 1000000.3] * 500,
    "NumAcc4": [10000000.2] + [10000000.1, 10000000.3] * 500,
}
CERTIFIED = {  # mean, sd, and the digits of sd that the doubles of the data can hold
    "NumAcc1": (10000002.0, 1.0, 15),
    "NumAcc2": (1.2, 0.1, 14),
    "NumAcc3": (1000000.2, 0.1, 9),
    "NumAcc4": (10000000.2, 0.1, 8),
    "Michelso": (299.8524, 0.0790105478190518, 12),
}
PRINTED = [
    ("mean", "9.26146", HANDBOOK),
    ("sd", "0.022789", HANDBOOK),
    ("mean_interval.low", "9.258242", HANDBOOK),
    ("mean_interval.high", "9.264679", HANDBOOK),
    ("minimum", "9.196848", HANDBOOK),
    ("maximum", "9.327973", HANDBOOK),
    ("median", "9.261952", COMPUTED),
    ("mean", "9.26146076", COMPUTED),
    ("sd", "0.02278880", COMPUTED),
]


def every_case() -> Iterator[Case]:
    """Certified, printed, R's at full precision, exact."""
    for name, (mean, sd, digits) in CERTIFIED.items():
        yield Case("summary.summarise", STRD, mean, partial(_certified, name, "mean"), 15)
        yield Case("summary.summarise", STRD, sd, partial(_certified, name, "sd"), digits)
    for field, printed, source in PRINTED:
        yield Case("summary.summarise", source, printed, partial(_field, "zarr13", 0.95, field))
    for name, confidence, field, value in tables.rows("r_summary.csv")[1:]:
        compute = partial(_field, name, float(confidence or 0.95), field)
        expected = 0.0 if abs(float(value)) < 1e-12 else float(value)  # what rounding leaves of a skewness of 0
        yield Case("summary.summarise", R_VERSION, expected, compute, _digits(name, field))
    for values in (ACCURACY | univariate.sets()).values():
        mean, variance = _exact(values)
        yield Case("summary.summarise", EXACT, float(mean), partial(_of(values), "mean"), 14)
        yield Case("summary.summarise", EXACT, float(variance), partial(_of(values), "variance"), 13)
    for field, place in (("q1", 0), ("median", 1), ("q3", 2)):
        values = univariate.sets()["peel"]
        compute = partial(_censored, values, field)
        yield Case("summary.summarise_censored", EXACT, float(_quartiles(values)[place]), compute, 15)


def _digits(name: str, field: str) -> float:
    # A mean near 0 and a spread of a hundredth beside a million cost both programs digits of the data themselves.
    return 9 if name == "large" or field in ("skewness", "kurtosis") else 11


def _certified(name: str, field: str) -> float:
    return _of(ACCURACY.get(name) or tables.column("michelson.csv"))(field)


def _of(values: list[float]):
    found = summary.summarise(values)
    return lambda field: getattr(found, field)


@functools.lru_cache(maxsize=64)
def _summary(name: str, confidence: float) -> summary.Summary:
    return summary.summarise(univariate.sets()[name], confidence=confidence)


def _field(name: str, confidence: float, field: str) -> float:
    return functools.reduce(getattr, field.split("."), _summary(name, confidence))


def _exact(values: list[float]) -> tuple[Fraction, Fraction]:
    held = [Fraction(value) for value in values]
    mean = sum(held) / len(held)
    return mean, sum((value - mean) ** 2 for value in held) / (len(held) - 1)


def _quartiles(values: list[float]) -> list[Fraction]:
    """Type 7 by Hyndman and Fan's formula, of all specimens: 2 too weak, 5 too strong to measure."""
    held = [None] * 2 + sorted(Fraction(value) for value in values) + [None] * 5
    places = [(len(held) - 1) * Fraction(share, 4) for share in (1, 2, 3)]
    below = [int(place) for place in places]
    return [
        held[left] + (place - left) * (held[left + 1] - held[left]) for place, left in zip(places, below, strict=True)
    ]


def _censored(values: list[float], field: str) -> float:
    return getattr(summary.summarise_censored(values, below=2, above=5), field)

"""Tolerance factors and ranks: mpmath, tables, the NIST handbook's example."""

from collections.abc import Iterator
from functools import lru_cache, partial

import numpy as np

from labrecords.stats import tolerance
from tests.reference import tables
from tests.reference.case import Case

MPMATH = "mpmath, 50 digits"
TABLE = "computed from the definition by another program, 4 decimals"
PUBLISHED = "Odeh and Owen (1980), from memory"
HANDBOOK = "computed from the definition, example of NIST e-Handbook 7.2.6.3"
RANKS = "published table of ranks, from memory"
SUCCESS_RUN = "success-run sample sizes, computed from the binomial sum"

FACTORS_95_95 = {2: ("26.260", "36.519"), 5: ("4.203", "5.077"), 10: ("2.911", "3.393"), 30: ("2.220", "2.555")}
FACTORS_95_95 |= {50: ("2.065", "2.382")}
PUBLISHED_RANKS = {59: 1, 92: 1, 93: 2, 123: 2, 124: 3, 152: 3, 153: 4, 180: 4, 181: 5}  # 95/95
FEWEST = {  # coverage: n for rank 1 with confidence 0.8; for ranks 1 to 4 with 0.9, with 0.95, with 0.99
    0.80: "8 11/18/25/32 14/22/30/37 21/31/39/47",
    0.85: "10 15/25/34/43 19/30/40/50 29/42/53/64",
    0.90: "16 22/38/52/65 29/46/61/76 44/64/81/97",
    0.95: "32 45/77/105/132 59/93/124/153 90/130/165/198",
    0.97: "53 76/129/176/221 99/157/208/257 152/219/277/332",
    0.99: "161 230/388/531/667 299/473/628/773 459/662/838/1001",
    0.995: "322 460/777/1063/1335 598/947/1258/1549 919/1325/1678/2006",
    0.999: "1609 2302/3889/5321/6679 2995/4742/6294/7752 4603/6636/8403/10042",
}


def every_case() -> Iterator[Case]:
    """Factors, bounds, ranks."""
    yield from _by_mpmath()
    yield from _printed_factors()
    yield from _handbook()
    yield from _ranks()


def _by_mpmath() -> Iterator[Case]:
    for kind, n, df, coverage, confidence, rank, value in tables.rows("mp_tolerance.csv")[1:]:
        claim = {"coverage": float(coverage), "confidence": float(confidence)}
        if kind == "one-sided":
            own = None if float(df) == int(n) - 1 else float(df)
            compute = partial(tolerance.one_sided_factor, int(n), df=own, **claim)
            yield Case("tolerance.one_sided_factor", MPMATH, float(value), compute, 12)
        elif kind == "two-sided":
            compute = partial(tolerance.two_sided_factor, int(n), **claim)
            yield Case("tolerance.two_sided_factor", MPMATH, float(value), compute, 12)
        else:
            for field, expected in (("rank", rank), ("confidence_achieved", value)):
                compute = partial(_rank, int(n), field=field, **claim)
                yield Case("tolerance.order_statistic_rank", MPMATH, float(expected), compute, 12)


def _printed_factors() -> Iterator[Case]:
    for name in ("one_sided", "two_sided"):
        factor = getattr(tolerance, f"{name}_factor")
        for n, coverage, confidence, expected in tables.by_claim(f"tolerance_{name}.csv"):
            compute = partial(factor, n, coverage=coverage, confidence=confidence)
            yield Case(f"tolerance.{name}_factor", TABLE, f"{expected:.4f}", compute)
    for n, (one_sided, two_sided) in FACTORS_95_95.items():
        claim = {"coverage": 0.95, "confidence": 0.95}
        compute = partial(tolerance.one_sided_factor, n, **claim)
        yield Case("tolerance.one_sided_factor", PUBLISHED, one_sided, compute)
        compute = partial(tolerance.two_sided_factor, n, **claim)
        yield Case("tolerance.two_sided_factor", PUBLISHED, two_sided, compute)


def _handbook() -> Iterator[Case]:
    """n 43, mean 97.07, s 0.0268, coverage 0.90, confidence 0.99."""
    claim = {"coverage": 0.90, "confidence": 0.99}
    yield Case("tolerance.one_sided_factor", HANDBOOK, "1.8740", partial(tolerance.one_sided_factor, 43, **claim))
    yield Case("tolerance.two_sided_factor", HANDBOOK, "2.2228", partial(tolerance.two_sided_factor, 43, **claim))
    shape = np.arange(43) - 21.0
    values = 97.07 + 0.0268 * shape / shape.std(ddof=1)
    yield Case("tolerance.upper_bound", HANDBOOK, "97.12022", lambda: tolerance.upper_bound(values, **claim).bound)
    yield Case("tolerance.lower_bound", HANDBOOK, "97.01978", lambda: tolerance.lower_bound(values, **claim).bound)


def _ranks() -> Iterator[Case]:
    function = "tolerance.order_statistic_rank"
    for n, rank in PUBLISHED_RANKS.items():
        compute = partial(_rank, n, field="rank", coverage=0.95, confidence=0.95)
        yield Case(function, RANKS, str(rank), compute)
    for coverage, line in FEWEST.items():
        for confidence, sizes in zip((0.8, 0.9, 0.95, 0.99), line.split(), strict=True):
            for rank, n in enumerate(sizes.split("/"), start=1):
                compute = partial(_fewest, rank, coverage=coverage, confidence=confidence)
                yield Case(function, SUCCESS_RUN, n, compute)


@lru_cache(maxsize=1024)
def _rank(n: int, *, field: str, coverage: float, confidence: float) -> float:
    return getattr(tolerance.order_statistic_rank(n, coverage=coverage, confidence=confidence), field)


def _fewest(rank: int, *, coverage: float, confidence: float) -> float:
    """The smallest n with that rank, by halving."""
    none, enough = 0, 20_000
    while enough - none > 1:
        middle = (none + enough) // 2
        none, enough = (none, middle) if _reaches(middle, rank, coverage, confidence) else (middle, enough)
    return float(enough)


def _reaches(n: int, rank: int, coverage: float, confidence: float) -> bool:
    try:
        return tolerance.order_statistic_rank(n, coverage=coverage, confidence=confidence).rank >= rank
    except ValueError:
        return False

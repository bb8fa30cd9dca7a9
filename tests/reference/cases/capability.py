"""Capability indices, intervals and bounds against the handbook, a textbook, R and mpmath."""

from collections.abc import Iterator
from functools import lru_cache, partial

import numpy as np

from labrecords.stats import capability
from tests.reference import tables
from tests.reference.case import Case

# Examples that are given by limits, mean, standard deviation and n: interval of Cp, interval of Cpk, both at 95 %.
COMPUTED = "computed from the printed data"
SUMMARIES = (
    ((8, 20, 16, 2, 50), "1.0000", "0.6667", ("0.8025", "1.1971"), ("0.5056", "0.8278")),
    ((8, 20, 16, 2, 30), "1.0000", "0.6667", ("0.7439", "1.2556"), ("0.4577", "0.8756")),
    ((90, 100, 97, 1.6, 30), "1.0417", "0.6250", ("0.7749", "1.3080"), ("0.4248", "0.8252")),
)


def every_case() -> Iterator[Case]:
    """Numbers that outside sources know."""
    yield from _summaries()
    yield from _textbook()
    yield from _r()
    yield from _mpmath()


def _summaries() -> Iterator[Case]:
    for summary, pp, ppk, pp_range, ppk_range in SUMMARIES:
        found = partial(_with_summary, *summary)
        yield Case("capability.two_sided", COMPUTED, pp, partial(_path, found, "pp"))
        yield Case("capability.two_sided", COMPUTED, ppk, partial(_path, found, "ppk"))
        for end, printed in zip(("low", "high"), pp_range, strict=True):
            yield Case("capability.two_sided", COMPUTED, printed, partial(_path, found, f"intervals.pp.{end}"))
        for end, printed in zip(("low", "high"), ppk_range, strict=True):
            yield Case("capability.two_sided", COMPUTED, printed, partial(_path, found, f"intervals.ppk.{end}"))
    source = "NIST e-Handbook 6.1.6, from memory"
    yield Case("capability.two_sided", source, "1.0", partial(_path, partial(_with_summary, *SUMMARIES[0][0]), "pp"))
    yield Case(
        "capability.two_sided", source, "0.6667", partial(_path, partial(_with_summary, *SUMMARIES[0][0]), "ppk")
    )
    for n, exact, approximate in ((50, "0.5296", "0.5315"), (30, "0.4884", "0.4913")):
        bound = partial(capability.lower_index_bound, 2 / 3, n, confidence=0.95)
        near = partial(capability.ppk_interval, 2 / 3, n, confidence=0.90)
        yield Case("capability.lower_index_bound", COMPUTED, exact, bound)
        yield Case("capability.ppk_interval", COMPUTED, approximate, partial(_path, near, "low"))


def _textbook() -> Iterator[Case]:
    pp = partial(capability.pp_interval, 24 / 10.5, 19, confidence=0.95)
    for end, printed, rounded in (("low", "1.5649", "1.57"), ("high", "3.0056", "3.01")):
        yield Case("capability.pp_interval", COMPUTED, printed, partial(_path, pp, end))
        if end == "high":  # the book's lower end is 1.57, against 1.5649
            yield Case("capability.pp_interval", "textbook (Montgomery), from memory", rounded, partial(_path, pp, end))
    ppk = partial(capability.ppk_interval, 1.33, 20, confidence=0.95)
    for end, printed in (("low", "0.8826"), ("high", "1.7774")):
        yield Case("capability.ppk_interval", COMPUTED, printed, partial(_path, ppk, end))


def _r() -> Iterator[Case]:
    _, *body = tables.rows("r_capability.csv")
    names = {
        "bound": "index_lower_bound",
        "fraction": "fraction_outside",
        "fraction bound": "fraction_outside_upper_bound",
    }
    for kind, a, b, c, value in body:
        if kind == "index":
            yield Case("capability.two_sided", "R 4.2.2", float(value), partial(_path, _grouped, a), 12.0)
        elif kind == "interval":
            call = partial(_path, partial(_grouped, float(b)), f"intervals.{a}.{c}")
            yield Case("capability.two_sided", "R 4.2.2 qchisq and qnorm", float(value), call, 12.0)
        elif kind == "one-sided":
            call = partial(_path, partial(_one_sided, a, float(b)), names.get(c, c))
            # R's pt stops at 1e-12 of the probability, which leaves bounds about 11 digits
            yield Case(f"capability.{a}", "R 4.2.2 pt", float(value), call, 9.5)
        elif kind == "bound":
            call = partial(capability.lower_index_bound, float(a), int(b), confidence=float(c))
            yield Case("capability.lower_index_bound", "R 4.2.2 pt", float(value), call, 9.5)


def _mpmath() -> Iterator[Case]:
    _, *body = tables.rows("mp_plans.csv")
    for kind, index, n, confidence, *_, value in body:
        if kind == "index bound":
            call = partial(capability.lower_index_bound, float(index), int(n), confidence=float(confidence))
            yield Case("capability.lower_index_bound", "mpmath, 32 digits", float(value), call, 12.0)


@lru_cache
def _values() -> tuple[tuple[str, float], ...]:
    return tuple((row[1], float(row[-1])) for row in tables.rows("r_capability.csv") if row[0] == "value")


def _grouped(confidence: float = 0.95):
    labels, values = zip(*_values(), strict=True)
    return capability.two_sided(values, low=1.2, high=1.7, confidence=confidence, subgroups=labels)


def _one_sided(side: str, confidence: float):
    values = [value for _, value in _values()]
    if side == "lower":
        return capability.lower(values, limit=1.2, confidence=confidence)
    return capability.upper(values, limit=1.7, confidence=confidence)


def _with_summary(low: float, high: float, mean: float, sd: float, n: int):
    """Of values that have just that mean and standard deviation."""
    shape = np.arange(n) - (n - 1) / 2
    return capability.two_sided(mean + sd * shape / shape.std(ddof=1), low=low, high=high)


def _path(call, path: str) -> float:
    found = call()
    for name in path.split("."):
        found = getattr(found, name)
    return found

"""Whether tester and cell were checked before they were used, where the method asks for it, and what a check says."""

from collections.abc import Iterable, Sequence
from datetime import date

from labrecords.stats.chart_constants import constants
from labrecords.stats.run_rules import RULES, run_rules

from .answers import Answer
from .calibration import written
from .facts import Check, Equipment, Method

STANDARD_WORDS = {"mass": "check mass", "strip": "reference strip"}
MOVED = "moving range beyond its limit"


def check_verified(
    checks: Iterable[Check], *, method: Method, tester: Equipment, cell: Equipment, on: date
) -> list[Answer]:
    """The latest check of the day, before the test, was accepted. `checks` are those of that day and before it."""
    asked = method.check_before_use
    made = sorted((check for check in checks if check.kind == asked), key=lambda check: check.taken_at)
    if not asked or (made and made[-1].accepted):
        return []
    both = f"{tester.name} with {cell.name}"
    if made:
        why = f"The last check of {both}, at {made[-1].taken_at:%H:%M} on {written(on)}, was not accepted."
    else:
        why = f"{both} had not been checked with a {STANDARD_WORDS[asked]} on {written(on)}."
    return [Answer("not-verified-today", why, {"tester": tester.label, "cell": cell.label, "on": on.isoformat()})]


def check_kinds(*, tester: str, cell: str, standard: str) -> list[Answer]:
    """A check is of a tester with a load cell, against a mass or reference strips."""
    if (tester, cell) == ("tester", "cell") and standard in STANDARD_WORDS:
        return []
    why = f"It was sent for: {tester}, {cell}, {standard}."
    return [Answer("not-a-check", why, {"tester": tester, "cell": cell, "standard": standard})]


def within_tolerance(value_n: float, *, nominal_n: float, tolerance: float) -> bool:
    """Whether a check mass reads what it weighs, within a share of it.

    >>> within_tolerance(9.91, nominal_n=9.80665, tolerance=0.01)
    False
    """
    return abs(value_n - nominal_n) <= tolerance * nominal_n


def spread_of(moving_range_n: float) -> tuple[float, float]:
    """Sigma of a reading, and the limit of a moving range, from the mean moving range of two.

    >>> sigma, limit = spread_of(1.0)
    >>> round(sigma, 4), round(limit, 4)
    (0.8862, 3.2665)
    """
    pair = constants(2)
    return moving_range_n / pair.d2, moving_range_n * pair.D4


def new_signals(values: Sequence[float], *, centre: float, sigma: float, range_limit: float) -> tuple[str, ...]:
    """Names of the rules that the last of some readings, in order of time, breaks against a baseline.

    >>> new_signals([10.0, 10.01, 10.5], centre=10.0, sigma=0.1, range_limit=0.37)
    ('one point beyond three sigma', 'moving range beyond its limit')
    """
    last = len(values) - 1
    found = run_rules(values, centre=centre, sigma=sigma)
    broken = tuple(words for name, words in RULES.items() if last in getattr(found, name))
    moved = last > 0 and abs(values[-1] - values[-2]) > range_limit
    return (*broken, MOVED) if moved else broken

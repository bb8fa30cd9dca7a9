"""Values that somebody should look at again: far from the others, ten times or a tenth of them, or typed once more.

None of them refuses: a real failure looks like this. What waits for a decision is not among the others, so that no
question tells its number.
"""

from decimal import Decimal

from labrecords.stats.robust import RobustSpread, robust_spread

from .answers import Answer
from .facts import Entry, Others, Setup

FEWEST = 5  # values from which on the others say what is usual. common practice, no source
FAR = 5  # robust standard deviations. common practice, no source
# The spread is taken to be at least this share of the median: the few values of a young group often agree by chance.
# common practice, no source
LEAST_SPREAD = 0.05
RUNNING = 3  # the same value so many times running is worth a look


def check_value_seen(*, setup: Setup, entry: Entry, others: Others) -> list[Answer]:
    """One extra press for a value far from the others; a note for the reviewer where one is typed again and again."""
    return [*_far(setup, entry, others), *_again(entry, others)]


def _far(setup: Setup, entry: Entry, others: Others) -> list[Answer]:
    if entry.strength is None or entry.opened or entry.strength < 0 or len(others.strengths) < FEWEST:
        return []
    found = robust_spread([float(kept) for kept in others.strengths])
    value, own = float(entry.strength), _own(entry.typed, entry.strength, setup)
    if abs(value - found.median) <= _reach(found):
        return []
    lowest, highest = (_said(kept, setup) for kept in (min(others.strengths), max(others.strengths)))
    told = {"n": str(found.n), "median": f"{found.median:.4g}", "reach": f"{_reach(found):.4g}", "unit": setup.unit}
    why = f"the {found.n} {others.of} lie between {lowest} and {highest} {setup.unit}."
    slip = _slip(value, found)
    if slip:
        answer = Answer("factor-of-ten", f"Is {own} ten times too {slip}? {why[0].upper()}{why[1:]}", told)
    else:
        answer = Answer("unusual-value", f"Check {own}: {why}", told)
    return [] if answer.code in entry.confirmed else [answer]


def _own(typed: str | None, strength: Decimal, setup: Setup) -> str:
    """The value that is asked about: as it was typed, where that is in the unit of the others."""
    if typed is not None and typed.endswith(f" {setup.unit}"):
        return typed
    return f"{_said(strength, setup)} {setup.unit}"


def _said(value: Decimal | float, setup: Setup) -> str:
    return f"{value:.{setup.decimals}f}"


def _reach(found: RobustSpread) -> float:
    return FAR * max(found.sd, LEAST_SPREAD * found.median)


def _slip(value: float, found: RobustSpread) -> str:
    """Which way the decimal sign may have slipped: ten times or a tenth fits, and lies nearer by ratio."""
    if value**2 > 10 * found.median**2 and abs(value / 10 - found.median) <= _reach(found):
        return "large"
    if 10 * value**2 < found.median**2 and abs(value * 10 - found.median) <= _reach(found):
        return "small"
    return ""


def _again(entry: Entry, others: Others) -> list[Answer]:
    before = others.typed_before[: RUNNING - 1]
    if entry.typed is None or len(before) < RUNNING - 1 or set(before) != {entry.typed}:
        return []
    return [Answer("same-value-again", f"{entry.typed} was typed {RUNNING} times running.", {"typed": entry.typed})]

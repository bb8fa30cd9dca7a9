"""Results held against limits, by the study's decision rule."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from labrecords.models import Limit, Result, Study
from labrecords.rules import decision

from .bounds import Bound

if TYPE_CHECKING:
    from .numbers import Line


@dataclass(frozen=True)
class Verdict:
    """A group held against one limit: how many lie on the bad side, and whether the rule is met."""

    limit: Limit
    value: Decimal
    outside: int
    unjudged: int  # known only to lie beyond what could be measured, on either side of the limit
    met: bool | None  # None: not decided, for want of values or of a bound
    words: str
    accepted: Decimal | None = None  # the acceptance limit of a guarded rule
    short: int = 0  # values that do not clear it


def verdict(study: Study, counting: Sequence["Line"], limit: Limit, value: Decimal, bound: Bound) -> Verdict:
    """A group held against one limit, whose value in the unit of the results is given."""
    beyond = sum(outside(line.result, limit.side, value) for line in counting)
    unjudged = sum(_unjudgeable(line, value) for line in counting)
    if study.decision_rule == decision.GUARDED and study.budget is not None:
        accepted = decision.acceptance_limit(value, side=limit.side, share=study.budget.share)
        short = sum(outside(line.result, limit.side, accepted) for line in counting)
        met, words = _judged_by_guard(counting, accepted, short, beyond)
        return Verdict(limit, value, beyond, unjudged, met, words, accepted, short)
    met, words = judged(study, counting, limit, value, bound, beyond)
    return Verdict(limit, value, beyond, unjudged, met, words)


def outside(result: Result, side: str, limit: Decimal) -> bool:
    """Whether a result is known to lie on the bad side of a limit."""
    if not result.censored:
        return not decision.meets(result.strength, side=side, limit=limit)
    # known to lie below its end: on the bad side of a lower limit at or above that end, and likewise above
    if result.censored == "below":
        return side == "lower" and limit >= (result.censored_at or 0)
    return side == "upper" and limit <= result.censored_at


def _unjudgeable(line: "Line", limit: Decimal) -> bool:
    """Whether a value beyond what could be measured may lie on either side of the limit."""
    result = line.result
    end = result.censored_at or Decimal(0)
    if result.censored == "below":
        return limit < end
    return result.censored == "above" and limit > end


def judged(study, counting, limit, value, bound, beyond: int) -> tuple[bool | None, str]:
    """Whether a limit is met by the study's decision rule, and why in words; None where that is not decided."""
    if study.decision_rule == decision.TOLERANCE_BOUND:
        return _judged_by_bound(limit, value, bound, f"{beyond} of {len(counting)}")
    if not counting:
        return None, "not decided: there are no values"
    if beyond:
        return False, f"{beyond} of {len(counting)} {'does' if beyond == 1 else 'do'} not meet it"
    if any(_unjudgeable(line, value) for line in counting):
        return None, "not decided: some values could not be measured well enough to say"
    return True, f"all {len(counting)} meet it"


def _judged_by_guard(counting, accepted: Decimal, short: int, beyond: int) -> tuple[bool | None, str]:
    if not counting:
        return None, "not decided: there are no values"
    if short:
        do = "does" if short == 1 else "do"
        return (
            False,
            f"{short} of {len(counting)} {do} not clear the acceptance limit, {beyond} of them beyond the limit",
        )
    if any(_unjudgeable(line, accepted) for line in counting):
        return None, "not decided: some values could not be measured well enough to say"
    return True, f"all {len(counting)} clear the acceptance limit"


def _judged_by_bound(limit: Limit, value: Decimal, bound: Bound, beyond: str) -> tuple[bool | None, str]:
    bad, good = ("below", "above") if limit.side == "lower" else ("above", "below")
    if bound.value is None:
        return None, f"not decided: there is no tolerance bound; {beyond} values lie {bad}"
    met = decision.meets(Decimal(repr(bound.value)), side=limit.side, limit=value)
    where = f"on the limit or {good}" if met else f"{bad} it"
    return met, f"the tolerance bound lies {where}"

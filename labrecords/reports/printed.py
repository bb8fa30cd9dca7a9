"""How one result, and one group of the plan, are printed: in the report and on the study page alike."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from labrecords.models import Result, Study
from labrecords.queries.numbers import GroupNumbers, Line
from labrecords.rules.wording import WORDS

from .digits import beside, bound_beside, fixed, mean, percent, spread


def group_words(study: Study, group: GroupNumbers) -> dict[str, str]:
    """One group of the plan, as the report and the study page print it."""
    decimals, found = study.setup.decimals, group.summary
    none = "not stated" if group.below or group.above else "too few"
    sides = {verdict.limit.side for verdict in group.verdicts}
    return {
        "label": str(group.group),
        "planned": str(group.group.planned),
        "tested": str(group.tested),
        "void": str(group.void),
        "marked": str(group.marked),
        "n": str(group.n),
        "mean": mean(found.mean, decimals) if found else none,
        "sd": spread(found.sd) if found else none,
        "minimum": _end(group, decimals, lowest=True),
        "maximum": _end(group, decimals, lowest=False),
        "cv": percent(found.cv) if found and found.cv is not None else "",
        "interval": _interval(group, decimals),
        "bound": bound_words(group, decimals),
        "below_limit": str(group.below_limit) if "lower" in sides else "",
        "above_limit": str(group.above_limit) if "upper" in sides else "",
        "note": " ".join(group.notes),
    }


def bound_words(group: GroupNumbers, decimals: int) -> str:
    """The lower tolerance bound and, where there is an upper limit, the upper one."""
    low, high = group.bound, group.upper_bound
    said = low.words if low.value is None else f"{lower_words(group, decimals)} ({low.words})"
    if high is None:
        return said
    if high.value is None:
        return f"lower: {said}; upper: {high.words}"
    return f"lower: {said}; upper: {upper_words(group, decimals)} ({high.words})"


def lower_words(group: GroupNumbers, decimals: int) -> str:
    """The lower tolerance bound as it is printed, wherever it is."""
    return bound_beside(group.bound.value, decimals, _limits(group), side="lower")


def upper_words(group: GroupNumbers, decimals: int) -> str:
    """The upper tolerance bound as it is printed, wherever it is."""
    return bound_beside(group.upper_bound.value, decimals, _limits(group), side="upper")


def _end(group: GroupNumbers, decimals: int, *, lowest: bool) -> str:
    if lowest and group.below:
        return "below what can be measured"
    if not lowest and group.above:
        return "above what can be measured"
    known = [line.strength for line in group.lines if line.strength is not None]
    if not known:
        return "not known" if group.n else "none"
    return beside(min(known) if lowest else max(known), decimals, _limits(group))


def _limits(group: GroupNumbers) -> list[Decimal]:
    return [verdict.value for verdict in group.verdicts]


def _interval(group: GroupNumbers, decimals: int) -> str:
    if group.summary is None or not group.independent:
        return ""
    low, high = group.summary.mean_interval
    return f"95 % confidence interval for the mean, {mean(low, decimals)} to {mean(high, decimals)}"


def result_words(study: Study, group: GroupNumbers, line: Line, *, tested_on: str) -> dict[str, Any]:
    """One result as the report prints it; of one that waits for a decision, nothing that tells its value."""
    result, decimals = line.result, study.setup.decimals
    head = {"specimen": line.specimen.label, "group": str(group.group)}
    tail = {"tested_on": tested_on, "tested_by": result.tested_by.name, "remarks": _remarks(study, result)}
    if line.waiting:
        told = {"maximum": "not shown", "average": "", "modes": [], "marks": ["waits for a decision, not counted"]}
        return head | told | tail
    return (
        head
        | {
            "maximum": value_words(result, decimals, _limits(group)),
            "average": "" if result.mean_strength is None else fixed(result.mean_strength, decimals),
            "modes": list(result.modes),
            "marks": [*(WORDS[mark].headline for mark in result.marks), *_asides(line)],
        }
        | tail
    )


def value_words(result: Result, decimals: int, limits: Sequence[Decimal] = ()) -> str:
    """A result as it is printed: its value, or the end of the range beyond which it lies."""
    if not result.censored:
        return beside(result.strength, decimals, limits)
    if result.censored_at is None:
        return "opened"
    return f"{result.censored} {beside(result.censored_at, decimals, limits)}"


def _remarks(study: Study, result: Result) -> list[str]:
    width = [f"width {result.width_mm.normalize():f} mm"] if study.setup.width_measured else []
    return width + ([result.remark] if result.remark else [])


def _asides(line: Line) -> list[str]:
    void = ["void, not counted"] if line.void else []
    kept = ["kept under a deviation"] if line.result.deviations.all() else []
    aside = ["set aside by decision, not counted"] if line.set_aside else []
    return void + kept + aside

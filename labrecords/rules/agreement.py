"""Who gets the same number as the others, and whether a validation study has been passed."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from .validation_plan import AT_LEAST, FEWEST_PEOPLE

AGREES, HIGH, LOW, NOT_SHOWN = "agrees", "reads high", "reads low", "not shown to agree"


@dataclass(frozen=True)
class Held:
    """One person held against others, for one material: the difference with its interval, or why there is none."""

    material: str
    difference: float | None
    low: float | None
    high: float | None
    how: str  # by what comparison
    why_not: str = ""


@dataclass(frozen=True)
class Standing:
    """One person against those who agree. `apart` is the step in which the person was set apart, counted from 1."""

    person: str
    held: tuple[Held, ...]
    verdict: str
    apart: int | None = None


Compare = Callable[[str, Sequence[str]], tuple[Held, ...]]


def verdict(held: Sequence[Held], margin: float) -> str:
    """What the comparisons of one person show, of all materials together.

    >>> verdict([Held("L1", 0.02, -0.01, 0.05, "")], 0.1)
    'agrees'
    >>> verdict([Held("L1", 0.15, 0.11, 0.19, ""), Held("L2", 0.0, -0.1, 0.1, "")], 0.1)
    'reads high'
    """
    if not held or any(row.low is None or row.high is None for row in held):
        return NOT_SHOWN
    ends = [(row.low, row.high) for row in held if row.low is not None and row.high is not None]
    if all(-margin < low and high < margin for low, high in ends):
        return AGREES
    if any(low >= margin for low, _ in ends):
        return HIGH
    return LOW if any(high <= -margin for _, high in ends) else NOT_SHOWN


def joining(group: Sequence[str], newcomers: Sequence[str], compare: Compare, margin: float) -> list[Standing]:
    """Each newcomer against the group, which itself is not on trial."""
    return [_standing(person, group, compare, margin) for person in newcomers]


def among(people: Sequence[str], compare: Compare, margin: float) -> list[Standing]:
    """Each person against the rest, step by step.

    Whoever lies outside the margin pulls the mean of everybody else's rest along. So the one furthest out is set apart
    and the others are compared anew among themselves, until all agree or three are left. Everybody is then shown
    against those who are not apart.
    """
    left, apart = list(people), []
    while len(left) > FEWEST_PEOPLE:
        standings = [_standing(person, _others(left, person), compare, margin) for person in left]
        outside = [one for one in standings if one.verdict != AGREES]
        if not outside:
            break
        furthest = max(outside, key=lambda one: _reach(one.held))
        left.remove(furthest.person)
        apart.append(furthest.person)
    steps = {person: step for step, person in enumerate(apart, start=1)}
    return [_standing(person, _others(left, person), compare, margin, steps.get(person)) for person in people]


def _others(people: Sequence[str], person: str) -> list[str]:
    return [other for other in people if other != person]


def _standing(
    person: str, others: Sequence[str], compare: Compare, margin: float, apart: int | None = None
) -> Standing:
    held = compare(person, others)
    found = verdict(held, margin)
    return Standing(person, held, NOT_SHOWN if apart and found == AGREES else found, apart)


def _reach(held: Sequence[Held]) -> float:
    return max((abs(row.difference) for row in held if row.difference is not None), default=float("inf"))


@dataclass(frozen=True)
class Met:
    """A criterion held against one material: its value in per cent, or why there is none."""

    material: str
    percent: float | None
    met: bool | None
    why_not: str = ""


def met(kind: str, percent: float | None, criterion: Decimal) -> bool | None:
    """Whether a value meets a criterion; None where there is no value.

    >>> met("repeatability", 4.2, Decimal("5")), met("modes", 85.0, Decimal("90"))
    (True, False)
    """
    if percent is None:
        return None
    return percent >= criterion if kind in AT_LEAST else percent <= criterion


def passed(
    standings: Sequence[Standing], criteria: Mapping[str, Sequence[Met]], *, adding: bool
) -> tuple[bool | None, str]:
    """Whether a study has shown what it was to show, and why in a sentence; None where the data do not tell."""
    rows = [row for found in criteria.values() for row in found]
    agreeing = [one.person for one in standings if one.verdict == AGREES]
    if any(row.met is False for row in rows):
        missed = [kind for kind, found in criteria.items() if any(row.met is False for row in found)]
        return False, f"Not met: {', '.join(missed)}."
    if adding and not agreeing:
        return False, "Nobody who was to join has been shown to agree with the group."
    if not adding and len(agreeing) < FEWEST_PEOPLE:
        return False, f"{len(agreeing)} agree with one another; a method is validated with {FEWEST_PEOPLE} or more."
    if any(row.met is None for row in rows):
        return None, "Some criteria cannot be judged from these data."
    return True, "Every criterion is met."

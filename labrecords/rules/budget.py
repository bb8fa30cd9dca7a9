"""Whether an uncertainty budget says enough, and whether a study has the one that its decision rule needs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from labrecords.stats.uncertainty import Budget, Contribution, combine

from .answers import Answer
from .decision import GUARDED

STATISTICS, OTHERWISE = "A", "B"
TYPES = {STATISTICS: "A: by statistics of repeated results", OTHERWISE: "B: from a certificate, limits or judgement"}
HALF_WIDTH, STANDARD = "half width", "standard uncertainty"
SIZES = (HALF_WIDTH, STANDARD)
DISTRIBUTIONS = ("normal", "rectangular", "triangular", "u-shaped")


@dataclass(frozen=True)
class Line:
    """One contribution as an engineer states it. `df` None is without end; `divisor` goes with a normal half width."""

    name: str
    type: str
    distribution: str
    size: Decimal
    size_is: str
    source: str
    divisor: Decimal | None = None
    sensitivity: Decimal = Decimal(1)
    df: Decimal | None = None


def check_lines(lines: Sequence[Line]) -> list[Answer]:
    """Every reason against combining these lines, each naming its line."""
    said = [] if lines else ["The budget has no contribution."]
    names = [line.name for line in lines]
    said += [
        f"{name} stands there {names.count(name)} times." for name in dict.fromkeys(names) if names.count(name) > 1
    ]
    for line in lines:
        if not line.source.strip():
            said.append(f"{line.name}: where its size comes from was not written down.")
        try:
            contribution(line)
        except ValueError as problem:
            said.append(f"{line.name}: {problem}")
    if not said and not any(line.size * line.sensitivity for line in lines):
        said.append("Every contribution is nothing: a strength without any uncertainty is not to be had.")
    return [Answer("budget-incomplete", why) for why in said]


def contribution(line: Line) -> Contribution:
    """The line as the law of propagation takes it. ValueError says what does not go together."""
    half = line.size_is == HALF_WIDTH
    return Contribution(
        line.name,
        line.distribution,
        half_width=float(line.size) if half else None,
        u=None if half else float(line.size),
        sensitivity=float(line.sensitivity),
        df=math.inf if line.df is None else float(line.df),
        divisor=None if line.divisor is None else float(line.divisor),
    )


def combined(lines: Sequence[Line], *, coverage: Decimal) -> Budget:
    """The combined and expanded uncertainty of lines that have passed `check_lines`."""
    return combine([contribution(line) for line in lines], coverage=float(coverage))


def check_guard(*, decision_rule: str, budget: str | None, method: str, technique: str) -> list[Answer]:
    """A rule that is guarded by uncertainty needs an approved budget when the set-up is locked."""
    if decision_rule != GUARDED or budget is not None:
        return []
    return [Answer("no-budget", f"No budget of {method}, technique {technique}, is in force.")]

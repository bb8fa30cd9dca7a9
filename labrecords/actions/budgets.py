"""Uncertainty budgets: worked out by an engineer, approved by a second person, never rewritten."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from decimal import Decimal
from math import isinf

from labrecords.models import BudgetDecision, MethodVersion, UncertaintyBudget, User
from labrecords.queries import access, lab
from labrecords.rules import budget as rules
from labrecords.rules.answers import Answer
from labrecords.rules.budget import Line
from labrecords.stats.uncertainty import Budget

from . import locks, trail
from .numbering import next_code
from .refusals import one_act


def keep(
    *,
    method_version: MethodVersion,
    technique: str,
    level: Decimal,
    unit: str,
    coverage: Decimal,
    lines: Sequence[Line],
    rationale: str,
    by: User,
    at: datetime,
) -> UncertaintyBudget:
    """Combine the contributions and keep the budget. It counts once somebody else has approved it."""
    access.demand(by, "keep a budget")
    tried = f"keep an uncertainty budget of {method_version}, technique {technique}"
    with one_act("keep a budget", by=by, at=at, tried=tried) as stop:
        stop(rules.check_lines(lines))
        if not rationale.strip():
            stop([Answer("words-missing", "What the budget speaks of was not written down.")])
        found = rules.combined(lines, coverage=coverage)
        kept = UncertaintyBudget.objects.create(
            code=next_code("U", lab.day(at)),
            method_version=method_version,
            technique=technique,
            level=level,
            unit=unit,
            coverage=coverage,
            combined=found.combined,
            effective_df=None if isinf(found.effective_df) else found.effective_df,
            factor=found.factor,
            expanded=found.expanded,
            lines=_stored(lines, found),
            rationale=rationale,
            by=by,
            at=at,
        )
        after = {"id": kept.pk, "method": str(method_version), "technique": technique, "lines": kept.lines}
        after |= {"level": f"{level} {unit}", "expanded": repr(kept.expanded), "factor": repr(kept.factor)}
        trail.write("budget.kept", subject=f"budget {kept.code}", by=by, at=at, after=after, why=rationale)
    return kept


def _stored(lines: Sequence[Line], found: Budget) -> list[dict[str, str]]:
    """As stated, in the figures that were typed, and what came of each at full precision."""
    stated = [{name: "" if value is None else str(value) for name, value in asdict(line).items()} for line in lines]
    came = [
        {"standard": repr(row.u), "contribution": repr(row.contribution), "share": repr(row.share)}
        for row in found.contributions
    ]
    return [said | numbers for said, numbers in zip(stated, came, strict=True)]


def decide(*, budget: UncertaintyBudget, approved: bool, words: str, by: User, at: datetime) -> BudgetDecision:
    """A second person approves a budget, or does not; once."""
    access.demand(by, "approve a budget")
    with one_act("decide a budget", by=by, at=at, tried=f"decide on {budget.code}") as stop:
        locks.hold(budget.pk)
        if BudgetDecision.objects.filter(budget=budget).exists():
            stop([Answer("already-decided", f"{budget.code} has been decided.")])
        if by.pk == budget.by_id:
            stop([Answer("same-person", f"{by.name} worked it out.")])
        if not words.strip():
            stop([Answer("words-missing", "What was looked at was not written down.")])
        kept = BudgetDecision.objects.create(budget=budget, approved=approved, words=words, by=by, at=at)
        after = {"id": kept.pk, "approved": approved}
        trail.write("budget.decided", subject=f"budget {budget.code}", by=by, at=at, after=after, why=words)
    return kept

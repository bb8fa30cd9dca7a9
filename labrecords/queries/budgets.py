"""Uncertainty budgets as pages and reports read them."""

from django.db.models import QuerySet

from labrecords.models import MethodVersion, Study, UncertaintyBudget

from .access import NotFound

WAITS, IN_FORCE, SUPERSEDED, REJECTED = "waits for approval", "in force", "superseded", "not approved"


def every() -> QuerySet[UncertaintyBudget]:
    """All budgets, newest first."""
    return UncertaintyBudget.objects.select_related("method_version__method", "by", "decision__by")


def one(code: str) -> UncertaintyBudget:
    """A budget by its code."""
    found = every().filter(code=code).first()
    if found is None:
        raise NotFound(code)
    return found


def in_force(version: MethodVersion, technique: str) -> UncertaintyBudget | None:
    """The budget approved last for a method version and technique."""
    found = UncertaintyBudget.objects.filter(method_version=version, technique=technique, decision__approved=True)
    return found.order_by("-decision__at", "-code").first()


def states(budgets) -> dict[str, str]:
    """How each budget stands, by its code."""
    latest: dict[tuple, str] = {}
    decided = [row for row in budgets if getattr(row, "decision", None) and row.decision.approved]
    for row in sorted(decided, key=lambda row: (row.decision.at, row.code)):
        latest[(row.method_version_id, row.technique)] = row.code
    return {row.code: _state(row, latest) for row in budgets}


def _state(row: UncertaintyBudget, latest: dict[tuple, str]) -> str:
    decision = getattr(row, "decision", None)
    if decision is None:
        return WAITS
    if not decision.approved:
        return REJECTED
    return IN_FORCE if latest[(row.method_version_id, row.technique)] == row.code else SUPERSEDED


def of_study(study: Study) -> UncertaintyBudget | None:
    """The budget that was in force when the study's set-up was locked."""
    return UncertaintyBudget.objects.filter(pk=study.budget_id).first() if study.budget_id else None

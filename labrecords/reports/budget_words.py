"""Uncertainty budgets as they are printed."""

from typing import Any

from labrecords.models import Study, UncertaintyBudget
from labrecords.queries import budgets, values
from labrecords.rules import decision

from .digits import fixed, percent, spread


def summary(budget: UncertaintyBudget) -> str:
    """What a budget comes to: at 1.5 lbf/in 0.12 lbf/in, 8.0 %, with a coverage factor of 2.05."""
    level, coverage = f"{budget.level.normalize():f}", f"{(budget.coverage * 100).normalize():f} %"
    return (
        f"at {level} {budget.unit} the expanded uncertainty is {spread(budget.expanded)} {budget.unit} "
        f"({percent(budget.share)}), with a coverage factor of {fixed(budget.factor, 2)} for a coverage of {coverage}"
    )


def of_study(study: Study) -> str:
    """What a report says of the uncertainty of its values."""
    budget = budgets.of_study(study)
    if budget is None:
        return "not evaluated: no budget was in force for this method version and technique when the set-up was locked"
    return f"budget {budget.code}: {summary(budget)}"


def guard_words(study: Study) -> str:
    """The acceptance limits of a rule that is guarded by uncertainty; nothing for other rules."""
    budget = budgets.of_study(study)
    if study.decision_rule != decision.GUARDED or budget is None:
        return ""
    unit = study.setup.unit
    said = [
        f"For {limit.get_side_display()} {limit.value.normalize():f} {limit.unit} the acceptance limit is "
        f"{limit.get_side_display()} {accepted_words(study, limit.side, value)} {unit}."
        for limit, value in values.limits(study)
    ]
    return " ".join([f"Budget {budget.code}: {summary(budget)}.", *said])


def accepted_words(study: Study, side: str, value) -> str:
    """An acceptance limit, with two more decimals than values have."""
    budget = budgets.of_study(study)
    accepted = decision.acceptance_limit(value, side=side, share=budget.share)
    return fixed(accepted, study.setup.decimals + 2)


def line_words(line: dict[str, str]) -> dict[str, Any]:
    """One contribution as its page shows it."""
    return line | {
        "standard": spread(float(line["standard"])),
        "contribution": spread(float(line["contribution"])) if float(line["contribution"]) else "0",
        "share": percent(float(line["share"])),
        "df": line["df"] or "without end",
    }

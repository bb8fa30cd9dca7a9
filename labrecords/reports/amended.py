"""What another issue of a report changed, in sentences made of the two contents."""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from labrecords.models import Report, ReportAmendment

# What every issue has of its own; a change in them says nothing.
OWN = {"number", "issue", "replaces", "changes", "issued_on", "people", "trail", "content_sha256", "schema", "figures"}
NAMES = {
    "groups": "the numbers of the groups",
    "summary": "the answer",
    "refusals_note": "the count of refused entries",
    "decision_rule": "the decision rule",
}
SHOWN = ("maximum", "average", "modes", "marks", "remarks")


def replaces(amendment: ReportAmendment) -> str:
    """Which issue is replaced, and why."""
    return f"{amendment.report.number}, issue {amendment.report.issue}, because: {amendment.reason}"


def changes(before: Report, found: Mapping[str, Any]) -> list[str]:
    """Everything that reads otherwise than in the issue before: results one by one, the rest by name."""
    old = json.loads(before.content)
    said = [*_results(old["results"], found["results"])]
    other = [
        NAMES.get(name, name.replace("_", " "))
        for name in found
        if name not in OWN and name != "results" and found[name] != old.get(name)
    ]
    if other:
        said.append(f"Otherwise than before read: {', '.join(other)}.")
    return said or ["Nothing in the findings reads otherwise than before."]


def _results(old: list[dict[str, Any]], new: list[dict[str, Any]]) -> Iterator[str]:
    before, after = ({row["specimen"]: row for row in rows} for rows in (old, new))
    for label in dict.fromkeys([*before, *after]):
        if label not in after:
            yield f"{label} is no longer among the results."
        elif label not in before:
            yield f"{label} is new among the results."
        else:
            yield from _result(label, before[label], after[label])


def _result(label: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    for name in SHOWN:
        if old.get(name) != new.get(name):
            yield f"{label}, {name}: {_words(old.get(name))}, now {_words(new.get(name))}."


def _words(value: Any) -> str:
    shown = ", ".join(value) if isinstance(value, list) else str(value or "")
    return shown or "none"

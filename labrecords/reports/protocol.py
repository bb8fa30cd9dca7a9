"""What a protocol says: everything that is fixed before the first specimen, as headings with labels and texts."""

import json
from collections.abc import Iterator
from typing import Any

from labrecords.charts.words import counted
from labrecords.models import Study
from labrecords.queries import protocols, setups, validation_plans, windows
from labrecords.rules.canonical import canonical
from labrecords.rules.protocol import AGREEMENTS, CLIENT

from .days import written_date
from .sentences import claim_words, decision_words, limit_words, origin_words

SCHEMA = "labrecords protocol 1"


def text(study: Study) -> str:
    """The canonical text of the plan as it stands; its hash tells two versions apart."""
    parts = [{"heading": heading, "items": [list(item) for item in items]} for heading, items in _parts(study)]
    return canonical({"schema": SCHEMA, "study": study.code, "title": study.title, "parts": parts})


def parts(content: str) -> list[dict[str, Any]]:
    """The parts of a stored protocol, for a page: heading, and items of label and value."""
    return [
        {
            "heading": part["heading"],
            "items": [{"label": label, "value": value} for label, value in part["items"]],
        }
        for part in json.loads(content)["parts"]
    ]


def standing_words(study: Study) -> str:
    """Which version a study was locked on, and who agreed to it."""
    found = protocols.newest(study)
    if found is None:
        return "No protocol is frozen yet."
    digest = f"SHA-256 {found.content_sha256[:16]}…"
    answer = getattr(found, "answer", None)
    if answer is None:
        return f"Version {found.version}; {_agreement(study)}. {digest}"
    verb = "agreed to" if answer.agreed else "not agreed to"
    day = written_date(answer.said_on)
    return f"Version {found.version}, {verb} by {answer.said_by} on {day} ({answer.received_as}). {digest}"


def flat(content: str) -> dict[str, str]:
    """Every label of a stored protocol, after its heading, with its text."""
    return {f"{part['heading']}: {item['label']}": item["value"] for part in parts(content) for item in part["items"]}


def _parts(study: Study) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    yield "Question", _question(study)
    yield "Set-up", [*setups.described(study.setup), *_beside(study)]
    yield "Plan", _plan(study)
    yield "Limits and decision", _judged(study)
    settings = [(f"{row.kind} {row.label}", f"lot {row.lot}, {row.words}") for row in windows.settings(study)]
    if settings:
        yield "Sealing settings", settings
    plan = validation_plans.of_study(study)
    if plan:
        yield "Validation", _validation(plan)


def _question(study: Study) -> list[tuple[str, str]]:
    said = [
        ("Title", study.title),
        ("Purpose", study.purpose),
        ("Client and project", f"{study.project.client.name}, {study.project}"),
        ("Agreement", _agreement(study)),
    ]
    if study.predecessor is not None:
        said.append(("Continues", f"{study.predecessor.code}: {study.amendment_reason}"))
    return said


def _agreement(study: Study) -> str:
    words = AGREEMENTS[study.agreement]
    return words if study.agreement == CLIENT else f"{words}: {study.no_agreement_reason}"


def _beside(study: Study) -> list[tuple[str, str]]:
    setup = study.setup
    return [
        ("Seal width", f"{setups.plain(setup.seal_width_mm)} mm"),
        ("Forces expected", f"{setups.plain(setup.expected_weak_n)} to {setups.plain(setup.expected_strong_n)} N"),
    ]


def _plan(study: Study) -> list[tuple[str, str]]:
    groups = [
        (
            f"Group {group.number}, {group}",
            f"{counted(group.packs, 'pack')}, {counted(group.specimens_per_pack, 'specimen')} each",
        )
        for group in study.groups.all()
    ]
    return [*groups, ("Why this many", study.rationale)]


def _judged(study: Study) -> list[tuple[str, str]]:
    limits = [
        (
            f"{limit.get_kind_display().capitalize()}, {limit.side}",
            f"{limit_words(limit)}; {origin_words(limit, for_client=True)}",
        )
        for limit in study.limits.all()
    ]
    return [
        *(limits or [("Limits", "none: the results are reported as they are")]),
        ("Tolerance bounds", claim_words(study)),
        ("Decision rule", decision_words(study)),
        ("Decision rule chosen by", study.decision_chosen_by),
    ]


def _validation(plan) -> list[tuple[str, str]]:
    people = ", ".join(f"{row.person}{' (joins)' if row.joins else ''}" for row in validation_plans.people(plan))
    criteria = [(f"Criterion {number}", str(row)) for number, row in enumerate(plan.criteria.all(), start=1)]
    margin = f"{setups.plain(plan.margin)} {plan.study.setup.unit}; {plan.reason}"
    return [("Design", plan.get_design_display()), ("Who pulls", people), ("Margin", margin), *criteria]

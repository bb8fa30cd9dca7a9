"""What a study found, from its records: everything in a report but its number, its day and who signs it.

Its hash is what a reviewer accepts and a signatory signs: when anything in it changes, both must look again.
"""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from labrecords.charts.words import counted
from labrecords.models import Limit, Study
from labrecords.queries import corrections, lab, reports, setups, values, verdicts
from labrecords.queries.numbers import GroupNumbers, study_numbers
from labrecords.rules.canonical import canonical, sha256
from labrecords.stats.rounding import report_digits

from . import budget_words, items, photographs, protocol, sentences
from .days import written_date, written_day
from .printed import group_words, result_words, value_words


def findings(study: Study) -> dict[str, Any]:
    """The findings of a study, as text throughout."""
    groups = study_numbers(study)
    laboratory, client = lab.laboratory(), study.project.client
    zone = lab.zone()
    days = _days(groups, zone)
    limits = values.limits(study)
    version = study.setup.method_version
    return {
        "title": study.title,
        "paper": laboratory.paper,
        "laboratory": {
            "name": laboratory.name,
            "address": laboratory.address,
            "place_of_work": laboratory.place_of_work,
        },
        "client": {"name": client.name, "contact": client.contact_name, "address": client.address},
        "study": {"code": study.code, "title": study.title, "mark": study.mark, "purpose": study.purpose},
        "summary": sentences.summary(study, groups, days[0], days[-1]),
        "decision_rule": {"text": sentences.decision_words(study), "chosen_by": study.decision_chosen_by}
        | {"protocol": protocol.standing_words(study)},
        "limits": [
            {
                "kind": limit.get_kind_display(),
                "text": sentences.limit_words(limit),
                "origin": sentences.origin_words(limit, for_client=True),
                "note": _converted(study, limit, value),
            }
            for limit, value in limits
        ],
        "method": {
            "code": version.method.code,
            "title": version.method.title,
            "version": str(version.number),
            "reference": version.reference,
            "deviations": _amendment(study),
        },
        "setup": [
            *map(list, setups.described(study.setup)),
            ["Seal width", _seal_width(study)],
            ["Tolerance bounds", sentences.claim_words(study)],
            ["Measurement uncertainty", budget_words.of_study(study)],
        ],
        "items": items.items(study, zone),
        "sampling": {"plan": _plan(groups), "rationale": study.rationale},
        "unit": study.setup.unit,
        "groups": [group_words(study, group) for group in groups],
        "results": [
            result_words(study, group, line, tested_on=written_day(line.result.tested_at, zone))
            for group in groups
            for line in group.lines
            if line.result
        ],
        "photographs": photographs.said(study),
        "equipment": [_equipment(*used) for used in reports.equipment_used(study)],
        "conditions": _conditions(study),
        "deviations": _deviations(study),
        "corrections": [_correction(study, made, limits) for made in corrections.made_in(study)],
        "voids": [_void(study, void, limits) for void in reports.voids(study)],
        "refusals_note": _refusals(study),
        "cautions": list(sentences.CAUTIONS),
        "statements": [*sentences.STATEMENTS, *items.disclaimers(study)],
    }


def findings_sha256(found: dict[str, Any]) -> str:
    """The hash of the findings as they stand."""
    return sha256(canonical(found))


def _days(groups: Sequence[GroupNumbers], zone: ZoneInfo) -> list[str]:
    moments = sorted(line.result.tested_at for group in groups for line in group.lines if line.result)
    if not moments:
        return ["no day yet"]
    return [written_day(moments[0], zone), written_day(moments[-1], zone)]


def _amendment(study: Study) -> list[str]:
    accepted = [
        f"Run {run.number}: {run.cell} accepted by {run.cell_accepted_by.name}: {run.cell_accepted_why}"
        for run in reports.runs(study)
        if run.cell_accepted_by is not None
    ]
    if study.predecessor is None:
        return accepted
    return [*accepted, f"This study continues {study.predecessor.code} under another set-up: {study.amendment_reason}"]


def _seal_width(study: Study) -> str:
    return f"{setups.plain(study.setup.seal_width_mm)} mm"


def _converted(study: Study, limit: Limit, value: Decimal) -> str:
    if limit.unit == study.setup.unit:
        return ""
    return f"in the unit of the results {report_digits(value, digits=6)} {study.setup.unit}"


def _plan(groups: Sequence[GroupNumbers]) -> str:
    return "; ".join(
        f"{planned}: {counted(planned.packs, 'pack')}, {counted(planned.specimens_per_pack, 'specimen')} each"
        for planned in (group.group for group in groups)
    )


def _equipment(item, calibration) -> dict[str, str]:
    verified = ""
    if None not in (calibration.verified_low_n, calibration.verified_high_n):
        verified = f", verified {calibration.verified_low_n:g} to {calibration.verified_high_n:g} N"
    if calibration.expanded_uncertainty_percent is not None:
        share, factor = calibration.expanded_uncertainty_percent, calibration.coverage_factor
        verified += f", expanded uncertainty (k = {factor:g}) {share:g} % of reading"
    return {
        "item": f"{item.name} ({item.label})",
        "description": f"{item.get_kind_display()}{_capacity(item)}{verified}; serial {item.serial}",
        "certificate": calibration.certificate,
        "provider": calibration.provider,
        "performed_on": written_date(calibration.performed_on),
        "due_on": written_date(calibration.due_on),
    }


def _capacity(item) -> str:
    return "" if item.capacity_n is None else f", capacity {item.capacity_n:g} N"


def _conditions(study: Study) -> list[list[str]]:
    runs = reports.runs(study)
    if not runs:
        return [
            ["Temperature", "not known: no run has results"],
            ["Relative humidity", "not known: no run has results"],
        ]
    return [
        ["Temperature", _range([run.room_c for run in runs], "°C")],
        ["Relative humidity", _range([run.room_humidity_percent for run in runs], "%")],
    ]


def _range(readings: Sequence[float], unit: str) -> str:
    low, high = min(readings), max(readings)
    return f"{low:g} {unit}" if low == high else f"{low:g} to {high:g} {unit}"


def _deviations(study: Study) -> list[dict[str, Any]]:
    return [
        {
            "specimens": [deviation.result.specimen.label],
            "what": deviation.facts["why"],
            "decision": _decided(deviation),
            "by": deviation.decision.by.name if hasattr(deviation, "decision") else "nobody yet",
        }
        for deviation in reports.deviations(study)
    ]


def _decided(deviation) -> str:
    if not hasattr(deviation, "decision"):
        return "waits for a decision"
    verdict = "counts" if deviation.decision.counts else "does not count"
    return f"The result {verdict}: {deviation.decision.words}"


def _void(study: Study, void, limits) -> dict[str, str]:
    results = list(void.specimen.results.all())
    causes = {cause["key"]: cause["words"] for cause in study.setup.method_version.void_causes}
    return {
        "specimen": void.specimen.label,
        "value": _void_value(study, results[-1], limits) if results else "not tested",
        "cause": causes.get(void.cause, void.cause),
        "words": void.words,
        "by": void.by.name,
    }


def _void_value(study: Study, result, limits) -> str:
    """The value that does not count, and the limits that it lay outside: a void must not hide one."""
    if values.waits(result):
        return "not shown: waits for a decision"
    value = value_words(result, study.setup.decimals, [value for _, value in limits])
    missed = [sentences.limit_words(limit) for limit, value in limits if verdicts.outside(result, limit.side, value)]
    return f"{value}, which does not meet {' and '.join(missed)}" if missed else value


def _correction(study: Study, made, limits) -> dict[str, str]:
    """A correction with both versions: what stood is not put out of sight by what stands."""
    edges = [value for _, value in limits]
    old, new = (value_words(result, study.setup.decimals, edges) for result in (made.result, made.made))
    if made.result.modes != made.made.modes:
        old, new = (
            f"{value}, {', '.join(modes)}" for value, modes in ((old, made.result.modes), (new, made.made.modes))
        )
    by = made.by.name
    if hasattr(made, "decision"):
        by += f"; agreed to by {made.decision.by.name}"
    why = f"{made.get_reason_display()}: {made.words}"
    return {"specimen": made.result.specimen.label, "before": old, "after": new, "why": why, "by": by}


def _refusals(study: Study) -> str:
    count = reports.refusals(study).filter(act="enter a result").count()
    if not count:
        return "No entry was refused."
    return f"{count} {'entry was' if count == 1 else 'entries were'} refused; each is kept in the laboratory's records."

"""What a study found, from its records: everything in a report but its number, its day and who signs it.

Its hash is what a reviewer accepts and a signatory signs: when anything in it changes, both must look again.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from labrecords.models import Lot, Study
from labrecords.queries import lab, reports, setups
from labrecords.queries.numbers import GroupNumbers, study_numbers
from labrecords.rules.canonical import canonical, sha256
from labrecords.rules.wording import WORDS

from . import sentences
from .digits import fixed, lower, mean, percent, spread


def findings(study: Study) -> dict[str, Any]:
    """The findings of a study, as text throughout."""
    groups = study_numbers(study)
    laboratory, client = lab.laboratory(), study.project.client
    zone = lab.zone()
    days = _days(groups, zone)
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
        "decision_rule": {"text": sentences.decision_words(study), "chosen_by": study.decision_chosen_by},
        "limits": [
            {
                "kind": limit.get_kind_display(),
                "text": sentences.limit_words(limit),
                "origin": sentences.origin_words(limit, for_client=True),
                "note": "",
            }
            for limit in study.limits.all()
        ],
        "method": {
            "code": version.method.code,
            "title": version.method.title,
            "version": str(version.number),
            "reference": version.reference,
            "deviations": _amendment(study),
        },
        "setup": [*map(list, setups.described(study.setup)), ["Seal width", _seal_width(study)]],
        "items": [_item(lot, zone) for lot in study.lots.all()],
        "sampling": {"plan": _plan(groups), "rationale": study.rationale},
        "unit": study.setup.unit,
        "groups": [group_words(study, group) for group in groups],
        "results": [_result(study, group, line, zone) for group in groups for line in group.lines if line.result],
        "equipment": [_equipment(*used) for used in reports.equipment_used(study)],
        "conditions": _conditions(study),
        "deviations": _deviations(study),
        "voids": [_void(study, void) for void in reports.voids(study)],
        "refusals_note": _refusals(study),
        "cautions": list(sentences.CAUTIONS),
        "statements": list(sentences.STATEMENTS),
    }


def findings_sha256(found: dict[str, Any]) -> str:
    """The hash of the findings as they stand."""
    return sha256(canonical(found))


def written_day(moment: datetime, zone: ZoneInfo) -> str:
    """A day with its month in letters, where the laboratory is: 25 Nov 2026."""
    local = moment.astimezone(zone)
    return f"{local.day} {local:%b %Y}"


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


def _item(lot: Lot, zone: ZoneInfo) -> dict[str, str]:
    return {
        "lot": f"{lot.name} ({lot.label})",
        "description": lot.description,
        "received_on": written_day(lot.received_at, zone),
        "condition": lot.condition,
        "sealed_how": lot.sealed_how,
        "sampled_by": lot.sampled_by,
    }


def _plan(groups: Sequence[GroupNumbers]) -> str:
    return "; ".join(
        f"{group.group}: {group.group.packs} packs, {group.group.specimens_per_pack} specimen"
        f"{'s' if group.group.specimens_per_pack > 1 else ''} each"
        for group in groups
    )


def group_words(study: Study, group: GroupNumbers) -> dict[str, str]:
    """One group of the plan, as the report and the study page print it."""
    decimals, found = study.setup.decimals, group.summary
    none = "not stated" if group.below or group.above else "too few"
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
        "bound": f"{lower(group.bound.value, decimals)} ({group.bound.words})"
        if group.bound.value is not None
        else group.bound.words,
        "below_limit": str(group.below_limit) if any(v.limit.side == "lower" for v in group.verdicts) else "",
        "note": " ".join(group.notes),
    }


def _end(group: GroupNumbers, decimals: int, *, lowest: bool) -> str:
    if lowest and group.below:
        return "below what can be measured"
    if not lowest and group.above:
        return "above what can be measured"
    known = [line.strength for line in group.lines if line.strength is not None]
    if not known:
        return "none"
    return fixed(min(known) if lowest else max(known), decimals)


def _interval(group: GroupNumbers, decimals: int) -> str:
    if group.summary is None:
        return ""
    low, high = group.summary.mean_interval
    return f"95 % confidence interval for the mean, {mean(low, decimals)} to {mean(high, decimals)}"


def _result(study: Study, group: GroupNumbers, line, zone: ZoneInfo) -> dict[str, Any]:
    result, decimals = line.result, study.setup.decimals
    return {
        "specimen": line.specimen.label,
        "group": str(group.group),
        "maximum": value_words(result, decimals),
        "average": "" if result.mean_strength is None else fixed(result.mean_strength, decimals),
        "modes": list(result.modes),
        "marks": [*(WORDS[mark].headline for mark in result.marks), *_asides(line)],
        "tested_on": written_day(result.tested_at, zone),
        "tested_by": result.tested_by.name,
    }


def value_words(result, decimals: int) -> str:
    """A result as it is printed: its value, or the end of the range beyond which it lies."""
    if not result.censored:
        return fixed(result.strength, decimals)
    if result.censored_at is None:
        return "opened"
    return f"{result.censored} {fixed(result.censored_at, decimals)}"


def _asides(line) -> list[str]:
    aside = ["set aside by decision"] if line.set_aside else []
    kept = ["kept under a deviation"] if line.result.deviations.all() else []
    void = ["void, not counted"] if line.void else []
    return void + kept + aside


def _equipment(item, calibration) -> dict[str, str]:
    verified = ""
    if None not in (calibration.verified_low_n, calibration.verified_high_n):
        verified = f", verified {calibration.verified_low_n:g} to {calibration.verified_high_n:g} N"
    return {
        "item": f"{item.name} ({item.label})",
        "description": f"{item.get_kind_display()}, capacity {item.capacity_n:g} N{verified}; serial {item.serial}",
        "certificate": calibration.certificate,
        "provider": calibration.provider,
        "performed_on": _date(calibration.performed_on),
        "due_on": _date(calibration.due_on),
    }


def _date(day) -> str:
    return f"{day.day} {day:%b %Y}"


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


def _void(study: Study, void) -> dict[str, str]:
    results = list(void.specimen.results.all())
    causes = {cause["key"]: cause["words"] for cause in study.setup.method_version.void_causes}
    return {
        "specimen": void.specimen.label,
        "value": value_words(results[-1], study.setup.decimals) if results else "not tested",
        "cause": causes.get(void.cause, void.cause),
        "words": void.words,
        "by": void.by.name,
    }


def _refusals(study: Study) -> str:
    count = reports.refusals(study).filter(act="enter a result").count()
    if not count:
        return "No entry was refused."
    return f"{count} {'entry was' if count == 1 else 'entries were'} refused; each is kept in the laboratory's records."

"""Conditions that hold a result for a decision: conditioning, the room, aids past their date, the arm, the receipt."""

import math
from collections.abc import Iterable
from datetime import date

from .answers import Answer
from .calibration import check_equipment, written
from .facts import Equipment, Facts, Method, Run, Setup


def check_conditions(facts: Facts, *, setup: Setup, method: Method) -> list[Answer]:
    """Kept, and held: somebody who is not shown the value decides."""
    return [
        *_conditioned(facts, setup),
        *check_room(facts.run, method),
        *check_aids(facts.aids, on=facts.entry.tested_on),
        *_treated(facts),
        *_received(facts),
    ]


def check_aids(aids: Iterable[Equipment], *, on: date) -> list[Answer]:
    """Room sensor, width gauge and cutter are in service and in calibration; if not, the results wait."""
    found = [answer for aid in aids for answer in check_equipment(aid, on=on)]
    return [Answer("gauge-overdue", answer.why, answer.facts) for answer in found]


def _treated(facts: Facts) -> list[Answer]:
    specimen, on = facts.specimen, facts.entry.tested_on
    if not (specimen.as_made or specimen.treatments):
        why = f"The plan's arm of {specimen.label} is not 'as made', and nothing on record says what it went through."
        return [Answer("arm-not-shown", why, {"specimen": specimen.label})]
    for item in specimen.treatments:
        early, late = item.pull_from and on < item.pull_from, item.pull_until and on > item.pull_until
        if early or late:
            first, last = (written(day) if day else "any day" for day in (item.pull_from, item.pull_until))
            why = f"{specimen.label} ({item.kind}) is to be pulled from {first} to {last}; it was on {written(on)}."
            return [Answer("outside-pull-window", why, {"kind": item.kind, "on": on.isoformat()})]
    return []


def _received(facts: Facts) -> list[Answer]:
    return [
        Answer("discrepancy-open", f"The client has not answered what was found on receipt: {words}")
        for words in facts.specimen.discrepancies
    ]


def _conditioned(facts: Facts, setup: Setup) -> list[Answer]:
    if setup.conditioning_hours == 0:
        return []
    since = facts.specimen.conditioned_since
    label, wanted = facts.specimen.label, setup.conditioning_hours
    if since is None:
        why = f"{label} has no conditioning on record; the set-up asks for {wanted:g} h."
        return [Answer("not-conditioned", why, {"hours": "0", "wanted": f"{wanted:g}"})]
    hours = max((facts.entry.tested_at - since).total_seconds() / 3600, 0.0)
    if hours >= wanted:
        return []
    shown = f"{math.floor(hours * 100) / 100:g}"  # rounded down: a minute short must not read as the full time
    why = f"{label} was conditioned for {shown} h; the set-up asks for {wanted:g} h."
    return [Answer("not-conditioned", why, {"hours": shown, "wanted": f"{wanted:g}"})]


def check_room(run: Run, method: Method) -> list[Answer]:
    """The run's room reading lies within the method's limits."""
    low, high = method.room_c
    dry, damp = method.humidity_percent
    if low <= run.room_c <= high and dry <= run.room_humidity_percent <= damp:
        return []
    why = (
        f"The room was {run.room_c:g} °C and {run.room_humidity_percent:g} % RH; the method asks for "
        f"{low:g} to {high:g} °C and {dry:g} to {damp:g} % RH."
    )
    facts = {"room_c": f"{run.room_c:g}", "humidity_percent": f"{run.room_humidity_percent:g}"}
    return [Answer("room-outside-limits", why, facts)]

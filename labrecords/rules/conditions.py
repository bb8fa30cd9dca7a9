"""Conditions that hold a result for a decision: conditioning and the room."""

import math

from .answers import Answer
from .facts import Facts, Method, Run, Setup


def check_conditions(facts: Facts, *, setup: Setup, method: Method) -> list[Answer]:
    """Kept, and held: somebody who is not shown the value decides."""
    return _conditioned(facts, setup) + check_room(facts.run, method)


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

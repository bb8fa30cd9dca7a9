"""The items tested, as the report prints them: what came, when and how it was sampled, and how long it conditioned."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from labrecords.charts.words import counted
from labrecords.models import Conditioning, DiscrepancyAnswer, Lot, Result, Study, Treatment

from .days import written_date, written_day, written_time


def items(study: Study, zone: ZoneInfo) -> list[dict[str, str]]:
    """Every lot of a study, as the report prints it."""
    pulled = defaultdict(list)
    for lot, moment in _tests(study):
        pulled[lot].append(moment)
    lots = study.lots.prefetch_related("conditionings", "discrepancies__answer", "treatments")
    return [item(lot, pulled[lot.pk], zone) for lot in lots]


def disclaimers(study: Study) -> list[str]:
    """What the report says of lots that came other than agreed and were tested at the client's word."""
    answers = DiscrepancyAnswer.objects.filter(discrepancy__lot__study=study, proceeds=True).order_by("at", "pk")
    return [
        f"Lot {made.discrepancy.lot.name}: {made.disclaimer}" for made in answers.select_related("discrepancy__lot")
    ]


def _tests(study: Study) -> Iterable[tuple[Any, datetime]]:
    found = Result.objects.filter(specimen__study=study, revision=1)
    return found.order_by("tested_at").values_list("specimen__pack__lot", "tested_at")


def item(lot: Lot, pulled: Sequence[datetime], zone: ZoneInfo) -> dict[str, str]:
    """One lot, and the moments at which its strips were pulled. What the client stated is marked so."""
    return {
        "lot": f"{lot.name} ({lot.label})",
        "description": "; ".join([lot.description, *map(_treated, lot.treatments.all())]),
        "received_on": written_day(lot.received_at, zone),
        "condition": "; ".join([lot.condition, *(found.words for found in lot.discrepancies.all())]),
        "sealed_how": f"{lot.sealed_how} (stated by the client)",
        "sampled_by": f"{lot.sampled_by} (stated by the client)",
        "sampled_on": f"{lot.sampled_on} (stated by the client)",
        "conditioned": _conditioned(list(lot.conditionings.all()), pulled, zone),
    }


def _treated(made: Treatment) -> str:
    arm = ", ".join(filter(None, (made.arm, made.time_point)))
    days = f"{written_date(made.started_on)} to {written_date(made.ended_on)}"
    stands_for = ""
    if made.simulated_days is not None:
        stands_for = (
            f", at {made.ageing_c:g} °C for {made.simulated_days:.0f} days at {made.ambient_c:g} °C (Q10 {made.q10:g})"
        )
    return f"{arm}: {made.kind}, {days}{stands_for}, shown by {made.evidence}"


def _conditioned(conditionings: Sequence[Conditioning], pulled: Sequence[datetime], zone: ZoneInfo) -> str:
    """For every stretch of conditioning, how long it had lasted when the first strip was pulled under it."""
    if not pulled:
        return "not tested"
    under = defaultdict(list)
    for moment in pulled:
        begun = [made for made in conditionings if made.started_at <= moment]
        under[max(begun, key=lambda made: made.started_at, default=None)].append(moment)
    said = [_stretch(made, min(moments), zone) for made, moments in under.items()]
    if len(said) == 1:
        return said[0]
    counts = [counted(len(moments), "strip") for moments in under.values()]
    return "; ".join(f"{count} {words}" for count, words in zip(counts, said, strict=True))


def _stretch(made: Conditioning | None, first: datetime, zone: ZoneInfo) -> str:
    if made is None:
        return "not conditioned"
    hours = int((first - made.started_at).total_seconds() // 3600)
    since = f"since {written_time(made.started_at, zone)}"
    room = f"{made.temperature_c:g} °C, {made.humidity_percent:g} % RH"
    return f"{since}, at {room}: {counted(hours, 'hour')} before the first test"

"""The items tested, as the report prints them: what came, when and how it was sampled, and how long it conditioned."""

from collections.abc import Iterable
from zoneinfo import ZoneInfo

from django.db.models import Min

from labrecords.charts.words import counted
from labrecords.models import Lot, Study

from .days import written_day, written_time


def lots(study: Study) -> Iterable[Lot]:
    """The lots of a study, with their conditionings and the moment of their first test."""
    first = Min("packs__specimens__results__tested_at")
    return study.lots.annotate(first_test=first).prefetch_related("conditionings")


def item(lot: Lot, zone: ZoneInfo) -> dict[str, str]:
    """One lot. What the client stated is marked so."""
    return {
        "lot": f"{lot.name} ({lot.label})",
        "description": lot.description,
        "received_on": written_day(lot.received_at, zone),
        "condition": lot.condition,
        "sealed_how": f"{lot.sealed_how} (stated by the client)",
        "sampled_by": f"{lot.sampled_by} (stated by the client)",
        "sampled_on": f"{lot.sampled_on} (stated by the client)",
        "conditioned": _conditioned(lot, zone),
    }


def _conditioned(lot: Lot, zone: ZoneInfo) -> str:
    """From the conditioning that was under way when the lot's first specimen was pulled, how long it had lasted."""
    begun = [made for made in lot.conditionings.all() if lot.first_test and made.started_at <= lot.first_test]
    if not begun:
        return "not conditioned" if lot.first_test else "not tested"
    latest = max(begun, key=lambda made: made.started_at)
    hours = int((lot.first_test - latest.started_at).total_seconds() // 3600)
    since = f"since {written_time(latest.started_at, zone)}"
    room = f"{latest.temperature_c:g} °C, {latest.humidity_percent:g} % RH"
    return f"{since}, at {room}: {counted(hours, 'hour')} before the first test"

"""Lots as they came: what was not as agreed, and what their arms went through."""

from datetime import datetime, timedelta

from django.db.models import QuerySet

from labrecords.models import Discrepancy, Lot, Treatment

from .access import NotFound


def unanswered(lot: Lot) -> tuple[str, ...]:
    """What was found on receipt and the client has not answered, or has answered with: not to be tested."""
    found = Discrepancy.objects.filter(lot=lot).exclude(answer__proceeds=True)
    return tuple(found.order_by("at").values_list("words", flat=True))


def discrepancy(discrepancy_id) -> Discrepancy:
    """One discrepancy by its identifier."""
    found = Discrepancy.objects.select_related("lot__study").filter(pk=discrepancy_id).first()
    if found is None:
        raise NotFound(str(discrepancy_id))
    return found


def treatments_of(lot: Lot, arm: str, time_point: str) -> QuerySet[Treatment]:
    """What an arm of a lot went through until a time point."""
    return Treatment.objects.filter(lot=lot, arm=arm, time_point=time_point)


def arms(lot: Lot) -> list[tuple[str, str]]:
    """Arms and time points of the plan for a lot, but the untreated one, as a form offers them."""
    groups = lot.study.groups.filter(lot=lot.name).order_by("number").values_list("arm", "time_point")
    named = {f"{arm} | {time_point}": ", ".join(filter(None, (arm, time_point))) for arm, time_point in groups}
    return [(key, words) for key, words in named.items() if not key.lower().startswith("as made |")]


def ready_at(lot: Lot) -> datetime | None:
    """When the lot will have been conditioned as the set-up says; None before conditioning has begun."""
    latest = lot.conditionings.order_by("-started_at").first()
    return latest and latest.started_at + timedelta(hours=lot.study.setup.conditioning_hours)

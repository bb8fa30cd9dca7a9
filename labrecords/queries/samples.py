"""Lots as they came: what was not as agreed, and what their arms went through."""

from collections import defaultdict

from django.db.models import QuerySet

from labrecords.models import Discrepancy, Lot, Pack, Specimen, Treatment
from labrecords.rules.ageing import days_needed

from .access import NotFound


def unanswered(lot: Lot) -> tuple[str, ...]:
    """What was found on receipt and the client has not answered, or has answered with: not to be tested."""
    found = Discrepancy.objects.filter(lot=lot).exclude(answer__proceeds=True)
    return tuple(found.order_by("at", "pk").values_list("words", flat=True))


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


def cutting_map(lot: Lot) -> tuple[list[str], list[tuple[Pack, list[list[Specimen]]]]]:
    """Which strip comes from where: the seal positions, and for each pack its strips at each position."""
    strips = Specimen.objects.filter(pack__lot=lot).select_related("pack", "group", "void").order_by("label")
    found = [strip for strip in strips if strip.group is not None]
    positions = list(dict.fromkeys(strip.group.position for strip in sorted(found, key=lambda s: s.group.number)))
    at: dict[Pack, dict[str, list[Specimen]]] = defaultdict(lambda: defaultdict(list))
    for strip in found:
        at[strip.pack][strip.group.position].append(strip)
    packs = sorted(at, key=lambda pack: pack.number)
    return positions, [(pack, [at[pack][place] for place in positions]) for pack in packs]


def remnants_at(lot: Lot) -> str:
    """Where what was left of a lot is kept; empty where nothing is on record, or it has been discarded."""
    latest = lot.custody.filter(act__startswith="remnants").order_by("-at", "-pk").first()
    return latest.place if latest is not None and latest.act == "remnants kept" else ""


def days_for_a_year(made: Treatment) -> int | None:
    """Whole days in the chamber of an ageing that would stand for a year at ambient; None for other treatments."""
    if made.ageing_c is None or made.ambient_c is None or made.q10 is None:
        return None
    return days_needed(simulated_days=365.25, ageing_c=made.ageing_c, ambient_c=made.ambient_c, q10=made.q10)

"""Samples: received, conditioned, cut into labelled specimens; and where each lot has been."""

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from labrecords.models import Conditioning, CustodyEvent, Equipment, Lot, Pack, PlanGroup, Specimen, Study, User
from labrecords.queries import access
from labrecords.queries.nonconforming import holding
from labrecords.queries.samples import unanswered
from labrecords.rules.answers import Answer
from labrecords.rules.study_states import RELEASED, WITHDRAWN, check_act
from labrecords.rules.times import check_conditioning

from . import trail
from .numbering import next_labels
from .refusals import one_act

REMNANTS_KEPT, REMNANTS_GONE = "remnants kept", "remnants discarded"


def receive(
    *,
    study: Study,
    name: str,
    description: str,
    condition: str,
    sealed_how: str,
    sampled_by: str,
    sampled_on: str,
    place: str,
    received_at: datetime,
    by: User,
    at: datetime,
) -> Lot:
    """A lot of the plan, as it came in. A lot that the plan does not name is refused."""
    access.demand(by, "receive samples")
    with one_act("receive a lot", by=by, at=at, study=study, tried=f"receive lot {name}") as stop:
        study = _held(study)
        stop(check_act(study.state, "receive a lot"))
        if not study.groups.filter(lot=name).exists():
            named = ", ".join(sorted(set(study.groups.values_list("lot", flat=True)))) or "no lot"
            stop([Answer("not-in-plan", f"The plan of {study.code} names {named}.", {"lot": name})])
        if received_at > at:
            stop([Answer("in-the-future", f"The time of receipt is {received_at:%d %B %Y, %H:%M}.")])
        lot = Lot.objects.create(
            study=study,
            label=next_labels("LT", 1)[0],
            name=name,
            description=description,
            condition=condition,
            sealed_how=sealed_how,
            sampled_by=sampled_by,
            sampled_on=sampled_on,
            received_at=received_at,
            by=by,
        )
        _custody(lot, "received", place, received_at, by, at, words=condition)
        stated = {"sealed how": sealed_how, "sampled by": sampled_by, "sampled on": sampled_on}
        after = {"lot": name, "condition": condition} | stated
        trail.write("lot.received", subject=f"lot {lot.label}", by=by, at=at, study=study, after=after)
    return lot


def _held(study: Study) -> Study:
    """The study as it is now, held so that its state stays until this act is done."""
    return Study.objects.select_for_update().get(pk=study.pk)


def condition(
    *,
    lot: Lot,
    started_at: datetime,
    temperature_c: float,
    humidity_percent: float,
    place: str,
    by: User,
    at: datetime,
) -> Conditioning:
    """A lot is put into the conditioned room."""
    access.demand(by, "receive samples")
    with one_act("condition a lot", by=by, at=at, study=lot.study, tried=f"condition lot {lot.name}") as stop:
        stop(check_act(_held(lot.study).state, "condition a lot"))
        stop(check_conditioning(started_at=started_at, received_at=lot.received_at, now=at))
        kept = Conditioning.objects.create(
            lot=lot,
            started_at=started_at,
            temperature_c=temperature_c,
            humidity_percent=humidity_percent,
            by=by,
            at=at,
        )
        _custody(lot, "conditioning begun", place, started_at, by, at)
        after = {"from": started_at, "temperature_c": temperature_c, "humidity_percent": humidity_percent}
        trail.write("lot.conditioned", subject=f"lot {lot.label}", by=by, at=at, study=lot.study, after=after)
    return kept


def cut(
    *,
    lot: Lot,
    place: str,
    by: User,
    at: datetime,
    cutter: Equipment | None = None,
    cutter_check: str = "",
    remnants: str = "",
) -> list[Specimen]:
    """Cut and label every specimen the plan asks of this lot: packs first, then strips by position.

    Groups that differ only in position share their packs, as strips from one pack do. `remnants` says where what is
    left of the packs, spare strips too, is kept until the report is released.
    """
    access.demand(by, "receive samples")
    with one_act("cut specimens", by=by, at=at, study=lot.study, tried=f"cut lot {lot.name}") as stop:
        stop(check_act(_held(lot.study).state, "cut specimens"))
        if lot.packs.exists():
            stop([Answer("state-refused", f"Lot {lot.name} has been cut.")])
        stop([Answer("lot-waits", f"Not answered: {words}") for words in unanswered(lot)])
        groups = list(lot.study.groups.filter(lot=lot.name))
        tool = {"cutter": cutter, "cutter_check": cutter_check}
        specimens = _cut_groups(lot, groups, {"cut_at": at, "cut_by": by} | tool)
        _custody(lot, "cut", place, at, by, at, words=f"{len(specimens)} specimens")
        if remnants:
            _custody(lot, REMNANTS_KEPT, remnants, at, by, at)
        used = {"cutter": cutter.label if cutter else None, "cutter checked": cutter_check, "remnants": remnants}
        after = used | {"specimens": [f"{item.label} of {item.pack.label}, {item.group}" for item in specimens]}
        trail.write("specimens.cut", subject=f"lot {lot.label}", by=by, at=at, study=lot.study, after=after)
    return specimens


def _cut_groups(lot: Lot, groups: Iterable[PlanGroup], how: dict) -> list[Specimen]:
    packs: dict[tuple[str, str], list[Pack]] = {}
    specimens = []
    for group in groups:
        shared = packs.setdefault((group.arm, group.time_point), [])
        missing = group.packs - len(shared)
        if missing > 0:
            taken = sum(len(made) for made in packs.values())
            shared += _packs(lot, first=taken + 1, count=missing)
        specimens += _specimens(group, shared[: group.packs], how)
    return specimens


def _packs(lot: Lot, *, first: int, count: int) -> list[Pack]:
    labels = next_labels("PK", count)
    return Pack.objects.bulk_create(
        Pack(lot=lot, label=label, number=number) for number, label in enumerate(labels, start=first)
    )


def _specimens(group: PlanGroup, packs: list[Pack], how: dict) -> list[Specimen]:
    places = [pack for pack in packs for _ in range(group.specimens_per_pack)]
    labels = next_labels("SP", len(places))
    return Specimen.objects.bulk_create(
        Specimen(study=group.study, group=group, pack=pack, label=label, **how)
        for pack, label in zip(places, labels, strict=True)
    )


def discard_remnants(*, lot: Lot, words: str, by: User, at: datetime) -> CustodyEvent:
    """What was left of a lot goes, once nobody can still ask for it: after release, or when the study is withdrawn."""
    access.demand(by, "receive samples")
    with one_act("discard remnants", by=by, at=at, study=lot.study, tried=f"discard remnants of {lot.name}") as stop:
        state = _held(lot.study).state
        if state not in (RELEASED, WITHDRAWN):
            stop([Answer("remnants-kept", f"{lot.study.code} is {state}.", {"state": state})])
        stop([Answer("remnants-kept", f"{one.code} is open.") for one in holding(lot.study)])
        if lot.custody.filter(act=REMNANTS_GONE).exists():
            stop([Answer("state-refused", f"The remnants of lot {lot.name} have been discarded.")])
        kept = _custody(lot, REMNANTS_GONE, "discarded", at, by, at, words=words)
        trail.write("lot.remnants-discarded", subject=f"lot {lot.label}", by=by, at=at, study=lot.study, why=words)
    return kept


@transaction.atomic(durable=True)
def add_custody(
    *, lot: Lot, act: str, place: str, words: str, happened_at: datetime, by: User, at: datetime
) -> CustodyEvent:
    """Where a lot went, and in whose hands."""
    access.demand(by, "receive samples")
    kept = _custody(lot, act, place, happened_at, by, at, words=words)
    after = {"act": act, "place": place, "when": happened_at}
    trail.write("lot.moved", subject=f"lot {lot.label}", by=by, at=at, study=lot.study, after=after, why=words)
    return kept


def _custody(lot, act, place, happened_at, by, at, *, words="") -> CustodyEvent:
    return CustodyEvent.objects.create(
        lot=lot, act=act, place=place, words=words, happened_at=happened_at, by=by, at=at
    )

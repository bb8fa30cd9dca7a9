"""Equipment: registered, described anew, documented, taken out of service and put back."""

from datetime import datetime

from django.db import transaction

from labrecords.files import documents
from labrecords.models import Equipment, EquipmentDocument, EquipmentEvent, User
from labrecords.queries import access
from labrecords.queries import equipment as found
from labrecords.rules.answers import Answer

from . import alerts, trail
from .numbering import next_labels
from .refusals import Stop, one_act

LABEL_KINDS = {
    Equipment.TESTER: "TS",
    Equipment.CELL: "LC",
    Equipment.GAUGE: "WG",
    Equipment.CUTTER: "SC",
    Equipment.SENSOR: "RS",
    Equipment.MASS: "CM",
    Equipment.STRIP: "RF",
}
# What may be said anew of an item; all else of it is what it is.
CHANGEABLE = ("name", "location", "firmware", "acceptance", "maintenance", "interval_months")


@transaction.atomic(durable=True)
def register(*, kind: str, by: User, at: datetime, **fields) -> Equipment:
    """An item of equipment, with the label that goes on it."""
    access.demand(by, "keep equipment")
    item = Equipment(kind=kind, label=next_labels(LABEL_KINDS[kind], 1)[0], **fields)
    item.full_clean()
    item.save()
    after = {"kind": kind} | {name: str(value) for name, value in fields.items()}
    trail.write("equipment.registered", subject=subject(item), by=by, at=at, after=after)
    return item


def subject(item: Equipment) -> str:
    """What the trail calls an item."""
    return f"equipment {item.label}"


def describe(*, equipment: Equipment, edition: int, reason: str, by: User, at: datetime, **fields) -> Equipment:
    """Say anew where an item stands, which firmware it has, how it is kept; `edition` is the one that was read."""
    access.demand(by, "keep equipment")
    with one_act("describe equipment", by=by, at=at, tried=f"describe {equipment.label} anew") as stop:
        item = Equipment.objects.select_for_update().get(pk=equipment.pk)
        if item.edition != edition:
            now = ", ".join(f"{name} '{getattr(item, name)}'" for name in fields if getattr(item, name) != "")
            stop([Answer("changed-meanwhile", f"It now reads: {now}.", {"edition": str(item.edition)})])
        changed = {name: value for name, value in fields.items() if getattr(item, name) != value}
        before = {name: str(getattr(item, name)) for name in changed}
        for name in changed:
            if name not in CHANGEABLE:
                raise ValueError(f"{name} of an item does not change; got {changed[name]!r}.")
            setattr(item, name, changed[name])
        item.edition += 1
        item.full_clean()
        item.save()
        words = "; ".join(
            f"{name.replace('_', ' ')}: {before[name] or 'nothing'} to {changed[name]}" for name in changed
        )
        event = EquipmentEvent.objects.create(
            equipment=item,
            kind=EquipmentEvent.MOVED,
            happened_at=at,
            reason=f"{reason} ({words})" if words else reason,
            by=by,
            at=at,
        )
        after = {"id": event.pk, "before": before, "after": {name: str(value) for name, value in changed.items()}}
        trail.write("equipment.described", subject=subject(item), by=by, at=at, after=after, why=reason)
    return item


def keep_document(
    *, equipment: Equipment, title: str, name: str, content: bytes, by: User, at: datetime
) -> EquipmentDocument:
    """A manual, drawing or certificate, to the byte; what is not the file it claims to be is refused."""
    access.demand(by, "keep equipment")
    with one_act("keep a document", by=by, at=at, tried=f"keep {name} with {equipment.label}") as stop:
        if EquipmentDocument.objects.filter(equipment=equipment, sha256=documents.sha256(content)).exists():
            stop([Answer("document-kept", f"{name} has the same bytes as a document of {equipment.label}.")])
        return add_document(equipment=equipment, title=title, name=name, content=content, by=by, at=at, stop=stop)


def add_document(
    *, equipment: Equipment, title: str, name: str, content: bytes, by: User, at: datetime, stop: Stop
) -> EquipmentDocument:
    """The document with these bytes, kept now if it was not; call inside an act, whose `stop` is given."""
    digest = documents.sha256(content)
    known = EquipmentDocument.objects.filter(equipment=equipment, sha256=digest).first()
    if known is not None:
        return known
    media_type = documents.media_type(name, content)
    if media_type is None:
        stop([Answer("file-not-as-named", f"{name} does not begin as a PDF, a PNG or a JPEG does.", {"name": name})])
    kept = EquipmentDocument.objects.create(
        equipment=equipment,
        title=title,
        name=name,
        media_type=media_type,
        size=len(content),
        sha256=digest,
        content=content,
        by=by,
        at=at,
    )
    after = {"id": kept.pk, "title": title, "name": name, "sha256": digest}
    trail.write("equipment.document-kept", subject=subject(equipment), by=by, at=at, after=after)
    return kept


def take_out_of_service(*, equipment: Equipment, reason: str, by: User, at: datetime) -> EquipmentEvent:
    """From this moment it gives no results."""
    return happened(equipment=equipment, kind=EquipmentEvent.OUT, reason=reason, by=by, at=at)


def put_back(*, equipment: Equipment, reason: str, by: User, at: datetime) -> EquipmentEvent:
    """From this moment it may give results again, if it is in calibration; the reason says what showed it right."""
    return happened(equipment=equipment, kind=EquipmentEvent.BACK, reason=reason, by=by, at=at)


def happened(
    *, equipment: Equipment, kind: str, reason: str, by: User, at: datetime, happened_at: datetime | None = None
) -> EquipmentEvent:
    """Something was done to an item: checked, maintained, adjusted, repaired, out of service, back, retired.

    What was adjusted or repaired gives no results until it has been put back.
    """
    access.demand(by, "keep equipment")
    with one_act(f"record: {kind}", by=by, at=at, tried=f"record that {equipment.label} was {kind}") as stop:
        Equipment.objects.select_for_update().get(pk=equipment.pk)
        moment = happened_at or at
        if moment > at:
            stop(
                [Answer("in-the-future", f"It is said to have happened on {moment:%d %B %Y, %H:%M}, which is to come.")]
            )
        status = found.status_at(equipment, moment)
        if status == EquipmentEvent.RETIRED:
            stop([Answer("state-refused", f"{equipment.name} is retired. A retired item stays so.")])
        if kind == EquipmentEvent.BACK and status == found.IN_SERVICE:
            stop([Answer("state-refused", f"{equipment.name} is in service.")])
        if kind == EquipmentEvent.OUT and status != found.IN_SERVICE:
            stop([Answer("state-refused", f"{equipment.name} is {status} already.")])
        return add_event(equipment=equipment, kind=kind, reason=reason, by=by, at=at, happened_at=moment)


def add_event(
    *, equipment: Equipment, kind: str, reason: str, by: User, at: datetime, happened_at: datetime | None = None
) -> EquipmentEvent:
    """Keep what happened to an item, now or at an earlier moment; call inside a transaction."""
    event = EquipmentEvent.objects.create(
        equipment=equipment, kind=kind, happened_at=happened_at or at, reason=reason, by=by, at=at
    )
    act = f"equipment.{kind.replace(' ', '-')}"
    trail.write(act, subject=subject(equipment), by=by, at=at, after={"id": event.pk}, why=reason)
    return event


def stop_at_once(*, equipment: Equipment, reason: str, by: User, at: datetime, happened_at: datetime) -> None:
    """Out of service for what was seen just now, and the managers are told at once; call inside a transaction."""
    add_event(equipment=equipment, kind=EquipmentEvent.OUT, reason=reason, by=by, at=at, happened_at=happened_at)
    alerts.tell_managers(subject=f"{equipment.name} ({equipment.label}) is out of service", body=reason)

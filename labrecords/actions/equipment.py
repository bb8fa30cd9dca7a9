"""Testers and load cells: registered, calibrated, taken out of service and put back."""

from datetime import datetime

from django.db import transaction

from labrecords.models import Calibration, CalibrationReview, Equipment, EquipmentEvent, User
from labrecords.queries import access
from labrecords.rules.answers import Answer

from . import trail
from .numbering import next_labels
from .refusals import one_act

LABEL_KINDS = {Equipment.TESTER: "TS", Equipment.CELL: "LC"}


@transaction.atomic(durable=True)
def register(*, kind: str, by: User, at: datetime, **fields) -> Equipment:
    """A tester or load cell, with the label that goes on it."""
    access.demand(by, "keep equipment")
    item = Equipment(kind=kind, label=next_labels(LABEL_KINDS[kind], 1)[0], **fields)
    item.full_clean()
    item.save()
    after = {"kind": kind} | {name: str(value) for name, value in fields.items()}
    trail.write("equipment.registered", subject=f"equipment {item.label}", by=by, at=at, after=after)
    return item


@transaction.atomic(durable=True)
def record_calibration(*, equipment: Equipment, by: User, at: datetime, **fields) -> Calibration:
    """A calibration as its certificate states it. It counts once somebody else has reviewed it."""
    access.demand(by, "keep equipment")
    calibration = Calibration(equipment=equipment, by=by, at=at, **fields)
    calibration.full_clean()
    calibration.save()
    after = {"id": calibration.pk} | {name: str(value) for name, value in fields.items()}
    trail.write("calibration.recorded", subject=f"equipment {equipment.label}", by=by, at=at, after=after)
    return calibration


def review_calibration(*, calibration: Calibration, words: str, by: User, at: datetime) -> CalibrationReview:
    """A second person reads the certificate; from then on the calibration counts."""
    access.demand(by, "review a calibration")
    item = calibration.equipment
    with one_act("review a calibration", by=by, at=at, tried=f"review {calibration.certificate}") as stop:
        if calibration.by_id == by.pk:
            stop([Answer("same-person", f"{by.name} recorded this calibration.")])
        # locks the item, so that of two people who press at once the second is answered in words
        Equipment.objects.select_for_update().get(pk=item.pk)
        if CalibrationReview.objects.filter(calibration=calibration).exists():
            stop([Answer("state-refused", f"{calibration.certificate} has been reviewed.")])
        review = CalibrationReview.objects.create(calibration=calibration, words=words, by=by, at=at)
        after = {"id": review.pk, "calibration": calibration.pk, "certificate": calibration.certificate}
        trail.write("calibration.reviewed", subject=f"equipment {item.label}", by=by, at=at, after=after, why=words)
    return review


@transaction.atomic(durable=True)
def take_out_of_service(*, equipment: Equipment, reason: str, by: User, at: datetime) -> EquipmentEvent:
    """From this moment it gives no results."""
    access.demand(by, "keep equipment")
    return add_event(equipment=equipment, kind=EquipmentEvent.OUT, reason=reason, by=by, at=at)


@transaction.atomic(durable=True)
def put_back(*, equipment: Equipment, reason: str, by: User, at: datetime) -> EquipmentEvent:
    """From this moment it may give results again, if it is in calibration."""
    access.demand(by, "keep equipment")
    return add_event(equipment=equipment, kind=EquipmentEvent.BACK, reason=reason, by=by, at=at)


def add_event(
    *, equipment: Equipment, kind: str, reason: str, by: User, at: datetime, happened_at: datetime | None = None
) -> EquipmentEvent:
    """Keep what happened to an item, now or at an earlier moment; call inside a transaction."""
    event = EquipmentEvent.objects.create(
        equipment=equipment, kind=kind, happened_at=happened_at or at, reason=reason, by=by, at=at
    )
    subject = f"equipment {equipment.label}"
    trail.write(
        f"equipment.{kind.replace(' ', '-')}",
        subject=subject,
        by=by,
        at=at,
        after={"id": event.pk},
        why=reason,
    )
    return event

"""Calibrations: recorded as the certificate states them, superseded when the record was wrong, and reviewed."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from labrecords.models import Calibration, CalibrationReview, Equipment, User
from labrecords.queries import access
from labrecords.queries.equipment import counting
from labrecords.rules import calibration_record
from labrecords.rules.answers import Answer

from . import alerts, trail
from .equipment import add_document, subject
from .refusals import one_act

Rows = Sequence[Sequence[str]]


def record(
    *,
    equipment: Equipment,
    by: User,
    at: datetime,
    rule: str = "",
    as_found: Rows = (),
    as_left: Rows = (),
    supersedes: Calibration | None = None,
    file: tuple[str, bytes] | None = None,
    **fields: Any,
) -> Calibration:
    """A calibration as its certificate states it. It counts once somebody else has reviewed it.

    With a rule and points the verified range follows from them; without, it is as stated. Rows are texts in newtons:
    the applied force, then what was read. `file` is the certificate, its name and bytes, kept with the record or not
    at all.
    """
    access.demand(by, "keep equipment")
    with one_act("record a calibration", by=by, at=at, tried=f"record {fields.get('certificate', '')}") as stop:
        Equipment.objects.select_for_update().get(pk=equipment.pk)
        found = calibration_record.judge(
            as_found=as_found,
            as_left=as_left,
            rule=rule,
            resolution_n=equipment.resolution_n,
            capacity_n=equipment.capacity_n,
            passed=fields["passed"],
            was_verified=_was_verified(equipment, fields["performed_on"]),
        )
        stop(found.answers)
        if supersedes is not None and Calibration.objects.filter(supersedes=supersedes).exists():
            stop([Answer("state-refused", f"{supersedes.certificate} has been superseded already.")])
        document = file and add_document(
            equipment=equipment,
            title=f"Certificate {fields['certificate']}",
            name=file[0],
            content=file[1],
            by=by,
            at=at,
            stop=stop,
        )
        made = Calibration(
            equipment=equipment,
            document=document,
            rule=rule,
            as_found=[list(row) for row in as_found],
            as_left=[list(row) for row in as_left],
            supersedes=supersedes,
            by=by,
            at=at,
            **fields | found.columns,
        )
        made.full_clean()
        made.save()
        after = {"id": made.pk, "supersedes": supersedes.pk if supersedes else None, "rule": rule}
        after |= {"as found": made.as_found, "as left": made.as_left}
        after |= {"document": document.sha256 if document else None}
        after |= {name: str(value) for name, value in fields.items()}
        why = made.supersedes_reason
        trail.write("calibration.recorded", subject=subject(equipment), by=by, at=at, after=after, why=why)
        if made.as_found_within is False:
            found_off = f"Certificate {made.certificate}: {made.as_found_error_percent:+.2f} %."
            alerts.tell_managers(
                subject=f"{equipment.name} ({equipment.label}) out of tolerance as found",
                body=f"{found_off} Look back at what it touched.",
            )
    return made


def _was_verified(equipment: Equipment, performed_on) -> tuple[float, float] | None:
    """The range to which the item was verified before, where its errors as found matter."""
    before = counting().filter(equipment=equipment, performed_on__lt=performed_on, verified_low_n__isnull=False)
    latest = before.order_by("-performed_on", "-at", "-pk").first()
    return (latest.verified_low_n, latest.verified_high_n) if latest else None


def review(*, calibration: Calibration, words: str, by: User, at: datetime) -> CalibrationReview:
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
        made = CalibrationReview.objects.create(calibration=calibration, words=words, by=by, at=at)
        after = {"id": made.pk, "calibration": calibration.pk, "certificate": calibration.certificate}
        trail.write("calibration.reviewed", subject=subject(item), by=by, at=at, after=after, why=words)
    return made

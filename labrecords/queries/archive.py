"""What a report rests on, beside its own files: the rows of every record, certificates, and its part of the trail."""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import BinaryField, ForeignKey, Model, Q, QuerySet

from labrecords.models import (
    Authorisation,
    Calibration,
    Correction,
    Deviation,
    EquipmentDocument,
    EquipmentEvent,
    Event,
    Nonconformity,
    NonconformityStep,
    Opening,
    Protocol,
    Refusal,
    Report,
    Result,
    Review,
    Run,
    Seal,
    Signature,
    Study,
    User,
    Void,
)

from . import audit, reports

# Of these acts only those about what the report rests on; every act in the study itself goes along.
OF_PEOPLE = ("person.authorised", "person.authorisation-withdrawn")
CHECKS = "check.taken"


@dataclass(frozen=True)
class Table:
    """The rows of one kind of record, as texts by column."""

    name: str
    about: str
    rows: tuple[dict[str, str], ...]


@dataclass(frozen=True)
class Sealed:
    """One seal of the trail, with the hash of every event that it was made over."""

    seq: int
    prev: str
    hash: str
    leaves: tuple[str, ...]


def tables(report: Report) -> list[Table]:
    """Every kind of record that the report rests on, and what became of it since."""
    study, items = report.study, equipment_of(report.study)
    of_study = {"specimen__study": study}
    runs = Run.objects.filter(study=study).select_related("person", "tester", "cell")
    calibrations = Calibration.objects.filter(equipment__in=items).order_by("equipment__label", "performed_on", "at")
    return [
        _table("protocols", "Versions of the protocol, whole", Protocol.objects.filter(study=study)),
        _table("protocol-answers", "What the client said to them", _answers(study)),
        _table("runs", "Runs: who, on what, in which room", runs),
        _table("results", "Every version of every result", Result.objects.filter(**of_study).order_by("at", "pk")),
        _table("corrections", "Corrections asked for", Correction.objects.filter(result__specimen__study=study)),
        _table("voids", "Void specimens", Void.objects.filter(**of_study)),
        _table(
            "deviations", "What was kept under a deviation", Deviation.objects.filter(result__specimen__study=study)
        ),
        _table("refusals", "What was refused, and why", Refusal.objects.filter(study=study).order_by("at")),
        _table("reviews", "Reviews", Review.objects.filter(study=study).order_by("at")),
        _table("signatures", "Signatures, each with the hash of what was signed", signatures(report)),
        _table("authorisations", "Authorisations of whoever tested", authorisations(study)),
        _table("calibrations", "Every calibration of what was used, before the tests and since", calibrations),
        look_back(report),
        _table(
            "service", "Out of service and back, adjusted, repaired", EquipmentEvent.objects.filter(equipment__in=items)
        ),
        _table("nonconforming", "Nonconforming work that touches the study or the report", nonconforming(report)),
        _table("nonconforming-steps", "What was decided about it", _steps(report)),
        _table("openings", "By whom the report was opened", Opening.objects.filter(report=report).order_by("at")),
    ]


def _answers(study: Study) -> QuerySet:
    return Protocol.answer.related.related_model.objects.filter(protocol__study=study)


def _steps(report: Report) -> QuerySet:
    return NonconformityStep.objects.filter(nonconformity__in=nonconforming(report)).order_by("at")


def equipment_of(study: Study) -> list:
    """Every item used."""
    return list({item.pk: item for item, _ in reports.equipment_used(study)}.values())


def look_back(report: Report) -> Table:
    """Of every item used: the calibration in force at the tests, and what the next one after them found."""
    study = report.study
    last = (
        Result.objects.filter(specimen__study=study).order_by("-tested_at").values_list("tested_at", flat=True).first()
    )
    rows = (_looked_back(item, then, last) for item, then in reports.equipment_used(study))
    return Table("look-back", "What the next calibration of each item found", tuple(rows))


def _looked_back(item, then: Calibration, last) -> dict[str, str]:
    since = item.calibrations.filter(performed_on__gte=last.date(), superseded_by=None).exclude(pk=then.pk)
    found = since.order_by("performed_on", "at").first()
    return {
        "item": str(item),
        "in_force": then.certificate,
        "performed_on": str(then.performed_on),
        "due_on": str(then.due_on),
        "next": found.certificate if found else "none yet",
        "next_performed_on": str(found.performed_on) if found else "",
        "found": _as_found(found),
    }


def _as_found(calibration: Calibration | None) -> str:
    if calibration is None:
        return "not looked at since the tests"
    if calibration.as_found_within is None:
        return "what it read as found was not taken"
    error = calibration.as_found_error_percent
    by = "" if error is None else f", largest error {error:.2g} %"
    return ("within tolerance as found" if calibration.as_found_within else "out of tolerance as found") + by


def certificates(study: Study) -> QuerySet[EquipmentDocument]:
    """The documents of the calibrations of what was used."""
    used = Calibration.objects.filter(equipment__in=equipment_of(study), document__isnull=False)
    found = EquipmentDocument.objects.filter(pk__in=used.values("document"))
    return found.select_related("equipment").order_by("equipment__label", "at", "pk")


def people_of(study: Study) -> QuerySet[User]:
    """Whoever tested."""
    return User.objects.filter(pk__in=Result.objects.filter(specimen__study=study).values("tested_by"))


def authorisations(study: Study) -> QuerySet[Authorisation]:
    """For the study's technique, of whoever tested in it."""
    found = Authorisation.objects.filter(person__in=people_of(study), technique=study.setup.technique)
    return found.select_related("person", "method_version").order_by("person__name", "from_on")


def signatures(report: Report) -> QuerySet[Signature]:
    """Under the report, its withdrawal, and every version of the protocol."""
    of_protocols = Q(protocol__study=report.study) | Q(protocol_answer__protocol__study=report.study)
    return Signature.objects.filter(Q(report=report) | Q(withdrawal__report=report) | of_protocols).order_by("at")


def nonconforming(report: Report) -> QuerySet[Nonconformity]:
    """Nonconforming work of the study, or in which the report is in question."""
    touched = Q(study=report.study) | Q(holds__study=report.study) | Q(reports__report=report)
    return Nonconformity.objects.filter(touched).distinct()


def _table(name: str, about: str, rows: Iterable[Model]) -> Table:
    return Table(name, about, tuple(_row(row) for row in rows))


def _row(row: Model) -> dict[str, str]:
    """A row as texts; a person by name, anything else by its key; bytes have files of their own."""
    fields = [field for field in row._meta.concrete_fields if not isinstance(field, BinaryField)]
    return {field.name: _text(row, field) for field in fields}


def _text(row: Model, field: Any) -> str:
    value = getattr(row, field.attname)
    if isinstance(field, ForeignKey) and field.related_model is User and value is not None:
        return getattr(row, field.name).name
    return (
        "" if value is None else str(field.value_to_string(row) if field.get_internal_type() != "JSONField" else value)
    )


def events(report: Report) -> list[Event]:
    """Every act in the study, and those on the equipment, people, method and nonconforming work behind it, in order."""
    study = report.study
    labels = [f"equipment {item.label}" for item in equipment_of(study)]
    people = [f"person {name}" for name in people_of(study).values_list("username", flat=True)]
    method = f"method {study.setup.method_version.method.code}"
    work = [f"nonconformity {one.code}" for one in nonconforming(report)]
    wanted = Q(study=study.pk) | Q(act__in=OF_PEOPLE, subject__in=people)
    wanted |= Q(act__startswith="method.", subject=method) | Q(subject__in=work)
    wanted |= (Q(subject__in=labels) & ~Q(act=CHECKS)) | Q(subject__in=labels, act=CHECKS, **_while_testing(study))
    return list(Event.objects.filter(wanted).order_by("id"))


def _while_testing(study: Study) -> dict[str, Any]:
    moments = sorted(Result.objects.filter(specimen__study=study).values_list("tested_at", flat=True))
    first, last = (moments[0], moments[-1]) if moments else (study.created_at, study.created_at)
    return {"at__date__gte": first.date(), "at__date__lte": last.date()}


def chain(first_event: Event) -> Iterator[Sealed]:
    """Every seal from the one over the event to the newest, so that whoever has them can follow the chain."""
    first = Seal.objects.get(xid=first_event.xid)
    for seal, sealed in audit.sealed(first.seq):
        leaves = tuple(hashlib.sha256(b"\x00" + event.body.encode()).hexdigest() for event in sealed)
        yield Sealed(seal.seq, bytes(seal.prev).hex(), bytes(seal.hash).hex(), leaves)


def places(found: Iterable[Event]) -> dict[int, tuple[int, int]]:
    """By event, its seal and its place among the events of that seal, counted from 0."""
    xids = {event.xid for event in found}
    seals = dict(Seal.objects.filter(xid__in=xids).values_list("xid", "seq"))
    placed: dict[int, tuple[int, int]] = {}
    seen: dict[int, int] = {}
    for event in Event.objects.filter(xid__in=xids).order_by("id").only("id", "xid"):
        place = seen.get(event.xid, 0)
        placed[event.pk] = (seals[event.xid], place)
        seen[event.xid] = place + 1
    return placed

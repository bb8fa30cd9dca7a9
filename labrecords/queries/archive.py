"""What a report rests on, beside its own files: the rows of every record, certificates, and its part of the trail."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db.models import BinaryField, Field, ForeignKey, JSONField, Max, Min, Model, Q, QuerySet

from labrecords.models import (
    Authorisation,
    Calibration,
    Correction,
    Deviation,
    Equipment,
    EquipmentDocument,
    EquipmentEvent,
    Event,
    Nonconformity,
    NonconformityStep,
    Opening,
    Photo,
    PhotoAside,
    Protocol,
    ProtocolAnswer,
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


@dataclass(frozen=True)
class Basis:
    """A report, the equipment used for it with the calibrations in force then, and when its strips were pulled."""

    report: Report
    used: tuple[tuple[Equipment, Calibration], ...]
    first: datetime
    last: datetime

    @property
    def study(self) -> Study:
        return self.report.study

    @property
    def items(self) -> list[Equipment]:
        """Every item used, once."""
        return list({item.pk: item for item, _ in self.used}.values())


def basis(report: Report) -> Basis:
    """What all of the archive starts from, asked once."""
    pulled = Result.objects.filter(specimen__study=report.study)
    ends = pulled.aggregate(first=Min("tested_at"), last=Max("tested_at"))
    return Basis(report, tuple(reports.equipment_used(report.study)), **ends)


def tables(found: Basis) -> list[Table]:
    """Every kind of record that the report rests on, and what became of it since."""
    report, study, items = found.report, found.study, found.items
    results = Result.objects.filter(specimen__study=study).order_by("at", "pk")
    asides = PhotoAside.objects.filter(photo__in=photographs(study)).order_by("at", "pk")
    deviations = Deviation.objects.filter(result__specimen__study=study)
    calibrations = Calibration.objects.filter(equipment__in=items).order_by(
        "equipment__label", "performed_on", "at", "pk"
    )
    service = EquipmentEvent.objects.filter(equipment__in=items)
    work = nonconforming(report)
    steps = NonconformityStep.objects.filter(nonconformity__in=work).order_by("at", "pk")
    return [
        _table("protocols", "Versions of the protocol, whole", Protocol.objects.filter(study=study)),
        _table(
            "protocol-answers", "What the client said to them", ProtocolAnswer.objects.filter(protocol__study=study)
        ),
        _table("runs", "Runs: who, on what, in which room", Run.objects.filter(study=study)),
        _table("results", "Every version of every result", results),
        _table("corrections", "Corrections asked for", Correction.objects.filter(result__specimen__study=study)),
        _table("photographs", "Photographs of strips", photographs(study).defer("content", "shown")),
        _table("photographs-set-aside", "Those attached in error, and why", asides),
        _table("voids", "Void specimens", Void.objects.filter(specimen__study=study)),
        _table("deviations", "What was kept under a deviation", deviations),
        _table("refusals", "What was refused, and why", Refusal.objects.filter(study=study).order_by("at", "pk")),
        _table("reviews", "Reviews", Review.objects.filter(study=study).order_by("at", "pk")),
        _table("signatures", "Signatures, each with the hash of what was signed", signatures(report)),
        _table("authorisations", "Authorisations of whoever tested", authorisations(study)),
        _table("calibrations", "Every calibration of what was used, before the tests and since", calibrations),
        look_back(found),
        _table("service", "Out of service and back, adjusted, repaired", service),
        _table("nonconforming", "Nonconforming work that touches the study or the report", work),
        _table("nonconforming-steps", "What was decided about it", steps),
        _table("openings", "By whom the report was opened", Opening.objects.filter(report=report).order_by("at", "pk")),
    ]


def look_back(found: Basis) -> Table:
    """Of every item used: the calibration in force at the tests, and what the next one after them found."""
    rows = (_looked_back(item, then, found.last) for item, then in found.used)
    return Table("look-back", "What the next calibration of each item found", tuple(rows))


def _looked_back(item: Equipment, then: Calibration, last: datetime) -> dict[str, str]:
    since = item.calibrations.filter(performed_on__gte=last.date(), superseded_by=None).exclude(pk=then.pk)
    found = since.order_by("performed_on", "at", "pk").first()
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


def certificates(found: Basis) -> QuerySet[EquipmentDocument]:
    """The documents of the calibrations of what was used."""
    kept = Calibration.objects.filter(equipment__in=found.items, document__isnull=False)
    documents = EquipmentDocument.objects.filter(pk__in=kept.values("document"))
    return documents.select_related("equipment").order_by("equipment__label", "at", "pk")


def photographs(study: Study) -> QuerySet[Photo]:
    """Every photograph of the study's strips, those set aside too."""
    return Photo.objects.filter(result__specimen__study=study).order_by("at", "pk")


def photographs_that_stand(study: Study) -> QuerySet[Photo]:
    """Those that were not set aside, with their bytes: one attached in error may show another client's strip."""
    return photographs(study).filter(aside__isnull=True).select_related("result__specimen")


def people_of(study: Study) -> QuerySet[User]:
    """Whoever tested."""
    return User.objects.filter(pk__in=Result.objects.filter(specimen__study=study).values("tested_by"))


def authorisations(study: Study) -> QuerySet[Authorisation]:
    """For the study's technique, of whoever tested in it."""
    found = Authorisation.objects.filter(person__in=people_of(study), technique=study.setup.technique)
    return found.order_by("person__name", "from_on")


def signatures(report: Report) -> QuerySet[Signature]:
    """Under the report, its withdrawal, and every version of the protocol."""
    of_protocols = Q(protocol__study=report.study) | Q(protocol_answer__protocol__study=report.study)
    return Signature.objects.filter(Q(report=report) | Q(withdrawal__report=report) | of_protocols).order_by("at", "pk")


def nonconforming(report: Report) -> QuerySet[Nonconformity]:
    """Nonconforming work of the study, or in which the report is in question."""
    touched = Q(study=report.study) | Q(holds__study=report.study) | Q(reports__report=report)
    return Nonconformity.objects.filter(touched).distinct()


def _table(name: str, about: str, rows: QuerySet) -> Table:
    fields = [field for field in rows.model._meta.concrete_fields if not isinstance(field, BinaryField)]
    people = [field.name for field in fields if _is_person(field)]
    found = rows.select_related(*people) if people else rows
    return Table(name, about, tuple({field.name: _text(row, field) for field in fields} for row in found))


def _is_person(field: Field) -> bool:
    return isinstance(field, ForeignKey) and field.related_model is User


def _text(row: Model, field: Field) -> str:
    """A field as text: a person by name, anything else that is pointed to by its key."""
    value = getattr(row, field.attname)
    if value is None:
        return ""
    if _is_person(field):
        return getattr(row, field.name).name
    return str(value if isinstance(field, JSONField) else field.value_to_string(row))


def events(found: Basis) -> list[Event]:
    """Every act in the study, and those on the equipment, people, method and nonconforming work behind it, in order."""
    study = found.study
    labels = [f"equipment {item.label}" for item in found.items]
    people = [f"person {name}" for name in people_of(study).values_list("username", flat=True)]
    method = f"method {study.setup.method_version.method.code}"
    work = [f"nonconformity {one.code}" for one in nonconforming(found.report)]
    meanwhile = {"at__date__gte": found.first.date(), "at__date__lte": found.last.date()}
    wanted = Q(study=study.pk) | Q(act__in=OF_PEOPLE, subject__in=people)
    wanted |= Q(act__startswith="method.", subject=method) | Q(subject__in=work)
    wanted |= (Q(subject__in=labels) & ~Q(act=CHECKS)) | Q(subject__in=labels, act=CHECKS, **meanwhile)
    return list(Event.objects.filter(wanted).order_by("id"))


def chain(first_event: Event) -> Iterator[Sealed]:
    """Every seal from the one over the event to the newest, so that whoever has them can follow the chain."""
    first = Seal.objects.get(xid=first_event.xid)
    for seal, sealed in audit.sealed(first.seq):
        leaves = tuple(audit.leaf(event.body).hex() for event in sealed)
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

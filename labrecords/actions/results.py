"""The gate: the one action that keeps, marks, holds or refuses a result, and keeps the refusal too."""

import uuid
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from django.db import IntegrityError, transaction

from labrecords.models import Deviation, Entry, Result, Run, Specimen, Study, TraceFile, User
from labrecords.queries import access, lab
from labrecords.queries import facts as gathered
from labrecords.rules import facts, labels, result_entry, wording
from labrecords.rules.answers import Answer, Kind, codes
from labrecords.rules.canonical import canonical, sha256

from . import equipment, locks, trail
from .measured import Measured, measure
from .refusals import Refused, as_json, from_json, stops, store
from .trace_samples import keep_trace

RUN = ("study", "person", "tester", "cell", "room_sensor", "width_gauge")
SPECIMEN = ("study", "pack__lot", "void", "group", "cutter")


@dataclass(frozen=True)
class TraceChoice:
    """Which stretch of which received file belongs to the specimen, and how its columns are read."""

    file: TraceFile
    segment: int
    layout: dict


@dataclass(frozen=True)
class DeviceClock:
    """When an entry was typed, by the clock of its device, and how far that clock was behind the server's."""

    read_at: datetime
    offset_ms: int | None = None


@dataclass(frozen=True)
class Reading:
    """What was seen at the bench: how the strip was pulled, how it came apart, and the force or the trace.

    `typed` is the text exactly as typed, in `unit` (the set-up's, or N); a trace gives the force otherwise.
    """

    technique: str
    rate: Decimal
    rate_unit: str
    width_mm: Decimal
    tested_at: datetime
    modes: tuple[str, ...] = ()
    opened: bool = False
    typed: str = ""
    unit: str = ""
    trace: TraceChoice | None = None
    remark: str = ""
    confirmed: tuple[str, ...] = field(default=())
    clock: DeviceClock | None = None


@dataclass(frozen=True)
class Kept:
    """A result that was kept, with the marks it carries and what holds it."""

    result: Result
    marks: tuple[str, ...]
    held: tuple[str, ...]


def enter(
    *,
    specimen: str,
    reading: Reading,
    run: Run,
    tested_by: User,
    entered_by: User,
    at: datetime,
    key: uuid.UUID,
) -> Kept:
    """Keep one result, or raise Refused with every reason; either way the answer is stored under the key.

    Sending the same key with the same entry again gives the first answer again and keeps nothing new; the same
    key with another entry is refused. One transaction stores the answer and its event.
    """
    access.demand(entered_by, "enter a result")
    sending = _Sending(specimen, reading, run, tested_by, entered_by, at, key)
    with lab.asked_once(), transaction.atomic(durable=True):
        # the locks make the second of two senders wait for the first one's answer, in another study too
        locks.hold(key)
        study = (
            Study.objects.select_for_update(of=("self",))
            .select_related("setup__method_version__method")
            .get(pk=run.study_id)
        )
        answer = sending.answered() or sending.decide(study)
    if isinstance(answer, Refused):
        raise answer
    return answer


@dataclass(frozen=True)
class _Sending:
    specimen: str
    reading: Reading
    run: Run
    tested_by: User
    entered_by: User
    at: datetime
    key: uuid.UUID

    @property
    def body_sha256(self) -> str:
        return sha256(canonical(self.body))

    @property
    def body(self) -> dict:
        reading, trace, clock = self.reading, self.reading.trace, self.reading.clock
        typed_at = {"device clock": {"read at": clock.read_at, "offset_ms": clock.offset_ms}} if clock else {}
        return {
            "specimen": self.specimen,
            "run": self.run.pk,
            "tested by": self.tested_by.username,
            "technique": reading.technique,
            "rate": f"{reading.rate.normalize():f} {reading.rate_unit}",
            "width_mm": f"{reading.width_mm.normalize():f}",
            "tested at": reading.tested_at,
            "modes": list(reading.modes),
            "opened": reading.opened,
            "typed": f"{reading.typed} {reading.unit}".strip(),
            "trace": {"file": trace.file.sha256, "segment": trace.segment} if trace else None,
            "remark": reading.remark,
            "confirmed": list(reading.confirmed),
            **typed_at,
        }

    @property
    def tried(self) -> str:
        return f"{self._value_words()} for {self.specimen}"

    def _value_words(self, of_trace: str = "the trace's peak") -> str:
        return "opened before test" if self.reading.opened else self.body["typed"] or of_trace

    def answered(self) -> Kept | Refused | None:
        """The first answer to this key, if it has been sent before."""
        entry = Entry.objects.select_related("result", "refusal").filter(key=self.key).first()
        if entry is None:
            return None
        if (entry.entered_by_id, entry.body_sha256) != (self.entered_by.pk, self.body_sha256):
            why = "This key came before with another entry, or from another person."
            return self._refuse([Answer("key-reused", why)], study=self.run.study)
        if entry.refusal is not None:
            return Refused(entry.refusal, [from_json(stored) for stored in entry.refusal.answers])
        return _kept(entry.result)

    def decide(self, study: Study) -> Kept | Refused:
        """Ask the gate, then keep the result or the refusal."""
        run = Run.objects.select_related(*RUN).get(pk=self.run.pk)
        run.study = study
        specimen = self._specimen()
        if specimen is None:
            answer = Answer("specimen-unknown", f"'{self.specimen}' is not the label of a specimen here.")
            return self._refuse([answer], study=study)
        measured = measure(self.reading, study, used_by=gathered.trace_used_by)
        told = self._told(run, specimen, measured)
        answers = (*measured.answers, *result_entry.check(told))
        against = stops(answers)
        if not against:
            try:
                with transaction.atomic():
                    return self._keep(run, specimen, measured, answers, codes(result_entry.noticed(told)))
            except IntegrityError as error:
                against = (_from_database(error),)
        return self._refuse(against, study=study, specimen=specimen, run=run)

    def _specimen(self) -> Specimen | None:
        label = labels.read(self.specimen)
        return label and Specimen.objects.select_related(*SPECIMEN).filter(label=label.text).first()

    def _told(self, run: Run, specimen: Specimen, measured: Measured) -> facts.Facts:
        reading = self.reading
        entry = facts.Entry(
            technique=reading.technique,
            rate=facts.Rate(reading.rate, reading.rate_unit),
            width_mm=reading.width_mm,
            modes=reading.modes,
            opened=reading.opened,
            unit=reading.unit or None,
            peak_force_n=measured.peak_force_n,
            typed_force_n=measured.typed_force_n,
            tested_at=reading.tested_at,
            tested_on=lab.day(reading.tested_at),
            tested_by=self.tested_by.name,
            trace=measured.trace_facts,
            confirmed=reading.confirmed,
            value_words=self._value_words(_peak(measured)),
            strength=measured.strength,
            typed=f"{measured.recorded} {measured.recorded_unit}" if measured.source == "typed" else None,
        )
        return gathered.for_entry(run=run, specimen=specimen, entry=entry, now=self.at)

    def _keep(self, run: Run, specimen: Specimen, measured: Measured, answers: tuple[Answer, ...], noticed) -> Kept:
        reading = self.reading
        marks = codes(wording.only(Kind.MARK, answers))
        held = wording.only(Kind.HOLD, answers)
        result = Result.objects.create(
            specimen=specimen,
            run=run,
            technique=reading.technique,
            rate=reading.rate,
            rate_unit=reading.rate_unit,
            width_mm=reading.width_mm,
            modes=list(reading.modes),
            marks=list(marks),
            remark=reading.remark,
            tested_at=reading.tested_at,
            tested_by=self.tested_by,
            entered_by=self.entered_by,
            at=self.at,
            **measured.columns(answers),
        )
        if measured.samples is not None:
            keep_trace(result=result, measured=measured, choice=reading.trace, at=self.at)
        for answer in held:
            Deviation.objects.create(result=result, code=answer.code, facts=as_json(answer), at=self.at)
        for answer in answers:
            if answer.code == "above-capacity":
                self._take_out(run, result, answer.facts["item"], held=bool(held))
        self._remember(result=result, noticed=list(noticed))
        after = self.body | {"result": result.pk, "marks": list(marks), "held": list(codes(held))}
        after |= {"noticed": list(noticed)}
        self._event("result.kept", specimen, after, study=run.study)
        return Kept(result, marks, codes(held))

    def _take_out(self, run: Run, result: Result, label: str, *, held: bool) -> None:
        item = run.tester if run.tester.label == label else run.cell
        strip = "A strip" if held else result.specimen.label  # whoever decides on it must not read here what it gave
        reason = f"{strip} of run {run.number} gave more than it can measure. Check before further use."
        equipment.stop_at_once(
            equipment=item,
            reason=reason,
            by=self.entered_by,
            at=self.at,
            happened_at=self.reading.tested_at,  # what was tested after the overload is in doubt, whenever typed
        )

    def _remember(self, **answer) -> None:
        Entry.objects.create(
            key=self.key, entered_by=self.entered_by, body_sha256=self.body_sha256, at=self.at, **answer
        )

    def _event(self, act: str, specimen: Specimen, after: dict, *, study: Study) -> None:
        subject = f"specimen {specimen.label}"
        trail.write(act, subject=subject, by=self.entered_by, at=self.at, study=study, after=after)

    def _refuse(self, answers, *, study: Study, specimen: Specimen | None = None, run: Run | None = None) -> Refused:
        refused = store(
            answers,
            act="enter a result",
            tried=self.tried,
            by=self.entered_by,
            at=self.at,
            study=study,
            specimen=specimen,
            run=run or self.run,
        )
        if "key-reused" not in refused.codes:
            self._remember(refusal=refused.refusal)
        return refused


def _kept(result: Result) -> Kept:
    held = result.deviations.order_by("code").values_list("code", flat=True)
    return Kept(result, tuple(result.marks), tuple(held))


def _peak(measured: Measured) -> str:
    return "no value" if measured.peak_force_n is None else f"a trace with a peak of {measured.peak_force_n:.4g} N"


def _from_database(error: IntegrityError) -> Answer:
    """A refusal by the database's own wall, in the same words; anything else is a fault and goes on up."""
    found = getattr(error.__cause__, "diag", None)
    code = found.constraint_name if found else None
    if code not in wording.WORDS:
        raise error
    return Answer(code, f"The database refused it: {found.message_primary}.", {"wall": "database"})

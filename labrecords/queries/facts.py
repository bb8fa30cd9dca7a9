"""Gathers what the gate is asked about, from the tables."""

from datetime import datetime

from labrecords.models import Conditioning, PlanGroup, Result, Run, Specimen, Trace, TraceFile
from labrecords.rules import facts

from . import equipment, lab, people, setups, values


def for_entry(*, run: Run, specimen: Specimen, entry: facts.Entry, now: datetime) -> facts.Facts:
    """Everything the gate is told about one entry."""
    study = run.study
    setup = getattr(study, "setup", None)
    on = entry.tested_on
    return facts.Facts(
        now=now,
        study=facts.Study(study.code, study.state, study.locked_at is not None),
        setup=setups.as_facts(setup) if setup else None,
        method=setups.method_facts(setup.method_version) if setup else None,
        run=run_facts(run),
        specimen=specimen_facts(specimen, tested_at=entry.tested_at),
        tester=equipment.as_facts(run.tester, entry.tested_at, on),
        cell=equipment.as_facts(run.cell, entry.tested_at, on),
        authorisations=people.authorisations_of(run.person, setup.method_version) if setup else (),
        entry=entry,
    )


def run_facts(run: Run) -> facts.Run:
    """A run as the gate sees it."""
    return facts.Run(
        study_code=run.study.code,
        person=run.person.name,
        technique=run.technique,
        rate=facts.Rate(run.rate, run.rate_unit),
        opened_at=run.opened_at.astimezone(lab.zone()),
        closed=run.closed_at is not None,
        room_c=run.room_c,
        room_humidity_percent=run.room_humidity_percent,
    )


def specimen_facts(specimen: Specimen, *, tested_at: datetime) -> facts.Specimen:
    """A specimen as the gate sees it; it had been conditioned since the last time its lot was put there before."""
    begun = Conditioning.objects.filter(lot_id=specimen.pack.lot_id, started_at__lte=tested_at)
    conditioned = begun.order_by("-started_at").first()
    return facts.Specimen(
        label=specimen.label,
        study_code=specimen.study.code,
        in_plan=PlanGroup.objects.filter(pk=specimen.group_id).exists(),
        void=hasattr(specimen, "void"),
        received_at=specimen.pack.lot.received_at.astimezone(lab.zone()),
        conditioned_since=conditioned.started_at if conditioned else None,
        result_words=_result_words(specimen),
    )


def _result_words(specimen: Specimen) -> str | None:
    result = Result.objects.filter(specimen=specimen).select_related("tested_by").order_by("-revision").first()
    if result is None:
        return None
    value = "a result that waits for a decision" if values.waits(result) else _recorded(result)
    when = result.at.astimezone(lab.zone())
    return f"{value}, kept at {when:%H:%M} on {when.day} {when:%B %Y}, tested by {result.tested_by.name}"


def _recorded(result: Result) -> str:
    return f"{result.recorded} {result.recorded_unit}".strip() or "no value, opened before the test"


def trace_used_by(file: TraceFile, segment: int) -> str | None:
    """The label of the specimen that has this segment of this file already."""
    used = Trace.objects.filter(file=file, segment=segment).select_related("result__specimen").first()
    return used.result.specimen.label if used else None

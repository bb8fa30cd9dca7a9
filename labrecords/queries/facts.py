"""Gathers what the gate is asked about, from the tables."""

from datetime import datetime

from labrecords.models import Conditioning, Equipment, Result, Run, Specimen, Trace, TraceFile
from labrecords.rules import facts
from labrecords.rules.unusual_value import RUNNING

from . import checks, equipment, lab, people, samples, setups, validation_plans, values

AS_MADE = "as made"  # the arm of a plan that nothing was done to


def for_entry(*, run: Run, specimen: Specimen, entry: facts.Entry, now: datetime) -> facts.Facts:
    """Everything the gate is told about one entry."""
    study = run.study
    setup = getattr(study, "setup", None)
    used = [run.tester, run.cell, *aids(run)]
    tester, cell, *others = equipment.all_as_facts(used, entry.tested_at, entry.tested_on)
    return facts.Facts(
        now=now,
        study=facts.Study(study.code, study.state, study.locked_at is not None),
        setup=setups.as_facts(setup) if setup else None,
        method=setups.method_facts(setup.method_version) if setup else None,
        run=run_facts(run),
        specimen=specimen_facts(specimen, tested_at=entry.tested_at),
        tester=tester,
        cell=cell,
        authorisations=(
            people.authorisations_of(run.person, setup.method_version, before=entry.tested_at) if setup else ()
        ),
        entry=entry,
        aids=(*others, *_cutter(specimen)),
        checks=checks.of_the_day(run.tester, run.cell, entry.tested_at),
        validation=(validation := validation_plans.facts_of(study, run.person, specimen)),
        others=_others(run, specimen, own=validation is not None),
    )


def _others(run: Run, specimen: Specimen, *, own: bool) -> facts.Others:
    """What counts of the specimen's group; of a validation study only the person's own, so that nobody is led."""
    known = values.counting(run.study).filter(specimen__group=specimen.group_id, censored="", strength__isnull=False)
    if own:
        known = known.filter(tested_by=run.person)
    strengths = known.order_by("tested_at", "at", "pk").values_list("strength", flat=True)
    typed = values.counting(run.study).filter(run=run, source="typed").exclude(recorded="").order_by("-at", "-pk")
    return facts.Others(
        strengths=tuple(strengths),
        typed_before=tuple(f"{result.recorded} {result.recorded_unit}" for result in typed[: RUNNING - 1]),
        of="you have kept of this group" if own else "kept of this group",
    )


def aids(run: Run) -> list[Equipment]:
    """Room sensor and width gauge of a run, where it has them."""
    return [item for item in (run.room_sensor, run.width_gauge) if item is not None]


def _cutter(specimen: Specimen) -> list[facts.Equipment]:
    """The specimen's cutter, as it was when the specimen was cut."""
    if specimen.cutter is None:
        return []
    return [equipment.as_facts(specimen.cutter, specimen.cut_at, lab.day(specimen.cut_at))]


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
        in_plan=specimen.group is not None,
        void=hasattr(specimen, "void"),
        received_at=specimen.pack.lot.received_at.astimezone(lab.zone()),
        conditioned_since=conditioned.started_at if conditioned else None,
        as_made=specimen.group is None or specimen.group.arm.strip().lower() == AS_MADE,
        treatments=_treatments(specimen),
        discrepancies=samples.unanswered(specimen.pack.lot),
        result_words=_result_words(specimen),
    )


def _treatments(specimen: Specimen) -> tuple[facts.Treatment, ...]:
    if specimen.group is None:
        return ()
    found = samples.treatments_of(specimen.pack.lot, specimen.group.arm, specimen.group.time_point)
    return tuple(facts.Treatment(made.kind, made.pull_from, made.pull_until) for made in found)


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

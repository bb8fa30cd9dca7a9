"""Runs: opened once everything has been asked, closed when the person is done."""

from datetime import datetime
from decimal import Decimal

from labrecords.models import Equipment, Run, Study, User
from labrecords.queries import access, runs
from labrecords.rules import run_opening
from labrecords.rules.answers import Answer
from labrecords.rules.study_states import LOCKED, STEPS

from . import trail
from .refusals import one_act


def open_run(
    *,
    study: Study,
    tester: Equipment,
    cell: Equipment,
    person: User,
    room_c: float,
    room_humidity_percent: float,
    by: User,
    at: datetime,
    technique: str | None = None,
    rate: Decimal | None = None,
    rate_unit: str | None = None,
    cell_accepted_by: User | None = None,
    cell_accepted_why: str = "",
    room_sensor: Equipment | None = None,
    width_gauge: Equipment | None = None,
) -> Run:
    """Open a run; technique and rate are the set-up's unless the person says otherwise, which is refused."""
    access.demand(by, "open a run")
    if cell_accepted_by is not None:
        access.demand(cell_accepted_by, "accept a load cell")
    tried = f"open a run on {tester.label} with {cell.label}"
    with one_act("open a run", by=by, at=at, study=study, tried=tried) as stop:
        study = Study.objects.select_for_update().get(pk=study.pk)
        run = Run(
            study=study,
            number=study.runs.count() + 1,
            person=person,
            tester=tester,
            cell=cell,
            technique=technique or study.setup.technique,
            rate=rate or study.setup.rate,
            rate_unit=rate_unit or study.setup.rate_unit,
            room_sensor=room_sensor,
            width_gauge=width_gauge,
            room_c=room_c,
            room_humidity_percent=room_humidity_percent,
            cell_accepted_by=cell_accepted_by,
            cell_accepted_why=cell_accepted_why,
            opened_at=at,
        )
        if cell_accepted_by is not None and not cell_accepted_why.strip():
            stop([Answer("words-missing", "Why this load cell is accepted was not written down.")])
        stop(run_opening.check(runs.opening_facts(run, at)))
        if study.state == LOCKED:
            study.state = STEPS[LOCKED]["open the first run"]
            study.save(update_fields=["state"])
        run.save()
        trail.write("run.opened", subject=_subject(run), by=by, at=at, study=study, after=_written(run))
    return run


def _subject(run: Run) -> str:
    return f"run {run.number} of {run.study.code}"


def _written(run: Run) -> dict[str, object]:
    accepted = run.cell_accepted_by
    return {
        "person": run.person.name,
        "tester": run.tester.label,
        "cell": run.cell.label,
        "technique": run.technique,
        "rate": f"{run.rate} {run.rate_unit}",
        "room sensor": run.room_sensor.label if run.room_sensor else None,
        "width gauge": run.width_gauge.label if run.width_gauge else None,
        "room": f"{run.room_c} °C, {run.room_humidity_percent} % RH",
        "cell accepted": f"{accepted.name}: {run.cell_accepted_why}" if accepted else None,
    }


def close_run(*, run: Run, by: User, at: datetime) -> Run:
    """Close a run; it takes no further results."""
    access.demand(by, "open a run")
    with one_act("close a run", by=by, at=at, study=run.study, tried=f"close {_subject(run)}") as stop:
        kept = Run.objects.select_for_update().get(pk=run.pk)
        if kept.closed_at is not None:
            stop([Answer("run-closed", "The run has been closed.")])
        kept.closed_at = at
        kept.save(update_fields=["closed_at"])
        after = {"results": str(kept.results.count())}
        trail.write("run.closed", subject=_subject(kept), by=by, at=at, study=kept.study, after=after)
    return kept

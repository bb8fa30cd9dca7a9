"""One table of cases for the hard rules, run against the rules in Python and against the walls in the database.

Each case changes the small laboratory of tests/world.py so that exactly one thing is wrong, and says what is sent.
"""

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from labrecords.actions import calibrations, checks, equipment, methods, people, studies, voids
from labrecords.models import Authorisation, Equipment, Run, Specimen, Study
from labrecords.rules.labels import label
from tests import world as cast
from tests.world import World


@dataclass(frozen=True)
class Case:
    """A name, the code that must answer, and what makes it so; `wrong` returns what is sent differently."""

    name: str
    code: str
    wrong: Callable[[World], dict[str, Any]]

    def __str__(self) -> str:
        return self.name.replace(" ", "-")


def _sent(**changed) -> Callable[[World], dict[str, Any]]:
    return lambda world: changed


def _cell_past_due(world):
    _recalibrate(world.cell, world, due_on=date(2026, 5, 19))
    return {}


def _cell_due_today(world):
    _recalibrate(world.cell, world, due_on=date(2026, 5, 20))
    return {}


def _tester_past_due(world):
    _recalibrate(world.tester, world, due_on=date(2026, 5, 19))
    return {}


def _tester_failed(world):
    _recalibrate(world.tester, world, passed=False)
    return {}


def _recalibrate(item, world, **fields):
    cast.calibrate(world.people, item, world.at, performed_on=date(2026, 5, 1), **fields)


def _cell_out(world):
    equipment.take_out_of_service(
        equipment=world.cell, reason="dropped", by=world.magnus, at=world.at - timedelta(minutes=5)
    )
    return {}


def _unreviewed_only(world):
    """A run on a cell whose only calibration nobody has reviewed, opened behind the actions' back."""
    cell = equipment.register(
        kind=Equipment.CELL,
        name="Cell 20 N",
        serial="x",
        location="bench 1",
        capacity_n=20,
        by=world.magnus,
        at=world.at,
    )
    calibrations.record(
        equipment=cell,
        certificate="C-9",
        provider="Nordlys Calibration",
        performed_on=date(2026, 1, 1),
        due_on=date(2026, 12, 31),
        passed=True,
        by=world.magnus,
        at=world.at,
    )
    return {"run": _run_row(world, cell=cell)}


def _run_row(world, **changed):
    run = Run.objects.get(pk=world.run.pk)
    run.pk, run.number = uuid.uuid4(), 90 + Run.objects.count()
    for name, value in changed.items():
        setattr(run, name, value)
    run._state.adding = True
    run.save(force_insert=True)
    return run


def _authorisation_ended(world):
    held = Authorisation.objects.get(person=world.runa)
    people.withdraw(authorisation=held, from_on=date(2026, 5, 20), reason="long away", by=world.magnus, at=world.at)
    return {}


def _another_person(world):
    return {"tested_by": world.timo, "run": _run_row(world, person=world.timo)}


def _second_result(world):
    cast.enter(world)
    return {}


def _void_specimen(world):
    voids.void(specimen=world.specimens[0], cause="cut", words="Nicked edge.", by=world.runa, at=world.at)
    return {}


def _other_study(world):
    other = World(world.at, world.people, world.method, world.tester, world.cell, world.project, study=None)
    other.study = studies.lock(study=cast.plan(other), by=world.edda, at=world.at)
    return {"specimen": cast.receive(other)[0]}


def _finished(world):
    Study.objects.filter(pk=world.study.pk).update(state="in review")
    return {}


def _unlocked(world):
    """A specimen and a run in a draft: no action makes them, so rows are made behind the actions' back."""
    draft = World(world.at, world.people, world.method, world.tester, world.cell, world.project, study=None)
    draft.study = Study.objects.get(pk=cast.plan(draft).pk)
    return {"specimen": _specimen_row(world, draft.study), "run": _run_row(world, study=draft.study)}


def _specimen_row(world, study):
    first = Specimen.objects.get(pk=world.specimens[0].pk)
    first.pk, first.label, first.study, first.group = uuid.uuid4(), label("SP", 999998), study, study.groups.first()
    first._state.adding = True
    first.save(force_insert=True)
    return first


def _outside_plan(world):
    first = world.specimens[0]
    first.pk, first.group = uuid.uuid4(), None
    first.label = label("SP", 999999)
    first._state.adding = True
    first.save(force_insert=True)
    return {"specimen": first}


def _under(world, **method):
    """A study under another version of the method, run on behind the actions' back, Runa authorised all year."""
    version = methods.issue_version(
        code="P-3", title="Peel of pouch seals", by=world.magnus, at=world.at, **cast.METHOD | method
    )
    cast.authorise(world.runa, version, by=world.magnus, at=world.at)
    other = World(world.at, world.people, version, world.tester, world.cell, world.project, study=None)
    locked = studies.lock(study=cast.plan(other), by=world.edda, at=world.at)
    Study.objects.filter(pk=locked.pk).update(state="testing")
    other.study = Study.objects.get(pk=locked.pk)
    return {"specimen": cast.receive(other)[0], "run": _run_row(world, study=other.study)}


def _not_checked(world):
    return _under(world, check_before_use="mass")


def _checked_yesterday(world):
    _checked(world, world.at - timedelta(days=1))
    return _under(world, check_before_use="mass")


def _checked_after(world):
    _checked(world, world.at + timedelta(seconds=30))
    return _under(world, check_before_use="mass")


def _checked_today(world):
    _checked(world, world.at - timedelta(hours=2))
    return _under(world, check_before_use="mass")


def _checked(world, moment):
    mass = cast.add_standard(world)
    checks.take(
        tester=world.tester, cell=world.cell, standard=mass, value_n=9.81, taken_at=moment, by=world.runa, at=moment
    )


def _cell_repaired(world):
    equipment.happened(
        equipment=world.cell, kind="repaired", reason="cable", by=world.magnus, at=world.at - timedelta(minutes=5)
    )
    return {}


HARD = [
    Case("another technique", "technique-changed", _sent(technique="C")),
    Case("another technique in the run", "technique-changed", lambda w: {"run": _run_row(w, technique="B")}),
    Case("another rate", "rate-changed", _sent(rate=Decimal("12"))),
    Case("the same number in another unit", "rate-changed", _sent(rate_unit="mm/min")),
    Case("another rate in the run", "rate-changed", lambda w: {"run": _run_row(w, rate=Decimal("10"))}),
    Case("another width", "width-changed", _sent(width_mm=Decimal("15"))),
    Case("cell past its date", "calibration-overdue", _cell_past_due),
    Case("tester past its date", "calibration-overdue", _tester_past_due),
    Case("tester failed its calibration", "calibration-failed", _tester_failed),
    Case("calibration nobody reviewed", "not-calibrated", _unreviewed_only),
    Case("cell out of service", "out-of-service", _cell_out),
    Case("cell repaired and not put back", "out-of-service", _cell_repaired),
    Case("not checked before use", "not-verified-today", _not_checked),
    Case("checked the day before", "not-verified-today", _checked_yesterday),
    Case("checked after the test", "not-verified-today", _checked_after),
    Case("authorisation not used for months", "not-authorised", lambda w: _under(w, disuse_months=4)),
    Case("never authorised", "not-authorised", _another_person),
    Case("authorisation withdrawn", "not-authorised", _authorisation_ended),
    Case("another's run", "not-this-person", lambda w: {"tested_by": w.timo}),
    Case("specimen done", "specimen-done", _second_result),
    Case("specimen void", "specimen-void", _void_specimen),
    Case("specimen of another study", "specimen-elsewhere", _other_study),
    Case("specimen outside the plan", "not-in-plan", _outside_plan),
    Case("testing finished", "study-not-open", _finished),
    Case("set-up not locked", "setup-not-locked", _unlocked),
    Case("in the future", "in-the-future", lambda w: {"tested_at": w.at + timedelta(days=20_000)}),
    Case("before receipt", "before-receipt", lambda w: {"tested_at": w.at - timedelta(days=8)}),
    Case("before the run", "before-run", lambda w: {"tested_at": w.at - timedelta(hours=2)}),
]

ALLOWED = [
    Case("nothing wrong", "", _sent()),
    Case("due today holds through its end", "", _cell_due_today),
    Case("checked before use", "", _checked_today),
    Case("authorisation given of late", "", lambda w: _under(w, disuse_months=5)),
]

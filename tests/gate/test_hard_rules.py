"""The hard rules, twice: in the gate and in the database, from one table of cases."""

import uuid
from contextlib import suppress

import pytest
from django.db import IntegrityError, connection, transaction

from labrecords.actions.refusals import Refused
from labrecords.models import Result
from tests import world as cast
from tests.gate.cases import ALLOWED, HARD


@pytest.fixture
def world(laboratory):
    return laboratory


def insert(world, *, specimen=None, run=None, tested_by=None, **changed) -> None:
    """A raw INSERT by the runtime role, as a script would try it, past every line of Python."""
    reading = cast.reading(world, **changed)
    row = {
        "id": uuid.uuid4(),
        "at": world.at,
        "specimen_id": (specimen or world.specimens[0]).pk,
        "revision": 1,
        "run_id": (run or world.run).pk,
        "technique": reading.technique,
        "rate": reading.rate,
        "rate_unit": reading.rate_unit,
        "width_mm": reading.width_mm,
        "recorded": "1.52",
        "recorded_unit": "lbf/in",
        "source": "typed",
        "peak_force_n": 6.76,
        "strength": "1.52",
        "censored": "",
        "modes": ["AP"],
        "marks": [],
        "remark": "",
        "tested_at": reading.tested_at,
        "tested_by_id": (tested_by or world.runa).pk,
        "entered_by_id": world.runa.pk,
    }
    columns, places = ", ".join(row), ", ".join(["%s"] * len(row))
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"INSERT INTO labrecords_result ({columns}) VALUES ({places})", list(row.values()))


@pytest.mark.parametrize("case", HARD, ids=str)
def test_the_gate_refuses(world, case):
    sent = case.wrong(world)
    before = Result.objects.count()
    with pytest.raises(Refused) as refused:
        cast.enter(world, **sent)
    assert case.code in refused.value.codes
    assert Result.objects.count() == before


@pytest.mark.parametrize("case", HARD, ids=str)
def test_the_database_refuses(world, case):
    sent = case.wrong(world)
    before = Result.objects.count()
    with pytest.raises(IntegrityError) as refused:
        insert(world, **sent)
    assert refused.value.__cause__.diag.constraint_name == case.code
    assert Result.objects.count() == before


@pytest.mark.parametrize("case", ALLOWED, ids=str)
def test_both_let_a_true_result_through(world, case):
    """The control: were the walls to refuse everything, the tests above would pass for nothing."""
    sent = case.wrong(world)
    with transaction.atomic():
        insert(world, **sent)
        assert Result.objects.count() == 1
        transaction.set_rollback(True)  # it has no event, so it could not have been committed
    cast.enter(world, **sent)
    assert Result.objects.count() == 1


def test_each_hard_case_is_wrong_in_one_way(world):
    """The gate names one reason for a case unless one wrong thing has two faces."""
    with suppress(Refused):
        cast.enter(world, technique="C")
    assert cast.results.Entry.objects.get().refusal.codes == ["not-authorised", "technique-changed"]

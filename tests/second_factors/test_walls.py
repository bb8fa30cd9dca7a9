"""What the database itself holds of second factors, whoever asks."""

import pytest
from django.db import IntegrityError, connection, transaction

from labrecords.models import RecoveryCode, SecondFactor
from tests.second_factors.own import Own

FACTOR = "UPDATE labrecords_secondfactor SET {} WHERE name = 'my telephone'"
CODE = "UPDATE labrecords_recoverycode SET {} WHERE digest = '{}'"


def refused(statement: str, constraint: str) -> None:
    with pytest.raises(IntegrityError) as stopped, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
    assert stopped.value.__cause__.diag.constraint_name == constraint


def done(statement: str) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


@pytest.mark.parametrize(
    ("changed", "constraint"),
    [
        ("counter = counter - 1", "passkey-counter"),
        ("last_used_at = now()", "used-code"),
        ("secret = 'x'", "factor-ended"),
        ("name = 'another'", "factor-ended"),
        ("kind = 'passkey'", "factor-ended"),
        ("ended_at = now()", "factor-end-has-a-person"),
    ],
)
def test_a_factor_is_never_changed_nor_its_counter_turned_back(signe, changed, constraint):
    signe.add_app()
    refused(FACTOR.format(changed), constraint)


def test_a_factor_is_not_handed_to_somebody_else(world, signe):
    signe.add_app()
    refused(FACTOR.format(f"person_id = '{world.edda.pk}'"), "factor-ended")


def test_a_factor_that_ended_stays_ended(world, signe):
    signe.add_app()
    done(FACTOR.format(f"ended_at = now(), ended_by_id = '{world.magnus.pk}'"))
    refused(FACTOR.format("ended_at = null, ended_by_id = null"), "factor-ended")
    refused(FACTOR.format("counter = counter + 1"), "factor-ended")


def test_a_passkey_that_counts_counts_upwards(signe):
    factor = signe.add_passkey()
    statement = "UPDATE labrecords_secondfactor SET {} WHERE kind = 'passkey'"
    refused(statement.format("last_used_at = now()"), "passkey-counter")
    done(statement.format("last_used_at = now(), counter = counter + 1"))
    assert SecondFactor.objects.get().counter == factor.counter + 1


def test_a_recovery_code_is_used_once_and_belongs_to_one_person(world, signe):
    signe.add_app()
    digest = RecoveryCode.objects.first().digest
    refused(CODE.format(f"person_id = '{world.edda.pk}'", digest), "used-code")
    done(CODE.format("used_at = now()", digest))
    refused(CODE.format("used_at = null", digest), "used-code")


def test_no_factor_lacks_a_part(world, signe):
    parts = {"person": world.signe, "kind": "app", "name": "n", "added_at": signe.clock.now}
    for more in ({}, {"secret": b"x", "public_key": b"x"}, {"kind": "passkey", "secret": b"x"}):
        with pytest.raises(IntegrityError, match="factor-has-its-parts"), transaction.atomic():
            SecondFactor.objects.create(**parts | more)


def test_nothing_is_deleted(signe):
    from django.db import ProgrammingError

    signe.add_app()
    for model in (SecondFactor, RecoveryCode):
        with pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
            model.objects.all().delete()


def test_control_what_is_allowed_is_done(world, clock):
    own = Own(world.runa, clock)
    own.add_app()
    done(FACTOR.format("last_used_at = now(), counter = counter + 1"))

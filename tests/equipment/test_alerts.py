"""What may touch others' results is mailed to the managers at once; a mail that fails undoes nothing."""

from datetime import date

import pytest
from django.core import mail

from labrecords.actions import calibrations, checks
from labrecords.models import CheckReading
from labrecords.queries.equipment import status_at
from tests import world as cast


@pytest.fixture
def told(world):
    world.magnus.email = "magnus@tern.example"
    world.magnus.save(update_fields=["email"])
    mail.outbox.clear()
    return world


def bad_check(world):
    mass = cast.add_standard(world)
    pair = {"tester": world.tester, "cell": world.cell, "standard": mass}
    return checks.take(value_n=12.0, taken_at=world.at, by=world.runa, at=world.at, **pair)


def test_a_check_that_is_not_accepted_is_told(told, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        bad_check(told)
    (sent,) = mail.outbox
    assert sent.to == ["magnus@tern.example"]
    assert sent.subject == f"Cell 50 N ({told.cell.label}) is out of service"


def test_an_overload_is_told(told, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        cast.enter(told, typed="13.50")  # lbf/in over an inch: 60 N on a cell of 50 N
    (sent,) = mail.outbox
    assert "gave more than it can measure" in sent.body


def test_out_of_tolerance_as_found_is_told(told, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        calibrations.record(
            equipment=told.cell,
            certificate="C-500",
            provider="Nordlys Calibration",
            performed_on=date(2026, 5, 20),
            due_on=date(2027, 5, 20),
            passed=False,
            rule="E4",
            as_found=[["1", "0.97"], ["10", "9.7"]],
            by=told.magnus,
            at=told.at,
        )
    (sent,) = mail.outbox
    assert "Look back" in sent.body


def test_a_mail_that_fails_undoes_nothing(told, django_capture_on_commit_callbacks, monkeypatch):
    def broken(*_args, **_named):
        raise ConnectionRefusedError("no mail today")

    monkeypatch.setattr("labrecords.actions.alerts.send_mail", broken)
    with django_capture_on_commit_callbacks(execute=True):
        bad_check(told)
    assert CheckReading.objects.count() == 1
    assert status_at(told.cell, told.at) == "out of service"


def test_nobody_is_told_where_nobody_has_an_address(world, django_capture_on_commit_callbacks):
    mail.outbox.clear()
    with django_capture_on_commit_callbacks(execute=True):
        bad_check(world)
    assert mail.outbox == []

"""Checks before use: asked by the gate, charted, and a signal that holds the load cell until a manager lifts it."""

from datetime import timedelta

import pytest
from django.urls import reverse

from labrecords.actions import checks, equipment
from labrecords.models import CheckBaseline, CheckReading, EquipmentEvent, Result
from labrecords.queries.equipment import status_at
from tests import world as cast
from tests.equipment.conftest import refused


@pytest.fixture
def mass(world):
    return cast.add_standard(world)


def take(world, mass, value, *, ago=timedelta(hours=2), **changed):
    moment = world.at - ago
    told = {"tester": world.tester, "cell": world.cell, "standard": mass, "by": world.runa, "at": moment}
    return checks.take(value_n=value, taken_at=moment, **told | changed)


def baseline(world, mass, values=(9.80, 9.82, 9.81, 9.80, 9.82, 9.81, 9.80, 9.82)):
    for step, value in enumerate(values):
        take(world, mass, value, ago=timedelta(days=5, hours=-step))
    return checks.set_baseline(
        tester=world.tester, cell=world.cell, standard=mass, name="first eight", by=world.magnus, at=world.at
    )


def test_a_mass_within_the_tolerance_is_accepted(world, mass):
    assert take(world, mass, 9.90).accepted  # 0.9 % of 9.81 N off
    assert status_at(world.cell, world.at) == "in service"


def test_one_outside_puts_the_cell_out_of_service(world, mass):
    kept = take(world, mass, 9.95)
    assert not kept.accepted
    assert status_at(world.cell, world.at) == "out of service"
    with refused("out-of-service", Result):
        cast.enter(world)
    equipment.put_back(equipment=world.cell, reason="Cable reseated.", by=world.magnus, at=world.at)
    assert status_at(world.cell, world.at) == "in service"


def test_limits_rest_on_the_accepted_readings(world, mass):
    made = baseline(world, mass)
    # mean 9.81, mean of the seven moving ranges 0.02, 0.01, 0.01, 0.02, 0.01, 0.01, 0.02
    assert (made.readings, made.centre_n) == (8, pytest.approx(9.81))
    assert made.moving_range_n == pytest.approx(0.1 / 7)


def test_too_few_readings_give_no_limits(world, mass):
    take(world, mass, 9.81)
    with refused("baseline-too-short", CheckBaseline):
        checks.set_baseline(
            tester=world.tester, cell=world.cell, standard=mass, name="one", by=world.magnus, at=world.at
        )


def test_a_signal_holds_the_cell_though_the_tolerance_is_met(world, mass):
    baseline(world, mass)
    # sigma = 0.0143 / 1.128 = 0.0127 N, so that three sigma are 0.038 N: 9.86 N is beyond, and 0.5 % off
    kept = take(world, mass, 9.86)
    assert kept.signals[0] == "one point beyond three sigma"
    assert status_at(world.cell, world.at) == "out of service"
    assert "beyond three sigma" in EquipmentEvent.objects.get(kind="out of service").reason


def test_after_it_was_lifted_the_runs_begin_anew(world, mass):
    baseline(world, mass)
    above = [9.8151, 9.8152, 9.8153, 9.8151, 9.8152, 9.8153]  # after one of the baseline's that lies above too
    for step, value in enumerate(above):
        assert take(world, mass, value, ago=timedelta(hours=9 - step)).accepted
    assert take(world, mass, 9.8152, ago=timedelta(minutes=90)).signals == [
        "a run of points on one side of the centre line"
    ]
    equipment.happened(
        equipment=world.cell,
        kind="back in service",
        reason="Re-zeroed.",
        happened_at=world.at - timedelta(minutes=80),
        by=world.magnus,
        at=world.at,
    )
    assert take(world, mass, 9.8152, ago=timedelta(minutes=70)).accepted


def test_a_check_to_come_or_with_a_standard_out_of_service_is_refused(world, mass):
    with refused("in-the-future", CheckReading):
        take(world, mass, 9.81, at=world.at - timedelta(hours=3))
    equipment.take_out_of_service(equipment=mass, reason="dropped", by=world.magnus, at=world.at - timedelta(hours=4))
    with refused("out-of-service", CheckReading):
        take(world, mass, 9.81)


def test_what_is_no_check_and_a_mass_past_its_date_are_refused(world, mass):
    with refused("not-a-check", CheckReading):
        take(world, world.tester, 9.81)
    with refused("not-a-check", CheckReading):
        take(world, mass, 9.81, tester=world.cell)
    due = cast.equipment.register(
        kind="mass",
        name="Mass",
        serial="M-2",
        location="drawer",
        nominal_n=9.81,
        interval_months=24,
        by=world.magnus,
        at=world.at - timedelta(days=9),
    )
    with refused("not-calibrated", CheckReading):
        take(world, due, 9.81)


def test_the_page_takes_a_check_and_says_what_came_of_it(client, world, mass):
    url = reverse("cell-checks", args=[world.cell.label])
    sent = {"tester": world.tester.label, "standard": mass.label, "value_n": "9.99", "taken_at": "2026-05-20 09:30"}
    client.force_login(world.runa)
    answer = client.post(url, sent, follow=True)
    assert "The load cell is out of service until it is lifted" in answer.content.decode()
    assert CheckReading.objects.get().value_n == 9.99
    wrong = client.post(url, sent | {"value_n": "9,9,9"})
    assert wrong.status_code == 422
    assert 'value="9,9,9"' in wrong.content.decode()
    client.force_login(world.signe)
    assert client.post(url, sent).status_code == 403
    assert CheckReading.objects.count() == 1


def test_limits_refused_lose_nothing_that_was_typed(client, world, mass):
    take(world, mass, 9.81)
    client.force_login(world.magnus)
    url = reverse("set-baseline", args=[world.cell.label])
    answer = client.post(url, {"pair": f"{world.tester.label} {mass.label}", "name": "the first one"})
    assert answer.status_code == 422
    assert 'value="the first one"' in answer.content.decode()
    assert not CheckBaseline.objects.exists()


def test_the_page_sets_limits(client, world, mass):
    baseline(world, mass)
    client.force_login(world.magnus)
    url = reverse("set-baseline", args=[world.cell.label])
    pair = f"{world.tester.label} {mass.label}"
    assert client.post(url, {"pair": pair, "name": "again"}).status_code == 302
    assert CheckBaseline.objects.count() == 2
    assert client.post(url, {"pair": pair, "name": ""}).status_code == 422
    assert CheckBaseline.objects.count() == 2
    page = client.get(reverse("cell-checks", args=[world.cell.label])).content.decode()
    assert "All 8 readings lie where the baseline says they should." in page

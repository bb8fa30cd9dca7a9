"""Equipment by program: what may be used, what is due, and checks from a tester's computer."""

import uuid
from datetime import date, timedelta

import pytest

from labrecords.actions import calibrations, equipment, nonconforming
from labrecords.models import CheckReading
from tests import world as cast


@pytest.fixture
def mass(world):
    return cast.add_standard(world)


def body(world, mass, **changed):
    told = {
        "tester": world.tester.label,
        "cell": world.cell.label,
        "standard": mass.label,
        "value_n": 9.81,
        "taken_at": (world.at - timedelta(hours=1)).isoformat(),
    }
    return told | changed


def test_equipment_says_whether_it_may_be_used(world, call):
    equipment.take_out_of_service(equipment=world.cell, reason="dropped", by=world.magnus, at=world.at)
    rows = {row["label"]: row for row in call().get("equipment/").json()["equipment"]}
    assert rows[world.tester.label]["stops"] == []
    cell = rows[world.cell.label]
    assert [stop["code"] for stop in cell["stops"]] == ["out-of-service"]
    assert (cell["due_on"], cell["verified_high_n"]) == ("2026-12-31", 50.0)


def test_what_is_due_is_the_pages_list(world, call):
    rows = call("runa").get("due/").json()["due"]
    assert {row["group"] for row in rows} == {"Later"}
    assert any(row["blocks"] == [f"run 1 of {world.study.code}"] for row in rows)


def test_a_check_is_kept(world, call, mass):
    answer = call().post(body(world, mass), path="equipment/checks/")
    assert answer.status_code == 201
    assert answer.json()["accepted"] is True
    assert CheckReading.objects.get().by == world.tester_one


def test_one_that_is_not_accepted_says_so(world, call, mass):
    answer = call().post(body(world, mass, value_n=12.0), path="equipment/checks/")
    assert answer.status_code == 201
    assert answer.json()["accepted"] is False
    (stop,) = next(
        row for row in call("runa").get("equipment/").json()["equipment"] if row["label"] == world.cell.label
    )["stops"]
    assert stop["code"] == "out-of-service"


@pytest.mark.parametrize(
    ("changed", "status"),
    [
        ({"value_n": "much"}, 400),
        ({"value_n": -1}, 400),
        ({"taken_at": "yesterday"}, 400),
        ({"extra": 1}, 400),
        ({"cell": "LC-999999-9"}, 404),
        ({"taken_at": "2026-05-21T09:00:00+00:00"}, 422),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(world, call, mass, changed, status):
    answer = call().post(body(world, mass, **changed), path="equipment/checks/")
    assert answer.status_code == status, answer.json()
    assert not CheckReading.objects.exists()


def test_a_client_takes_no_check(world, call, mass):
    assert call("clara").post(body(world, mass), path="equipment/checks/").status_code == 403
    assert call("clara").get("due/").status_code == 403


def test_a_look_back_and_what_came_of_it(world, call):
    cast.enter(world, typed="1.02")
    made = calibrations.record(
        equipment=world.cell,
        certificate="C-400",
        provider="Nordlys Calibration",
        performed_on=date(2026, 5, 20),
        due_on=date(2027, 5, 20),
        passed=False,
        rule="E4",
        as_found=[["1", "0.97"], ["10", "9.7"]],
        by=world.magnus,
        at=world.at,
    )
    opened = nonconforming.from_look_back(calibration=made, words="3 % low.", by=world.magnus, at=world.at)
    rows = call("runa").get(f"equipment/{world.cell.label}/calibrations/").json()["calibrations"]
    newest = rows[0]
    assert (newest["certificate"], newest["counts"], newest["as_found_within"]) == ("C-400", False, False)
    looked = call("runa").get(f"calibrations/{made.pk}/look-back/").json()
    assert (looked["results"], looked["could_change"], looked["clients"]) == (1, 1, ["Fjell Instruments"])
    assert looked["studies"][0]["nearest_percent"] == pytest.approx(2.0)
    (one,) = call("runa").get("nonconforming/").json()["nonconforming"]
    assert (one["code"], one["open"], one["holds"]) == (opened.code, True, [world.study.code])
    assert call("clara").get(f"calibrations/{made.pk}/look-back/").status_code == 403
    assert call("runa").get(f"calibrations/{uuid.uuid4()}/look-back/").status_code == 404
    assert call("runa").get("equipment/LC-999999-9/calibrations/").status_code == 404

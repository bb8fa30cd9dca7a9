"""The manager's pages: people, authorisations, tokens, clients, projects, methods, calibrations."""

import re

import pytest
from django.urls import reverse

from labrecords.forms.methods import FIRST
from labrecords.models import ApiToken, Authorisation, Calibration, Client, MethodVersion, Project, User, Withdrawal
from tests import world as cast


@pytest.fixture
def world(laboratory):
    return laboratory


def post(client, person, name, data, *args):
    client.force_login(person)
    return client.post(reverse(name, args=args), data)


PERSON = {"username": "nils", "name": "Nils Berge", "roles": ["technician"], "password": cast.PASSWORD}


def test_a_person_joins_and_signs_in(client, world):
    assert post(client, world.magnus, "new-person", PERSON).status_code == 302
    client.logout()
    answer = client.post(reverse("sign-in"), {"username": "nils", "password": cast.PASSWORD})
    assert answer.status_code == 302
    assert client.get(reverse("bench")).status_code == 200


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"password": "short"}, "at least 15 characters"),
        ({"username": "runa"}, "has been used"),
        ({"roles": []}, "at least one role"),
        ({"roles": ["client"]}, "belongs to a client"),
        ({"name": ""}, "Fill this in."),
    ],
)
def test_what_is_wrong_is_said_and_nobody_joins(client, world, changed, words):
    before = User.objects.count()
    answer = post(client, world.magnus, "new-person", PERSON | changed)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert User.objects.count() == before


def test_roles_hold_from_the_next_page_on(client, world):
    post(client, world.magnus, "person-roles", {"roles": ["engineer"]}, "runa")
    client.force_login(User.objects.get(username="runa"))
    assert client.get(reverse("new-study")).status_code == 200


def test_a_manager_keeps_the_role_of_manager(client, world):
    answer = post(client, world.magnus, "person-roles", {"roles": ["engineer"]}, "magnus")
    assert answer.status_code == 422
    assert User.objects.get(username="magnus").roles == {"manager"}


def test_a_closed_account_is_out_at_once(client, world):
    client.force_login(world.runa)
    inside = client.cookies.output()
    post(client, world.magnus, "close-account", {"reason": "Left the laboratory."}, "runa")
    assert inside
    client.logout()
    answer = client.post(reverse("sign-in"), {"username": "runa", "password": cast.PASSWORD})
    assert answer.status_code == 200
    assert not User.objects.get(username="runa").is_active


def test_an_authorisation_is_given_and_withdrawn(client, world):
    data = {
        "method_version": str(world.method.pk),
        "technique": "C",
        "from_on": "2026-05-01",
        "until_on": "2026-12-31",
        "evidence_kind": "comparison",
        "evidence": "Ten strips beside Runa.",
    }
    assert post(client, world.magnus, "authorise", data, "timo").status_code == 302
    held = Authorisation.objects.get(person=world.timo)
    assert post(
        client, world.magnus, "withdraw-authorisation", {"from_on": "2026-06-01", "reason": "Long away."}, held.pk
    )
    assert Withdrawal.objects.get().authorisation == held
    wrong = post(client, world.magnus, "authorise", data | {"until_on": "2026-04-01"}, "timo")
    assert wrong.status_code == 422
    assert Authorisation.objects.filter(person=world.timo).count() == 1


def test_a_token_is_shown_once_and_only_its_hash_is_kept(client, world):
    page = post(client, world.magnus, "give-token", {"label": "bench 1"}, "tester_one").content.decode()
    token = re.search(r'<code class="code">([^<]+)</code>', page)[1]
    kept = ApiToken.objects.get()
    assert token not in (kept.digest, kept.label)
    post(client, world.magnus, "revoke-token", {}, kept.pk)
    kept.refresh_from_db()
    assert kept.revoked_at is not None


def test_a_client_and_a_project(client, world):
    data = {"code": "MOSS", "name": "Moss Stents", "address": "Fen Lane", "contact_name": "Ada Fen"}
    assert post(client, world.edda, "new-client", data).status_code == 302
    made = Client.objects.get(code="MOSS")
    project = {"client": str(made.pk), "code": "MS-01", "title": "Stent pouch"}
    assert post(client, world.edda, "new-project", project).status_code == 302
    assert post(client, world.edda, "new-project", project).status_code == 422
    assert Project.objects.filter(client=made).count() == 1


VERSION = FIRST | {"code": "P-9", "title": "Peel of lids", "reference": "ASTM F88/F88M-23"}


def test_a_method_version_is_issued_as_the_page_offers_it(client, world):
    answer = post(client, world.magnus, "issue-method", VERSION)
    assert answer.status_code == 302, answer.content.decode()[:3000]
    made = MethodVersion.objects.get(method__code="P-9")
    assert [mode["key"] for mode in made.modes if mode["peels"]] == ["AP", "CO", "DE"]
    assert [str(width.normalize()) for width in made.widths_mm] == ["15", "25", "25.4"]
    post(client, world.magnus, "issue-method", VERSION)
    assert sorted(MethodVersion.objects.filter(method__code="P-9").values_list("number", flat=True)) == [1, 2]


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"modes": "AP | adhesive"}, "Line 1 lacks a part"),
        ({"void_causes": "a | b\na | c"}, "same key"),
        ({"widths_mm": "15, wide"}, "is not a number"),
        ({"rate_high_in_min": "8"}, "ends above where it begins"),
    ],
)
def test_a_method_version_with_a_slip_is_not_issued(client, world, changed, words):
    answer = post(client, world.magnus, "issue-method", VERSION | changed)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert MethodVersion.objects.count() == 1


CALIBRATION = {
    "certificate": "C-77",
    "provider": "Nordlys Calibration",
    "performed_on": "2026-05-10",
    "due_on": "2027-05-10",
    "passed": "yes",
    "verified_low_n": "0.5",
    "verified_high_n": "50",
    "noise_n": "0.002",
}


def test_a_calibration_is_recorded_and_reviewed_by_somebody_else(client, world):
    assert post(client, world.magnus, "calibrate", CALIBRATION, world.cell.label).status_code == 302
    made = Calibration.objects.get(certificate="C-77")
    own = post(client, world.magnus, "review-calibration", {"words": "Read."}, made.pk)
    assert own.status_code == 422
    assert "same-person" in own.content.decode()
    assert not hasattr(Calibration.objects.get(pk=made.pk), "review")
    assert post(client, world.edda, "review-calibration", {"words": "Read."}, made.pk).status_code == 302
    assert Calibration.objects.get(pk=made.pk).review.by == world.edda
    again = post(client, world.sefa, "review-calibration", {"words": "Read too."}, made.pk)
    assert again.status_code == 422
    assert "has been reviewed" in again.content.decode()
    assert Calibration.objects.get(pk=made.pk).review.by == world.edda


def test_reversed_dates_are_said_beside_the_field(client, world):
    answer = post(client, world.magnus, "calibrate", CALIBRATION | {"due_on": "2026-01-01"}, world.cell.label)
    assert answer.status_code == 422
    assert "The due date lies before the calibration" in answer.content.decode()
    assert not Calibration.objects.filter(certificate="C-77").exists()


def test_out_of_service_and_back(client, world):
    out = {"kind": "out of service", "happened_at": "2026-05-20 10:00", "reason": "Dropped."}
    post(client, world.magnus, "equipment-event", out, world.cell.label)
    client.force_login(world.runa)
    assert "out of service" in client.get(reverse("equipment-item", args=[world.cell.label])).content.decode()
    back = {"kind": "back in service", "happened_at": "2026-05-20 11:00", "reason": "Checked."}
    answer = post(client, world.magnus, "equipment-event", back, world.cell.label)
    assert answer.status_code == 302, answer.content.decode()
    client.force_login(world.runa)
    assert "in service" in client.get(reverse("equipment-item", args=[world.cell.label])).content.decode()


@pytest.mark.parametrize(
    "name", ["people", "clients", "methods", "new-person", "issue-method", "new-client", "new-project"]
)
def test_the_managers_pages_open(client, world, name):
    client.force_login(world.magnus)
    assert client.get(reverse(name)).status_code == 200


def test_a_technician_keeps_nobody(client, world):
    client.force_login(world.runa)
    assert client.get(reverse("new-person")).status_code == 403
    assert client.get(reverse("person", args=["timo"])).status_code == 200

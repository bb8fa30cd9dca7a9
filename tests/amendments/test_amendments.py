"""A released report opened again, replaced by another issue, withdrawn, and checked by whoever holds it."""

import json

import pytest
from django.db import transaction
from django.urls import reverse

from labrecords.actions import amendments, corrections, reports, review
from labrecords.models import Report, ReportAmendment, ReportWithdrawal, Signature, Study
from labrecords.queries import reports as found
from labrecords.queries.access import NotAllowed
from labrecords.reports import amended, check_code
from labrecords.reports.findings import findings, findings_sha256
from tests import world as lab
from tests.equipment.conftest import refused
from tests.portal import cast
from tests.validations import cast as validation
from tests.walls.refused import refused_as


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.fixture
def report(world):
    cast.enter_all(world, cast.VALUES)
    return cast.release(world, "All read.")


def amend(world, report, **changed):
    given = {"reason": "A strip was read wrongly.", "by": world.edda}
    return amendments.amend(report=report, at=world.at, **given | changed)


def correct(world):
    asked = {"reason": "typing", "words": "The display said 1.52.", "typed": "1.52", "unit": "lbf/in", "modes": ("AP",)}
    kept = corrections.ask(specimen=world.specimens[0], by=world.runa, at=world.at, **asked)
    corrections.decide(correction=kept, agreed=True, words="Read.", by=world.magnus, at=world.at)


def released_again(world):
    study = Study.objects.get(pk=world.study.pk)
    seen = findings_sha256(findings(study))
    review.review(study=study, accept=True, words="Read again.", seen_sha256=seen, by=world.sefa, at=world.at)
    return reports.release(study=study, seen_sha256=seen, password=lab.PASSWORD, by=world.signe, at=world.at)


def test_another_issue_says_what_it_replaces_what_changed_and_why(world, report):
    amend(world, report)
    assert Study.objects.get(pk=world.study.pk).state == "in review"
    correct(world)
    second = released_again(world)
    assert (second.number, second.issue) == (report.number, 2)
    content = json.loads(second.content)
    assert content["replaces"] == f"{report.number}, issue 1, because: A strip was read wrongly."
    label = world.specimens[0].label
    assert f"{label}, maximum: 1.20, now 1.52." in content["changes"]
    assert any("the numbers of the groups" in line for line in content["changes"])
    assert Report.objects.get(pk=report.pk).content == report.content  # the first one stays as it was
    assert found.released(Study.objects.get(pk=world.study.pk)) == second


def test_a_first_issue_replaces_nothing(report):
    content = json.loads(report.content)
    assert (content["issue"], content["replaces"], content["changes"]) == ("1", "", [])


def test_an_issue_in_which_nothing_changed_says_so(world, report):
    amend(world, report, reason="The client's name was spelt wrongly.")
    content = json.loads(released_again(world).content)
    assert content["changes"] == ["Nothing in the findings reads otherwise than before."]


def test_results_that_come_and_go_are_named():
    row = {"specimen": "SP-1", "maximum": "1.20", "modes": ["AP"], "marks": []}
    old = Report(content=json.dumps({"results": [row], "unit": "lbf/in"}))
    new = {"results": [row | {"specimen": "SP-2"}], "unit": "N/mm"}
    assert amended.changes(old, new) == [
        "SP-1 is no longer among the results.",
        "SP-2 is new among the results.",
        "Otherwise than before read: unit.",
    ]


def test_what_an_amendment_needs(world, report):
    with refused("words-missing", ReportAmendment):
        amend(world, report, reason=" ")
    for person in (world.runa, world.signe, world.clara):
        with pytest.raises(NotAllowed):
            amend(world, report, by=person)
    amend(world, report)
    with refused("state-refused", ReportAmendment):
        amend(world, report)
    released_again(world)
    with refused("content-changed", ReportAmendment):
        amend(world, report)  # which is no longer the newest


def test_a_report_on_which_authorisations_rest_is_not_opened_again(world):
    study, who = validation.made(world)
    validation.decided(world, study, [who["Ann"]])
    seen = findings_sha256(findings(study))
    made = reports.release(study=study, seen_sha256=seen, password=lab.PASSWORD, by=world.signe, at=world.at)
    with refused("already-decided", ReportAmendment):
        amend(world, made)


def test_no_script_opens_a_released_study_without_an_amendment(world, report):
    with refused_as("state-refused"), transaction.atomic():
        Study.objects.filter(pk=world.study.pk).update(state="in review")
    amend(world, report)
    released_again(world)
    with refused_as("state-refused"), transaction.atomic():  # the old amendment does not do for the new issue
        Study.objects.filter(pk=world.study.pk).update(state="in review")


# --- withdrawn


def withdraw(world, report, **changed):
    given = {"reason": "The wrong lot was sent.", "password": lab.PASSWORD, "by": world.signe}
    return amendments.withdraw(report=report, at=world.at, **given | changed)


def test_a_report_is_withdrawn_with_a_signature(world, report):
    kept = withdraw(world, report)
    assert kept.signature.content_sha256 == report.content_sha256
    assert kept.signature.meaning == f"withdrawal of {report}"
    with refused("already-decided", ReportWithdrawal, Signature):
        withdraw(world, report)


def test_what_a_withdrawal_needs(world, report):
    with refused("words-missing", ReportWithdrawal, Signature):
        withdraw(world, report, reason="")
    with refused("wrong-password", ReportWithdrawal, Signature):
        withdraw(world, report, password="another one altogether")
    with pytest.raises(NotAllowed):
        withdraw(world, report, by=world.edda)


def test_a_withdrawn_report_is_replaced_by_another_issue(world, report):
    withdraw(world, report)
    amend(world, report)
    assert released_again(world).issue == 2


# --- through the pages


def read(client, person, name, *args, status=200):
    client.force_login(person)
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == status
    return answer.content.decode()


def test_the_study_s_page_leads_to_both(client, world, report):
    assert "Amend the report" in read(client, world.edda, "study", world.study.code)
    assert "Withdraw the report" in read(client, world.signe, "study", world.study.code)
    client.force_login(world.edda)
    address = reverse("amend-report", args=[world.study.code])
    assert client.post(address, {"reason": ""}).status_code == 422
    assert client.post(address, {"reason": "Misread."}).status_code == 302
    assert ReportAmendment.objects.get().reason == "Misread."
    client.force_login(world.signe)
    address = reverse("withdraw-report", args=[world.study.code])
    answer = client.post(address, {"reason": "Wrong lot.", "password": "not this one at all"})
    assert answer.status_code == 422
    assert "Wrong lot." in answer.content.decode()
    assert not ReportWithdrawal.objects.exists()
    assert client.post(address, {"reason": "Wrong lot.", "password": lab.PASSWORD}).status_code == 302
    assert ReportWithdrawal.objects.get().reason == "Wrong lot."


# --- the check page


def check(client, **given):
    client.logout()
    answer = client.get("/check/", given)
    return answer, answer.content.decode()


def test_whoever_holds_a_report_may_ask_whether_it_holds(client, world, report):
    code = check_code.code(report.content_sha256)
    answer, text = check(client, report=report.number, code=code)
    assert answer.status_code == 200
    assert "This issue holds." in text
    assert report.content_sha256[-8:] in text
    for told in ("1.20", world.specimens[0].label, world.clara.client.name, report.title):
        assert told not in text


def test_it_tells_of_a_replaced_and_of_a_withdrawn_issue(client, world, report):
    amend(world, report)
    correct(world)
    second = released_again(world)
    assert "Replaced" in check(client, report=report.number, code=report.content_sha256)[1]
    assert "by issue 2" in check(client, report=report.number, code=report.content_sha256)[1]
    withdraw(world, second)
    text = check(client, report=second.number, code=second.content_sha256)[1]
    assert "Withdrawn" in text
    assert "The wrong lot was sent." not in text


def test_a_wrong_code_and_a_missing_report_read_the_same(client, report):
    wrong = check(client, report=report.number, code="0" * 12)[1]
    missing = check(client, report="R-2026-9999", code="0" * 12)[1]
    typed = f'value="{report.number}"'
    assert typed in wrong
    assert wrong.replace(typed, 'value="R-2026-9999"') == missing
    assert "No report has this number and code." in wrong
    assert "No report" in check(client, report=report.number, code=report.content_sha256[:11])[1]
    assert "No report" in check(client, report=report.number, code="%_%_%_%_%_%_")[1]
    answer, text = check(client, report=report.number, code="")
    assert answer.status_code == 422
    assert "Fill this in." in text


def test_the_address_on_the_report_leads_there(client, report):
    address = check_code.address("https://records.example", report.number, report.content_sha256)
    assert address == f"https://records.example/check/?report={report.number}&code={report.content_sha256[:12]}"
    assert b"<svg" in check_code.drawing(address)
    client.logout()
    assert "This issue holds." in client.get(address.removeprefix("https://records.example")).content.decode()


def test_the_portal_says_that_an_issue_was_withdrawn(client, world, report):
    withdraw(world, report)
    client.force_login(world.clara)
    listed = client.get(reverse("portal:reports")).content.decode()
    shown = client.get(reverse("portal:report", args=[report.number, 1])).content.decode()
    assert "Withdrawn" in listed
    assert "has been withdrawn" in shown
    assert "The wrong lot was sent." in shown

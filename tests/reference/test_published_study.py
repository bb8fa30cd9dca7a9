"""A published example as a study: its values entered through the gate, its answers read off page, API and PDF.

NIST StRD, univariate set Michelso: 100 determinations of the velocity of light; certified mean 299.852400000000 and
standard deviation 0.0790105478190518 (from memory). Taken as strengths in gf/in: arithmetic does not ask what they
were.
"""

import re

import pytest
from django.test import Client
from django.urls import reverse

from labrecords.actions import people, reports, review, runs
from labrecords.models import Study
from labrecords.reports.findings import findings, findings_sha256
from tests import world as cast
from tests.reference import tables
from tests.reports.test_typeset import ask
from tests.undone import never_committed

VALUES = tables.column("michelson.csv")


@pytest.fixture(scope="module")
def world(django_db_setup, django_db_blocker):
    changed = pytest.MonkeyPatch()
    with changed.context() as patch, django_db_blocker.unblock(), never_committed():
        patch.setattr(cast, "GROUPS", [cast.GROUPS[0] | {"packs": len(VALUES)}])
        patch.setattr(cast, "SETUP", cast.SETUP | {"unit": "gf/in", "expected_weak_n": 2.0})
        built = cast.build()
        for specimen, value in zip(built.specimens, VALUES, strict=True):
            cast.enter(built, specimen=specimen, typed=f"{value:.2f}", unit="gf/in")
        runs.close_run(run=built.run, by=built.runa, at=built.at)
        review.finish_testing(study=built.study, by=built.edda, at=built.at)
        yield built


@pytest.fixture(scope="module")
def report(world):
    study = Study.objects.get(pk=world.study.pk)
    seen = {"study": study, "seen_sha256": findings_sha256(findings(study)), "at": world.at}
    review.review(accept=True, words="All read.", by=world.sefa, **seen)
    return reports.release(password=cast.PASSWORD, by=world.signe, **seen)


def test_the_interface_gives_every_digit(world):
    token = people.give_token(person=world.edda, label="own", by=world.magnus, at=world.at)
    answer = Client(headers={"Authorization": f"Token {token}"}).get(f"/api/studies/{world.study.code}/summary/")
    (group,) = answer.json()["groups"]
    found = group["summary"]
    assert (found["n"], found["minimum"], found["maximum"]) == (100, 299.62, 300.07)
    assert found["mean"] == pytest.approx(299.852400000000, rel=1e-14)
    assert found["sd"] == pytest.approx(0.0790105478190518, rel=1e-12)
    assert group["normality"]["n"] == 100


def printed(text: str) -> set[str]:
    return set(re.findall(r"\d+\.\d+", text))


# as they are printed: the mean to one decimal more than the values, the standard deviation to two digits
ANSWERS = {"299.852", "0.079", "299.62", "300.07"}


def test_the_study_page_prints_them(world):
    browser = Client()
    browser.force_login(world.edda)
    page = browser.get(reverse("study", args=[world.study.code])).content.decode()
    assert printed(page) >= ANSWERS
    assert "100" in page


def test_the_pdf_prints_them(report, tmp_path):
    pdf = bytes(report.files.get(name="report.pdf").content)
    assert printed(ask("pdftotext", pdf, tmp_path, "-layout")) >= ANSWERS


def test_another_number_is_not_found(report, tmp_path):
    """The control: the mean of the second half of the values is not what is printed."""
    pdf = bytes(report.files.get(name="report.pdf").content)
    half = f"{sum(VALUES[50:]) / 50:.3f}"
    assert half not in ANSWERS
    assert half not in printed(ask("pdftotext", pdf, tmp_path, "-layout"))

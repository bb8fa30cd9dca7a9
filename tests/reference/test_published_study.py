"""A published example as a study: its values entered through the gate, its answers read off page, API and PDF.

NIST/SEMATECH e-Handbook, 1.4.2.8, heat flow meter calibration and stability: 195 values with mean
9.261460, standard deviation 0.022789, smallest 9.196848, largest 9.327973. Taken as strengths in lbf/in: arithmetic
does not ask what they were.
"""

import re
from decimal import Decimal

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

VALUES = tables.column("zarr13.csv")


@pytest.fixture(scope="module")
def world(django_db_setup, django_db_blocker):
    changed = pytest.MonkeyPatch()
    with changed.context() as patch, django_db_blocker.unblock(), never_committed():
        patch.setattr(cast, "GROUPS", [cast.GROUPS[0] | {"packs": len(VALUES)}])
        patch.setattr(cast, "SETUP", cast.SETUP | {"decimals": 4, "expected_strong_n": 45.0})
        built = cast.build()
        for specimen, value in zip(built.specimens, VALUES, strict=True):
            cast.enter(built, specimen=specimen, typed=f"{value:.6f}")
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
    assert (found["n"], found["minimum"], found["maximum"]) == (195, 9.196848, 9.327973)
    # to the digits of the handbook; mean and standard deviation beyond them by exact rational arithmetic
    assert (found["mean"], found["sd"]) == pytest.approx((9.261460, 0.022789), abs=1e-6)
    mean = sum(Decimal(f"{value:.6f}") for value in VALUES) / 195
    variance = sum((Decimal(f"{value:.6f}") - mean) ** 2 for value in VALUES) / 194
    assert found["mean"] == pytest.approx(float(mean), rel=1e-14)
    assert found["sd"] == pytest.approx(float(variance.sqrt()), rel=1e-12)
    # adjusted A squared and p of D'Agostino and Stephens, by their definition
    assert group["normality"]["statistic"] == pytest.approx(0.126479, abs=5e-7)
    assert group["normality"]["p_value"] == pytest.approx(0.985, abs=5e-4)


def printed(text: str) -> set[str]:
    return set(re.findall(r"\d+\.\d+", text))


# as they are printed: the mean to one decimal more than the values, the standard deviation to two digits
ANSWERS = {"9.26146", "0.023", "9.1968", "9.3280"}


def test_the_study_page_prints_them(world):
    browser = Client()
    browser.force_login(world.edda)
    page = browser.get(reverse("study", args=[world.study.code])).content.decode()
    assert printed(page) >= ANSWERS
    assert "195" in page


def test_the_pdf_prints_them(report, tmp_path):
    pdf = bytes(report.files.get(name="report.pdf").content)
    assert printed(ask("pdftotext", pdf, tmp_path, "-layout")) >= ANSWERS


def test_another_number_is_not_found(report, tmp_path):
    """The control: the answers of the same values with one left out are not what is printed."""
    pdf = bytes(report.files.get(name="report.pdf").content)
    rest = VALUES[1:]
    assert f"{sum(rest) / len(rest):.5f}" not in printed(ask("pdftotext", pdf, tmp_path, "-layout"))

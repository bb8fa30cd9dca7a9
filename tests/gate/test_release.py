"""From results to a released report, and what stands in the way."""

import hashlib
import json

import pytest

from labrecords.actions import people, reports, review, runs
from labrecords.actions.refusals import Refused
from labrecords.models import Report, ReportFile, Signature, Study, User
from labrecords.reports.findings import findings, findings_sha256
from labrecords.rules.canonical import canonical, sha256
from tests import world as cast


@pytest.fixture
def world(laboratory):
    world = laboratory
    for specimen, typed in zip(world.specimens, ("1.2", "1.4", "1.6", "1.8"), strict=True):
        cast.enter(world, specimen=specimen, typed=typed)
    runs.close_run(run=world.run, by=world.runa, at=world.at)
    world.study = Study.objects.get(pk=world.study.pk)
    review.finish_testing(study=world.study, by=world.edda, at=world.at)
    return world


def seen(world):
    return findings_sha256(findings(Study.objects.get(pk=world.study.pk)))


def accept(world, *, by=None):
    return review.review(
        study=world.study, accept=True, words="All read.", seen_sha256=seen(world), by=by or world.sefa, at=world.at
    )


def release(world, *, by=None, password=cast.PASSWORD):
    return reports.release(
        study=world.study, seen_sha256=seen(world), password=password, by=by or world.signe, at=world.at
    )


def test_the_report_freezes_what_was_signed(world):
    accept(world)
    report = release(world)
    content = json.loads(report.content)
    printed = content.pop("content_sha256")
    assert sha256(canonical(content)) == printed == report.content_sha256 == report.signature.content_sha256
    for file in report.files.all():
        assert hashlib.sha256(file.content).hexdigest() == file.sha256
    assert {"report.pdf", "results.csv", "traces.csv", "values.svg"} <= set(report.files.values_list("name", flat=True))
    assert bytes(report.files.get(name="report.pdf").content).startswith(b"%PDF")
    assert Study.objects.get(pk=world.study.pk).state == "released"


def give_roles(world, who, roles):
    people.set_roles(world.people[who], roles)
    world.people[who] = User.objects.get(pk=world.people[who].pk)


def nothing_released(world, state):
    assert Report.objects.count() == ReportFile.objects.count() == Signature.objects.count() == 0
    assert Study.objects.get(pk=world.study.pk).state == state


def test_a_wrong_password_signs_nothing(world):
    accept(world)
    with pytest.raises(Refused) as refused:
        release(world, password="a guess of nineteen")
    assert refused.value.codes == ("wrong-password",)
    nothing_released(world, "reviewed")


def test_nobody_reviews_what_they_tested(world):
    give_roles(world, "runa", {"technician", "engineer"})
    with pytest.raises(Refused) as refused:
        accept(world, by=world.runa)
    assert refused.value.codes == ("same-person",)
    nothing_released(world, "in review")


def test_the_reviewer_does_not_sign(world):
    give_roles(world, "sefa", {"engineer", "signatory"})
    accept(world)
    with pytest.raises(Refused) as refused:
        release(world, by=world.sefa)
    assert refused.value.codes == ("same-person",)
    nothing_released(world, "reviewed")


def test_what_changed_after_the_look_is_not_signed(world):
    accept(world)
    with pytest.raises(Refused) as refused:
        reports.release(study=world.study, seen_sha256="0" * 64, password=cast.PASSWORD, by=world.signe, at=world.at)
    assert refused.value.codes == ("content-changed",)
    nothing_released(world, "reviewed")

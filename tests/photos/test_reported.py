"""Photographs in a report: frozen with it, bound to its signature, and read on the page of their strip."""

import hashlib
import json
import subprocess
import sys

import pytest
from django.urls import reverse

from labrecords.actions import photos, reports, review
from labrecords.actions.refusals import Refused
from labrecords.models import Photo, Report, Study
from labrecords.portal import reports as of_report
from labrecords.reports.findings import findings, findings_sha256
from tests import world as cast
from tests.photos import pictures
from tests.portal import cast as companies

FIRST, SECOND = pictures.jpeg("first"), pictures.png("second")
CAPTION = "Inner web lifted."


@pytest.fixture
def world(laboratory):
    companies.enter_all(laboratory, companies.VALUES)
    attach(laboratory, 0, "first.jpg", FIRST, CAPTION)
    attach(laboratory, 0, "second.png", SECOND)
    wrong = attach(laboratory, 1, "wrong.png", pictures.png("wrong"))
    photos.set_aside(photo=wrong, reason="Another strip.", by=laboratory.runa, at=laboratory.at)
    return laboratory


def attach(world, strip, name, content, caption=""):
    given = {"specimen": world.specimens[strip], "by": world.runa, "at": world.at}
    return photos.attach(name=name, content=content, caption=caption, **given)


@pytest.fixture
def report(world):
    return companies.release(world, "All read.")


def names(world):
    return [f"photograph-{world.specimens[0].label}-{number}.jpg" for number in (1, 2)]


def test_those_that_stand_are_in_it_as_they_are_shown(world, report):
    told = json.loads(report.content)["photographs"]
    assert [row["name"] for row in told] == names(world)
    assert [(row["specimen"], row["caption"]) for row in told] == [
        (world.specimens[0].label, CAPTION),
        (world.specimens[0].label, ""),
    ]
    for row, photo in zip(told, Photo.objects.filter(aside=None), strict=True):
        file = report.files.get(name=row["name"])
        assert bytes(file.content) == bytes(photo.shown)
        assert hashlib.sha256(file.content).hexdigest() == row["sha256"] == file.sha256
        assert b"Bench camera" not in bytes(file.content)
    assert report.files.filter(name__startswith="photograph").count() == 2


def test_the_printed_report_names_them(world, report, tmp_path):
    (tmp_path / "report.pdf").write_bytes(bytes(report.files.get(name="report.pdf").content))
    asked = ["pdftotext", "-raw", str(tmp_path / "report.pdf"), "-"]
    printed = subprocess.run(asked, check=True, capture_output=True, text=True).stdout
    assert "Photographs of separated strips" in printed
    assert CAPTION in printed
    assert all(name in printed.replace("\n", "") for name in names(world))


def accepted(world) -> str:
    """Through the review; gives the hash that was accepted."""
    cast.runs.close_run(run=world.run, by=world.runa, at=world.at)
    study = review.finish_testing(study=world.study, by=world.edda, at=world.at)
    seen = findings_sha256(findings(study))
    review.review(study=study, accept=True, words="Read.", seen_sha256=seen, by=world.sefa, at=world.at)
    return seen


def sign(world, seen):
    study = Study.objects.get(pk=world.study.pk)
    return reports.release(study=study, seen_sha256=seen, password=cast.PASSWORD, by=world.signe, at=world.at)


def test_another_picture_under_the_same_words_was_not_reviewed(world, monkeypatch):
    seen = accepted(world)
    other = {**findings(world.study)}
    other["photographs"] = [row | {"sha256": "0" * 64} for row in other["photographs"]]
    monkeypatch.setattr(reports, "findings", lambda _study: other)
    with pytest.raises(Refused) as refused:
        sign(world, seen)
    assert refused.value.codes == ("content-changed",)
    assert not Report.objects.exists()
    monkeypatch.undo()
    assert sign(world, seen).number


def test_while_a_value_waits_no_caption_is_told(laboratory):
    cast.enter(laboratory, run=cast.open_run(laboratory, room_c=30.0), typed="1.3781")
    attach(laboratory, 0, "strip.jpg", FIRST, "Peeled at 1.3781.")
    told = findings(laboratory.study)["photographs"]
    assert [(row["specimen"], row["caption"]) for row in told] == [(laboratory.specimens[0].label, "")]


def test_the_client_sees_them_with_their_strip(client, world, report):
    client.force_login(world.clara)
    where = reverse("portal:report", args=[report.number, report.issue])
    address = f"{where}specimens/{world.specimens[0].label}/"
    page = client.get(address).content.decode()
    for name in names(world):
        assert f'src="{where}files/{name}"' in page
        picture = client.get(f"{where}files/{name}")
        assert (picture.status_code, picture["Content-Type"]) == (200, "image/jpeg")
    assert f"of the strip {world.specimens[0].label}: {CAPTION}" in page
    assert "Photographs" not in client.get(f"{where}specimens/{world.specimens[1].label}/").content.decode()
    whole = client.get(where).content.decode()
    assert all(f'href="{where}files/{name}"' in whole for name in names(world))


def test_another_client_sees_none(client, world, report):
    client.force_login(world.people["otto"])
    where = reverse("portal:report", args=[report.number, report.issue])
    assert client.get(f"{where}files/{names(world)[0]}").status_code == 404


def test_whoever_reviews_can_open_each(client, world):
    cast.runs.close_run(run=world.run, by=world.runa, at=world.at)
    review.finish_testing(study=world.study, by=world.edda, at=world.at)
    client.force_login(world.sefa)
    page = client.get(reverse("review-study", args=[world.study.code])).content.decode()
    for photo in Photo.objects.filter(aside=None):
        assert f'href="{reverse("photo", args=[photo.pk])}"' in page


def test_a_report_of_before_there_were_any_is_still_read(client, world, report):
    old = json.loads(report.content)
    del old["photographs"]
    assert of_report._photographs(old, "/") == []


def test_the_verifier_holds_each_against_the_content(world, report, tmp_path):
    for file in report.files.all():
        (tmp_path / file.name).write_bytes(bytes(file.content))
    assert verified(tmp_path) == (0, "photographs: 2 checked, 0 wrong")
    other = pictures.jpeg("another picture")
    path, manifest = tmp_path / names(world)[0], tmp_path / "manifest.txt"
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    path.write_bytes(other)
    manifest.write_text(manifest.read_text().replace(before, hashlib.sha256(other).hexdigest()))
    assert verified(tmp_path) == (1, "photographs: 2 checked, 1 wrong")


def verified(folder):
    ran = subprocess.run([sys.executable, "verify.py", "."], cwd=folder, capture_output=True, text=True, check=False)
    return ran.returncode, next(line for line in ran.stdout.splitlines() if line.startswith("photographs:"))

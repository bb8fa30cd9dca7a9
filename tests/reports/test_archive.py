"""The archive for an auditor: its own program is quiet on it wherever it runs, and names whatever was changed.

The chain's leaves and seals are hashed apart as in RFC 6962, section 2.1.
"""

import hashlib
import io
import json
import pathlib
import re
import shutil
import subprocess
import sys
import zipfile
from datetime import timedelta

import pytest
from django.test import Client as Browser
from django.urls import reverse

from labrecords.actions import archive, equipment, heads
from labrecords.actions.calibrations import record, review
from labrecords.models import ArchiveOrder, Event
from labrecords.queries import access
from tests.portal import cast as companies
from tests.reports.test_verify import SETTINGS


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory):
    """Filled by the first test, which alone may write to the database."""
    return tmp_path_factory.mktemp("archive")


def run(program: pathlib.Path, folder: pathlib.Path, **settings) -> tuple[int, str]:
    done = subprocess.run(
        [sys.executable, "-I", "-S", str(program), str(folder)],
        capture_output=True,
        text=True,
        env={"PATH": "/usr/bin:/bin"} | settings,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


def follow(folder: pathlib.Path, **settings) -> tuple[int, str]:
    return run(folder / "verify_trail.py", folder, **settings)


def certified(world) -> None:
    """A certificate with the cell's calibration, and one since the tests that found it off."""
    day = {"performed_on": world.at.date(), "due_on": world.at.date() + timedelta(days=365), "provider": "Nordlys"}
    made = record(
        equipment=world.cell,
        certificate="C-77",
        passed=True,
        verified_low_n=0.5,
        verified_high_n=50.0,
        noise_n=0.002,
        file=("c77.pdf", b"%PDF-1.7 certificate"),
        by=world.magnus,
        at=world.at,
        **day,
    )
    review(calibration=made, words="Read.", by=world.edda, at=world.at)


@pytest.mark.django_db(transaction=True)
def test_the_archive_checks_itself_and_holds_nothing_of_another_client(unpacked, tmp_path, settings):
    settings.AUDIT_HEADS = tmp_path / "heads.txt"
    cast = companies.build()
    world = cast.world
    equipment.keep_document(
        equipment=world.cell, title="Manual", name="m.pdf", content=b"%PDF-1.7", by=world.magnus, at=world.at
    )
    certified(world)
    heads.note(at=world.at)
    asked = archive.order(report=cast.clara, whom="the auditor", by=world.edda, at=world.at)
    made = archive.make(asked=asked, at=world.at)
    packed = archive.take(asked=asked, by=world.magnus, at=world.at).content
    assert made.sha256 == hashlib.sha256(packed).hexdigest()
    with zipfile.ZipFile(io.BytesIO(packed)) as opened:
        opened.extractall(unpacked)

    answers = {follow(unpacked, **where) for where in SETTINGS}
    ((code, said),) = answers
    assert code == 0, said
    for what in ("seals of the chain", "events", "heads", "signatures"):
        assert re.search(rf"{what}: [1-9]\d* checked, 0 wrong", said), said
    code, said = run(unpacked / "report" / "verify.py", unpacked / "report")
    assert code == 0, said

    names = {file.relative_to(unpacked).as_posix() for file in unpacked.rglob("*") if file.is_file()}
    assert {"records/authorisations.csv", "records/look-back.csv", "trail/heads.txt", "report/report.pdf"} <= names
    assert any(name.startswith("certificates/") and name.endswith("c77.pdf") for name in names)
    assert "C-77" in (unpacked / "records/look-back.csv").read_text()
    text = "".join((unpacked / name).read_bytes().decode("utf-8", "replace") for name in names)
    assert "Fjell Instruments" in text
    assert [word for word in cast.secrets if word in text] == []
    acts = Event.objects.filter(act__startswith="report.records-", body__contains="the auditor")
    assert list(acts.values_list("act", "actor")) == [
        ("report.records-asked", world.edda.name),
        ("report.records-made", world.edda.name),
        ("report.records-taken", world.magnus.name),
    ]
    _who_may(world, cast)


def _who_may(world, cast) -> None:
    address = reverse("report-records", args=[cast.clara.study.code])
    for name, status in (("edda", 200), ("magnus", 200), ("runa", 403), ("signe", 403), ("clara", 403)):
        browser = Browser()
        browser.force_login(world.people[name])
        assert browser.get(address).status_code == status, name
    asked = ArchiveOrder.objects.get()
    with pytest.raises(access.NotAllowed):
        archive.order(report=cast.clara, whom="x", by=world.clara, at=world.at)
    with pytest.raises(access.NotAllowed):
        archive.take(asked=asked, by=world.runa, at=world.at)
    browser = Browser()
    browser.force_login(world.edda)
    before = Event.objects.count()
    refused = browser.post(address, {"whom": " "})
    assert (refused.status_code, Event.objects.count()) == (422, before)
    given = browser.get(reverse("archive", args=[asked.pk]))
    assert given["Content-Disposition"] == f'attachment; filename="{cast.clara.number}-issue-1-records.zip"'
    assert zipfile.ZipFile(io.BytesIO(given.content)).testzip() is None


@pytest.fixture
def copy(unpacked, tmp_path):
    assert (unpacked / "manifest.txt").exists(), "the first test of this file makes the archive"
    return shutil.copytree(unpacked, tmp_path / "copy")


def listed_anew(folder: pathlib.Path) -> None:
    """The manifest made again, as somebody who hides a change would."""
    names = [file.relative_to(folder).as_posix() for file in folder.rglob("*") if file.is_file()]
    lines = [f"{hashlib.sha256((folder / name).read_bytes()).hexdigest()}  {name}\n" for name in sorted(names)]
    (folder / "manifest.txt").write_text("".join(line for line in lines if "manifest.txt" not in line))


def rewritten(folder: pathlib.Path, name: str, change) -> tuple[int, str]:
    """A file changed and the manifest made to fit it."""
    file = folder / name
    before = file.read_bytes().decode("utf-8")
    after = change(before)
    assert after != before
    file.write_bytes(after.encode("utf-8"))
    listed_anew(folder)
    return follow(folder)


@pytest.mark.parametrize(
    ("name", "change", "said"),
    [
        ("trail/events.jsonl", lambda text: text.replace("Edda Lunde", "Edda Lunge", 1), "is not what seal"),
        (
            "trail/seals.csv",
            lambda text: "".join(row for at, row in enumerate(text.splitlines(True)) if at != 3),
            "does not follow from",
        ),
        ("trail/seals.csv", lambda text: text[:-6] + "0000\r\n", "was not made over the events"),
        ("trail/seals.csv", lambda text: text[:-6] + "x\r\n", "cannot be read"),
        ("trail/heads.txt", lambda text: text.replace(text.split("\t")[1], "0" * 64), "the head noted outside"),
        ("records/signatures.csv", lambda text: text.replace("Signe Holm", "Signe Halm"), "not the one that its event"),
        ("records/signatures.csv", lambda text: re.sub(r"[0-9a-f]{64}", "0" * 64, text), "no signature is bound"),
        ("report/content.json", lambda text: text.replace("1.2", "1.3"), "the report's content is not the one"),
    ],
)
def test_a_change_is_named_though_the_manifest_was_made_anew(copy, name, change, said):
    code, told = rewritten(copy, name, change)
    assert code == 1
    assert said in told


def test_a_head_that_the_chain_does_not_go_through_is_named(copy):
    content = json.loads((copy / "report/content.json").read_text(encoding="utf-8"))
    content["trail"]["head"] = "0" * 64
    (copy / "report/content.json").write_text(json.dumps(content), encoding="utf-8")
    listed_anew(copy)
    assert "printed in the report at entry" in follow(copy)[1]


def test_a_file_more_or_less_is_named(copy):
    (copy / "records/extra.csv").write_text("x")
    (copy / "records/refusals.csv").unlink()
    code, told = follow(copy)
    assert code == 1
    assert "records/extra.csv is not in the manifest" in told
    assert "records/refusals.csv is missing" in told


def test_the_program_is_short_and_needs_nothing_of_ours(unpacked):
    text = (unpacked / "verify_trail.py").read_text()
    assert len(text.splitlines()) < 300
    assert "labrecords" not in text

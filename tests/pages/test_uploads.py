"""Hostile files at every place that takes one: kept to the byte or refused in words, never a fault, never elsewhere."""

import email.message
import json
import os
import pathlib
import re
import subprocess
import sys
import uuid

import pytest
from django import forms
from django.conf import settings as django_settings
from django.test import Client
from django.urls import reverse
from rest_framework import serializers

from labrecords.actions import equipment as actions
from labrecords.api.serializers import entries, photographs
from labrecords.forms import calibrations, equipment, photos, runs
from labrecords.models import Calibration, EquipmentDocument, Photo, Result, TraceFile
from tests import world as cast
from tests.api.conftest import entry, token_for
from tests.clock import stopped
from tests.files import hostile
from tests.pages.test_matrix import record
from tests.photos import pictures

ROOT = pathlib.Path(__file__).parents[2]
CORPUS = hostile.corpus()
SHARE = int(os.environ.get("LABRECORDS_CORPUS", "3"))  # at each door every third file, and 1 is the long form
PIECES = -(-8 // SHARE)  # so that no test is long, and several run at once
DOCUMENTS = [one for one in CORPUS if one.content.startswith((hostile.PDF, hostile.PNG, hostile.JPEG))]
# What a refused file may leave behind: that it was refused.
KEPT_OF_A_REFUSAL = {"labrecords_refusal", "labrecords_event"}
BOUNDARY = "xxxboundaryxxx"


def sent(client, where, field, one, **fields):
    """A form with a file, written by hand: a browser would not send such names, somebody else would."""
    parts = [
        f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
        for name, value in fields.items()
    ]
    head = f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="{field}"; filename="{one.name}"\r\n'
    body = "".join([*parts, head, "Content-Type: text/csv\r\n\r\n"]).encode() + one.content
    body += f"\r\n--{BOUNDARY}--\r\n".encode()
    return client.post(where, body, content_type=f"multipart/form-data; boundary={BOUNDARY}")


def at_the_bench(world, one):
    browser = Client()
    browser.force_login(world.runa)
    answer = sent(browser, reverse("receive-traces", args=[world.run.pk]), "files", one)
    told = [*(row["problem"] for row in (answer.context or {}).get("told", ())), *_errors(answer)]
    return answer, TraceFile, told


def by_program(world, one):
    client = Client(headers={"Authorization": f"Token {token_for(world, 'tester_one')}"})
    fields = entry(world, typed="", unit="") | {"key": uuid.uuid4()}
    fields.pop("modes")
    fields |= {"modes": "AP"}
    answer = sent(client, "/api/results/", "file", one, **fields)
    return answer, TraceFile, [answer.json()["detail"]] if answer.status_code >= 400 else []


def with_an_item(world, one):
    browser = Client()
    browser.force_login(world.magnus)
    answer = sent(browser, reverse("keep-document", args=[world.cell.label]), "file", one, title="Manual")
    return answer, EquipmentDocument, _errors(answer)


CERTIFICATE = {"certificate": "C-1", "provider": "Nordlys Calibration", "performed_on": "2026-05-01"}
CERTIFICATE |= {"due_on": "2027-05-01", "passed": "yes", "verified_low_n": "0.5", "verified_high_n": "50"}


def with_a_certificate(world, one):
    browser = Client()
    browser.force_login(world.magnus)
    answer = sent(browser, reverse("calibrate", args=[world.cell.label]), "file", one, **CERTIFICATE)
    return answer, EquipmentDocument, _errors(answer)


def with_a_better_certificate(world, one):
    browser = Client()
    browser.force_login(world.magnus)
    where = reverse("supersede-calibration", args=[world.cell.calibrations.first().pk])
    answer = sent(browser, where, "file", one, **CERTIFICATE, supersedes_reason="A slip.")
    return answer, EquipmentDocument, _errors(answer)


def with_a_result(world, one):
    browser = Client()
    browser.force_login(world.runa)
    answer = sent(browser, reverse("attach-photo", args=[world.specimens[-1].label]), "chosen", one, caption="Peel.")
    return answer, Photo, _errors(answer)


def from_a_run(world, one):
    browser = Client()
    browser.force_login(world.runa)
    fields = {"key": uuid.uuid4(), "strip": world.specimens[-1].label, "caption": "Peel."}
    answer = sent(browser, reverse("photograph-strip", args=[world.run.pk]), "chosen", one, **fields)
    return answer, Photo, _errors(answer)


def with_a_result_by_program(world, one):
    client = Client(headers={"Authorization": f"Token {token_for(world, 'tester_one')}"})
    fields = {"key": uuid.uuid4(), "specimen": world.specimens[-1].label, "caption": "Peel."}
    answer = sent(client, "/api/photographs/", "file", one, **fields)
    told = answer.json()
    return (
        answer,
        Photo,
        [told["detail"], *(row["why"] for row in told["answers"])] if answer.status_code >= 400 else [],
    )


def _errors(answer) -> list[str]:
    if not answer.context:
        return []
    if "form" not in answer.context:  # what could not be read as a form at all
        return [re.sub(r"\s*<[^>]*>\s*", " ", part) for part in answer.content.decode().split("</p>")]
    refused = [fact for panel in answer.context.get("refusals") or [] for fact in panel["facts"]]
    return [*refused, *(error for errors in answer.context["form"].errors.values() for error in errors)]


DOORS = [at_the_bench, by_program, with_an_item, with_a_certificate, with_a_better_certificate]
PHOTOGRAPHS = [with_a_result, from_a_run, with_a_result_by_program]
DOORS += PHOTOGRAPHS
PROGRAMS = [by_program, with_a_result_by_program]


@pytest.fixture
def world(laboratory, monkeypatch):
    stopped(monkeypatch, laboratory.at)
    cast.enter(laboratory, specimen=laboratory.specimens[-1])  # a photograph is kept with a result
    return laboratory


@pytest.fixture
def disk(settings, tmp_path, monkeypatch):
    """Where a large upload may lie for a moment, and a place from which a name may try to lead elsewhere."""
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "passing")
    settings.MEDIA_ROOT = str(tmp_path / "media")
    (tmp_path / "passing").mkdir()
    (tmp_path / "cwd").mkdir()
    monkeypatch.chdir(tmp_path / "cwd")

    def found():
        return sorted(path for path in tmp_path.rglob("*") if path.is_file())

    return found


def test_every_place_that_takes_a_file_is_tried():
    fields = {
        f"{form.__name__}.{name}"
        for module in (calibrations, equipment, photos, runs)
        for form in vars(module).values()
        if isinstance(form, type) and issubclass(form, forms.Form)
        for name, field in form.base_fields.items()
        if isinstance(field, forms.FileField)
    }
    of_photographs = {f"{form}.{name}" for form in ("PhotoForm", "StripForm") for name in ("taken", "chosen")}
    assert fields == {"CalibrationForm.file", "DocumentForm.file", "TraceFilesForm.files"} | of_photographs
    taking = [
        name
        for module in (entries, photographs)
        for name, made in vars(module).items()
        if isinstance(made, type) and issubclass(made, serializers.Serializer) and hasattr(made, "_declared_fields")
        if any(isinstance(field, serializers.FileField) for field in made._declared_fields.values())
    ]
    assert taking == ["TraceEntrySerializer", "PhotographEntrySerializer"]
    code = {
        f"{path.parent.name}/{path.name}": path.read_text()
        for folder in ("views", "api", "forms")
        for path in (ROOT / "labrecords" / folder).rglob("*.py")
    }
    assert {name for name, text in code.items() if "request.FILES" in text} == {
        "views/calibrations.py",
        "views/equipment.py",
        "views/faults.py",  # only asks whether there are any
        "views/photos.py",
        "views/strip_photos.py",
        "views/traces.py",
    }
    with_fields = {name for name, text in code.items() if "FileField(" in text}
    shown_only = {"forms/components.py"}  # what fields look like: nothing reads a file there
    forms_with = {"forms/calibrations.py", "forms/equipment.py", "forms/photos.py", "forms/runs.py"}
    assert with_fields == forms_with | shown_only | {"serializers/entries.py", "serializers/photographs.py"}


def test_the_corpus_is_large_and_nothing_is_in_it_twice():
    assert len({one.content for one in CORPUS}) == len(CORPUS) >= 200


def brought_to(door) -> list:
    """The files that are brought to a door; the next door is brought others."""
    return CORPUS[DOORS.index(door) % SHARE :: SHARE]


def test_every_file_is_brought_to_a_door():
    found = [one.content for door in DOORS for one in brought_to(door)]
    assert {one.content for one in CORPUS} == set(found)
    assert min(map(found.count, set(found))) >= len(DOORS) // SHARE


@pytest.mark.parametrize("piece", range(PIECES))
@pytest.mark.parametrize("door", DOORS, ids=lambda door: door.__name__)
def test_a_hostile_file_is_kept_as_it_came_or_refused_in_words(world, disk, door, piece):
    for one in brought_to(door)[piece::PIECES]:
        kept_before = {
            *TraceFile.objects.values_list("pk", flat=True),
            *EquipmentDocument.objects.values_list("pk", flat=True),
            *Photo.objects.values_list("pk", flat=True),
        }
        results, records = Result.objects.count(), Calibration.objects.count()
        answer, table, told = door(world, one)
        assert answer.status_code in (201, 302, 400, 409, 413, 422), (one.what, answer.status_code)
        new = list(table.objects.exclude(pk__in=kept_before))
        if answer.status_code in (201, 302):
            assert [bytes(row.content) for row in new] == [one.content], one.what
            assert _safe(new[0].name), one.what
        else:
            assert any(len(words) > 10 and words.rstrip().endswith((".", "?")) for words in told), (one.what, told)
            # By program a file that is received stays, though its result is refused.
            assert new == [] or (door is by_program and bytes(new[0].content) == one.content), one.what
            assert (Result.objects.count(), Calibration.objects.count()) == (results, records), one.what
    assert disk() == []


def _safe(name: str) -> bool:
    """No way out of a folder, nothing that ends a header, nothing unseen, and short enough for every system."""
    return name.isprintable() and not set(name) & set("/\\") and name.strip(". ") != "" and len(name) <= 255


@pytest.mark.parametrize("door", DOORS, ids=lambda door: door.__name__)
def test_a_refused_file_changes_nothing_but_that_it_was_refused(world, disk, door):
    for one in (hostile.Hostile("html", "a.pdf", b"<html>"), hostile.Hostile("nothing", "a.csv", b"")):
        client_token = {"labrecords_apitoken"} if door in PROGRAMS else set()
        before = record()
        assert door(world, one)[0].status_code in (400, 422)
        changed = {table for table, boiled in record().items() if boiled != before[table]}
        assert changed <= KEPT_OF_A_REFUSAL | client_token | {"labrecords_user"}, one.what


@pytest.mark.parametrize("door", DOORS, ids=lambda door: door.__name__)
def test_control_a_good_file_is_kept(world, disk, door):
    good, name = hostile.PDF, "good.pdf"
    if door in (at_the_bench, by_program):
        good, name = cast_trace(world), "good.csv"
    if door in PHOTOGRAPHS:
        good, name = pictures.jpeg(), "good.jpg"
    answer, table, told = door(world, hostile.Hostile("good", name, good))
    assert answer.status_code in (201, 302), told
    assert bytes(table.objects.get().content) == good


def cast_trace(world) -> bytes:
    from tests.api.test_trace_files import text

    return text([world.specimens[0].label]).encode()


def test_what_was_kept_comes_back_as_something_to_save(world):
    browser = Client()
    browser.force_login(world.magnus)
    for one in DOCUMENTS:
        answer = sent(browser, reverse("keep-document", args=[world.cell.label]), "file", one, title="Manual")
        if answer.status_code == 302:
            kept = EquipmentDocument.objects.order_by("-at", "-pk").first()
            _refuse_unsafe(browser.get(reverse("equipment-document", args=[kept.pk])), kept)
    assert EquipmentDocument.objects.count() > 20


def test_a_name_that_came_round_the_pages_breaks_no_header_either(world):
    browser = Client()
    browser.force_login(world.magnus)
    for place, one in enumerate(hostile.names()):
        _, name, _ = one
        if not name.endswith(".pdf") or "\x00" in name:
            continue
        content = hostile.PDF + str(place).encode()
        kept = actions.keep_document(
            equipment=world.cell, title="x", name=name, content=content, by=world.magnus, at=world.at
        )
        _refuse_unsafe(browser.get(reverse("equipment-document", args=[kept.pk])), kept)


def _refuse_unsafe(answer, kept) -> None:
    assert answer.content == bytes(kept.content)
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Type"] in ("application/pdf", "image/png", "image/jpeg")
    assert "Set-Cookie" not in answer.headers
    head = email.message.Message()
    head["Content-Disposition"] = raw = answer["Content-Disposition"]
    assert raw.isascii()
    assert raw.isprintable()
    assert head.get_content_disposition() == "attachment"
    assert len(head.get_params(header="content-disposition")) <= 2  # the way, and one name
    assert _safe(head.get_filename() or "x"), raw


def test_reading_all_of_them_stays_within_its_memory():
    done = _reading(900)
    assert done.returncode == 0, done.stderr[-500:]
    found = json.loads(done.stdout)
    assert found["read"] + found["refused"] == len(CORPUS)
    assert min(found["read"], found["refused"]) > 50


def test_control_too_little_memory_is_noticed():
    assert _reading(120).returncode != 0


def _reading(megabytes: int):
    command = [sys.executable, "-m", "tests.files.hostile", str(megabytes)]
    few_threads = {"OPENBLAS_NUM_THREADS": "1", "PATH": "/usr/bin:/bin"}  # each thread reserves memory of its own
    return subprocess.run(command, cwd=ROOT, env=few_threads, capture_output=True, text=True, check=False)


def test_an_upload_is_bounded_before_it_is_read(world, disk):
    large = hostile.Hostile("large", "large.pdf", hostile.PDF + b" " * 26 * 2**20)
    for door in DOORS:
        answer, table, told = door(world, large)
        assert answer.status_code in (413, 422), door.__name__
        assert any("MB" in words for words in told), door.__name__
        assert not table.objects.exists()
    assert disk() == []
    assert django_settings.TRACE_FILE_LIMIT_BYTES < django_settings.DATA_UPLOAD_MAX_MEMORY_SIZE

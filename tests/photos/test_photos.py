"""Photographs of strips: kept to the byte, never replaced, set aside with a reason, and silent about a hidden value."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection, transaction
from django.urls import reverse

from labrecords.actions import photos as actions
from labrecords.database.privileges import PORTAL_PRIVILEGES
from labrecords.files.documents import sha256
from labrecords.models import Event, Photo, PhotoAside, RecordIsKept, Refusal, Study
from labrecords.queries import archive
from labrecords.queries import photos as found
from labrecords.queries.access import NotAllowed
from labrecords.reports import archive as packing
from tests import world as cast
from tests.amendments.test_amendments import amend
from tests.equipment.conftest import refused
from tests.photos import pictures
from tests.portal import cast as companies
from tests.walls.refused import refused_as

CONTENT = pictures.jpeg("as it came")


@pytest.fixture
def world(laboratory):
    cast.enter(laboratory, specimen=laboratory.specimens[0], typed="1.25")
    return laboratory


def attach(world, strip=0, **changed):
    given = {"name": "strip.jpg", "content": CONTENT, "caption": "Inner web lifted.", "by": world.runa}
    return actions.attach(specimen=world.specimens[strip], at=world.at, **given | changed)


def set_aside(world, photo, **changed):
    return actions.set_aside(photo=photo, at=world.at, **{"reason": "Another strip.", "by": world.runa} | changed)


def test_it_is_kept_to_the_byte_with_who_and_when(world):
    kept = found.one(attach(world).pk)
    assert bytes(kept.content) == CONTENT
    assert (kept.sha256, kept.size) == (sha256(CONTENT), len(CONTENT))
    assert (kept.by, kept.at, kept.caption) == (world.runa, world.at, "Inner web lifted.")
    assert kept.result.specimen == world.specimens[0]
    event = Event.objects.get(act="photo.attached")
    body = json.loads(event.body)["after"]
    assert (body["sha256"], body["caption"], event.subject) == (
        sha256(CONTENT),
        "Inner web lifted.",
        f"specimen {world.specimens[0].label}",
    )


def test_several_are_kept_and_none_is_replaced(world):
    first, second = attach(world), attach(world, content=pictures.png(), name="strip.png", caption="")
    assert list(found.of_specimen(world.specimens[0])) == [first, second]
    first.caption = "Other words."
    for changing in (first.save, first.delete, Photo.objects.all().delete):
        with pytest.raises(RecordIsKept):
            changing()


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"strip": 1}, "photograph-too-early"),
        ({"content": b"\xff\xd8\xff broken"}, "photograph-unreadable"),
        ({"name": "strip.html"}, "photograph-unreadable"),
    ],
)
def test_what_is_refused_leaves_nothing_but_that_it_was(world, changed, code):
    with refused(code, Photo):
        attach(world, **changed)


def test_one_photograph_does_not_show_two_strips(world):
    cast.enter(world, specimen=world.specimens[1], typed="1.31")
    attach(world)
    for strip in (0, 1):
        with refused("photograph-kept", Photo):
            attach(world, strip)
    assert world.specimens[0].label in Refusal.objects.first().answers[0]["why"]


def test_one_attached_in_error_is_set_aside_and_goes_where_it_belongs(world):
    cast.enter(world, specimen=world.specimens[1], typed="1.31")
    wrong = attach(world)
    aside = set_aside(world, wrong)
    assert (aside.reason, aside.by) == ("Another strip.", world.runa)
    assert Photo.objects.get(pk=wrong.pk).caption == "Inner web lifted."
    assert attach(world, 1).sha256 == wrong.sha256
    assert json.loads(Event.objects.get(act="photo.set-aside").body)["why"] == "Another strip."
    with refused("state-refused", PhotoAside):
        set_aside(world, wrong)
    right = attach(world, content=pictures.png(), name="a.png")
    with refused("words-missing", PhotoAside):
        set_aside(world, right, reason="  ")


@pytest.mark.parametrize("name", ["magnus", "signe", "clara"])
def test_who_enters_no_results_attaches_nothing(world, name):
    photo, before = attach(world), Event.objects.count()
    for act in (lambda by: attach(world, by=by), lambda by: set_aside(world, photo, by=by)):
        with pytest.raises(NotAllowed):
            act(world.people[name])
    assert (Photo.objects.count(), PhotoAside.objects.count(), Event.objects.count()) == (1, 0, before)


@pytest.fixture
def report(laboratory):
    companies.enter_all(laboratory, companies.VALUES)
    photo = attach(laboratory)
    wrong = attach(laboratory, content=pictures.png("wrong"), name="wrong.png")
    set_aside(laboratory, wrong)
    made = companies.release(laboratory, "All read.")
    return made, photo, wrong


def test_nothing_is_attached_once_the_report_is_released_until_it_is_opened_again(laboratory, report):
    made, photo, _ = report
    other = {"content": pictures.png(), "name": "late.png"}
    with refused("state-refused", Photo):
        attach(laboratory, **other)
    with refused("state-refused", PhotoAside):
        set_aside(laboratory, photo)
    amend(laboratory, made)
    attach(laboratory, **other)
    set_aside(laboratory, photo)


def test_no_script_attaches_one_then_either(laboratory, report):
    _, photo, _ = report
    copy = {field.name: getattr(photo, field.name) for field in Photo._meta.concrete_fields if field.name != "id"}
    with refused_as("state-refused"), transaction.atomic():
        Photo.objects.create(**copy)
    with refused_as("state-refused"), transaction.atomic():
        PhotoAside.objects.create(photo=photo, reason="r", by=laboratory.runa, at=laboratory.at)


def test_the_auditor_is_given_those_that_stand(laboratory, report):
    standing = archive.photographs_that_stand(laboratory.study)
    assert [bytes(photo.content) for photo in standing] == [CONTENT]
    tables = {table.name: table.rows for table in archive.tables(archive.basis(report[0]))}
    assert {row["name"] for row in tables["photographs"]} == {"strip.jpg", "wrong.png"}
    assert not {"content", "shown"} & tables["photographs"][0].keys()
    assert [row["reason"] for row in tables["photographs-set-aside"]] == ["Another strip."]


def test_their_bytes_are_in_the_archive(laboratory, report):
    files = packing._files(report[0], heads="", made_at=laboratory.at)
    name, content = next((name, content) for name, content in files if name.startswith("photographs/"))
    label = laboratory.specimens[0].label
    assert (name, content) == (f"photographs/{label}-{sha256(CONTENT)[:8]}-strip.jpg", CONTENT)


def test_a_client_s_page_reads_no_photograph(world):
    attach(world)
    assert not {"labrecords_photo", "labrecords_photoaside"} & PORTAL_PRIVILEGES.keys()
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("set local role labrecords_portal")
        for table in ("labrecords_photo", "labrecords_photoaside"):
            cursor.execute("select has_table_privilege(%s, 'select')", [table])
            assert cursor.fetchone() == (False,)
        cursor.execute("reset role")


# --- pages


def page(client, world, person="runa", name="specimen"):
    client.force_login(world.people[person])
    return client.get(reverse(name, args=[world.specimens[0].label])).content.decode()


def send(client, world, **fields):
    client.force_login(world.runa)
    return client.post(reverse("attach-photo", args=[world.specimens[0].label]), fields)


def upload(name="strip.jpg", content=CONTENT):
    return SimpleUploadedFile(name, content, "image/jpeg")


@pytest.mark.parametrize("field", ["taken", "chosen"])
def test_one_is_taken_or_chosen_and_shown(client, world, field):
    answer = send(client, world, caption="Webs apart.", **{field: upload()})
    assert answer.status_code == 302
    photo = Photo.objects.get()
    text = page(client, world)
    assert f'src="{reverse("photo", args=[photo.pk])}"' in text
    assert "Webs apart." in text
    shown = client.get(reverse("photo", args=[photo.pk]))
    assert (shown["Content-Type"], shown["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert (shown.content, b"Bench camera" in shown.content) == (bytes(photo.shown), False)
    original = client.get(reverse("photo-original", args=[photo.pk]))
    assert original.content == CONTENT
    assert original["Content-Disposition"] == 'attachment; filename="strip.jpg"'


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, "Take a photograph, or choose a file."),
        ({"taken": ("a.jpg", CONTENT), "chosen": ("b.png", pictures.png())}, "Take one or choose one, not both"),
        ({"chosen": ("a.jpg", b"")}, "The file is empty."),
        ({"chosen": ("a.jpg", CONTENT + bytes(15_000_000))}, "the most is 15 MB"),
        ({"chosen": ("a.jpg", b"\xff\xd8\xff broken")}, "cannot be decoded"),
    ],
)
def test_what_cannot_be_kept_is_said_and_the_caption_stays(client, world, fields, words):
    sent = {name: upload(*given) for name, given in fields.items()}
    answer = send(client, world, caption="Webs apart.", **sent)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert 'value="Webs apart."' in answer.content.decode()
    assert not Photo.objects.exists()


def test_the_bench_leads_to_it(client, world):
    client.force_login(world.runa)
    text = client.get(reverse("run", args=[world.run.pk])).content.decode()
    assert reverse("attach-photo", args=[world.specimens[0].label]) in text
    assert 'capture="environment"' in page(client, world, name="attach-photo")


def test_it_is_set_aside_on_its_page(client, world):
    photo = attach(world)
    client.force_login(world.runa)
    where = reverse("set-photo-aside", args=[photo.pk])
    assert client.post(where, {"reason": ""}).status_code == 422
    assert not PhotoAside.objects.exists()
    assert client.post(where, {"reason": "The next strip’s."}).status_code == 302
    text = page(client, world)
    assert "The next strip’s." in text
    assert f'src="{reverse("photo", args=[photo.pk])}"' not in text


def test_a_released_study_s_specimen_offers_nothing_to_attach(client, laboratory, report):
    text = page(client, laboratory)
    assert reverse("attach-photo", args=[laboratory.specimens[0].label]) not in text
    assert "Inner web lifted." in text
    Study.objects.get(state="released")


# --- a value that is withheld


def test_who_decides_blind_reads_no_caption_name_or_file(client, laboratory):
    warm = cast.open_run(laboratory, room_c=30.0)
    cast.enter(laboratory, run=warm, typed="1.3781")
    photo = attach(laboratory, caption="Peeled at 1.3781.", name="1.3781.jpg")
    wrong = attach(laboratory, caption="", name="wrong.png", content=pictures.png())
    set_aside(laboratory, wrong, reason="It read 1.3781.")
    for name in ("specimen", "attach-photo"):
        assert "1.3781" not in page(client, laboratory, "edda", name)
        assert "Peeled at 1.3781." in page(client, laboratory, "runa", name)
    client.force_login(laboratory.edda)
    assert client.get(reverse("photo", args=[photo.pk])).status_code == 200  # the strip itself tells no value
    assert client.get(reverse("photo-original", args=[photo.pk])).status_code == 404
    client.force_login(laboratory.magnus)
    told = client.get(reverse("trail"), {"subject": f"specimen {laboratory.specimens[0].label}"}).content.decode()
    assert "attached" in told
    assert "1.3781" not in told

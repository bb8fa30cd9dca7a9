"""Photographs by program: kept once a key, listed, and silent about a value that waits for a decision."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from labrecords.actions import photos
from labrecords.files.documents import sha256
from labrecords.models import Event, Photo
from tests import world as cast
from tests.photos import pictures

CONTENT = pictures.jpeg("by program")


@pytest.fixture
def pulled(world):
    cast.enter(world, specimen=world.specimens[0], typed="1.25")
    return world


def parts(world, *, content=CONTENT, name="strip.jpg", **changed):
    fields = {"key": str(uuid.uuid4()), "specimen": world.specimens[0].label, "caption": "Inner web lifted."}
    return fields | {"file": SimpleUploadedFile(name, content)} | changed


def send(caller, given):
    return caller.client.post("/api/photographs/", given)


def test_a_photograph_is_kept_and_read_back(pulled, call):
    answer = send(call(), parts(pulled))
    assert answer.status_code == 201
    told = answer.json()
    assert (told["specimen"], told["caption"]) == (pulled.specimens[0].label, "Inner web lifted.")
    assert (told["sha256"], told["size"], told["media_type"]) == (sha256(CONTENT), len(CONTENT), "image/jpeg")
    reader = call("edda")
    listed = reader.get(f"studies/{pulled.study.code}/photographs/").json()
    assert listed == {"photographs": [told]}
    original = reader.get(f"photographs/{told['id']}/original/")
    assert (original.content, original["Content-Type"]) == (CONTENT, "image/jpeg")
    picture = reader.get(f"photographs/{told['id']}/picture/")
    assert (b"Bench camera" in CONTENT, b"Bench camera" in picture.content) == (True, False)
    assert pictures.opened(picture.content).size == (60, 40)


def test_the_same_sent_again_is_answered_alike_and_kept_once(pulled, call):
    caller, key = call(), str(uuid.uuid4())
    first, again = (send(caller, parts(pulled, key=key)) for _ in range(2))
    assert (again.status_code, again.json()) == (201, first.json())
    assert (Photo.objects.count(), Event.objects.filter(act="photo.attached").count()) == (1, 1)


@pytest.mark.parametrize("changed", [{"caption": "Else."}, {"content": pictures.jpeg("another")}])
def test_a_key_is_not_taken_for_another_photograph(pulled, call, changed):
    caller, key = call(), str(uuid.uuid4())
    send(caller, parts(pulled, key=key))
    answer = send(caller, parts(pulled, key=key, **changed))
    assert (answer.status_code, answer.json()["code"]) == (422, "key-reused")
    assert Photo.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "status", "code"),
    [
        ({"specimen": "SP-999999-X"}, 422, "specimen-unknown"),
        ({"content": b"\xff\xd8\xff broken"}, 422, "photograph-unreadable"),
        ({"content": CONTENT + bytes(15_000_000)}, 413, "too-large"),
        ({"name": "strip.html"}, 422, "photograph-unreadable"),
        ({"key": "mine"}, 400, "not-understood"),
        ({"note": "x"}, 400, "not-understood"),
    ],
)
def test_what_is_refused_keeps_nothing(pulled, call, changed, status, code):
    answer = send(call(), parts(pulled, **changed))
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert not Photo.objects.exists()


def test_a_strip_without_a_result_has_none(world, call):
    answer = send(call(), parts(world))
    assert (answer.status_code, answer.json()["codes"]) == (422, ["photograph-too-early"])
    assert not Photo.objects.exists()


def test_who_enters_no_results_sends_none(pulled, call):
    assert send(call("signe"), parts(pulled)).status_code == 403
    assert not Photo.objects.exists()


def test_who_decides_blind_reads_neither_name_nor_caption_nor_file(world, call):
    cast.enter(world, run=cast.open_run(world, room_c=30.0), typed="1.3781")
    given = {"specimen": world.specimens[0], "caption": "Peeled at 1.3781.", "by": world.runa, "at": world.at}
    photo = photos.attach(name="1.3781.jpg", content=CONTENT, **given)
    where = f"studies/{world.study.code}/photographs/"
    blind, told = call("edda").get(where).json()["photographs"][0], call().get(where).json()["photographs"][0]
    assert (blind["withheld"], blind["name"], blind["caption"]) == (True, "", "")
    assert (told["withheld"], told["name"], told["caption"]) == (False, "1.3781.jpg", "Peeled at 1.3781.")
    assert call("edda").get(f"photographs/{photo.pk}/original/").status_code == 404
    assert call("edda").get(f"photographs/{photo.pk}/picture/").status_code == 200


def test_one_set_aside_says_so(pulled, call):
    wrong = photos.attach(specimen=pulled.specimens[0], name="a.jpg", content=CONTENT, by=pulled.runa, at=pulled.at)
    photos.set_aside(photo=wrong, reason="Another strip.", by=pulled.runa, at=pulled.at)
    listed = call("edda").get(f"studies/{pulled.study.code}/photographs/").json()["photographs"]
    assert [row["standing"] for row in listed] == [False]


def test_a_long_list_asks_no_more_of_the_database(pulled, call, django_assert_max_num_queries):
    for number in range(4):
        content = pictures.jpeg(f"number {number}")
        photos.attach(specimen=pulled.specimens[0], name=f"{number}.jpg", content=content, by=pulled.runa, at=pulled.at)
    reader = call("edda")
    with django_assert_max_num_queries(9):
        assert len(reader.get(f"studies/{pulled.study.code}/photographs/").json()["photographs"]) == 4

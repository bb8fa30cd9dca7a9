"""`start_laboratory`: the first manager and the laboratory's entry, or nothing at all."""

import io

import pytest
from django.core.management import CommandError, call_command

from labrecords.models import Laboratory, User
from labrecords.queries import access
from tests import world as cast

ANSWERS = {
    "name": "Heron Row Laboratory",
    "address": "2 Heron Row, Easterwick",
    "place_of_work": "at the address",
    "time_zone": "Europe/Oslo",
    "user": "mira",
    "manager": "Mira Storvik",
}
PASSWORD = "four wet herons asleep"


def start(monkeypatch, *, password=PASSWORD, **changed):
    monkeypatch.setattr("sys.stdin", io.StringIO(password + "\n"))
    out = io.StringIO()
    call_command("start_laboratory", password_stdin=True, stdout=out, **ANSWERS | changed)
    return out.getvalue()


def test_the_first_manager_may_add_people(db, monkeypatch):
    assert "Mira Storvik signs in as mira" in start(monkeypatch)
    manager = User.objects.get()
    assert access.may(manager, "keep people")
    assert manager.check_password(PASSWORD)
    assert (Laboratory.objects.get().name, Laboratory.objects.get().time_zone) == (
        "Heron Row Laboratory",
        "Europe/Oslo",
    )


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"password": "too short"}, "15 characters"),
        ({"user": "mira-of-easterwick", "password": "mira-of-easterwick1"}, "too similar"),
        ({"time_zone": "Europe/Nowhere"}, "time zone"),
        ({"address": " "}, "must be given"),
    ],
)
def test_a_bad_answer_makes_nothing(db, monkeypatch, changed, words):
    with pytest.raises(CommandError, match=words):
        start(monkeypatch, **changed)
    assert not User.objects.exists()
    assert not Laboratory.objects.exists()


def test_what_is_not_given_is_asked_for(db, monkeypatch):
    asked = []
    monkeypatch.setattr("builtins.input", lambda question: asked.append(question) or "Hall 3")
    start(monkeypatch, place_of_work=None)
    assert len(asked) == 1
    assert Laboratory.objects.get().place_of_work == "Hall 3"


def test_an_empty_answer_to_where_the_tests_are_made_is_the_address(db, monkeypatch):
    monkeypatch.setattr("builtins.input", lambda question: "")
    start(monkeypatch, place_of_work=None)
    assert Laboratory.objects.get().place_of_work == "at the address"


@pytest.mark.parametrize("second", [PASSWORD, "another password here"])
def test_a_password_is_typed_twice(db, monkeypatch, second):
    typed = iter([PASSWORD, second])
    monkeypatch.setattr("getpass.getpass", lambda prompt: next(typed))
    if second == PASSWORD:
        call_command("start_laboratory", stdout=io.StringIO(), **ANSWERS)
    else:
        with pytest.raises(CommandError, match="differ"):
            call_command("start_laboratory", **ANSWERS)
    assert User.objects.exists() is (second == PASSWORD)


def test_a_laboratory_is_started_once(db, monkeypatch):
    cast.laboratory()
    before = User.objects.count()
    with pytest.raises(CommandError, match="people here already"):
        start(monkeypatch)
    assert User.objects.count() == before

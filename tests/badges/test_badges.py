"""Badges are made with the password, shown with the PIN, slowly where somebody guesses, and ended for good."""

from datetime import timedelta

import pytest
from django.contrib.auth.hashers import check_password
from django.db import IntegrityError, connection, transaction

from labrecords import settings
from labrecords.actions import badges, sign_ins
from labrecords.actions.refusals import Refused
from labrecords.models import Badge, Event, Refusal, SignIn
from labrecords.queries import badges as queries
from labrecords.queries.access import NotAllowed, NotFound
from tests import world as cast
from tests.badges.conftest import OTHER_PIN, PIN
from tests.equipment.conftest import refused

HERE = "192.0.2.10"


def show(badge, pin=PIN, *, at, address=HERE):
    return badges.show(label=getattr(badge, "label", badge), pin=pin, address=address, at=at)


def guess(badge, times, clock, **more):
    """Wrong tries, each after the wait that the one before brought."""
    for number in range(times):
        clock.forward(minutes=16)
        assert show(badge, f"9{number:05d}", at=clock.now, **more).person is None


def test_a_badge_has_a_code_and_keeps_a_hash_of_its_pin(world, runas, clock):
    assert runas.label.startswith("PB-000001-")
    assert check_password(PIN, runas.pin)
    assert PIN not in runas.pin
    body = Event.objects.get(act="badge.made").body
    assert runas.label in body
    assert PIN not in body
    assert runas.pin not in body


def test_the_hash_is_a_slow_one():
    """Tests use a fast one; what the laboratory uses is Argon2."""
    assert settings.PASSWORD_HASHERS[0].endswith("Argon2PasswordHasher")


def test_it_shows_who_is_there(world, runas, clock):
    assert show(runas, at=clock.now).person == world.runa
    row = SignIn.objects.get()
    assert (row.username, row.way, row.succeeded, row.address) == ("runa", "badge", True, HERE)


@pytest.mark.parametrize("pin", ["482916", "", OTHER_PIN])
def test_another_pin_shows_nobody(runas, toves, clock, pin):
    shown = show(runas, pin, at=clock.now)
    assert (shown.person, shown.problem) == (None, badges.WRONG)
    assert SignIn.objects.get().succeeded is False


def test_a_badge_that_nobody_has_is_told_the_same(runas, clock):
    assert show("PB-000777-X", at=clock.now) == show(runas, "482916", at=clock.now)
    assert "PB-000777" not in SignIn.objects.first().username  # as a name that nobody has


@pytest.mark.parametrize("left", ["account", "roles"])
def test_whoever_does_not_work_at_the_bench_any_more_is_not_shown(world, runas, clock, left):
    if left == "account":
        world.runa.is_active = False
        world.runa.save()
    else:
        world.runa.groups.clear()
    assert show(runas, at=clock.now).problem == badges.WRONG


def test_guessing_is_slow_as_at_the_sign_in(runas, clock):
    for number in range(5):
        show(runas, f"9{number:05d}", at=clock.now)
    shown = show(runas, at=clock.now)
    assert (shown.person, shown.wait) == (None, 1)
    assert SignIn.objects.count() == 5  # a try that only met the wait does not make it longer
    clock.forward(seconds=1)
    assert show(runas, at=clock.now).person is not None


def test_ten_failures_ask_for_the_password_even_from_several_places(world, runas, clock):
    guess(runas, 4, clock)
    assert show(runas, at=clock.now).person == world.runa  # which does not begin the count anew
    for place in range(6):
        guess(runas, 1, clock, address=f"198.51.100.{place}")
    clock.forward(hours=1)
    assert show(runas, at=clock.now).problem == badges.USED_UP
    sign_ins.keep(username="runa", address=HERE, succeeded=True, at=clock.now)
    clock.forward(seconds=1)
    assert show(runas, at=clock.now).person == world.runa


def test_a_new_pin_begins_the_count_anew(world, runas, clock):
    guess(runas, 10, clock)
    clock.forward(hours=1)
    badges.set_pin(pin=OTHER_PIN, password=cast.PASSWORD, by=world.runa, at=clock.now)
    assert show(runas, OTHER_PIN, at=clock.now).person == world.runa
    assert show(runas, PIN, at=clock.now).person is None


def test_failures_at_the_password_do_not_use_the_pin_up(runas, clock):
    for _ in range(12):
        sign_ins.keep(username="runa", address="198.51.100.9", succeeded=False, at=clock.now)
    assert queries.failures(runas) == 0


def test_another_badge_ends_the_one_before(world, runas, clock):
    clock.forward(days=1)
    second = badges.make(pin=OTHER_PIN, password=cast.PASSWORD, by=world.runa, at=clock.now)
    assert show(runas, at=clock.now).problem == badges.WRONG
    assert show(second, OTHER_PIN, at=clock.now).person == world.runa
    assert [badge.ended_why for badge in queries.every(world.runa)] == ["another was made", ""]


@pytest.mark.parametrize("act", [badges.make, badges.set_pin])
def test_without_the_password_nothing_changes(world, runas, clock, act):
    before = list(Badge.objects.values())
    with refused("wrong-password", Badge):
        act(pin=OTHER_PIN, password="a guess", by=world.runa, at=clock.now)
    assert list(Badge.objects.values()) == before


@pytest.mark.parametrize("act", [badges.make, badges.set_pin])
def test_a_weak_pin_is_not_taken(world, runas, clock, act):
    before, events = list(Badge.objects.values()), Event.objects.count()
    for pin in ("123456", "48291"):
        with pytest.raises(badges.WeakPin):
            act(pin=pin, password=cast.PASSWORD, by=world.runa, at=clock.now)
    assert (list(Badge.objects.values()), Event.objects.count()) == (before, events)


def test_only_who_works_at_the_bench_makes_a_badge(world, clock):
    with pytest.raises(NotAllowed):
        badges.make(pin=PIN, password=cast.PASSWORD, by=world.magnus, at=clock.now)
    assert not Badge.objects.exists()


def test_its_owner_ends_it_with_the_password(world, runas, clock):
    with refused("wrong-password"):
        badges.end(password="a guess", by=world.runa, at=clock.now)
    badges.end(password=cast.PASSWORD, by=world.runa, at=clock.now)
    assert queries.of(world.runa) is None
    assert Event.objects.get(act="badge.ended").actor == world.runa.name
    with pytest.raises(NotFound):
        badges.end(password=cast.PASSWORD, by=world.runa, at=clock.now)
    with pytest.raises(NotFound):
        badges.set_pin(pin=PIN, password=cast.PASSWORD, by=world.runa, at=clock.now)


def test_the_manager_ends_one_with_a_reason_and_nobody_else_does(world, runas, clock):
    with pytest.raises(NotAllowed):
        badges.end_for(badge=runas, reason="lost", by=world.edda, at=clock.now)
    with pytest.raises(Refused):
        badges.end_for(badge=runas, reason=" ", by=world.magnus, at=clock.now)
    assert Refusal.objects.get().codes == ["words-missing"]
    badges.end_for(badge=runas, reason="lost on a train", by=world.magnus, at=clock.now)
    assert show(runas, at=clock.now).problem == badges.WRONG
    with pytest.raises(Refused):
        badges.end_for(badge=runas, reason="once more", by=world.magnus, at=clock.now)


def test_ones_own_is_not_ended_that_way(world, runas, clock):
    runas.person_id = world.magnus.pk
    with pytest.raises(ValueError, match="your own"):
        badges.end_for(badge=runas, reason="lost", by=world.magnus, at=clock.now)


@pytest.mark.parametrize("changed", ["label = 'PB-000009-9'", "made_at = now()", "person_id = '{edda}'"])
def test_the_database_holds_whose_it_is(world, runas, changed):
    statement = f"UPDATE labrecords_badge SET {changed.format(edda=world.edda.pk)}"
    with pytest.raises(IntegrityError) as stopped, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
    assert stopped.value.__cause__.diag.constraint_name == "badge-ended"


def test_control_what_is_allowed_is_done_and_an_end_is_final(world, runas, clock):
    with connection.cursor() as cursor:
        cursor.execute("UPDATE labrecords_badge SET pin = 'x', pin_set_at = now()")
        cursor.execute("UPDATE labrecords_badge SET ended_at = now(), ended_by_id = %s", [world.magnus.pk])
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE labrecords_badge SET ended_at = null, ended_by_id = null")


def test_one_badge_a_person_and_its_end_has_a_person(world, runas, clock):
    fields = {"person": world.runa, "pin": "x", "pin_set_at": clock.now, "made_at": clock.now}
    with pytest.raises(IntegrityError, match="one-badge-a-person"), transaction.atomic():
        Badge.objects.create(label="PB-000008-8", **fields)
    with pytest.raises(IntegrityError, match="badge-end-has-a-person"), transaction.atomic():
        Badge.objects.create(label="PB-000008-8", **fields, ended_at=clock.now + timedelta(days=1))

"""Signing in under fire: slow for whoever guesses, open for whoever knows."""

import hashlib
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from labrecords.models import SignIn
from tests import world as cast
from tests.clock import stopped

HOME, ELSEWHERE = "192.0.2.10", "203.0.113.7"


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.fixture
def clock(monkeypatch):
    return stopped(monkeypatch, cast.NOW)


def sign_in(name="runa", password=cast.PASSWORD, *, address=HOME, **headers):
    data = {"username": name, "password": password}
    return Client().post(reverse("sign-in"), data, REMOTE_ADDR=address, **headers)


def guess(times: int, **who):
    return [sign_in(password=f"guess number {number}", **who) for number in range(times)][-1]


def test_each_try_is_kept_with_its_address(world, clock):
    assert sign_in().status_code == 302
    assert sign_in("nobody", address=ELSEWHERE).status_code == 200
    rows = SignIn.objects.order_by("at", "pk").values_list("username", "address", "succeeded")
    unknown = "nobody's, " + hashlib.sha256(b"nobody").hexdigest()[:16]  # it may have been a password
    assert list(rows) == [("runa", HOME, True), (unknown, ELSEWHERE, False)]


def test_after_five_failures_the_right_password_waits_too(world, clock):
    assert guess(5).status_code == 200
    answer = sign_in()
    assert (answer.status_code, answer["Retry-After"]) == (429, "1")
    assert "Wait 1 second, then try again." in answer.content.decode()
    assert SignIn.objects.count() == 5  # a try that only met the wait does not make it longer
    clock.now += timedelta(seconds=1)
    assert sign_in().status_code == 302
    assert guess(4).status_code == 200  # and it begins anew


def test_the_wait_grows(world, clock):
    waits = []
    for _ in range(9):
        guess(1)
        clock.now += timedelta(seconds=waits[-1] if waits else 0)
        answer = sign_in("runa", "another guess")
        waits.append(int(answer.get("Retry-After", 0)))
        clock.now += timedelta(seconds=waits[-1])
    assert waits == sorted(waits)
    assert waits[-1] > waits[4] > 0


def test_an_outsider_does_not_lock_the_owner_out(world, clock):
    assert sign_in().status_code == 302
    clock.now += timedelta(hours=1)
    for part in range(25):  # a hundred guesses and more from many addresses
        guess(5, address=f"203.0.113.{part}")
    assert sign_in(address="198.51.100.1").status_code == 429  # from an address never used before
    assert sign_in().status_code == 302  # from the owner's own


def test_an_address_that_tries_many_names_waits(world, clock):
    for number in range(100):
        sign_in(f"name{number}", "x", address=ELSEWHERE)
    assert sign_in(address=ELSEWHERE).status_code == 429
    assert sign_in().status_code == 302


def test_a_known_and_an_unknown_name_read_the_same(world, clock):
    for name in ("runa", "nobody"):
        guess(5, name=name, address=ELSEWHERE if name == "runa" else HOME)
    known, unknown = sign_in(address=ELSEWHERE, password="x"), sign_in("nobody", "x")
    assert (known.status_code, known["Retry-After"]) == (unknown.status_code, unknown["Retry-After"])
    assert "Wait 1 second" in unknown.content.decode()


def test_behind_a_proxy_of_ours_the_address_it_saw_counts_and_no_other(world, clock, settings):
    settings.TRUSTED_PROXIES = 1
    sign_in(address="10.0.0.1", HTTP_X_FORWARDED_FOR=f"1.1.1.1, {ELSEWHERE}")
    settings.TRUSTED_PROXIES = 0
    sign_in(address="10.0.0.1", HTTP_X_FORWARDED_FOR=ELSEWHERE)
    sign_in(address="no address")
    assert list(SignIn.objects.order_by("pk").values_list("address", flat=True)) == [
        ELSEWHERE,
        "10.0.0.1",
        "not known",
    ]

"""While the database does not answer: 503, when to come again, and nothing typed is lost."""

import re

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from labrecords.actions import results
from labrecords.database.errors import StartError
from labrecords.models import Result
from labrecords.queries import lab
from tests import world as cast
from tests.clock import stopped
from tests.walls.test_entry import fail as broken


@pytest.fixture
def world(laboratory, monkeypatch):
    stopped(monkeypatch, laboratory.at)
    return laboratory


@pytest.fixture
def browser(world):
    """Runa's, which gets the page of a fault as a browser would."""
    client = Client(raise_request_exception=False)
    client.force_login(world.runa)
    return client


def gone(*_args, **_named):
    raise OperationalError("server closed the connection unexpectedly")


def not_started(*_args, **_named):
    raise StartError("The database server did not start.")


def form(browser, world) -> dict[str, str]:
    """What Runa sends from the page of her run."""
    initial = browser.get(reverse("run", args=[world.run.pk])).context["form"].initial
    names = ("specimen", "unit", "technique", "rate", "rate_unit", "width_mm", "key")
    return {name: str(initial[name]) for name in names} | {
        "tested_at": "2026-05-20T10:00",  # nine o'clock in UTC, where the laboratory is
        "typed": "1.52",
        "modes": "AP",
        "remark": 'a "short" tail',
    }


HIDDEN = re.compile(r'<input type="hidden" name="([^"]+)" value="([^"]*)">')


@pytest.mark.parametrize("fault", [gone, not_started], ids=lambda fault: fault.__name__)
def test_a_form_comes_back_with_what_was_typed_and_can_be_sent_again(browser, world, monkeypatch, fault):
    sent, where = form(browser, world), reverse("run", args=[world.run.pk])
    with monkeypatch.context() as patched:
        patched.setattr(results, "enter", fault)
        answer = browser.post(where, sent)
    assert (answer.status_code, answer["Retry-After"], answer["Cache-Control"]) == (503, "5", "no-store")
    page = answer.content.decode()
    assert "take it as not kept" in page
    assert f'action="{where}"' in page
    assert not Result.objects.exists()
    carried = {name: value.replace("&quot;", '"') for name, value in HIDDEN.findall(page)}
    del carried["csrfmiddlewaretoken"]
    assert carried == sent
    assert browser.post(where, carried).status_code == 302
    assert Result.objects.get().recorded == "1.52"


def test_the_same_when_not_even_the_person_can_be_asked_for(browser, world, monkeypatch):
    sent, where = form(browser, world), reverse("run", args=[world.run.pk])
    monkeypatch.setattr(lab, "zone", gone)
    answer = browser.post(where, sent)
    assert answer.status_code == 503
    assert 'name="typed" value="1.52"' in answer.content.decode()


def test_a_page_that_was_only_read_is_offered_again(browser, monkeypatch):
    monkeypatch.setattr(lab, "zone", gone)
    answer = browser.get("/equipment/?a=1&b=2")
    assert (answer.status_code, answer["Retry-After"]) == (503, "5")
    assert 'href="/equipment/?a=1&amp;b=2"' in answer.content.decode()
    assert "<form" not in answer.content.decode()


def test_nothing_is_carried_for_a_form_that_another_site_may_have_sent(world, monkeypatch):
    guarded = Client(raise_request_exception=False, enforce_csrf_checks=True)
    guarded.force_login(world.runa)
    monkeypatch.setattr(lab, "zone", gone)
    answer = guarded.post(reverse("run", args=[world.run.pk]), {"typed": "1.99"})
    assert answer.status_code == 503
    assert "1.99" not in answer.content.decode()


def test_a_password_is_not_carried(browser, monkeypatch):
    monkeypatch.setattr(lab, "zone", gone)
    page = browser.post("/people/new/", {"name": "Nils", "password": cast.PASSWORD}).content.decode()
    assert "Nils" in page
    assert cast.PASSWORD not in page
    assert "passwords have to be given anew" in page


def test_control_another_fault_is_no_matter_of_waiting(browser, monkeypatch):
    monkeypatch.setattr(lab, "zone", broken)
    answer = browser.get("/equipment/")
    assert answer.status_code == 500
    assert "Retry-After" not in answer
    assert "Something broke here" in answer.content.decode()

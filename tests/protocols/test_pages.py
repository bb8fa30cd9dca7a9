"""The protocol on the pages of the laboratory and of the client."""

import re
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from labrecords.models import Protocol, ProtocolAnswer
from tests.world import PASSWORD

from .cast import answer, draft, put, replan

CSRF = re.compile(r'name="csrfmiddlewaretoken" value="[A-Za-z0-9]{64}"')


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.fixture
def page(world):
    def opened(person: str) -> Client:
        browser = Client()
        browser.force_login(world.people[person])
        return browser

    return opened


def test_an_engineer_puts_it_and_the_client_agrees(world, page):
    study = draft(world)
    edda, clara = page("edda"), page("clara")
    sent = edda.post(reverse("put-protocol", args=[study.code]), {"words": "Please read.", "password": PASSWORD})
    assert sent.url == reverse("protocol", args=[study.code])
    address = reverse("own-protocol", args=[study.code, 1])
    assert "Waits for you" in clara.get(reverse("own-protocols")).text
    shown = clara.get(address).text
    assert "Please read." in shown
    assert "signed by Edda Lunde" in " ".join(shown.split())
    form = {"agreed": "yes", "words": "", "password": PASSWORD}
    assert clara.post(reverse("own-protocol", args=[study.code, 1]), form).url == address
    assert "Agreed" in clara.get(address).text
    assert "signed here by the client" in edda.get(reverse("protocol", args=[study.code])).text


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ({"agreed": "yes", "words": "kept words", "password": "wrong"}, "The password typed is not the one"),
        ({"agreed": "no", "words": "", "password": PASSWORD}, "Say what must be changed."),
        ({"words": "kept words", "password": PASSWORD}, "Choose one."),
    ],
)
def test_an_answer_that_cannot_be_taken_stays_on_the_page(world, page, form, said):
    study = draft(world)
    put(world, study)
    answered = page("clara").post(reverse("own-protocol", args=[study.code, 1]), form)
    assert answered.status_code == 422
    assert said in answered.text
    assert form["words"] in answered.text
    assert not ProtocolAnswer.objects.exists()


def test_the_client_sees_what_changed_and_which_version_holds(world, page):
    study = draft(world)
    answer(world, put(world, study), agreed=False, words="Faster.")
    put(world, replan(world, study, rate=Decimal("12")))
    clara = page("clara")
    assert "Read version 2" in clara.get(reverse("own-protocol", args=[study.code, 1])).text
    newest = clara.get(reverse("own-protocol", args=[study.code, 2])).text
    assert "Set-up: Grip separation rate" in newest
    assert "12 in/min" in newest


def test_another_company_and_a_missing_one_read_the_same(world, page):
    study = draft(world)
    put(world, study)
    otto = page("otto")
    form = {"agreed": "yes", "words": "", "password": PASSWORD}
    for send, sent in ((otto.get, {}), (otto.post, form)):
        foreign = send(reverse("own-protocol", args=[study.code, 1]), sent)
        missing = send(reverse("own-protocol", args=["S-2026-9999", 1]), sent)
        assert foreign.status_code == missing.status_code == 404
        assert CSRF.sub("", foreign.text) == CSRF.sub("", missing.text)
    assert study.code not in otto.get(reverse("own-protocols")).text
    assert not ProtocolAnswer.objects.exists()


def test_what_is_the_laboratorys_own_is_not_shown_to_the_client(world, page):
    assert world.study.protocols.count() == 1
    assert page("clara").get(reverse("own-protocol", args=[world.study.code, 1])).status_code == 404


def test_the_study_says_why_it_cannot_be_locked(world, page):
    study = draft(world)
    shown = page("edda").get(reverse("study", args=[study.code])).text
    assert "No version of the protocol has been put to the client." in shown


def test_an_answer_by_letter_is_recorded_and_a_bad_one_is_not(world, page):
    study = draft(world)
    put(world, study)
    edda, address = page("edda"), reverse("record-protocol-answer", args=[study.code])
    form = {"agreed": "yes", "words": "", "said_by": "Clara Fjell", "said_on": "2026-05-19", "received_as": "letter"}
    bad = edda.post(address, form | {"said_on": "soon"})
    assert bad.status_code == 422
    assert "Type the day as" in bad.text
    assert 'value="letter"' in bad.text
    assert not ProtocolAnswer.objects.exists()
    assert edda.post(address, form).status_code == 302
    assert ProtocolAnswer.objects.get().received_as == "letter"


def test_a_plan_that_asks_nobody_says_why(world, page):
    edda = page("edda")
    study = draft(world)
    address = reverse("plan-study", args=[study.code])
    form = _sent(edda.get(address))
    refused = edda.post(address, form | {"study-agreement": "nobody", "study-no_agreement_reason": ""})
    assert refused.status_code == 422
    assert "Say why nobody else is asked." in refused.text
    assert Protocol.objects.filter(study=study).count() == 0


def _sent(shown) -> dict[str, str]:
    """What a browser would send of the plan's forms as they are shown."""
    forms = shown.context["forms"]
    bound = [forms["study"], forms["setup"], forms["window"], forms["validation"]]
    bound += [form for name in ("groups", "limits", "settings") for form in forms[name].forms]
    bound += [forms[name].management_form for name in ("groups", "limits", "settings")]
    fields = [field for form in bound for field in form]
    return {field.html_name: field.value() for field in fields if field.value() not in (None, "", [], False)}

"""The page Signing in: added with the password and a first proof, ended with the password, and nobody else's."""

import json
import re
from html import unescape
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse

from labrecords.actions import second_factors as actions
from labrecords.models import Event, RecoveryCode, Refusal, SecondFactor
from labrecords.rules.second_factor import code_at
from tests import world as cast
from tests.second_factors.authenticator import Authenticator
from tests.second_factors.own import Own, asked

ROLES = ("runa", "edda", "magnus", "signe", "clara", "tester_one")
GIVEN = {"name": "my telephone", "password": cast.PASSWORD}


def secret_on(page: str) -> str:
    return re.search(r'<code class="code secret">([A-Z2-7 ]+)</code>', page)[1].replace(" ", "")


def codes_on(page: str) -> list[str]:
    return re.findall(r"<code class=\"code\">([a-z2-7-]{19})</code>", page)


def nothing_added() -> bool:
    return not SecondFactor.objects.exists() and not RecoveryCode.objects.exists()


@pytest.mark.parametrize("role", ROLES)
def test_everybody_finds_the_page_in_the_head_of_every_page(world, clock, role):
    browser = Own(world.people[role], clock).browser()
    page = browser.get(reverse("own-factors"))
    assert page.status_code == 200
    assert f'<a href="{reverse("own-factors")}"' in browser.get(reverse("help")).content.decode()


def test_an_app_is_added_with_its_secret_a_first_code_and_the_password(world, signe):
    browser = signe.browser()
    page = browser.get(reverse("add-app")).content.decode()
    secret = secret_on(page)
    assert re.search(r"<code class=\"code secret\">([A-Z2-7]{4} ){7}[A-Z2-7]{4}<", page)
    assert 'src="data:image/svg+xml' in page
    assert nothing_added()
    answer = browser.post(reverse("add-app"), GIVEN | {"one_time_code": code_at(secret, signe.clock.now)})
    assert answer.status_code == 200
    codes = codes_on(answer.content.decode())
    assert len(set(codes)) == 10
    factor = SecondFactor.objects.get()
    assert (factor.person, factor.kind, factor.name) == (world.signe, "app", "my telephone")
    assert browser.get(reverse("own-factors")).content.decode().count("my telephone") >= 1
    assert codes_on(browser.get(reverse("own-factors")).content.decode()) == []
    assert secret_on(browser.get(reverse("add-app")).content.decode()) != secret


def test_neither_database_nor_trail_nor_session_tells_a_secret(world, signe):
    browser = signe.browser()
    secret = secret_on(browser.get(reverse("add-app")).content.decode())
    assert secret not in json.dumps(dict(browser.session))
    answer = browser.post(reverse("add-app"), GIVEN | {"one_time_code": code_at(secret, signe.clock.now)})
    codes = codes_on(answer.content.decode())
    assert secret not in json.dumps(dict(browser.session))
    factor = SecondFactor.objects.get()
    assert actions.opened_secret(factor.secret, person=world.signe) == secret
    assert secret.encode() not in bytes(factor.secret)
    digests = set(RecoveryCode.objects.values_list("digest", flat=True))
    trail = "".join(Event.objects.values_list("body", flat=True))
    for told in (secret, *codes, *digests, bytes(factor.secret).hex()):
        assert told not in trail
    assert not digests & set(codes)
    acts = Event.objects.order_by("pk").values_list("act", flat=True)
    assert list(acts)[-2:] == ["factor.added", "recovery-codes.made"]


@pytest.mark.parametrize(
    ("changed", "code"),
    [({"password": "not this one at all"}, "wrong-password"), ({"one_time_code": "000000"}, "wrong-code")],
)
def test_an_app_without_the_password_or_the_code_does_not_count(world, signe, changed, code):
    browser = signe.browser()
    secret = secret_on(browser.get(reverse("add-app")).content.decode())
    answer = browser.post(reverse("add-app"), GIVEN | {"one_time_code": code_at(secret, signe.clock.now)} | changed)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert nothing_added()
    assert Refusal.objects.get().codes == [code]
    assert secret_on(page) == secret
    assert 'value="my telephone"' in page
    assert cast.PASSWORD not in page


def test_the_first_code_is_not_taken_again(world, signe):
    browser = signe.browser()
    secret = secret_on(browser.get(reverse("add-app")).content.decode())
    code = code_at(secret, signe.clock.now)
    browser.post(reverse("add-app"), GIVEN | {"one_time_code": code})
    answer = signe.past_the_password().post(reverse("sign-in-second"), {"one_time_code": code})
    assert answer.status_code == 422


def test_a_passkey_is_added_with_the_password(world, signe):
    browser = signe.browser()
    options = asked(browser, "create")
    assert options["rp"]["id"] == "testserver"
    given = GIVEN | {"passkey_answer": signe.key.create(options)}
    answer = browser.post(reverse("add-passkey"), given)
    assert answer.status_code == 200
    assert len(codes_on(answer.content.decode())) == 10
    factor = SecondFactor.objects.get()
    assert (factor.kind, factor.site, bytes(factor.credential_id)) == ("passkey", "testserver", signe.key.credential_id)
    assert browser.post(reverse("add-passkey"), given | {"name": "again"}).status_code == 422  # the question was used
    options = asked(browser, "create")
    assert options["excludeCredentials"]
    known = given | {"name": "again", "passkey_answer": signe.key.create(options)}
    assert browser.post(reverse("add-passkey"), known).status_code == 422
    assert SecondFactor.objects.count() == 1


@pytest.mark.parametrize(
    "bent",
    [{"origin": "https://elsewhere.example"}, {"flags": 0x01}, {"name": "elsewhere.example"}, {"challenge": "A" * 43}],
)
def test_a_passkey_that_is_bent_is_not_added(world, signe, bent):
    browser = signe.browser()
    answer = signe.key.create(asked(browser, "create"), **bent)
    assert browser.post(reverse("add-passkey"), GIVEN | {"passkey_answer": answer}).status_code == 422
    assert nothing_added()
    assert Refusal.objects.get().codes == ["wrong-passkey"]


def test_a_passkey_is_not_added_without_password_answer_or_a_fresh_question_of_its_own_kind(world, signe):
    browser = signe.browser()

    def post(**given):
        return browser.post(reverse("add-passkey"), GIVEN | given).status_code

    assert post() == 422
    assert post(passkey_answer=signe.key.create(asked(browser, "create")), password="not this one at all") == 422
    signe.add_passkey()
    shown = asked(browser, "get")
    made = Authenticator().create({"rp": {"id": "testserver"}} | shown)
    assert post(passkey_answer=made, name="other") == 422  # the question was to show one, not to make one
    assert SecondFactor.objects.count() == 1


@pytest.mark.parametrize("hosts", [["*"], [".testserver"]])
def test_where_the_settings_name_no_host_there_are_no_passkeys(world, signe, settings, hosts):
    settings.ALLOWED_HOSTS = hosts
    browser = signe.browser()
    assert "at this address there are none" in browser.get(reverse("own-factors")).content.decode()
    assert browser.post(reverse("passkey-challenge"), {"ceremony": "create"}).status_code == 409
    answer = browser.post(reverse("add-passkey"), GIVEN | {"passkey_answer": "{}"})
    assert answer.status_code == 422
    settings.CSRF_TRUSTED_ORIGINS = ["https://testserver"]
    assert browser.post(reverse("passkey-challenge"), {"ceremony": "create"}).status_code == 200


def test_two_of_one_name_are_not_added(world, signe):
    signe.add_app()
    browser = signe.browser()
    secret = secret_on(browser.get(reverse("add-app")).content.decode())
    answer = browser.post(reverse("add-app"), GIVEN | {"one_time_code": code_at(secret, signe.clock.now)})
    assert answer.status_code == 422
    assert "Give another name." in answer.content.decode()
    assert SecondFactor.objects.count() == 1


def test_new_recovery_codes_end_those_before(world, signe):
    signe.add_app()
    browser = signe.browser()
    wrong = browser.post(reverse("recovery-codes"), {"password": "not this one at all"})
    assert wrong.status_code == 422
    assert RecoveryCode.objects.filter(ended_at__isnull=True).count() == 10
    codes = codes_on(browser.post(reverse("recovery-codes"), {"password": cast.PASSWORD}).content.decode())
    assert len(codes) == 10
    second = reverse("sign-in-second")
    assert signe.past_the_password().post(second, {"one_time_code": signe.codes[0]}).status_code == 422
    assert signe.past_the_password().post(second, {"one_time_code": codes[0]}).status_code == 302


def test_recovery_codes_without_a_second_factor_are_not_made(world, signe):
    answer = signe.browser().post(reverse("recovery-codes"), {"password": cast.PASSWORD})
    assert answer.status_code == 422
    assert nothing_added()


def test_one_s_own_is_ended_with_the_password(world, signe):
    factor = signe.add_app()
    browser, address = signe.browser(), reverse("end-factor", args=[factor.pk])
    assert browser.post(address, {"password": "not this one at all"}).status_code == 422
    assert SecondFactor.objects.get().ended_at is None
    assert browser.post(address, {"password": cast.PASSWORD}).status_code == 302
    ended = SecondFactor.objects.get()
    assert (ended.ended_by, bool(ended.ended_at)) == (world.signe, True)
    assert RecoveryCode.objects.filter(ended_at__isnull=True).count() == 0  # they stand for nothing any more
    assert Event.objects.order_by("-pk").first().act == "factor.ended"
    assert browser.get(address).status_code == 404
    free = Client()
    free.post(reverse("sign-in"), {"username": "signe", "password": cast.PASSWORD})
    assert "_auth_user_id" in free.session


@pytest.mark.parametrize("role", ROLES)
def test_another_person_s_factor_is_not_there(world, signe, role):
    factor = signe.add_app()
    if role == "signe":
        return
    browser = Own(world.people[role], signe.clock).browser()
    for method in ("get", "post"):
        own, none = (
            getattr(browser, method)(reverse("end-factor", args=[key]), {"password": cast.PASSWORD})
            for key in (factor.pk, UUID(int=7))
        )
        assert own.status_code == none.status_code == 404
    assert SecondFactor.objects.get().ended_at is None
    assert "my telephone" not in browser.get(reverse("own-factors")).content.decode()


def test_the_manager_ends_a_lost_one_with_a_reason(world, signe):
    factor = signe.add_app()
    browser = Own(world.magnus, signe.clock).browser()
    person = browser.get(reverse("person", args=["signe"])).content.decode()
    address = reverse("end-factor-of", args=[factor.pk])
    assert address in person
    assert browser.post(address, {"reason": " "}).status_code == 422
    assert SecondFactor.objects.get().ended_at is None
    assert browser.post(address, {"reason": "telephone lost at sea"}).status_code == 302
    assert SecondFactor.objects.get().ended_why == "telephone lost at sea"
    event = Event.objects.order_by("-pk").first()
    assert (event.act, event.subject, event.actor) == ("factor.ended", "person signe", world.magnus.name)
    assert "telephone lost at sea" in event.body
    page = unescape(browser.get(reverse("person", args=["signe"])).content.decode())
    assert "by Magnus Orre: telephone lost at sea" in page


def test_a_manager_s_own_asks_for_the_password(world, signe):
    magnus = Own(world.magnus, signe.clock)
    factor = magnus.add_app()
    answer = magnus.browser().post(reverse("end-factor-of", args=[factor.pk]), {"reason": "lost"})
    assert answer.status_code == 422
    assert SecondFactor.objects.get().ended_at is None


def test_who_does_not_keep_people_sees_nobody_s_factors(world, signe):
    signe.add_app()
    page = Own(world.edda, signe.clock).browser().get(reverse("person", args=["signe"])).content.decode()
    assert "my telephone" not in page

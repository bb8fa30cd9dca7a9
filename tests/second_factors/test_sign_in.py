"""The second step of signing in: nobody is signed in before it, each proof is taken once, and guessing is slow."""

import pytest
from django.test import Client
from django.urls import reverse

from labrecords.actions import people
from labrecords.actions import second_factors as actions
from labrecords.models import Event, Refusal, SecondFactor, SignIn
from tests import world as cast
from tests.pages.test_plan import filled
from tests.second_factors.authenticator import Authenticator
from tests.second_factors.own import Own, asked, carried, is_signed_in

SECOND = "/sign-in/second/"


def second(browser, **given):
    return browser.post(SECOND, given)


def refused_with(code: str) -> bool:
    return Refusal.objects.order_by("-pk").first().codes == [code]


def test_without_a_second_factor_the_password_signs_in_as_ever(world, clock):
    browser = Client()
    browser.post(reverse("sign-in"), {"username": "signe", "password": cast.PASSWORD})
    assert is_signed_in(browser)


def test_nothing_is_signed_in_before_the_second_step(world, signe):
    signe.add_app()
    browser = signe.past_the_password()
    assert "_auth_user_id" not in browser.session
    for name in ("home", "studies", "own-factors", "portal:reports"):
        answer = browser.get(reverse(name))
        assert (answer.status_code, answer.url.split("?")[0]) == (302, reverse("sign-in"))
    assert SignIn.objects.count() == 0  # it has not gone well yet
    before = browser.session.session_key
    assert second(browser, one_time_code=signe.code).status_code == 302
    assert is_signed_in(browser)
    assert browser.session.session_key != before
    assert list(SignIn.objects.values_list("username", "succeeded")) == [("signe", True)]


def test_whoever_was_signed_in_before_is_signed_out_by_the_first_step(world, signe):
    signe.add_app()
    browser = Client()
    browser.force_login(world.edda)
    browser.post(reverse("sign-in"), {"username": "signe", "password": cast.PASSWORD})
    assert "_auth_user_id" not in browser.session


def test_the_page_asked_for_is_opened_after_both_steps(world, signe):
    signe.add_app()
    browser = signe.past_the_password(next="/equipment/")
    assert second(browser, one_time_code=signe.code).url == "/equipment/"
    elsewhere = Own(world.signe, signe.clock, secret=signe.secret).past_the_password(next="https://elsewhere.example/")
    signe.clock.forward(seconds=30)
    assert second(elsewhere, one_time_code=signe.code).url == "/"


def test_a_code_signs_in_once(world, signe):
    signe.add_app()
    code = signe.code
    assert second(signe.past_the_password(), one_time_code=code).status_code == 302
    again = signe.past_the_password()
    answer = second(again, one_time_code=code)
    assert answer.status_code == 422
    assert "was used already" in answer.content.decode()
    assert "_auth_user_id" not in again.session
    assert refused_with("used-code")
    signe.clock.forward(seconds=30)
    assert second(again, one_time_code=signe.code).status_code == 302


def test_a_wrong_code_is_kept_without_the_code(world, signe):
    signe.add_app()
    browser = signe.past_the_password()
    wrong = str((int(signe.code) + 1) % 1_000_000).zfill(6)
    answer = second(browser, one_time_code=wrong)
    assert answer.status_code == 422
    assert wrong not in answer.content.decode()
    assert refused_with("wrong-code")
    assert wrong not in Event.objects.order_by("-pk").first().body
    assert SignIn.objects.get().succeeded is False
    listed = Own(world.edda, signe.clock).browser().get(reverse("refusals")).content.decode()
    assert "The code is not right." in listed
    assert "_auth_user_id" not in browser.session


def test_guessing_at_codes_is_as_slow_as_at_passwords_and_the_password_does_not_begin_anew(world, signe):
    signe.add_app()
    browser = signe.past_the_password()
    for _ in range(4):
        assert second(browser, one_time_code="000000").status_code == 422
        browser = signe.past_the_password()
    assert second(browser, one_time_code="000000").status_code == 422
    answer = second(browser, one_time_code=signe.code)
    assert (answer.status_code, answer["Retry-After"]) == (429, "1")
    assert SignIn.objects.count() == 5
    first = Client().post(reverse("sign-in"), {"username": "signe", "password": cast.PASSWORD})
    assert first.status_code == 429
    signe.clock.forward(seconds=1)
    assert second(browser, one_time_code=signe.code).status_code == 302


def test_the_second_step_ends_after_five_minutes(world, signe):
    signe.add_app()
    browser = signe.past_the_password()
    signe.clock.forward(minutes=5)
    assert browser.get(SECOND).status_code == 200
    signe.clock.forward(seconds=1)
    answer = second(browser, one_time_code=signe.code)
    assert (answer.status_code, answer.url) == (302, reverse("sign-in"))
    assert "_auth_user_id" not in browser.session


def test_without_a_first_step_there_is_no_second(world, signe):
    signe.add_app()
    browser = Client()
    assert second(browser, one_time_code=signe.code).url == reverse("sign-in")
    assert browser.post(reverse("passkey-challenge")).status_code == 403
    assert "_auth_user_id" not in browser.session


def test_somebody_whose_account_was_closed_meanwhile_is_not_signed_in(world, signe):
    signe.add_app()
    browser = signe.past_the_password()
    people.close_account(person=world.signe, reason="left", by=world.magnus, at=world.at)
    assert second(browser, one_time_code=signe.code).url == reverse("sign-in")
    assert "_auth_user_id" not in browser.session


def test_a_password_changed_meanwhile_asks_for_the_first_step_again(world, signe):
    signe.add_app()
    browser = signe.past_the_password()
    world.signe.set_password("another five quiet otters")
    world.signe.save()
    assert second(browser, one_time_code=signe.code).url == reverse("sign-in")


def test_a_passkey_signs_in(world, signe):
    signe.add_passkey()
    browser = signe.past_the_password()
    assert "be asked for your passkey" in browser.get(SECOND).content.decode()
    answer = signe.key.get(asked(browser))
    assert second(browser, passkey_answer=answer).status_code == 302
    assert is_signed_in(browser)
    assert SecondFactor.objects.get().counter == signe.key.counter


def test_an_assertion_and_its_challenge_are_taken_once(world, signe):
    signe.add_passkey()
    browser = signe.past_the_password()
    options = asked(browser)
    answer = signe.key.get(options)
    assert second(browser, passkey_answer=answer).status_code == 302
    again = signe.past_the_password()
    assert second(again, passkey_answer=answer).status_code == 422  # no question is open
    asked(again)
    assert second(again, passkey_answer=answer).status_code == 422  # another question is
    assert refused_with("wrong-passkey")
    options = asked(again)
    second(again, passkey_answer="")  # nothing was shown: the question stays open
    assert second(again, passkey_answer=signe.key.get(options, challenge="A" * 43)).status_code == 422
    assert second(again, passkey_answer=signe.key.get(options)).status_code == 422  # a wrong answer closed it
    assert "_auth_user_id" not in again.session


def test_a_challenge_is_too_old_after_two_minutes(world, signe):
    signe.add_passkey()
    browser = signe.past_the_password()
    options = asked(browser)
    signe.clock.forward(minutes=2, seconds=1)
    assert second(browser, passkey_answer=signe.key.get(options)).status_code == 422
    assert second(browser, passkey_answer=signe.key.get(asked(browser))).status_code == 302


@pytest.mark.parametrize(
    "bent", [{"origin": "https://elsewhere.example"}, {"flags": 0x01}, {"name": "elsewhere.example"}]
)
def test_a_passkey_shown_elsewhere_or_without_its_owner_signs_nobody_in(world, signe, bent):
    signe.add_passkey()
    browser = signe.past_the_password()
    assert second(browser, passkey_answer=signe.key.get(asked(browser), **bent)).status_code == 422
    assert refused_with("wrong-passkey")
    assert "_auth_user_id" not in browser.session


def test_another_person_s_passkey_signs_nobody_in(world, signe):
    signe.add_passkey()
    other = Own(world.edda, signe.clock)
    other.add_passkey()
    browser = signe.past_the_password()
    assert second(browser, passkey_answer=other.key.get(asked(browser))).status_code == 422
    assert refused_with("wrong-passkey")


def test_a_passkey_whose_counter_goes_back_is_refused_and_that_is_kept(world, signe):
    signe.add_passkey()
    first = signe.past_the_password()
    assert second(first, passkey_answer=signe.key.get(asked(first), counter=40)).status_code == 302
    browser = signe.past_the_password()
    answer = second(browser, passkey_answer=signe.key.get(asked(browser), counter=40))
    assert answer.status_code == 422
    assert refused_with("passkey-counter")
    assert Refusal.objects.get().by == world.signe
    assert SecondFactor.objects.get().counter == 40
    assert "_auth_user_id" not in browser.session


def test_a_passkey_that_does_not_count_is_taken_again_and_again(world, signe):
    signe.key = Authenticator(step=0)
    signe.add_passkey()
    for _ in range(2):
        browser = signe.past_the_password()
        assert second(browser, passkey_answer=signe.key.get(asked(browser))).status_code == 302


def test_what_has_ended_signs_nobody_in(world, signe):
    app = signe.add_app()
    key = signe.add_passkey()
    browser = signe.past_the_password()
    options = asked(browser)
    actions.end(factor=key, password=cast.PASSWORD, by=world.signe, at=world.at)
    assert second(browser, passkey_answer=signe.key.get(options)).status_code == 422
    actions.end_for(factor=app, reason="lost", by=world.magnus, at=world.at)
    assert second(browser, one_time_code=signe.code).status_code == 422
    assert "_auth_user_id" not in browser.session


def test_a_recovery_code_signs_in_once_and_is_on_record(world, signe):
    signe.add_app()
    code, other = signe.codes[:2]
    assert len(set(signe.codes)) == 10
    browser = signe.past_the_password()
    assert second(browser, one_time_code=code.upper().replace("-", " ")).status_code == 302
    assert is_signed_in(browser)
    event = Event.objects.order_by("-pk").first()
    assert event.act == "recovery-code.used"
    assert '"left":"9"' in event.body
    again = signe.past_the_password()
    assert second(again, one_time_code=code).status_code == 422
    assert refused_with("used-code")
    assert second(again, one_time_code=other).status_code == 302


def test_another_person_s_recovery_code_signs_nobody_in(world, signe):
    signe.add_app()
    other = Own(world.edda, signe.clock)
    other.add_app()
    browser = signe.past_the_password()
    assert second(browser, one_time_code=other.codes[0]).status_code == 422
    assert refused_with("wrong-code")


def test_when_the_app_s_secret_cannot_be_read_the_page_says_so(world, signe, settings):
    signe.add_app()
    settings.SECRET_KEY = "another one"
    browser = signe.past_the_password()
    answer = second(browser, one_time_code=signe.code)
    assert answer.status_code == 422
    assert refused_with("factor-unreadable")
    assert "_auth_user_id" not in browser.session
    assert second(browser, one_time_code=signe.codes[0]).status_code == 302


def test_what_was_typed_is_carried_through_both_steps(world, signe):
    edda = Own(world.edda, signe.clock)
    edda.add_app()
    browser = Client()
    page = browser.post(reverse("new-study"), filled(world, **{"study-purpose": "A question <of> its own"}))
    assert page.status_code == 401
    again = carried(page.content.decode())
    first = browser.post(reverse("sign-in-again"), again | {"username": "edda", "password": cast.PASSWORD})
    assert first.status_code == 200
    assert carried(first.content.decode()) == again
    assert "_auth_user_id" not in browser.session
    wrong = second(browser, **again, one_time_code="000000")
    assert wrong.status_code == 422
    assert carried(wrong.content.decode()) == again
    sent = second(browser, **again, one_time_code=edda.code)
    assert "You are signed in as Edda Lunde." in sent.content.decode()
    assert "A question &lt;of&gt; its own" in sent.content.decode()
    assert is_signed_in(browser)


def test_what_was_typed_is_kept_when_the_second_step_came_too_late(world, signe):
    edda = Own(world.edda, signe.clock)
    edda.add_app()
    browser = edda.past_the_password()
    signe.clock.forward(minutes=6)
    typed = {"typed": '[["a", "b"]]', "path": "/studies/new/"}
    answer = second(browser, **typed, one_time_code=edda.code)
    assert answer.status_code == 401
    assert carried(answer.content.decode()) == typed
    assert "The time for the second step has passed." in answer.content.decode()


def test_a_code_typed_into_a_form_that_came_too_late_is_not_carried(world, signe):
    address = reverse("release-study", args=[world.study.code])
    page = Client().post(address, {"one_time_code": "123456", "passkey_answer": "{}", "seen": "x"}).content.decode()
    assert "123456" not in page
    assert carried(page)["typed"] == '[["seen", "x"]]'


def test_nobody_is_sent_elsewhere_by_the_second_step(world, signe):
    signe.add_app()
    browser = signe.past_the_password()
    answer = second(browser, one_time_code=signe.code, typed="[]", path="https://elsewhere.example/")
    assert answer.url == "/"


def test_a_second_step_without_a_token_against_forgery_is_refused(world, signe):
    signe.add_app()
    strict = Client(enforce_csrf_checks=True)
    assert strict.post(SECOND, {"one_time_code": signe.code}).status_code == 403
    assert strict.post(reverse("passkey-challenge")).status_code == 403

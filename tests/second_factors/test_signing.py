"""Signatures with a second factor, and without; what is not right signs nothing, changes nothing, and is kept."""

import pytest
from django.urls import reverse

from labrecords.actions import people, reports, review, runs, studies
from labrecords.actions import second_factors as actions
from labrecords.actions.refusals import Refused
from labrecords.models import Event, Refusal, Report, SecondFactor, Signature, Study
from labrecords.queries.access import NotAllowed
from labrecords.reports.findings import findings, findings_sha256
from labrecords.rules.second_factor import Given
from tests import world as cast
from tests.second_factors.own import Own, asked

APP = "password and a code of the authenticator app, given at signing"
PASSKEY = "password and a passkey, given at signing"
WRONG = "000000"


@pytest.fixture
def world(laboratory):
    world = laboratory
    for specimen, typed in zip(world.specimens, ("1.2", "1.4", "1.6", "1.8"), strict=True):
        cast.enter(world, specimen=specimen, typed=typed)
    runs.close_run(run=world.run, by=world.runa, at=world.at)
    study = Study.objects.get(pk=world.study.pk)
    review.finish_testing(study=study, by=world.edda, at=world.at)
    world.study = Study.objects.get(pk=study.pk)
    words = {"accept": True, "words": "All read.", "by": world.sefa, "at": world.at}
    review.review(study=world.study, seen_sha256=seen(world), **words)
    return world


def seen(world) -> str:
    return findings_sha256(findings(Study.objects.get(pk=world.study.pk)))


def release(world, at=None, **given):
    fields = {"password": cast.PASSWORD, "by": world.signe, "at": at or world.at} | given
    return reports.release(study=world.study, seen_sha256=seen(world), **fields)


def nothing_signed(world, *codes) -> bool:
    kept = Refusal.objects.order_by("-pk").first()
    assert tuple(kept.codes) == codes
    assert kept.study == world.study
    return (
        not Signature.objects.exists()
        and not Report.objects.exists()
        and Study.objects.get(pk=world.study.pk).state == "reviewed"
    )


def test_without_a_second_factor_the_password_signs_as_before(world, signe):
    assert release(world).signature.authenticated_by == "password, typed again at signing"


def test_a_code_signs_and_the_signature_says_so(world, signe):
    signe.add_app()
    assert release(world, given=signe.given()).signature.authenticated_by == APP
    body = Event.objects.get(act="signature.made").body
    assert APP in body
    assert signe.code not in body


def test_a_passkey_signs_and_the_signature_says_so(world, signe):
    signe.add_passkey()
    assert release(world, given=signe.shown()).signature.authenticated_by == PASSKEY


def test_whoever_has_a_second_factor_does_not_sign_with_the_password_alone(world, signe):
    signe.add_app()
    with pytest.raises(Refused):
        release(world)
    assert nothing_signed(world, "factor-missing")


def test_a_wrong_code_and_a_wrong_password_sign_nothing(world, signe):
    signe.add_app()
    with pytest.raises(Refused):
        release(world, given=Given(code=WRONG))
    assert nothing_signed(world, "wrong-code")
    with pytest.raises(Refused):
        release(world, password="a guess of nineteen", given=signe.given())
    assert nothing_signed(world, "wrong-password")
    assert release(world, given=signe.given())  # the code was not looked at, so it still holds


def test_a_code_used_for_signing_in_does_not_sign(world, signe):
    signe.add_app()
    code = signe.code
    signe.past_the_password().post(reverse("sign-in-second"), {"one_time_code": code})
    with pytest.raises(Refused):
        release(world, given=Given(code=code))
    assert nothing_signed(world, "used-code")


def test_a_code_is_spent_whatever_becomes_of_the_act(world, signe):
    signe.add_app()
    given = signe.given()
    with pytest.raises(Refused) as stopped:
        reports.release(
            study=world.study, seen_sha256="0" * 64, password=cast.PASSWORD, given=given, by=world.signe, at=world.at
        )
    assert stopped.value.codes == ("content-changed",)
    with pytest.raises(Refused):
        release(world, given=given)
    assert nothing_signed(world, "used-code")


def test_an_assertion_signs_once(world, signe):
    signe.add_passkey()
    given = signe.shown(counter=9)
    assert release(world, given=given)
    people.set_roles(world.signe, {"signatory", "engineer"})
    del world.signe._roles
    again = {"password": cast.PASSWORD, "given": given, "by": world.signe, "at": world.at}
    with pytest.raises(Refused) as stopped:  # another act that is signed, by the same person
        studies.amend(study=world.study, reason="wider", **again)
    assert stopped.value.codes == ("passkey-counter",)
    assert Signature.objects.count() == 1


@pytest.mark.parametrize("bent", [{"origin": "https://elsewhere.example"}, {"flags": 0x01}, {"signature": b"0" * 70}])
def test_a_passkey_that_is_bent_signs_nothing(world, signe, bent):
    signe.add_passkey()
    with pytest.raises(Refused):
        release(world, given=signe.shown(**bent))
    assert nothing_signed(world, "wrong-passkey")
    assert SecondFactor.objects.get().last_used_at is None


def test_another_person_s_passkey_or_code_signs_nothing(world, signe):
    signe.add_passkey()
    edda = Own(world.edda, signe.clock)
    edda.add_passkey()
    edda.add_app()
    for given, code in [(edda.shown(), "wrong-passkey"), (edda.given(), "wrong-code")]:
        with pytest.raises(Refused):
            release(world, given=given)
        assert nothing_signed(world, code)


def test_what_has_ended_signs_nothing_while_another_is_there(world, signe):
    app, _key = signe.add_app(), signe.add_passkey()
    actions.end(factor=app, password=cast.PASSWORD, by=world.signe, at=world.at)
    with pytest.raises(Refused):
        release(world, given=signe.given())
    assert nothing_signed(world, "wrong-code")


def test_a_recovery_code_signs_nothing(world, signe):
    signe.add_app()
    with pytest.raises(Refused):
        release(world, given=Given(code=signe.codes[0]))
    assert nothing_signed(world, "wrong-code")


def test_a_disabled_person_signs_nothing(world, signe):
    signe.add_app()
    people.close_account(person=world.signe, reason="left", by=world.magnus, at=world.at)
    world.signe.refresh_from_db()
    with pytest.raises(NotAllowed):
        release(world, given=signe.given())
    assert not Signature.objects.exists()


def test_guessing_at_codes_becomes_slow(world, signe):
    signe.add_app()
    for _ in range(5):
        with pytest.raises(Refused):
            release(world, at=signe.clock.now, given=Given(code=WRONG))
    with pytest.raises(Refused):
        release(world, at=signe.clock.now, given=signe.given())
    assert nothing_signed(world, "code-wait")
    signe.clock.forward(seconds=1)
    assert release(world, at=signe.clock.now, given=signe.given())


def test_an_old_signature_stays_as_it_is_when_a_factor_is_added(world, signe):
    signature = release(world).signature
    signe.add_app()
    assert Signature.objects.get(pk=signature.pk).authenticated_by == "password, typed again at signing"


def address(world) -> str:
    return reverse("release-study", args=[world.study.code])


def test_the_form_asks_only_whoever_has_a_second_factor(world, signe):
    browser = signe.browser()
    page = browser.get(address(world)).content.decode()
    assert "one_time_code" not in page
    assert "passkey" not in page
    signe.add_app()
    page = browser.get(address(world)).content.decode()
    assert 'name="one_time_code"' in page
    assert "passkey" not in page
    signe.add_passkey()
    page = browser.get(address(world)).content.decode()
    assert 'name="passkey_answer"' in page
    assert "be asked for your passkey" in page


def test_whoever_has_only_a_passkey_is_told_that_the_page_needs_its_script(world, signe):
    signe.add_passkey()
    page = signe.browser().get(address(world)).content.decode()
    assert "one_time_code" not in page
    assert "A passkey needs the browser's scripts, and they are off: switch them on to go on." in page


def test_the_page_signs_with_a_code(world, signe):
    signe.add_app()
    browser = signe.browser()
    form = {"seen": seen(world), "password": cast.PASSWORD, "one_time_code": signe.code}
    assert browser.post(address(world), form | {"one_time_code": ""}).status_code == 422
    answer = browser.post(address(world), form | {"one_time_code": WRONG})
    assert answer.status_code == 422
    assert "Not recorded: the code is not right." in answer.content.decode()
    assert nothing_signed(world, "wrong-code")
    assert browser.post(address(world), form).status_code == 302
    assert Signature.objects.get().authenticated_by == APP


def test_the_page_signs_with_a_passkey_once_for_each_question(world, signe):
    signe.add_passkey()
    browser = signe.browser()
    form = {"seen": seen(world), "password": cast.PASSWORD}
    unasked = signe.key.get({"rpId": "testserver", "challenge": "q" * 43})
    assert browser.post(address(world), form | {"passkey_answer": unasked}).status_code == 422
    assert nothing_signed(world, "wrong-passkey")
    answer = signe.key.get(asked(browser))
    wrong = form | {"passkey_answer": answer, "password": "a guess of nineteen"}
    assert browser.post(address(world), wrong).status_code == 422
    assert browser.post(address(world), form | {"passkey_answer": answer}).status_code == 422  # the question is spent
    assert nothing_signed(world, "wrong-passkey")
    assert browser.post(address(world), form | {"passkey_answer": signe.key.get(asked(browser))}).status_code == 302
    assert Signature.objects.get().authenticated_by == PASSKEY


def test_an_amendment_and_a_withdrawal_ask_for_it_too(world, signe):
    signe.add_app()
    release(world, given=signe.given())
    signe.clock.forward(minutes=1)
    browser, form = signe.browser(), {"reason": "Wrong lot.", "password": cast.PASSWORD}
    withdrawn = reverse("withdraw-report", args=[world.study.code])
    assert browser.post(withdrawn, form).status_code == 422
    assert browser.post(withdrawn, form | {"one_time_code": signe.code}).status_code == 302
    edda = Own(world.edda, signe.clock)
    edda.add_app()
    browser, amended = edda.browser(), reverse("amend-study", args=[world.study.code])
    assert browser.post(amended, form | {"one_time_code": WRONG}).status_code == 422
    assert browser.post(amended, form | {"one_time_code": edda.code}).status_code == 302
    assert list(Signature.objects.values_list("authenticated_by", flat=True)) == [APP, APP, APP]

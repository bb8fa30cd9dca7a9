"""Both ceremonies of a passkey with an authenticator of the tests' own; each part bent in turn is no proof."""

import json

import pytest

from labrecords.rules import passkey
from labrecords.rules.second_factor import Site
from tests.second_factors.authenticator import NAME, ORIGIN, PRESENT, Authenticator

SITE = Site(NAME, frozenset({ORIGIN}))
BENT = {
    "origin": ({"origin": "https://elsewhere.example"}, "another address"),
    "challenge": ({"challenge": "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"}, "another question"),
    "frame": ({"crossOrigin": True}, "within a page"),
    "name": ({"name": "elsewhere.example"}, "another host name"),
    "nobody there": ({"flags": 0x04}, "Nobody was there"),
    "nobody verified": ({"flags": PRESENT}, "did not ask who you are"),
    "purpose": ({"type": "payment.get"}, "another purpose"),
}


def options(known=()):
    return passkey.creation_options(SITE, handle=b"1" * 16, user="runa", name="Runa Vik", known=known)


@pytest.fixture
def made():
    own = Authenticator()
    asked, challenge = options()
    return own, passkey.created(own.create(asked), site=SITE, challenge=challenge)


def show(own, key, **bent):
    asked, challenge = passkey.request_options(SITE, [key])
    return passkey.asserted(own.get(asked, **bent), site=SITE, challenge=challenge, known=[key])


def test_a_passkey_is_made_and_shown(made):
    own, key = made
    assert key.credential_id == own.credential_id
    assert key.counter == 1
    assert show(own, key) == (key, 2)


def test_options_ask_who_the_person_is_and_go_as_json(made):
    _, key = made
    asked, challenge = options([key])
    asked = json.loads(json.dumps(asked))
    assert asked["authenticatorSelection"]["userVerification"] == "required"
    assert [one["id"] for one in asked["excludeCredentials"]]
    assert len(challenge) >= 43  # 32 bytes
    assert options()[1] != challenge
    asked, _ = passkey.request_options(SITE, [key])
    assert json.loads(json.dumps(asked))["userVerification"] == "required"


@pytest.mark.parametrize("case", BENT)
def test_what_is_bent_is_no_proof(made, case):
    bent, words = BENT[case]
    asked, challenge = options()
    with pytest.raises(passkey.NotShown, match=words):
        passkey.created(Authenticator().create(asked, **bent), site=SITE, challenge=challenge)
    with pytest.raises(passkey.NotShown, match=words):
        show(*made, **bent)


def test_another_key_s_signature_is_no_proof(made):
    own, key = made
    thief = Authenticator(credential_id=own.credential_id)
    with pytest.raises(passkey.NotShown, match="does not match"):
        show(thief, key)


def test_a_passkey_that_is_not_among_the_person_s_is_no_proof(made):
    _, key = made
    with pytest.raises(passkey.NotShown, match="not one of yours"):
        show(Authenticator(), key)


def test_without_an_open_question_nothing_is_a_proof(made):
    own, key = made
    asked, _ = passkey.request_options(SITE, [key])
    with pytest.raises(passkey.NotShown, match="No question"):
        passkey.asserted(own.get(asked), site=SITE, challenge="", known=[key])


@pytest.mark.parametrize("text", ["", "null", "[]", "{}", '{"id": 1}', "\x00", '{"rawId": "AA", "response": {}}'])
def test_what_cannot_be_read_is_no_proof(made, text):
    _, key = made
    for read in (
        lambda: passkey.created(text, site=SITE, challenge="A" * 43),
        lambda: passkey.asserted(text, site=SITE, challenge="A" * 43, known=[key]),
    ):
        with pytest.raises(passkey.NotShown):
            read()


def test_a_passkey_made_without_a_key_is_no_proof():
    own = Authenticator()
    asked, challenge = options()
    with pytest.raises(passkey.NotShown):
        passkey.created(own.create(asked, attested=False), site=SITE, challenge=challenge)

"""Who is let in: a token that is in use, of somebody who may read by program."""

import pytest
from django.test import Client

from labrecords.actions import people
from labrecords.models import ApiToken, Result, User
from tests.api.conftest import Caller, entry, token_for


def test_a_token_is_all_it_takes(world, call):
    assert call().get(f"studies/{world.study.code}/").status_code == 200


MISSING = ["", "Bearer x", "Basic cnVuYTpy", "Tokens x"]
WRONG = ["Token", "Token ", "Token nobody", "Token a b", "Token \xe9"]


@pytest.mark.parametrize(
    ("code", "headers"), [("token-missing", MISSING), ("token-refused", WRONG)], ids=["missing", "wrong"]
)
def test_without_a_token_that_is_in_use(world, code, headers):
    where = f"/api/studies/{world.study.code}/"
    answers = [Client().get(where, headers={"Authorization": header}) for header in headers]
    if code == "token-missing":
        answers.append(Client().get(where))
    assert {(answer.status_code, answer.json()["code"]) for answer in answers} == {(401, code)}
    assert {answer["WWW-Authenticate"] for answer in answers} == {'Token realm="labrecords"'}


def test_a_revoked_token_reads_as_one_that_never_was(world, call):
    caller = call()
    people.revoke_token(token=ApiToken.objects.get(), by=world.magnus, at=world.at)
    path = f"studies/{world.study.code}/"
    assert caller.get(path).status_code == 401
    assert caller.get(path).content == Caller("never").get(path).content


def test_the_token_of_somebody_who_left(world, call):
    caller = call("runa")
    User.objects.filter(pk=world.runa.pk).update(is_active=False)
    assert caller.post(entry(world)).status_code == 401
    assert not Result.objects.exists()


def test_the_stored_hash_is_not_a_token(world):
    token_for(world, "runa")
    assert Caller(ApiToken.objects.get().digest).get(f"studies/{world.study.code}/").status_code == 401


def test_a_sign_in_for_pages_is_no_token(world):
    client = Client()
    client.force_login(world.runa)
    assert client.get(f"/api/studies/{world.study.code}/").status_code == 401


def test_a_manager_reads_and_enters_nothing(world, call):
    answer = call("magnus").post(entry(world))
    assert (answer.status_code, answer.json()["code"]) == (403, "not-allowed")
    assert not Result.objects.exists()


def test_missing_and_malformed_codes_read_the_same(world, call):
    caller = call()
    paths = ("studies/S-1999-0001/", "studies/%00/", "nothing/", "studies/S-1999-0001/summary/", "studies/x y/")
    answers = [caller.get(path) for path in paths]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1


def test_the_device_enters_for_the_person_of_the_run(world, call):
    assert call().post(entry(world)).status_code == 201
    result = Result.objects.get()
    assert (result.tested_by, result.entered_by) == (world.runa, world.tester_one)

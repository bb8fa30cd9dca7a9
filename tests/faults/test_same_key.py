"""One entry posted by many at one moment, under one key: one result, and the same answer for everybody.

The long form: LABRECORDS_KEYS=100 .venv/bin/pytest -s tests/faults/test_same_key.py
"""

import contextlib
import os
import random
import uuid

from tests.faults import servers
from tests.faults.sender import Line, entry, post
from tests.faults.together import all_at_once

KEYS = int(os.environ.get("LABRECORDS_KEYS", "5"))
POSTS = 20
SEED = 20260520


def of_key(house, key: uuid.UUID) -> list[tuple]:
    """The results and refusals that the database holds under a key."""
    return servers.ask(house.server, f"select result_id, refusal_id from labrecords_entry where key = '{key}'")


def refusals(house) -> int:
    """How many refusals for a used key are kept."""
    ((count,),) = servers.ask(
        house.server, "select count(*) from labrecords_refusal where codes::text like '%key-reused%'"
    )
    return count


def asked(house, body: dict, person: str = "runa"):
    """One post on a line of its own."""
    with contextlib.closing(Line(house.port)) as line:
        return post(line, house.people[person]["token"], body)


def test_many_posts_of_one_entry_are_one_result_and_one_answer(house):
    token = house.people["runa"]["token"]
    chance, other = random.Random(f"{SEED} same key"), 0
    for _ in range(KEYS):
        key, specimen = uuid.UUID(int=chance.getrandbits(128), version=4), next(house.untouched)
        body = entry(house.people["runa"]["run"], specimen, f"1.{chance.randrange(40, 66)}", key)
        answers = all_at_once(house.port, [lambda line, body=body: post(line, token, body)] * POSTS)
        first = answers[0]
        other += sum((answer.status, answer.content) != (201, first.content) for answer in answers)
        kept = servers.ask(
            house.server,
            "select r.id::text from labrecords_result r join labrecords_specimen s on s.id = r.specimen_id "
            f"where s.label = '{specimen}'",
        )
        assert kept == [(first.told["result"]["id"],)]
        assert len(of_key(house, key)) == 1
    print(f"seed {SEED}: {KEYS} keys, {POSTS} posts each, {KEYS} results, {other} other answers")
    assert other == 0


def test_control_as_many_posts_each_with_a_key_of_its_own_are_not_one_answer(house):
    specimen, token, run = next(house.untouched), house.people["runa"]["token"], house.people["runa"]["run"]
    senders = [lambda line: post(line, token, entry(run, specimen, "1.50", uuid.uuid4()))] * POSTS
    answers = all_at_once(house.port, senders)
    assert sorted(answer.status for answer in answers) == [201] + [409] * (POSTS - 1)


def test_a_changed_entry_under_the_same_key_is_refused_by_all_at_once_and_each_refusal_kept(house):
    specimen, key, run = next(house.untouched), uuid.uuid4(), house.people["runa"]["run"]
    first, before = asked(house, entry(run, specimen, "1.50", key)), refusals(house)
    token = house.people["runa"]["token"]
    changed = [
        lambda line, typed=typed: post(line, token, entry(run, specimen, f"1.{typed}", key))
        for typed in range(51, 51 + POSTS)
    ]
    answers = all_at_once(house.port, changed)
    assert {(answer.status, answer.told["code"]) for answer in answers} == {(422, "key-reused")}
    assert refusals(house) == before + POSTS
    assert asked(house, entry(run, specimen, "1.50", key)).content == first.content  # the first answer stands


def test_another_persons_key_never_gives_the_stored_answer(house):
    specimen, key, run = next(house.untouched), uuid.uuid4(), house.people["runa"]["run"]
    body = entry(run, specimen, "1.57", key)
    first = asked(house, body)
    answers = all_at_once(house.port, [lambda line: post(line, house.people["timo"]["token"], body)] * POSTS)
    for answer in answers:
        assert (answer.status, answer.told["code"]) == (422, "key-reused")
        assert first.told["result"]["id"] not in answer.content.decode()
        assert "1.57" not in answer.content.decode()
    assert len(of_key(house, key)) == 1

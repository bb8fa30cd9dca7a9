"""A study whose client is asked is locked on the version to which the client agreed, and on nothing else.

That a plan, changes of it and the client's agreement are kept before work begins: ISO/IEC 17025:2017, 7.1, from memory.
"""

from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from labrecords.actions import protocols, studies
from labrecords.actions.refusals import Refused
from labrecords.models import Event, Protocol, ProtocolAnswer, Refusal, Signature, Study
from labrecords.queries import access
from labrecords.reports import protocol as words_of
from labrecords.reports.findings import findings
from labrecords.rules.canonical import sha256
from tests import world as cast

from .cast import answer, draft, put, replan


@pytest.fixture
def world(laboratory):
    return laboratory


def refused(code, act):
    """Whether the act is refused with the code, and changes nothing but that the refusal is kept."""
    before = [table.objects.count() for table in (Protocol, ProtocolAnswer, Signature)]
    with pytest.raises(Refused) as caught:
        act()
    assert code in caught.value.codes
    assert [table.objects.count() for table in (Protocol, ProtocolAnswer, Signature)] == before
    assert Refusal.objects.filter(pk=caught.value.refusal.pk).exists()


def lock(world, study):
    return studies.lock(study=study, by=world.edda, at=world.at)


def test_put_agreed_locked(world):
    study = draft(world)
    first = put(world, study)
    said = answer(world, first)
    assert (first.version, said.agreed, said.said_by) == (1, True, "Clara Fjell")
    assert said.signature.content_sha256 == first.content_sha256 == sha256(first.content)
    locked = lock(world, study)
    assert locked.protocols.count() == 1
    event = Event.objects.get(act="study.locked", study=study.pk)
    assert first.content_sha256 in event.body


def test_nothing_is_locked_before_the_client_agreed(world):
    study = draft(world)
    refused("protocol-not-agreed", lambda: lock(world, study))
    first = put(world, study)
    refused("protocol-not-agreed", lambda: lock(world, study))
    answer(world, first, agreed=False, words="The rate is not ours.")
    refused("protocol-not-agreed", lambda: lock(world, study))
    assert Study.objects.get(pk=study.pk).state == "draft"


def test_a_plan_changed_after_the_agreement_is_put_again(world):
    study = draft(world)
    answer(world, put(world, study))
    changed = replan(world, study, rate=Decimal("12"))
    refused("protocol-not-agreed", lambda: lock(world, changed))
    second = put(world, changed)
    assert second.version == 2
    answer(world, second)
    assert lock(world, changed).mark


def test_a_plan_changed_back_is_what_the_client_agreed_to(world):
    study = draft(world)
    answer(world, put(world, study))
    back = replan(world, replan(world, study, rate=Decimal("12")))
    assert lock(world, back).protocols.count() == 1


def test_the_same_is_not_put_twice(world):
    study = draft(world)
    put(world, study)
    refused("protocol-unchanged", lambda: put(world, study))


def test_who_is_not_asked_is_not_put_to(world):
    study = draft(world, agreement="nobody", no_agreement_reason="our own")
    refused("protocol-not-asked", lambda: put(world, study))


def test_a_version_is_answered_once_and_only_the_newest(world):
    study = draft(world)
    first = put(world, study)
    second = put(world, replan(world, study, rate=Decimal("12")))
    refused("protocol-replaced", lambda: answer(world, first))
    answer(world, second)
    refused("already-decided", lambda: answer(world, second))


def test_a_locked_study_is_not_answered(world):
    study = draft(world)
    answer(world, put(world, study))
    locked = lock(world, study)
    refused("setup-locked", lambda: put(world, locked))


def test_a_client_that_does_not_agree_says_what_must_change(world):
    first = put(world, draft(world))
    refused("words-missing", lambda: answer(world, first, agreed=False, words=" "))


def test_a_wrong_password_signs_nothing(world):
    study = draft(world)
    refused("wrong-password", lambda: put(world, study, password="no"))
    first = put(world, study)
    refused("wrong-password", lambda: answer(world, first, password="no"))


def test_another_company_does_not_learn_of_it(world):
    first = put(world, draft(world))
    with pytest.raises(access.NotFound):
        answer(world, first, by=world.otto)
    with pytest.raises(access.NotAllowed):
        answer(world, first, by=world.edda)
    with pytest.raises(access.NotAllowed):
        put(world, draft(world), by=world.runa)
    assert not ProtocolAnswer.objects.exists()


def test_what_came_by_letter_is_recorded(world):
    first = put(world, draft(world))
    said = {"said_by": "Clara Fjell", "received_as": "letter, file 114"}
    late = {"said_on": date(2026, 5, 21)} | said
    given = {"protocol": first, "agreed": True, "words": "", "by": world.edda, "at": world.at}
    refused("in-the-future", lambda: protocols.record(**given | late))
    kept = protocols.record(**given, said_on=date(2026, 5, 19), **said)
    assert (kept.received_as, kept.signature) == ("letter, file 114", None)


def test_a_study_that_asks_nobody_has_a_protocol_all_the_same(world):
    frozen = world.study.protocols.get()
    assert (frozen.version, frozen.signature) == (1, None)
    assert "nobody else is asked: work of the laboratory's own" in frozen.content


def test_a_successor_is_agreed_to_anew(world):
    study = draft(world)
    answer(world, put(world, study))
    lock(world, study)
    new = studies.amend(study=study, reason="another rate", password=cast.PASSWORD, by=world.edda, at=world.at)
    refused("protocol-not-agreed", lambda: lock(world, new))


def test_the_report_says_who_agreed(world):
    study = draft(world)
    answer(world, put(world, study))
    said = findings(lock(world, study))["decision_rule"]["protocol"]
    assert said.startswith("Version 1, agreed to by Clara Fjell on 20 May 2026 (signed here by the client). SHA-256 ")


def test_the_protocol_holds_every_word_of_the_plan(world):
    study = draft(world)
    text = words_of.text(study)
    for said in (
        study.purpose,
        study.rationale,
        "11 in/min",
        "25.4 mm, nominal",
        "at least 1 lbf/in",
        "drawing FD-114",
    ):
        assert said in text, said


def test_the_database_locks_nothing_without_the_agreement(world):
    study = draft(world)
    first = put(world, study)
    change = Study.objects.filter(pk=study.pk)
    by = {"state": "locked", "mark": "x", "locked_by": world.edda, "locked_at": world.at}
    with pytest.raises(IntegrityError, match="has not agreed"), transaction.atomic():
        change.update(**by)
    answer(world, first)
    with transaction.atomic():
        assert change.update(**by) == 1


def test_the_database_keeps_no_answer_to_an_older_version(world):
    study = draft(world)
    first = put(world, study)
    put(world, replan(world, study, rate=Decimal("12")))
    fields = {"said_by": "x", "said_on": date(2026, 5, 1), "received_as": "x", "by": world.edda, "at": world.at}
    with pytest.raises(IntegrityError, match="only the newest"), transaction.atomic():
        ProtocolAnswer.objects.create(protocol=first, agreed=True, **fields)

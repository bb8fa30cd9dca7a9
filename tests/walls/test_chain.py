"""The check of the audit trail: quiet on a good one, and it names the first event that is not as it was sealed."""

import io

import pytest
from django.core.management import call_command
from django.db import connection, transaction

from labrecords.actions import trail
from labrecords.models import Event, Seal
from labrecords.queries import audit
from tests import databases
from tests import world as cast


@pytest.fixture(scope="module")
def world(committed):
    for _ in range(3):
        cast.enter(committed, specimen=next(committed.untouched))
    return committed


def test_a_good_trail_is_found_good(world):
    check = audit.check_chain()
    assert check.ok
    assert (check.first_bad, check.why) == ("", "")
    assert (check.seals, check.events) == (Seal.objects.count(), Event.objects.count())
    assert check.head == bytes(Seal.objects.last().hash).hex()


@pytest.mark.parametrize("at_once", [1, 2, 7])
def test_a_long_trail_is_read_in_pieces(world, monkeypatch, at_once):
    whole = audit.check_chain()
    monkeypatch.setattr(audit, "AT_ONCE", at_once)
    assert audit.check_chain() == whole


@pytest.fixture
def tamper(world):
    """Change what the triggers guard, as the superuser with the triggers off; all of it is undone."""
    with databases.django_as_superuser(), transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("alter table labrecords_event disable trigger user")
            cursor.execute("alter table labrecords_seal disable trigger user")
            yield cursor.execute
        transaction.set_rollback(True)


def middle() -> tuple[Seal, Event]:
    """A seal with one before it and one after it, and its first event."""
    seal = Seal.objects.get(seq=Seal.objects.count() // 2)
    return seal, Event.objects.get(pk=seal.first_event)


def test_an_empty_trail_is_good(tamper):
    tamper("delete from labrecords_seal")
    tamper("delete from labrecords_event")
    assert audit.check_chain() == audit.ChainCheck(True, 0, 0, "", "", "00")


def test_control_the_guards_off_and_nothing_changed_is_good(tamper):
    assert audit.check_chain().ok


@pytest.mark.parametrize("old_new", [('"act"', '"akt"'), ("Z", "z"), ("}", "} ")])
def test_a_changed_body_is_found_and_named(tamper, old_new):
    seal, event = middle()
    tamper("update labrecords_event set body = replace(body, %s, %s) where id = %s", [*old_new, event.pk])
    check = audit.check_chain()
    assert not check.ok
    assert check.first_bad == f"event {event.pk} ({event.act}, {event.subject})"
    assert check.seals == seal.seq - 1


@pytest.mark.parametrize("column", ["actor", "act", "subject"])
def test_a_changed_column_is_found_though_the_body_is_whole(tamper, column):
    _, event = middle()
    tamper(f"update labrecords_event set {column} = 'other' where id = %s", [event.pk])
    check = audit.check_chain()
    assert check.first_bad.startswith(f"event {event.pk} ")
    assert check.why == "Its columns and its body do not say the same."


def test_a_moved_time_is_found(tamper):
    _, event = middle()
    tamper("update labrecords_event set at = at + interval '1 microsecond' where id = %s", [event.pk])
    assert audit.check_chain().first_bad.startswith(f"event {event.pk} ")


def test_a_removed_event_is_found(tamper):
    seal, event = middle()
    tamper("delete from labrecords_event where id = %s", [event.pk])
    check = audit.check_chain()
    assert check.first_bad == f"seal {seal.seq}, over the events {seal.first_event} to {seal.last_event}"


def test_an_event_slipped_into_an_old_transaction_is_found(tamper):
    seal, _ = middle()
    tamper(
        "insert into labrecords_event (id, xid, at, actor, act, subject, body)"
        " select id + 1000000, xid, at, actor, act, subject, body from labrecords_event where id = %s",
        [seal.first_event],
    )
    assert audit.check_chain().first_bad.startswith(f"seal {seal.seq}, ")


def test_an_event_that_was_never_sealed_is_found(tamper, world):
    tamper("alter table labrecords_event enable always trigger stamp_event")
    loose = trail.write("remark.made", subject="loose", by=world.runa, at=world.at)
    check = audit.check_chain()
    assert check.first_bad == f"event {loose.pk} (remark.made, loose)"
    assert check.why == "It has never been sealed."
    assert check.seals == Seal.objects.count()


def test_a_removed_transaction_is_found(tamper):
    seal, _ = middle()
    tamper("delete from labrecords_event where xid = %s", [seal.xid])
    tamper("delete from labrecords_seal where xid = %s", [seal.xid])
    check = audit.check_chain()
    assert (check.first_bad, check.why) == (f"seal {seal.seq + 1}", f"Seal {seal.seq} is missing.")


def test_a_body_sealed_afresh_is_found_at_the_next_seal(tamper):
    """Whoever rewrites an event and its seal breaks the link that follows."""
    seal, event = middle()
    body = event.body.replace('"why":""', '"why":"because"')
    assert body != event.body
    others = Event.objects.filter(xid=seal.xid).order_by("id").values_list("body", flat=True)[1:]
    tamper("update labrecords_event set body = %s where id = %s", [body, event.pk])
    tamper(
        "update labrecords_seal set hash = %s where seq = %s",
        [audit.seal_hash(bytes(seal.prev), [body, *others]), seal.seq],
    )
    check = audit.check_chain()
    assert (check.first_bad, check.seals) == (f"seal {seal.seq + 1}", seal.seq)


def test_a_cut_end_leaves_a_whole_chain_with_another_head(tamper):
    """The limit of any chain: only a head noted elsewhere shows it, so the check gives the head."""
    before = audit.check_chain()
    last = Seal.objects.last()
    tamper("delete from labrecords_event where xid = %s", [last.xid])
    tamper("delete from labrecords_seal where xid = %s", [last.xid])
    after = audit.check_chain()
    assert after.ok
    assert after.head != before.head


def run_command() -> tuple[int, str]:
    said = io.StringIO()
    try:
        call_command("check_audit_trail", stdout=said, stderr=said)
    except SystemExit as ended:
        return ended.code, said.getvalue()
    return 0, said.getvalue()


def test_the_command_says_that_all_is_well(world):
    code, said = run_command()
    assert code == 0
    assert f"{Seal.objects.count()} seals over {Event.objects.count()} events" in said
    assert bytes(Seal.objects.last().hash).hex() in said


def test_the_command_names_the_first_bad_event_and_ends_with_1(tamper):
    _, event = middle()
    tamper("update labrecords_event set body = body || ' ' where id = %s", [event.pk])
    code, said = run_command()
    assert code == 1
    assert f"First: event {event.pk} ({event.act}, {event.subject})." in said
